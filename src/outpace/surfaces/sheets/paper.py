"""Printed documents: blocks of text, tables and drawings, set as a tagged PDF; what people wrote stays plain text."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.surfaces.sheets.told import told
from outpace.surfaces.text import page

Block = dict[str, Any]

HERE = Path(__file__).parent
HEAD_SIGNS = 16
"""So many signs of the book's head stand on a paper."""
LONGEST_WORD = 24
"""A longer word gets places where a line may break, so that it stays in its column."""


def title(text: str, beside: str = "") -> Block:
    """Return the head of a document."""
    return {"kind": "title", "text": soft(text), "beside": soft(beside)}


def heading(text: str) -> Block:
    """Return a heading."""
    return {"kind": "heading", "text": soft(text)}


def line(text: str, *, bold: bool = False) -> Block:
    """Return a paragraph."""
    return {"kind": "text", "text": soft(text), "bold": bold}


def points(items: Iterable[object]) -> Block:
    """Return a list of points."""
    return {"kind": "list", "items": [soft(item) for item in items]}


def ticks(items: Iterable[object]) -> Block:
    """Return lines with a box to tick before each."""
    return {"kind": "ticks", "items": [soft(item) for item in items]}


def table(
    header: Sequence[str],
    rows: Iterable[Sequence[object]],
    *,
    widths: Sequence[float] = (),
    height: float = 0,
    size: float = 0,
    longest: int = LONGEST_WORD,
) -> Block:
    """Return a table.

    Parameters
    ----------
    widths : sequence of float
        Shares of the page's width, one a column; 0 is as wide as the column's text. Left out: as wide as the text.
    height : float
        Height of a row in mm, for forms to be filled by pen; 0 is as high as the text.
    size : float
        Size of the letters in pt; 0 is that of the document.
    longest : int
        So many letters of a word fit into the narrowest column; a longer one may break.
    """
    return {
        "kind": "table",
        "header": [soft(name) for name in header],
        "rows": [[soft(cell, longest) for cell in row] for row in rows],
        "columns": list(widths) or [0] * len(header),
        "height": height,
        "size": size,
    }


def image(svg: str, alt: str, width: float = 100) -> Block:
    """Return a drawing, so many percent of the page wide."""
    return {"kind": "image", "svg": svg, "alt": page.plain(alt), "width": width}


def pictures(items: Iterable[tuple[str, str, str]]) -> Block:
    """Return drawings beside each other: drawing, what it shows, the line under it."""
    told = [{"svg": svg, "alt": page.plain(alt), "text": soft(text)} for svg, alt, text in items]
    return {"kind": "pictures", "items": told}


def pen(text: str, height: float) -> Block:
    """Return an empty box to write in, so many mm high."""
    return {"kind": "pen", "text": soft(text), "height": height}


def new_page() -> Block:
    """Return the end of a page."""
    return {"kind": "break"}


def soft(text: object, most: int = LONGEST_WORD) -> str:
    """Return a text on one line, with places to break in words that are too long for a column.

    Examples
    --------
    >>> len(soft("x" * 30)), soft("a  word"), soft(None)
    (31, 'a word', '')
    """
    if text is None:
        return ""
    words = page.plain(text).split(" ")
    return " ".join(
        word
        if len(word) <= most or "\u200b" in word
        else "\u200b".join(word[at : at + most] for at in range(0, len(word), most))
        for word in words
    )


def tied(head: str) -> str:
    """Return what ties a paper to the book that it was printed from: the first signs of the book's head.

    Examples
    --------
    >>> tied("5d1c0fa2b7e96c44aa"), tied("")
    ('book 5d1c0fa2b7e96c44', '')
    """
    return say("book {head}", head=page.plain(head[:HEAD_SIGNS])) if head else ""


def document(
    name: str,
    blocks: Sequence[Block],
    *,
    footer: str,
    head: str = "",
    size: float = 10,
    flipped: bool = False,
) -> bytes:
    """Return a document as PDF, with the book's head in its foot; ``flipped`` lays the page on its side."""
    data = {
        "title": page.plain(name),
        "blocks": list(blocks),
        "footer": soft(footer),
        "head": tied(head),
        "size": size,
        "flipped": flipped,
    }
    return typeset(HERE / "paper.typ", data)


def typeset(template: Path, data: Mapping[str, Any]) -> bytes:
    """Return what a template makes of data, as tagged PDF (PDF/UA-1).

    Raises
    ------
    OutpaceError
        If the PDF extra is not installed.
    """
    try:
        import typst
    except ModuleNotFoundError:
        raise OutpaceError(
            say("printed sheets need the PDF extra, which is not installed"),
            hint="`pip install outpace[pdf]`",
        ) from None
    inputs = {"sheet": json.dumps(told(data, template.read_text(encoding="utf-8")))}
    try:
        return bytes(typst.compile(template.read_bytes(), sys_inputs=inputs, pdf_standards=["ua-1"]))
    except typst.TypstError as error:
        if "could not be displayed" not in str(error):
            raise
        # A letter that no font here can draw rules out the accessible standard; a sheet with an empty box in a
        # name, still tagged, is better than no sheet.
        return bytes(typst.compile(template.read_bytes(), sys_inputs=inputs))
