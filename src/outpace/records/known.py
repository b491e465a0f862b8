"""What was known at a moment: row versions whose time of validity holds it."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import partial
from operator import itemgetter
from typing import Any

import sqlalchemy as sa

from outpace.records.canonical import (
    canonical_json,
    digest,
    from_plain,
    moment_of,
    record_of,
    recorded_text,
)
from outpace.records.chain import heads, joint_head
from outpace.records.climate_rows import seconds_of, text_of
from outpace.records.columns import Table, table
from outpace.records.people import People
from outpace.records.tables import SERIES_COLUMNS, VERSIONS, climate, climate_series, events
from outpace.terms.place import Climate
from outpace.terms.tables import TABLES, Snapshot

#: Which tables to read, and of each the values that a column may have; a table that is not named is not read.
Only = Mapping[str, Mapping[str, Collection[Any]]]

#: What was written down on a walk.
OF_WALK = ("counts", "mummies", "seen", "walk_lines")


def valid_at(versions: sa.Table, moment: str | None) -> sa.ColumnElement[bool]:
    """Return the condition that a version holds at a moment; None: now."""
    if moment is None:
        return sa.and_(versions.c.replaced.is_(None), versions.c.withdrawn == 0)
    return sa.and_(
        versions.c.recorded <= moment,
        sa.or_(versions.c.replaced.is_(None), versions.c.replaced > moment),
        versions.c.withdrawn == 0,
    )


def known_at(
    connection: sa.Connection,
    as_of: datetime | None,
    *,
    now: datetime,
    climate_since: datetime | None = None,
    walked_since: date | None = None,
    only: Only | None = None,
) -> Snapshot:
    """Return the snapshot of a moment, rows sorted by their keys; with ``only`` a part of it."""
    moment = None if as_of is None else recorded_text(as_of)
    people = People(connection)
    rows: dict[str, tuple[Any, ...]] = {}
    for name in TABLES:
        if only is not None and name not in only:
            continue
        if name == "climate":
            rows[name] = _climate(connection, moment, climate_since)
        else:
            since = walked_since if name in OF_WALK else None
            rows[name] = _rows(connection, table(name), moment, people, (only or {}).get(name, {}), since)
    # The head goes by every row of the book: a part that is asked for by itself goes without.
    head = _head(connection, moment) if only is None else ""
    return Snapshot(as_of=(as_of or now).astimezone(UTC), head=head, rows=rows)


def _rows(
    connection: sa.Connection,
    described: Table,
    moment: str | None,
    people: People,
    wanted: Mapping[str, Collection[Any]],
    walked_since: date | None = None,
) -> tuple[Any, ...]:
    versions = VERSIONS[described.name]
    columns = described.columns
    query = sa.select(*(versions.c[column.stored] for column in columns)).where(valid_at(versions, moment))
    for name, values in wanted.items():
        query = query.where(versions.c[name].in_(list(values)))
    if walked_since is not None:
        # Moments are kept in UTC, days are those of a farm: two days more take in every zone.
        walks = VERSIONS["walks"]
        begun = (walked_since - timedelta(days=2)).isoformat()
        query = query.where(versions.c.walk.in_(sa.select(walks.c.walk).where(walks.c.time >= begun)))
    found = _sorted(connection.execute(query).all(), [at for at, column in enumerate(columns) if column.key])
    kind, names = described.row, [column.name for column in columns]
    # Text and numbers come as they are; with 100,000 counts it matters to leave them alone.
    made: list[tuple[str, Callable[[Any], Any]]] = [
        (column.name, people.name if column.person else partial(from_plain, column))
        for column in columns
        if column.person or column.kind in (datetime, date, bool)
    ]
    rows = []
    for row in found:
        values = dict(zip(names, row, strict=True))
        for name, make in made:
            values[name] = make(values[name])
        rows.append(kind(**values))
    return tuple(rows)


def _sorted(rows: Sequence[Any], keys: Sequence[int]) -> list[Any]:
    """Return rows by the columns of their key, empty cells first."""
    try:
        return sorted(rows, key=itemgetter(*keys))
    except TypeError:  # a cell is empty in some and told in others
        return sorted(rows, key=lambda row: [(row[at] is not None, row[at]) for at in keys])


def _climate(connection: sa.Connection, moment: str | None, since: datetime | None) -> tuple[Climate, ...]:
    heads_of_series = connection.execute(sa.select(climate_series)).mappings().all()
    found: list[Climate] = []
    utc, from_seconds = UTC, datetime.fromtimestamp

    def order(series: Any) -> list[Any]:
        return [(series[name] is not None, series[name]) for name in SERIES_COLUMNS]

    for series in sorted(heads_of_series, key=order):
        shared = {name: series[name] for name in SERIES_COLUMNS}
        if shared["issued"] is not None:
            shared["issued"] = moment_of(shared["issued"])
        query = (
            sa.select(
                climate.c.time,
                climate.c.temperature_degc,
                climate.c.humidity_pct,
                climate.c.radiation_w_per_m2,
                climate.c.flag,
            )
            .where(climate.c.series == series["series"], valid_at(climate, moment))
            .order_by(climate.c.time)
        )
        if since is not None:
            query = query.where(climate.c.time >= int(since.timestamp()))
        for time, temperature, humidity, radiation, flag in connection.execute(query):
            found.append(
                Climate(
                    **shared,
                    time=from_seconds(time, utc),
                    temperature_degc=temperature,
                    humidity_pct=humidity,
                    radiation_w_per_m2=radiation,
                    flag=flag,
                )
            )
    return tuple(found)


def head_at(connection: sa.Connection, as_of: datetime | None) -> str:
    """Return the digest that stands for what was known at a moment; None: now."""
    return _head(connection, None if as_of is None else recorded_text(as_of))


def _head(connection: sa.Connection, moment: str | None) -> str:
    """Return the digest that stands for what was known at a moment.

    Nothing left out: the head of the book. Else a digest over each chain's last event by then, how many
    events and how many climate rows were known: events are only added, so equal numbers and ends mean equal
    rows.
    """
    if moment is None:
        return joint_head(connection)
    counted = sa.select(
        sa.func.count(), sa.func.coalesce(sa.func.sum(sa.case((events.c.recorded <= moment, 1), else_=0)), 0)
    )
    total, known = connection.execute(counted.select_from(events)).one()
    hours = sa.select(
        sa.func.count(), sa.func.coalesce(sa.func.sum(sa.case((climate.c.recorded <= moment, 1), else_=0)), 0)
    )
    total_hours, known_hours = connection.execute(hours.select_from(climate)).one()
    if total == known and total_hours == known_hours:
        return joint_head(connection)
    ends = [[head.device, head.hash] for head in heads(connection, until=moment)]
    return digest(canonical_json([ends, int(known), int(known_hours)]))


@dataclass(frozen=True, slots=True)
class Version:
    """One state of a row: the record, or None where it was withdrawn, with who, when and why."""

    event: str
    recorded: datetime
    by: str | None
    why: str | None
    row: Any | None


@dataclass(frozen=True, slots=True)
class History:
    """All versions of one row, oldest first."""

    versions: tuple[Version, ...]

    @property
    def now(self) -> Any | None:
        """The current record; None where there is none or it was withdrawn."""
        return self.versions[-1].row if self.versions else None


def history_of(connection: sa.Connection, described: Table, key: Sequence[Any]) -> History:
    """Return all versions of the row with this key."""
    people = People(connection)
    if described.name == "climate":
        return _climate_history(connection, described, key, people)
    query = (
        sa.select(events)
        .where(events.c.table == described.name, events.c.key == canonical_json(list(key)))
        .order_by(events.c.position)
    )
    found = []
    for event in connection.execute(query).mappings():
        content = json.loads(event["content"])
        values = {column.stored: content["row"].get(column.stored) for column in described.columns}
        for column in described.columns:
            if column.person:
                values[column.stored] = people.name(values[column.stored])
        row = None if content["do"] == "withdraw" else record_of(described, values)
        found.append(
            Version(event["event"], moment_of(event["recorded"]), people.name(event["by"]), event["why"], row)
        )
    return History(tuple(found))


def _climate_history(
    connection: sa.Connection, described: Table, key: Sequence[Any], people: People
) -> History:
    values = dict(zip((column.stored for column in described.keys), key, strict=True))
    series = canonical_json([values[name] for name in SERIES_COLUMNS])
    query = (
        sa.select(climate, events.c.why, events.c.position)
        .join(climate_series, climate.c.series == climate_series.c.series)
        .join(events, climate.c.event == events.c.event)
        .where(climate_series.c.series_key == series, climate.c.time == seconds_of(values["time"]))
        .order_by(events.c.position)
    )
    found = []
    for row in connection.execute(query).mappings():
        cells = {**values, **{c.stored: row[c.stored] for c in described.columns if c.stored not in values}}
        cells["time"] = text_of(row["time"])
        record = None if row["withdrawn"] else record_of(described, cells)
        by = people.name(row["recorded_by"])
        found.append(Version(row["event"], moment_of(row["recorded"]), by, row["why"], record))
    return History(tuple(found))
