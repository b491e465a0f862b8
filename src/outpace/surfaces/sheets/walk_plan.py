"""The way through a house on paper: one line a plant, with the totals at which the walk may stop."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.surfaces.sheets.paper import tied
from outpace.surfaces.sheets.told import told
from outpace.surfaces.sheets.week_sheet import clip
from outpace.surfaces.text import page
from outpace.surfaces.text.walk_plan import adds_up, level_of, limits, looks_at

Answer = Mapping[str, Any]

TEMPLATE = Path(__file__).with_name("walk_plan.typ")


def write(answer: Answer, path: Path, *, head: str = "") -> None:
    """Write the way as a tagged PDF.

    Parameters
    ----------
    answer : mapping
        The answer of ``outpace walk plan HOUSE``.
    path : Path
        Where to; the file is there whole or not at all.
    head : str
        The head of the book, printed in the foot.

    Raises
    ------
    OutpaceError
        If the PDF extra is not installed, or the file cannot be written.
    """
    content = render(answer, head=head)
    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_bytes(content)
        os.replace(beside, path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise OutpaceError(
            say("cannot write it: {strerror}", strerror=error.strerror),
            where=f"`{path}`",
            hint=say("choose another place"),
        ) from error


def render(answer: Answer, *, head: str = "") -> bytes:
    """Return the way as the bytes of a PDF."""
    try:
        import typst
    except ModuleNotFoundError:
        raise OutpaceError(
            say("printed sheets need the PDF extra, which is not installed"),
            hint="`pip install outpace[pdf]`",
        ) from None
    template = TEMPLATE.read_bytes()
    data = told(sheet_data(answer, head=head), template.decode())
    inputs = {"sheet": json.dumps(data)}
    try:
        return bytes(typst.compile(template, sys_inputs=inputs, pdf_standards=["ua-1"]))
    except typst.TypstError as error:
        if "could not be displayed" not in str(error):
            raise
        # As on the week sheet: an empty box for a letter that no font here draws is better than no sheet.
        return bytes(typst.compile(template, sys_inputs=inputs))


def sheet_data(answer: Answer, *, head: str = "") -> dict[str, Any]:
    """Return what the sheet says, as text; the template only sets it."""
    house = clip(answer["house"], 60)
    rule = answer["rules"][0]
    return {
        "title": say("{house}: the way of {as_of}", house=house, as_of=page.day(answer["as_of"], year=True)),
        "house": house,
        "farm": clip(answer["farm"], 40),
        "day": page.day(answer["as_of"], year=True),
        "sentence": clip(answer["sentence"], 220),
        "how": [
            say(
                "Look at {answer}. Rows are counted from the door, plants from the path.",
                answer=looks_at(answer),
            ),
            say("Add up {rule}; the total stands beside what ends the walk.", rule=adds_up(rule, answer)),
            say("Your level: {answer}.", answer=level_of(answer)),
            say(
                "Stop low: clearly under your level. Stop high: not clearly under it, so look at what to do."
            ),
        ],
        "passes": [
            {
                "title": say(
                    "Pass {number}{value}",
                    number=number,
                    value=say(", going back") if number % 2 == 0 else "",
                ),
                "looks": [_look(look, rule) for look in looks],
            }
            for number, looks in enumerate(answer["passes"], 1)
        ],
        "mind": [clip(line, 260) for line in answer["cautions"]],
        "footer": clip(
            say(
                "{farm}, {house}; plants drawn by the number {seed}. Nothing found is not nothing there.",
                farm=answer["farm"],
                house=answer["house"],
                seed=answer["seed"],
            ),
            150,
        ),
        "head": tied(head),
    }


def _look(look: Answer, rule: Answer) -> list[str]:
    sample = look["kind"] == "sample"
    low, high = limits(rule, look["no"]) if sample else ("", "")
    return [
        str(look["no"]) if sample else "+",
        clip(look["zone"], 28),
        str(look["row"]),
        str(look["plant"]),
        "",
        "" if sample else say("no sample"),
        "",
        say("{low} or less", low=low) if low else "",
        say("{high} or more", high=high) if high else "",
    ]
