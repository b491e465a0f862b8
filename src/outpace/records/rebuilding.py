"""Row versions made anew from the events, and the check that both agree."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa

from outpace.records.chain import broken_links
from outpace.records.climate_rows import batch_digest, digest_values
from outpace.records.columns import table
from outpace.records.guards import missing_guards
from outpace.records.tables import VERSIONS, climate, climate_series, events
from outpace.records.versions import version_of


def _versions_of_events(connection: sa.Connection, name: str) -> Iterator[dict[str, Any]]:
    """Yield the versions that the events of one table make, each closed by the one that follows it."""
    described = table(name)
    last: dict[str, dict[str, Any]] = {}
    order: list[dict[str, Any]] = []
    query = sa.select(events).where(events.c.table == name).order_by(events.c.position)
    for event in connection.execute(query.execution_options(yield_per=5000)).mappings():
        content = json.loads(event["content"])
        version = version_of(described, event["event"], event["key"], event["recorded"], event["by"], content)
        before = last.get(event["key"])
        if before is not None:
            before["replaced"] = event["recorded"]
        last[event["key"]] = version
        order.append(version)
    yield from order


def rebuild(connection: sa.Connection) -> None:
    """Empty every version table and fill it from the events; mend which climate rows are replaced."""
    for name, versions in VERSIONS.items():
        connection.execute(versions.delete())
        rows = list(_versions_of_events(connection, name))
        if rows:
            connection.execute(versions.insert(), rows)
    wrong = [
        {"s": s, "t": t, "e": e, "at": at} for s, t, e, held, at in _climate_ends(connection) if held != at
    ]
    if wrong:
        connection.execute(
            climate.update()
            .where(
                climate.c.series == sa.bindparam("s"),
                climate.c.time == sa.bindparam("t"),
                climate.c.event == sa.bindparam("e"),
            )
            .values(replaced=sa.bindparam("at")),
            wrong,
        )


def _climate_ends(connection: sa.Connection) -> Iterator[tuple[int, int, str, str | None, str | None]]:
    """Yield (series, time, event, end held, end by the events) of climate rows that have or need an end."""
    twice = (
        sa.select(climate.c.series, climate.c.time)
        .group_by(climate.c.series, climate.c.time)
        .having(sa.or_(sa.func.count() > 1, sa.func.count(climate.c.replaced) > 0))
        .subquery()
    )
    query = (
        sa.select(climate.c.series, climate.c.time, climate.c.event, climate.c.replaced, climate.c.recorded)
        .join(twice, sa.and_(climate.c.series == twice.c.series, climate.c.time == twice.c.time))
        .join(events, climate.c.event == events.c.event)
        .order_by(climate.c.series, climate.c.time, events.c.position.desc())
    )
    after: tuple[int, int] | None = None
    until: str | None = None
    for series, time, event, held, recorded in connection.execute(query).all():
        if after != (series, time):
            until = None
        yield series, time, event, held, until
        after, until = (series, time), recorded


def verify(connection: sa.Connection) -> list[str]:
    """Return a sentence for each thing that is not as the events say."""
    problems = [f"the guard {name} on events is gone" for name in missing_guards(connection)]
    problems += broken_links(connection)
    for name in VERSIONS:
        problems += _differing_versions(connection, name)
    problems += _differing_batches(connection)
    problems += [
        f"climate row of series {series} at {time}: says it ends {held}, the events say {at}"
        for series, time, _, held, at in _climate_ends(connection)
        if held != at
    ]
    return problems


def _differing_versions(connection: sa.Connection, name: str) -> list[str]:
    problems = []
    query = sa.select(VERSIONS[name])
    held = {row["event"]: dict(row) for row in connection.execute(query).mappings()}
    for version in _versions_of_events(connection, name):
        there = held.pop(version["event"], None)
        if there is None:
            problems.append(f"`{name}` {version['row_key']}: the row of event {version['event']} is gone")
        elif there != version:
            columns = [column for column in version if version[column] != there[column]]
            problems.append(
                f"`{name}` {version['row_key']}: {', '.join(columns)} differ from event {version['event']}"
            )
    problems += [f"`{name}` {row['row_key']}: no event made this row" for row in held.values()]
    return problems


def _differing_batches(connection: sa.Connection) -> list[str]:
    problems = []
    known = set()
    query = sa.select(events.c.event, events.c.content).where(events.c.table == "climate")
    for event, text in connection.execute(query).all():
        known.add(event)
        content = json.loads(text)
        rows = (
            connection.execute(
                sa.select(climate, climate_series.c.series_key)
                .join(climate_series, climate.c.series == climate_series.c.series)
                .where(climate.c.event == event)
            )
            .mappings()
            .all()
        )
        found = batch_digest((row["series_key"], row["time"], digest_values(row)) for row in rows)
        if found != content["digest"]:
            problems.append(
                f"climate batch {event}: its {content['rows']} rows were altered or are incomplete"
            )
    strangers = connection.execute(sa.select(climate.c.event).distinct()).scalars()
    problems += [f"climate rows of {event}: no event made them" for event in strangers if event not in known]
    return problems
