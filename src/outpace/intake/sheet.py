"""Tables that people keep: CSV or the first sheet of a workbook, as headings and rows of text."""

from __future__ import annotations

import csv
import io
import zipfile
from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from outpace.errors import OutpaceError
from outpace.intake.dialect import LARGEST_BYTES, SEPARATORS, decode, read_bytes
from outpace.language import say

MOST_ROWS = 200_000


@dataclass(frozen=True, slots=True)
class Sheet:
    """Headings, and rows as (row number in the file, cells as text)."""

    where: str
    headings: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


def read_sheet(source: Path | bytes, *, name: str | None = None) -> Sheet:
    """Return the table of a CSV file or of a workbook's first sheet that holds one.

    Raises
    ------
    OutpaceError
        If there is no table, it is too large, or two columns have one heading.
    """
    where = f"`{name or (source.name if isinstance(source, Path) else 'table')}`"
    head = source[:4] if isinstance(source, bytes) else _first_bytes(source)
    rows = _workbook(source, where) if head == b"PK\x03\x04" else _text(source, where)
    start = next((at for at, row in enumerate(rows) if sum(bool(cell) for cell in row) >= 2), None)
    if start is None or start + 1 >= len(rows):
        raise OutpaceError(
            say("no table was found"),
            where=where,
            allowed=say("headings and rows"),
            hint=say("put the headings in one row"),
        )
    headings = tuple(rows[start])
    while headings and not headings[-1]:
        headings = headings[:-1]
    twice = [heading for heading, count in Counter(headings).items() if count > 1 and heading]
    if twice:
        raise OutpaceError(
            say("two columns are called {twice!r}", twice=twice[0]),
            where=where,
            hint=say("give each column its own heading"),
        )
    body = tuple(
        (at + 1, tuple(row[: len(headings)]) + ("",) * (len(headings) - len(row)))
        for at, row in enumerate(rows)
        if at > start and any(row)
    )
    if len(body) > MOST_ROWS:
        raise OutpaceError(
            say("{body:,} rows", body=len(body)),
            where=where,
            allowed=say("at most {most_rows:,}", most_rows=MOST_ROWS),
            hint=say("split it by season"),
        )
    return Sheet(where, headings, body)


def _first_bytes(path: Path) -> bytes:
    if not path.is_file():
        return b""
    with path.open("rb") as file:
        return file.read(4)


def _text(source: Path | bytes, where: str) -> list[list[str]]:
    text, _ = decode(read_bytes(source, where), where)
    sample = text[:20_000].splitlines()
    widths = {
        separator: Counter(len(row) for row in csv.reader(sample, delimiter=separator) if row)
        for separator in SEPARATORS
    }
    best = max(SEPARATORS, key=lambda one: max((w > 1) * n * min(w, 3) for w, n in widths[one].items()))
    try:
        return [[cell.strip() for cell in row] for row in csv.reader(io.StringIO(text), delimiter=best)]
    except csv.Error as error:
        raise OutpaceError(
            say("this is no CSV table: {error}", error=error), where=where, hint=say("save it again as CSV")
        ) from error


def _workbook(source: Path | bytes, where: str) -> list[list[str]]:
    try:
        import python_calamine
    except ImportError:
        raise OutpaceError(
            say("workbooks cannot be read here"),
            where=where,
            hint=say("save the sheet as CSV, or install the extra `excel`"),
        ) from None
    data = source if isinstance(source, bytes) else source.read_bytes()
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            unpacked = sum(item.file_size for item in packed.infolist())
    except zipfile.BadZipFile:
        raise OutpaceError(say("this workbook is damaged"), where=where, hint=say("save it again")) from None
    if unpacked > LARGEST_BYTES:
        raise OutpaceError(
            say("the workbook unpacks to {unpacked:,.0f} MB", unpacked=unpacked / 1e6),
            where=where,
            allowed=say("at most {largest_bytes:.0f} MB", largest_bytes=LARGEST_BYTES / 1e6),
            hint=say("save the sheet with the counts as CSV"),
        )
    try:
        book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
        for name in book.sheet_names:
            rows = [
                [_cell(value) for value in row]
                for row in book.get_sheet_by_name(name).to_python(skip_empty_area=False)
            ]
            if any(sum(bool(cell) for cell in row) >= 2 for row in rows):
                return rows
    except python_calamine.CalamineError as error:
        raise OutpaceError(
            say("this is no workbook: {error}", error=error), where=where, hint=say("save it as CSV")
        ) from error
    return []


def _cell(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, datetime) and value.time() == datetime.min.time():
        return value.date().isoformat()
    if isinstance(value, (date, datetime)):
        return value.isoformat()
    return str(value).strip()


def as_csv(path: Path) -> Path | bytes:
    """Return a workbook's first table as CSV text; any other file as it is."""
    if not path.is_file() or _first_bytes(path) != b"PK\x03\x04":
        return path
    told = io.StringIO()
    csv.writer(told, delimiter=";", lineterminator="\n").writerows(_workbook(path, f"`{path.name}`"))
    return told.getvalue().encode()
