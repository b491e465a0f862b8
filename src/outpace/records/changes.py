"""What was corrected or withdrawn: each change of a row with who, when, why, the old value and the new."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Any

import sqlalchemy as sa

from outpace.records.canonical import from_plain, key_words, moment_of, recorded_text
from outpace.records.columns import Table, table
from outpace.records.people import People
from outpace.records.references import CHUNK
from outpace.records.tables import VERSIONS, events

Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Change:
    """One change of one row.

    ``differs`` maps a column to its old and its new value; of a withdrawn row it is empty. ``was`` and ``now`` are
    the values of all columns, typed as in the records of the trade; ``now`` is None where the row was withdrawn.
    """

    table: str
    key: str
    at: datetime
    by: str
    why: str | None
    differs: Mapping[str, tuple[Any, Any]]
    was: Row
    now: Row | None

    @property
    def withdrawn(self) -> bool:
        return self.now is None


def changes_of(connection: sa.Connection, tables: Iterable[str], as_of: datetime | None) -> list[Change]:
    """Return every change known at a moment, oldest first; climate stands in batches and is left out."""
    people = People(connection)
    moment = None if as_of is None else recorded_text(as_of)
    found = [
        change
        for name in tables
        if name in VERSIONS
        for change in _of_table(connection, table(name), moment, people)
    ]
    return sorted(found, key=lambda change: (change.at, change.table, change.key))


def _of_table(
    connection: sa.Connection, described: Table, moment: str | None, people: People
) -> Iterator[Change]:
    versions = VERSIONS[described.name]
    touched = sa.select(versions.c.row_key).where(
        sa.or_(versions.c.replaced.is_not(None), versions.c.withdrawn == 1)
    )
    keys = sorted({key for (key,) in connection.execute(touched)})
    by_key: dict[str, list[Any]] = {}
    for at in range(0, len(keys), CHUNK):
        query = (
            sa.select(versions, events.c.by, events.c.why)
            .join(events, versions.c.event == events.c.event)
            .where(versions.c.row_key.in_(keys[at : at + CHUNK]))
            .order_by(events.c.position)
        )
        for row in connection.execute(query).mappings():
            if moment is None or row["recorded"] <= moment:
                by_key.setdefault(row["row_key"], []).append(row)
    for rows in by_key.values():
        for old, new in pairwise(rows):
            was, now = _values(described, old, people), _values(described, new, people)
            gone = bool(new["withdrawn"])
            differs = {} if gone else {name: (was[name], now[name]) for name in was if was[name] != now[name]}
            if not gone and not differs and not old["withdrawn"]:
                continue
            yield Change(
                table=described.name,
                key=key_words(described, new),
                at=moment_of(new["recorded"]),
                by=people.name(new["by"]) or "",
                why=new["why"],
                differs=differs,
                was=was,
                now=None if gone else now,
            )


def _values(described: Table, row: Row, people: People) -> dict[str, Any]:
    return {
        column.stored: people.name(row[column.stored])
        if column.person
        else from_plain(column, row[column.stored])
        for column in described.columns
    }
