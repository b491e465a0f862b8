"""The book on disk: a data package in and out.

Importing is all or nothing and changes nothing the second time; exporting writes what the book holds now, or
all it ever held.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from outpace.records.book import Book
from outpace.records.cells import Resolvers
from outpace.records.entries import Conflict, Entry
from outpace.records.export import export_package
from outpace.records.merging import take_over
from outpace.records.package_files import HISTORY_TABLES, open_package
from outpace.records.package_rows import TableRows
from outpace.records.past import read_past
from outpace.records.rebuilding import open_conflicts
from outpace.records.surroundings import Surroundings
from outpace.records.tables import VERSIONS

__all__ = ["Imported", "Resolvers", "export_package", "import_package"]


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did: rows read and rows written by table, counts, and conflicts.

    With any conflict nothing was written, and ``written`` is False. ``merged`` counts events of other devices that were
    taken over with their history; ``unsettled`` lists rows of which two devices then say different things: both are
    kept, what this book said stands, and a correction settles it.
    """

    read: Mapping[str, int] = field(default_factory=dict)
    tables: Mapping[str, int] = field(default_factory=dict)
    new: int = 0
    same: int = 0
    corrected: int = 0
    withdrawn: int = 0
    conflicts: tuple[Conflict, ...] = ()
    merged: int = 0
    unsettled: tuple[Conflict, ...] = ()

    @property
    def written(self) -> bool:
        return not self.conflicts


def import_package(
    book: Book,
    path: str | Path | Sequence[str | Path],
    *,
    by: str,
    resolve: Resolvers,
    correct: bool = False,
    now: datetime | None = None,
    device: str | None = None,
    why: str = "",
) -> Imported:
    """Bring the tables of a data package into the book: all of them, or none.

    Parameters
    ----------
    book
        An open book.
    path
        A folder, a zip, or one or more CSV files named after their tables.
    by : str
        Who imports; rows may name another person in ``recorded_by``.
    resolve : Resolvers
        How names of species and crops become keys.
    correct : bool, default False
        Let known rows take other content; else they are conflicts and nothing is written.
    now : aware datetime, optional
        What counts as the present; default: the book's clock.

    Returns
    -------
    Imported
        Rows read and written, and the conflicts.

    Raises
    ------
    OutpaceError
        With every fault found, each with file, row and column. The book is unchanged.
    """
    present = now or book.clock()
    read: dict[str, int] = {}
    merged = 0
    unsettled: tuple[Conflict, ...] = ()
    with (
        open_package(path) as package,
        book.entering(by=by, device=device, correct=correct, why=why) as transaction,
    ):
        past = read_past(package)
        known: dict[tuple[str, str], dict[str, Any]] = {}
        if past is not None:
            merged = take_over(transaction, past, present)
            known = past.current()
        around = _surroundings(transaction.connection, resolve, present)
        waiting: list[Entry] = []
        for source in package.sources:
            if source.table in HISTORY_TABLES:
                continue
            rows = TableRows(source.table, source.shown, around)
            with package.rows(source) as lines:
                for entries in rows.entries(lines):
                    portion = entries if past is None else [e for e in entries if not _is_told(e, known)]
                    transaction.tally.same += len(entries) - len(portion)
                    # Rows wait until all small tables are read, so that all faults are told at once.
                    if source.table == "climate" and not around.errors:
                        transaction.take(waiting)
                        waiting = []
                        transaction.take(portion)
                    else:
                        waiting += portion
            read[source.table] = read.get(source.table, 0) + rows.count
            if source.table == "farm":
                around.package_farms = list(rows.farms)
        around.stop()
        transaction.take(waiting)
        if merged:
            transaction.tally.changed("events", merged)
            unsettled = tuple(open_conflicts(transaction.connection))
    tally = transaction.tally.result()
    return Imported(
        read=read,
        tables=tally.tables,
        new=tally.new,
        same=tally.same,
        corrected=tally.corrected,
        withdrawn=tally.withdrawn,
        conflicts=tally.conflicts,
        merged=merged if tally.written else 0,
        unsettled=unsettled if tally.written else (),
    )


def _is_told(entry: Entry, known: Mapping[tuple[str, str], Mapping[str, Any]]) -> bool:
    """Say whether a row is only what the package's own history says, and so nothing that a person changed."""
    if entry.table.name == "climate":
        return entry.event is not None
    version = known.get((entry.table.name, entry.key))
    if version is None or bool(version["withdrawn"]) != entry.withdrawn:
        return False
    return entry.withdrawn or all(version[name] == value for name, value in entry.values.items())


def _surroundings(connection: sa.Connection, resolve: Resolvers, now: datetime) -> Surroundings:
    farms = VERSIONS["farm"]
    query = sa.select(farms.c.farm, farms.c.time_zone).where(
        farms.c.replaced.is_(None), farms.c.withdrawn == 0
    )
    zones: dict[str, str] = {row.farm: row.time_zone for row in connection.execute(query)}

    def recorded_of(name: str, key: str) -> str | None:
        versions = VERSIONS[name]
        found = sa.select(versions.c.recorded).where(versions.c.replaced.is_(None), versions.c.row_key == key)
        return connection.execute(found).scalar()

    return Surroundings(resolve=resolve, now=now, zones=zones, recorded_of=recorded_of)
