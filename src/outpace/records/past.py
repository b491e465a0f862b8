"""The history on disk: events, names by id, and the climate rows that were replaced."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.records.canonical import canonical_json, plain, recorded_text
from outpace.records.cells import CellFault, guard, read_exact_time, read_number, read_text, read_whole
from outpace.records.columns import BOOKKEEPING, table
from outpace.records.merging import Past
from outpace.records.package_files import Package, Source
from outpace.records.tables import SERIES_COLUMNS, events, people

EVENT_COLUMNS = (
    "event",
    "device",
    "seq",
    "previous_hash",
    "recorded",
    "by",
    "why",
    "table",
    "key",
    "content",
)
PEOPLE_COLUMNS = ("person", "name")
CLIMATE_COLUMNS = (*table("climate").names, *BOOKKEEPING, "event")


def event_cells(connection: sa.Connection) -> Iterator[list[str]]:
    """Yield the events of a book as cells, in the order they came."""
    query = sa.select(*(events.c[name] for name in EVENT_COLUMNS)).order_by(events.c.position)
    for row in connection.execute(query):
        yield [guard(str(cell)) if cell is not None else "" for cell in row]


def people_cells(connection: sa.Connection) -> Iterator[list[str]]:
    """Yield the names of people by id as cells; an erased name is empty."""
    for row in connection.execute(sa.select(people.c.person, people.c.name).order_by(people.c.person)):
        yield [row.person, guard(row.name or "")]


def write_cells(path: Path, header: tuple[str, ...], rows: Iterator[list[str]]) -> bool:
    """Write a CSV file, or none where there are no rows; say whether there were."""
    first = next(rows, None)
    if first is None:
        return False
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(header)
        out.writerow(first)
        out.writerows(rows)
    return True


def read_past(package: Package) -> Past | None:
    """Return the history that a package carries, or None where it carries none."""
    if not any(source.table == "events" for source in package.sources):
        return None
    past = Past()
    for source in package.sources:
        if source.table == "people":
            for _, row in _records(package, source, PEOPLE_COLUMNS):
                past.people[row["person"]] = read_text(row["name"]) or None
        elif source.table == "events":
            past.events += [_event(row, where) for where, row in _records(package, source, EVENT_COLUMNS)]
        elif source.table in ("climate", "climate_past"):
            for where, row in _records(package, source, CLIMATE_COLUMNS, whole=False):
                if row.get("event"):
                    past.climate.setdefault(read_text(row["event"]), []).append(_hour(row, where))
    return past


def _records(
    package: Package, source: Source, columns: tuple[str, ...], *, whole: bool = True
) -> Iterator[tuple[str, dict[str, str]]]:
    with package.rows(source) as rows:
        header = next(rows, [])
        if whole and tuple(header) != columns:
            raise OutpaceError(
                say("other columns than it was exported with"),
                where=f"`{source.shown}`",
                allowed=say("columns: {columns}", columns=", ".join(columns)),
            )
        if not whole and "event" not in header:
            return
        for number, cells in enumerate(rows, start=2):
            where = say("`{shown}` row {number}", shown=source.shown, number=number)
            if len(cells) != len(header):
                if not any(cells):
                    continue
                raise OutpaceError(
                    say("{cells} cells", cells=len(cells)),
                    where=where,
                    allowed=say("the header names {header} columns", header=len(header)),
                )
            yield where, dict(zip(header, cells, strict=True))


def _event(row: dict[str, str], where: str) -> dict[str, Any]:
    event: dict[str, Any] = {name: read_text(cell) for name, cell in row.items()}
    try:
        event["seq"] = read_whole(row["seq"])
        read_exact_time(row["recorded"])
    except CellFault as fault:
        raise OutpaceError(fault.what, where=where, allowed=fault.allowed) from fault
    event["why"] = event["why"] or None
    return event


def _hour(row: dict[str, str], where: str) -> dict[str, Any]:
    """Return a climate row that names its event, as it stood in the book that exported it."""
    described = table("climate")
    values: dict[str, Any] = {}
    try:
        for column in described.columns:
            text = row.get(column.stored, "")
            if not text:
                values[column.stored] = None
            elif column.stored in ("time", "issued"):
                values[column.stored] = plain(column, read_exact_time(text))
            else:
                values[column.stored] = read_number(text) if column.kind is float else read_text(text)
        known = read_exact_time(row["recorded"])
        seconds = read_exact_time(row["time"])
    except (CellFault, KeyError) as fault:
        raise OutpaceError(
            say("cannot be read: {fault}", fault=fault),
            where=where,
            allowed=say("must be as it was exported"),
        ) from fault
    key = canonical_json([values[name] for name in SERIES_COLUMNS])
    return {
        **values,
        "series_key": key,
        "time": int(seconds.timestamp()),
        "recorded": recorded_text(known),
        "by": read_text(row.get("recorded_by", "")) or None,
        "replaces": read_text(row.get("replaces", "")) or None,
        "withdrawn": int(row.get("withdrawn", "") == "yes"),
        "written": None,
    }
