"""How a text table was written: encoding, separator, decimal mark, where its headings and its rows are."""

from __future__ import annotations

import csv
import hashlib
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from charset_normalizer import from_bytes

from outpace.errors import OutpaceError
from outpace.language import say, to_say

#: A year of readings every ten seconds is below this.
LARGEST_BYTES = 100_000_000

SEPARATORS = ("\t", ";", "|", ",")
SEPARATOR_NAMES = {"\t": "tab", ";": "semicolon", "|": "bar", ",": "comma"}

#: How many rows are weighed when the shape of a file is judged.
SAMPLE = 400

_CODE_PAGES = ("cp1252", "cp1250", "cp1251", "cp1253", "cp437", "cp850", "mac_roman")
_EASTERN_PAGES = ("gb18030", "big5", "shift_jis", "euc_kr")
_SIGNATURES = (
    (b"PK\x03\x04", to_say("a spreadsheet or zip file"), to_say("save the sheet as CSV, then import that")),
    (
        b"\xd0\xcf\x11\xe0",
        to_say("an old spreadsheet file"),
        to_say("save the sheet as CSV, then import that"),
    ),
    (b"%PDF", to_say("a PDF"), to_say("export the readings from the logger's program as CSV")),
    (b"\x1f\x8b", to_say("a compressed file"), to_say("unpack it first")),
    (b"SQLite format 3", to_say("a database"), to_say("export the readings as CSV")),
)
_NUMBER = re.compile(r"[+\-\u2212]?\d+(?:[.,]\d+)?(?:\s*(?:°\s*[CF]|℃|℉|[CF]|%|deg[CF]?))?")
_SERIAL_DAY = re.compile(r"[345]\d{4}[.,]\d+")
_MOMENT = re.compile(
    r"(?:[^\W\d]{2,}[.,]?\s+(?=\d))?(?:"
    r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}"
    r"|\d{1,2}[-/.]\d{1,2}[-/.](?:\d{4}|\d{2})(?!\d)"
    r"|\d{9,13}(?:\.\d+)?$"
    r"|(?:19|20)\d{6}(?:\D|$|\d{4})"
    r"|\d{1,2}[-\s.]+(?:de\s+)?[^\W\d]{3,}\.?[-\s,]+(?:de\s+)?\d{2,4}"
    r"|[^\W\d]{3,}\.?\s+\d{1,2},?\s+\d{4})"
)


@dataclass(frozen=True, slots=True)
class Dialect:
    """How one text table was written."""

    encoding: str
    separator: str
    decimal: str
    headings: tuple[str, ...]
    heading_row: int | None
    first_row: int

    @property
    def fingerprint(self) -> str:
        """Return a short text that files of the same logger share: separator and headings."""
        shape = [self.separator, *(plain_heading(heading) for heading in self.headings)]
        return hashlib.sha256("\x1f".join(shape).encode()).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class TextTable:
    """The cells of a text table. ``rows`` holds (row number in the file, cells), blank rows left out."""

    dialect: Dialect
    rows: tuple[tuple[int, list[str]], ...]
    preamble: tuple[str, ...]


def plain_heading(text: str) -> str:
    """Return a heading in lower case without serial numbers, so that two exports of a logger agree."""
    folded = unicodedata.normalize("NFKC", text).casefold()
    return re.sub(r"\s+", " ", re.sub(r"\d{4,}", "#", folded)).strip(" \"'")


def read_bytes(source: Path | bytes, where: str) -> bytes:
    """Return the bytes of a file, refusing one that is missing, empty, too large or no text table.

    Raises
    ------
    OutpaceError
        With the reason, and what to do instead.
    """
    if isinstance(source, bytes):
        size, data = len(source), source
    else:
        if source.is_dir():
            raise OutpaceError(say("this is a folder"), where=where, hint=say("name one file in it"))
        if not source.exists():
            raise OutpaceError(say("there is no such file"), where=where, hint=say("check the path"))
        size, data = source.stat().st_size, b""
    if size > LARGEST_BYTES:
        raise OutpaceError(
            say("{size:,.0f} MB", size=size / 1e6),
            where=where,
            allowed=say("at most {largest_bytes:.0f} MB", largest_bytes=LARGEST_BYTES / 1e6),
            hint=say("export one season at a time"),
        )
    if not isinstance(source, bytes):
        data = source.read_bytes()
    if not data.strip(b"\x00 \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise OutpaceError(say("the file is empty"), where=where, hint=say("export the readings again"))
    for mark, name, hint in _SIGNATURES:
        if data.startswith(mark):
            raise OutpaceError(
                say("this is {name}", name=say(name)),
                where=where,
                allowed=say("must be a text table (CSV)"),
                hint=say(hint),
            )
    return data


def decode(data: bytes, where: str) -> tuple[str, str]:
    """Return the text and the name of its encoding.

    Raises
    ------
    OutpaceError
        If the bytes are no text.
    """
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark):
            return _strictly(data, encoding, where), encoding
    head = data[:4000]
    if b"\x00" in head:
        even, odd = head[0::2].count(0), head[1::2].count(0)
        for found, other, encoding in ((odd, even, "utf-16-le"), (even, odd, "utf-16-be")):
            if found > 0.8 * (len(head) // 2) and other == 0:
                return _strictly(data, encoding, where), encoding
    if b"\x00" in data or sum(byte < 32 and byte not in (9, 10, 12, 13, 27) for byte in head) > 2:
        raise _no_text(where)
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        encoding = _code_page(data)
        return data.decode(encoding, errors="replace"), encoding


def _strictly(data: bytes, encoding: str, where: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError:
        raise _no_text(where) from None


def _no_text(where: str) -> OutpaceError:
    return OutpaceError(
        say("this is no text"),
        where=where,
        allowed=say("must be a text table (CSV)"),
        hint=say("export the readings from the logger's program as CSV"),
    )


def _code_page(data: bytes) -> str:
    """Return the code page in which a file that is no UTF-8 makes sense.

    The degree sign stands in nearly every logger file, and its byte differs between code pages: that settles
    most of them. The rest is left to letter statistics.
    """
    sample = data[:20_000]
    for page in ("cp1252", "cp437", "mac_roman"):
        if re.search(r"°\s?[CF]\b", sample.decode(page, errors="replace")):
            return page
    for page in _EASTERN_PAGES:
        try:
            if "℃" in data.decode(page):
                return page
        except UnicodeDecodeError:
            continue
    best = from_bytes(sample, cp_isolation=[*_CODE_PAGES, *_EASTERN_PAGES]).best()
    return best.encoding if best is not None else "cp1252"


def read_table(source: Path | bytes, *, where: str, decimal: str | None = None) -> TextTable:
    """Return the rows of a text table and how it was written.

    Parameters
    ----------
    source : Path or bytes
        A file, or its content.
    where : str
        What to call it in messages.
    decimal : {".", ","}, optional
        The decimal mark, where a person told it.

    Raises
    ------
    OutpaceError
        If the file is empty, too large, binary, or holds no rows with a time and a number.
    """
    text, encoding = decode(read_bytes(source, where), where)
    lines = text.splitlines()
    offset = 0
    separator = None
    if lines and (told := re.fullmatch(r"sep=(.)", lines[0].strip().strip('"'))):
        separator, offset = told.group(1), 1
    body = lines[offset:]
    separator = separator or _separator(body)
    rows = [(number + 1, cells) for number, cells in _cells(body, separator, offset)]
    first = _first_data_row(rows)
    if first is None:
        serial = any(_SERIAL_DAY.fullmatch(cell.strip()) for _, cells in rows[:50] for cell in cells)
        raise OutpaceError(
            say("no rows with a time and a number were found"),
            where=where,
            allowed=say("a table with a column of times and one of temperatures"),
            hint=say(
                "a spreadsheet stored the times as numbers: format that column as date and time, save again"
            )
            if serial
            else say("open the file and check that it holds readings; export them again as CSV"),
        )
    width = Counter(len(cells) for _, cells in rows[first : first + SAMPLE]).most_common(1)[0][0]
    headings, heading_row = _headings(rows[:first], width)
    kept = rows[first:]
    _refuse_split_numbers(headings, kept, separator, where)
    headings += tuple(say("column {at}", at=at + 1) for at in range(len(headings), width))
    mark = decimal or _decimal_mark([cells for _, cells in kept[:SAMPLE]])
    used = heading_row if heading_row is not None else kept[0][0]
    dialect = Dialect(encoding, separator, mark, headings, heading_row, kept[0][0])
    return TextTable(dialect, tuple(kept), tuple(line for line in lines[: used - 1] if line.strip()))


def _cells(lines: Sequence[str], separator: str, offset: int) -> Iterable[tuple[int, list[str]]]:
    reader = csv.reader(lines, delimiter=separator, skipinitialspace=True)
    try:
        for cells in reader:
            if any(cell and not cell.isspace() for cell in cells):
                yield reader.line_num + offset - 1, cells
    except csv.Error:
        return


def _separator(lines: Sequence[str]) -> str:
    """Return the separator under which the lower part of the file is the most even table."""
    usable = [line for line in lines if line.strip()]
    middle = max(0, len(usable) // 2 - SAMPLE // 2)
    sample = usable[middle : middle + SAMPLE]
    best, best_score = ",", 0.0
    for separator in SEPARATORS:
        rows = [cells for _, cells in _cells(sample, separator, 0)]
        if not rows:
            continue
        width, count = Counter(map(len, rows)).most_common(1)[0]
        if width < 2:
            continue
        telling = sum(_is_data(cells) for cells in rows) / len(rows)
        score = telling + 0.1 * count / len(rows)
        if score > best_score + 1e-9:
            best, best_score = separator, score
    return best


def _is_data(cells: Sequence[str]) -> bool:
    """Return whether a row holds a time and, beside it, a number."""
    moments = [at for at, cell in enumerate(cells) if _MOMENT.match(cell.strip())]
    return bool(moments) and any(
        at not in moments[:1] and _NUMBER.fullmatch(cell.strip()) for at, cell in enumerate(cells)
    )


def _has_moment(cells: Sequence[str]) -> bool:
    return any(_MOMENT.match(cell.strip()) for cell in cells)


def _first_data_row(rows: Sequence[tuple[int, list[str]]]) -> int | None:
    for at, (_, cells) in enumerate(rows):
        if not _is_data(cells):
            continue
        # The sensor may be silent in the next rows: they need a time only.
        coming = [_has_moment(next_cells) for _, next_cells in rows[at : at + 10]]
        if sum(coming) * 2 > len(coming):
            return at
    return None


def _headings(above: Sequence[tuple[int, list[str]]], width: int) -> tuple[tuple[str, ...], int | None]:
    """Return the headings: the last row above the data that is as wide, with a row of names above it."""
    if not above:
        return tuple(unnamed(at) for at in range(width)), None
    number, cells = above[-1]
    names = [cell.strip() for cell in cells]
    if len(above) > 1:
        upper_number, upper = above[-2]
        one_head = upper_number == number - 1 and len(upper) == len(cells)
        if one_head and sum(bool(cell.strip()) for cell in upper) >= 2 and not _is_data(upper):
            names = [f"{a.strip()} {b}".strip() for a, b in zip(upper, names, strict=True)]
    if sum(bool(name) for name in names) < min(2, width):
        return tuple(unnamed(at) for at in range(width)), None
    named = names[:width]
    return tuple(name or unnamed(at) for at, name in enumerate(named)), number


def unnamed(at: int) -> str:
    """Return what a column without a heading is called, by its place from 0."""
    return say("column {at}", at=at + 1)


def _refuse_split_numbers(
    headings: Sequence[str], rows: Sequence[tuple[int, list[str]]], separator: str, where: str
) -> None:
    """Refuse a file of decimal commas between separating commas: its numbers fell apart."""
    if separator != "," or any(heading == unnamed(at) for at, heading in enumerate(headings)):
        return
    filled = [len(cells) - (cells[-1].strip() == "") for _, cells in rows[:SAMPLE]]
    if Counter(filled).most_common(1)[0][0] > len(headings):
        raise OutpaceError(
            say("rows have more cells than the {headings} headings", headings=len(headings)),
            where=where,
            allowed=say("one cell a heading"),
            hint=say(
                "the decimal comma and the separating comma are the same: export with semicolons or tabs"
            ),
        )


def _decimal_mark(rows: Sequence[Sequence[str]]) -> str:
    points = commas = 0
    for cells in rows:
        for cell in cells:
            plain = cell.strip()
            if _NUMBER.fullmatch(plain):
                points += "." in plain
                commas += "," in plain
    return "," if commas > points else "."
