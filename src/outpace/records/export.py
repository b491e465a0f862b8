"""Write the book as a data package: a folder or a zip of CSV files with their descriptor."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
import zipfile
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.records.book import Book
from outpace.records.canonical import sort_key
from outpace.records.cells import guard
from outpace.records.climate_rows import text_of
from outpace.records.columns import BOOKKEEPING, Column, Table, table
from outpace.records.engine import reading
from outpace.records.package_limits import DESCRIPTOR, resources_of
from outpace.records.past import EVENT_COLUMNS, PEOPLE_COLUMNS, event_cells, people_cells, write_cells
from outpace.records.people import People
from outpace.records.schemas import package_descriptor
from outpace.records.tables import SERIES_COLUMNS, VERSIONS, climate, climate_series
from outpace.terms.tables import TABLES

#: Above this many rows climate leaves in one file a year, so that no file outgrows what an import takes.
MOST_CLIMATE_ROWS = 300_000

ZIP_DATE = (1980, 1, 1, 0, 0, 0)  # a zip of the same book has the same bytes


def export_package(book: Book, path: str | Path, *, history: bool = True) -> Path:
    """Write the book as a data package, and return where.

    Rows that were withdrawn leave too, marked so; names of people stand as text, erased ones empty. Times
    carry the offset of their farm's clock. Text that a spreadsheet would run as a formula leaves with an
    apostrophe before it.

    Parameters
    ----------
    book
        An open book.
    path
        A folder, made if absent, or a name that ends in ``.zip``.
    history : bool, default True
        Write all events too (``events.csv``, ``people.csv``, ``climate_past.csv``), so that another book can take
        over or merge the whole history; else only what holds now.

    Raises
    ------
    OutpaceError
        If the folder holds something else.
    """
    target = Path(path)
    if target.suffix.lower() == ".zip":
        target.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=target.parent, prefix=".export-") as work:
            written = _write_files(book, Path(work), history)
            part = Path(work) / "package.part"
            _zip(part, [Path(work) / name for name in written])
            os.replace(part, target)
        return target
    stale = _stale(target)
    target.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=target, prefix=".export-") as work:
        written = _write_files(book, Path(work), history)
        for name in stale - set(written):
            (target / name).unlink(missing_ok=True)
        for name in written:  # the descriptor comes last: a package without it was not finished
            shutil.move(Path(work) / name, target / name)
    return target


def _stale(target: Path) -> set[str]:
    """Return the files of an earlier package in a folder; refuse a folder that holds anything else."""
    if not target.exists():
        return set()
    if not target.is_dir():
        raise OutpaceError(
            say("`{target}` is a file", target=target), allowed=say("must be a folder or end in .zip")
        )
    there = {item.name for item in target.iterdir()}
    if not there:
        return set()
    ours = set()
    if DESCRIPTOR in there:
        ours = {*resources_of((target / DESCRIPTOR).read_bytes()), DESCRIPTOR}
    others = sorted(there - ours)
    if others:
        raise OutpaceError(
            say("`{target}` holds `{others}`", target=target, others=others[0]),
            allowed=say("must be empty or hold an earlier package"),
            hint=say("name a new folder"),
        )
    return ours


def _zip(part: Path, files: Iterable[Path]) -> None:
    with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in files:
            info = zipfile.ZipInfo(file.name, ZIP_DATE)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            with file.open("rb") as source, archive.open(info, "w") as sink:
                shutil.copyfileobj(source, sink)


def _write_files(book: Book, folder: Path, history: bool) -> list[str]:
    files: list[tuple[str, str]] = []
    with reading(book.engine) as connection:
        write = _Writing(connection, history)
        for name in TABLES:
            for stem, rows in write.parts(name):
                if write_cells(folder / f"{stem}.csv", write.header(name), rows):
                    files.append((stem, name))
        if history:
            past = {
                "events": (EVENT_COLUMNS, event_cells(connection)),
                "people": (PEOPLE_COLUMNS, people_cells(connection)),
                "climate_past": (write.header("climate"), write.climate_past()),
            }
            for name, (header, rows) in past.items():
                if write_cells(folder / f"{name}.csv", header, rows):
                    files.append((name, name))
    descriptor = json.dumps(package_descriptor(files, history=history), indent=1, ensure_ascii=False) + "\n"
    (folder / DESCRIPTOR).write_text(descriptor, encoding="utf-8")
    return [*(f"{stem}.csv" for stem, _ in files), DESCRIPTOR]


class _Writing:
    """Turns stored rows into cells."""

    def __init__(self, connection: sa.Connection, history: bool) -> None:
        self._connection = connection
        self._history = history
        self._people = People(connection)
        farms = VERSIONS["farm"]
        query = sa.select(farms.c.farm, farms.c.time_zone).where(farms.c.replaced.is_(None))
        self._zones = {row.farm: ZoneInfo(row.time_zone) for row in connection.execute(query)}
        shared = {str(zone) for zone in self._zones.values()}
        self._shared = ZoneInfo(shared.pop()) if len(shared) == 1 else ZoneInfo("UTC")

    def header(self, name: str) -> tuple[str, ...]:
        """Return the column names of a table's file."""
        more = ("event",) if name == "climate" and self._history else ()
        return (*table(name).names, *BOOKKEEPING, *more)

    def climate_past(self) -> Iterator[list[str]]:
        """Yield the climate rows that were replaced, as cells."""
        return self._climate(None, current=False)

    def parts(self, name: str) -> Iterator[tuple[str, Iterator[list[str]]]]:
        """Yield the files of a table, as their stem and their rows of cells."""
        if name != "climate":
            yield name, self._rows(table(name))
            return
        count = self._connection.execute(
            sa.select(sa.func.count()).select_from(climate).where(climate.c.replaced.is_(None))
        ).scalar_one()
        if count <= MOST_CLIMATE_ROWS:
            yield name, self._climate(None)
            return
        ends = self._connection.execute(
            sa.select(sa.func.min(climate.c.time), sa.func.max(climate.c.time))
        ).one()
        first, last = (datetime.fromtimestamp(end, UTC).year for end in ends)
        for year in range(first, last + 1):
            yield f"climate-{year}", self._climate(year)

    def _rows(self, described: Table) -> Iterator[list[str]]:
        versions = VERSIONS[described.name]
        query = sa.select(versions).where(versions.c.replaced.is_(None))
        keys = [column.stored for column in described.keys]
        found = self._connection.execute(query).mappings().all()
        for row in sorted(found, key=lambda row: sort_key(described, [row[key] for key in keys])):
            zone = self._zones.get(row.get("farm", ""), self._shared)
            cells = [self._cell(column, row[column.stored], zone) for column in described.columns]
            yield cells + self._bookkeeping(row, zone)

    def _climate(self, year: int | None, *, current: bool = True) -> Iterator[list[str]]:
        described = table("climate")
        lists = self._connection.execute(sa.select(climate_series)).mappings().all()
        for series in sorted(lists, key=lambda row: sort_key(described, [row[c] for c in SERIES_COLUMNS])):
            zone = self._zones.get(series["farm"], self._shared)
            query = (
                sa.select(climate)
                .where(
                    climate.c.series == series["series"],
                    climate.c.replaced.is_(None) if current else climate.c.replaced.is_not(None),
                )
                .order_by(climate.c.time, climate.c.event)
            )
            if year is not None:
                start, end = (int(datetime(y, 1, 1, tzinfo=UTC).timestamp()) for y in (year, year + 1))
                query = query.where(climate.c.time >= start, climate.c.time < end)
            shared = [self._cell(described.column(name), series[name], zone) for name in SERIES_COLUMNS]
            for row in self._connection.execute(query).mappings():
                moment = _local(text_of(row["time"]), zone)
                numbers = [_number(row[name]) for name in described.names[len(SERIES_COLUMNS) + 1 : -1]]
                cells = [*shared, moment, *numbers, guard(row["flag"] or "")]
                event = [guard(row["event"])] if self._history else []
                yield cells + self._bookkeeping(row, zone) + event

    def _cell(self, column: Column, value: Any, zone: ZoneInfo) -> str:
        if value is None:
            return ""
        if column.person:
            return "" if self._people.is_erased(value) else guard(str(self._people.name(value)))
        if column.kind is datetime:
            return _local(value, zone)
        if column.kind is bool:
            return "yes" if value else "no"
        if column.kind in (int, float):
            return _number(value)
        return guard(value) if column.kind is str else str(value)

    def _bookkeeping(self, row: Any, zone: ZoneInfo) -> list[str]:
        by = row["recorded_by"]
        name = "" if by is None or self._people.is_erased(by) else guard(str(self._people.name(by)))
        withdrawn = "yes" if row["withdrawn"] else ""
        return [_local(row["recorded"], zone), name, guard(row["replaces"] or ""), withdrawn]


def _local(text: str, zone: ZoneInfo) -> str:
    """Return a stored time as the farm's clock showed it, with its offset."""
    return datetime.fromisoformat(text).astimezone(zone).isoformat()


def _number(value: Any) -> str:
    """Return the shortest text that reads back as the same number."""
    if value is None:
        return ""
    text = repr(value)
    return text.removesuffix(".0")
