"""The rows of the book: found by a word, shown with all they ever said, mended by adding."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any

from outpace.errors import ExitCode, ManyErrors, OutpaceError
from outpace.language import say
from outpace.records.canonical import from_plain, plain_row, row_key
from outpace.records.columns import Table, table
from outpace.records.store import Book
from outpace.season.book_words import column_answer, differences, read_value, row_words, typed_value
from outpace.season.enter import Entered
from outpace.season.names import pick_farm, zone_of_farm
from outpace.terms.scouting import Walk
from outpace.terms.tables import TABLES, Snapshot

Answer = dict[str, Any]

NOT_LISTED = ("climate", "forecasts")
"""Too many rows to read one by one: temperatures come in files, forecasts are made."""
SHOWN = 60
DATED = ("time", "start", "placed", "arrived", "set_out", "since", "release_date", "valid_from", "made")


def rows_answer(
    snapshot: Snapshot, *, farm: str | None = None, of: str = "", search: str = "", first: int = 0
) -> Answer:
    """Return the rows of a farm that hold all the words searched for, the latest first.

    Parameters
    ----------
    of : str
        The table alone; empty: all.
    first : int
        So many of them are passed over.
    """
    there = pick_farm(snapshot, farm)
    clock = zone_of_farm(there)
    words = search.casefold().split()
    walks = {walk.walk: walk for walk in snapshot.table(Walk) if walk.farm == there.farm}
    counted: dict[str, int] = {}
    found: list[tuple[str, str, Table, Any]] = []
    for name, kind in TABLES.items():
        if name in NOT_LISTED:
            continue
        described = table(name)
        held: tuple[Any, ...] = snapshot.table(kind)
        rows = [row for row in held if _belongs(row, there.farm, walks)]
        if rows:
            counted[name] = len(rows)
        if of and name != of:
            continue
        for row in rows:
            whole = f"{name} {row_words(described, row, clock, walks, keys=True)}".casefold()
            if all(word in whole for word in words):
                found.append((_when(row, walks), name, described, row))
    found.sort(key=lambda item: item[0], reverse=True)
    return {
        "farm": there.farm,
        "tables": counted,
        "total": len(found),
        "first": first,
        "rows": [
            {
                "table": name,
                "key": row_key(described, plain_row(described, row)),
                "when": when[:10],
                "what": row_words(described, row, clock, walks),
            }
            for when, name, described, row in found[first : first + SHOWN]
        ],
        "next": first + SHOWN if first + SHOWN < len(found) else None,
    }


def row_answer(book: Book, snapshot: Snapshot, of: str, key: str, *, farm: str | None = None) -> Answer:
    """Return one row with its columns as they can be typed, and all it ever said.

    Raises
    ------
    OutpaceError
        If there is no such table or row.
    """
    described = _table(of)
    clock = zone_of_farm(pick_farm(snapshot, farm))
    history = book.history(of, *_key(described, key))
    if not history.versions:
        raise OutpaceError(
            say("no such row in the book"), hint=say("look it up in the book"), code=ExitCode.USAGE
        )
    now = history.now
    kept = next(version.row for version in reversed(history.versions) if version.row is not None)
    told = []
    before: Any = None
    for version in history.versions:
        told.append(
            {
                "at": version.recorded.astimezone(clock).isoformat(timespec="minutes"),
                "by": version.by,
                "why": version.why,
                "withdrawn": version.row is None,
                "differs": differences(described, before, version.row, clock),
            }
        )
        before = version.row or before
    return {
        "table": of,
        "key": key,
        "what": row_words(described, kept, clock, {}),
        "withdrawn": now is None,
        "columns": [column_answer(column, getattr(kept, column.name), clock) for column in described.columns],
        "history": told,
    }


def corrected(
    book: Book, snapshot: Snapshot, of: str, key: str, told: Mapping[str, str], *, farm: str | None = None
) -> Entered:
    """Return a row as it is after what was typed; columns left as they stood stay to the second.

    Raises
    ------
    OutpaceError
        If a value cannot be read, each told by its column.
    """
    described = _table(of)
    clock = zone_of_farm(pick_farm(snapshot, farm))
    row = book.history(of, *_key(described, key)).now
    if row is None:
        raise OutpaceError(say("this row was withdrawn"), hint=say("write it down anew"), code=ExitCode.USAGE)
    values, errors = {}, []
    for column in described.columns:
        if column.key or column.name not in told:
            continue
        typed = told[column.name].strip()
        if typed == typed_value(column, getattr(row, column.name), clock):
            continue
        try:
            values[column.name] = read_value(of, column, typed, clock)
        except OutpaceError as error:
            errors.append(
                OutpaceError(
                    error.what, where=column.name, allowed=error.allowed, hint=error.hint, code=ExitCode.USAGE
                )
            )
    if errors:
        raise errors[0] if len(errors) == 1 else ManyErrors(errors)
    if not values:
        raise OutpaceError(
            say("nothing was changed"), hint=say("change a value, or withdraw the row"), code=ExitCode.USAGE
        )
    new = dataclasses.replace(row, **values)
    return Entered([new], say("Corrected: {what}.", what=row_words(described, new, clock, {})))


def withdraw(book: Book, of: str, key: str, *, by: str, why: str) -> Answer:
    """Withdraw a row; it stays in the history."""
    from outpace.season.recorded import recorded_answer

    written = book.withdraw(of, *_key(_table(of), key), by=by, why=why)
    return recorded_answer(book, written, sentence=say("Withdrawn: the row stays in the history."))


def _table(of: str) -> Table:
    if of not in TABLES or of in NOT_LISTED:
        raise OutpaceError(
            say("no table called {name}", name=repr(of)),
            hint=say("look it up in the book"),
            code=ExitCode.USAGE,
        )
    return table(of)


def _key(described: Table, key: str) -> list[Any]:
    try:
        cells = json.loads(key)
        return [from_plain(column, cell) for column, cell in zip(described.keys, cells, strict=True)]
    except (ValueError, TypeError) as error:
        raise OutpaceError(
            say("no such row in the book"), hint=say("look it up in the book"), code=ExitCode.USAGE
        ) from error


def _belongs(row: Any, farm: str, walks: Mapping[str, Walk]) -> bool:
    if hasattr(row, "farm"):
        return bool(row.farm == farm)
    return not hasattr(row, "walk") or row.walk in walks


def _when(row: Any, walks: Mapping[str, Walk]) -> str:
    for name in DATED:
        value = getattr(row, name, None)
        if isinstance(value, datetime):
            return value.astimezone(UTC).isoformat()
        if isinstance(value, date):
            return value.isoformat()
    walk = walks.get(getattr(row, "walk", ""))
    return walk.time.astimezone(UTC).isoformat() if walk else ""
