"""Walks that a phone kept and sends when it can: the same walk may arrive any number of times."""

from __future__ import annotations

import csv
import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.facts.table import load
from outpace.language import say, say_many
from outpace.records.cells import guard
from outpace.records.exchange import import_package
from outpace.season.open_book import Book, resolvers
from outpace.season.recorded import recorded_answer
from outpace.terms.scouting import PESTS_UNNAMED, Count, Mummies, Seen, WalkLine

TAKEN = ("walks", "counts", "mummies", "seen", "walk_lines")
"""The tables a phone writes, in the order of the book."""

KEYED: dict[type, tuple[str, tuple[str, ...]]] = {
    Count: ("counts", ("walk", "unit_no", "pest")),
    Mummies: ("mummies", ("walk", "unit_no", "colour")),
    Seen: ("seen", ("walk", "unit_no", "organism")),
    WalkLine: ("walk_lines", ("walk", "pest")),
}
"""The rows of a walk, each with its table and what names it there."""

MOST_ROWS = 20_000

Cells = Mapping[str, str | int | float | None]


def take_walks(
    book: Book,
    tables: Mapping[str, Sequence[Cells]],
    *,
    by: str,
    device: str | None = None,
    correct: bool = False,
    now: datetime | None = None,
) -> dict[str, Any]:
    """Record walks as they were sent, all of them or none; a walk that is known already changes nothing.

    Parameters
    ----------
    tables
        Rows by table of the exchange format, each a mapping from column to value.
    by : str
        Who walked.
    device : str, optional
        Whose chain of events they join.
    correct : bool, default False
        Let a known walk take other content; else that is a conflict, and both are told.

    Raises
    ------
    OutpaceError
        If a table is not one of a walk, or a row cannot be read.
    """
    strange = [name for name in tables if name not in TAKEN]
    if strange:
        raise OutpaceError(
            say("table {strange!r} is none of a walk", strange=strange[0]),
            allowed=say("one of {taken}", taken=", ".join(TAKEN)),
            code=ExitCode.USAGE,
        )
    if sum(len(rows) for rows in tables.values()) > MOST_ROWS:
        raise OutpaceError(
            say("more rows than one walk has"), allowed=say("at most {most_rows:,}", most_rows=MOST_ROWS)
        )
    gone = _no_longer_told(book, tables)
    if gone and not correct:
        return _conflicting(book, gone)
    with TemporaryDirectory(prefix="outpace-") as folder:
        paths = [_written(Path(folder), name, tables[name]) for name in TAKEN if tables.get(name)]
        if not paths:
            raise OutpaceError(say("no walk was sent"), hint=say("walk a house first"), code=ExitCode.USAGE)
        imported = import_package(
            book,
            paths,
            by=by,
            resolve=resolvers(),
            correct=correct,
            now=now or datetime.now(UTC),
            device=device,
            why="sent from a phone",
        )
    if not imported.conflicts:
        for kind, key, _ in gone:
            book.withdraw(kind, *key, by=by, device=device, why="told again from a phone")
    walks = len(tables.get("walks", ()))
    return recorded_answer(
        book,
        imported,
        sentence=say_many("{n} walk is in the book.", "{n} walks are in the book.", walks),
    )


def _no_longer_told(
    book: Book, tables: Mapping[str, Sequence[Cells]]
) -> list[tuple[type, tuple[Any, ...], str]]:
    """Return the rows that the book holds of the walks that were sent, and that were not sent again."""
    walks = {str(row.get("walk")) for row in tables.get("walks", ())}
    known = book.snapshot()
    found: list[tuple[type, tuple[Any, ...], str]] = []
    for kind, (name, columns) in KEYED.items():
        sent = {tuple(_key_part(row.get(column)) for column in columns) for row in tables.get(name, ())}
        rows: Sequence[Any] = known.table(kind)
        for row in rows:
            key = tuple(getattr(row, column) for column in columns)
            if row.walk in walks and tuple(str(part) for part in key) not in sent:
                found.append((kind, key, f"`{name}` {', '.join(str(part) for part in key)}"))
    return found


def _key_part(value: object) -> str:
    text = str(value)
    if text in PESTS_UNNAMED:
        return text
    try:
        return load().resolve(text)
    except OutpaceError:
        return text


def _conflicting(book: Book, gone: Sequence[tuple[type, tuple[Any, ...], str]]) -> dict[str, Any]:
    conflicts = [
        {
            "table": KEYED[kind][0],
            "key": ", ".join(str(part) for part in key),
            "columns": [],
            "text": say("{text_told}: in the book, and not in what was sent", text_told=text),
        }
        for kind, key, text in gone
    ]
    return {
        "schema": "outpace.recorded/1",
        "sentence": say("Nothing was written."),
        "new": 0,
        "same": 0,
        "corrected": 0,
        "conflicts": conflicts,
        "tables": {},
        "cautions": [],
        "head": book.head(),
    }


def _written(folder: Path, name: str, rows: Sequence[Cells]) -> Path:
    """Write rows as a table, so that they pass the same door as any other import."""
    columns = list(dict.fromkeys(column for row in rows for column in row))
    path = folder / f"{name}.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(columns)
        for row in rows:
            writer.writerow([_cell(row.get(column)) for column in columns])
    return path


def _cell(value: object) -> str:
    if value is None:
        return ""
    return json.dumps(value) if isinstance(value, float) else guard(str(value))
