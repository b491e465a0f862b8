"""Row versions made anew from the events, and the check that both agree."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby, product
from operator import itemgetter
from typing import Any

import sqlalchemy as sa

from outpace.language import say
from outpace.records.canonical import key_words, row_key
from outpace.records.chain import Knowledge, Place, broken_links, heads, knowledge
from outpace.records.climate_rows import DIGESTED, batch_digest, text_of
from outpace.records.climate_rows import VALUES as CLIMATE_VALUES
from outpace.records.columns import Table, table
from outpace.records.entries import Conflict
from outpace.records.guards import missing_guards
from outpace.records.people import People
from outpace.records.tables import SERIES_COLUMNS, VERSIONS, climate, climate_series, events
from outpace.records.versions import version_of

#: What of an event its row version is made from.
REPLAYED = ("event", "device", "seq", "recorded", "by", "key", "content")


@dataclass(frozen=True, slots=True)
class Lost:
    """A version that came without knowing the one that stands: kept, never current."""

    version: dict[str, Any]
    standing: dict[str, Any]


@dataclass(slots=True)
class Replayed:
    """The versions that the events of one table make, in order, and which of them lost.

    ``places`` has, by key, the events that say what stands: more than one where devices said the same apart.
    """

    versions: list[dict[str, Any]]
    lost: list[Lost]
    places: dict[str, list[Place]]


def replay(
    described: Table,
    stream: Iterable[Mapping[str, Any]],
    seen: Knowledge,
    name_of: Callable[[str], str | None],
) -> Replayed:
    """Return the versions that events of one table make.

    An event that knows the standing version replaces it. One that does not, from a device that had not heard, is kept
    beside it; where both say the same they count as one.
    """
    standing: dict[str, tuple[dict[str, Any], list[Place]]] = {}
    told = Replayed([], [], {})
    for event in stream:
        content = json.loads(event["content"])
        version = version_of(described, event["event"], event["key"], event["recorded"], event["by"], content)
        place = (event["device"], event["seq"])
        told.versions.append(version)
        if event["key"] not in standing:
            standing[event["key"]] = (version, [place])
            continue
        before, places = standing[event["key"]]
        if any(seen.knows(place, other) for other in places):
            version["recorded"] = max(version["recorded"], before["recorded"])
            before["replaced"] = version["recorded"]
            standing[event["key"]] = (version, [place])
            continue
        version["replaced"] = version["recorded"]
        if _alike(described, version, before, name_of):
            places.append(place)
        else:
            told.lost.append(Lost(version, before))
    told.places = {key: places for key, (_, places) in standing.items()}
    return told


def _alike(
    described: Table, one: Mapping[str, Any], other: Mapping[str, Any], name_of: Callable[[str], str | None]
) -> bool:
    if one["withdrawn"] or other["withdrawn"]:
        return bool(one["withdrawn"] and other["withdrawn"])
    for column in described.columns:
        mine, theirs = one[column.stored], other[column.stored]
        if column.person and mine is not None and theirs is not None:
            mine, theirs = name_of(mine), name_of(theirs)
        if mine != theirs:
            return False
    return True


def replayed(connection: sa.Connection, name: str, seen: Knowledge, people: People) -> Replayed:
    """Return the versions that the book's events of one table make."""
    query = sa.select(*(events.c[column] for column in REPLAYED)).where(events.c.table == name)
    rows = connection.execute(query.order_by(events.c.position).execution_options(yield_per=5000))
    stream = (dict(zip(REPLAYED, row, strict=True)) for row in rows)
    return replay(table(name), stream, seen, people.name)


def rebuild(connection: sa.Connection, names: Iterable[str] = VERSIONS) -> None:
    """Empty version tables and fill them from the events; mend which climate rows are replaced."""
    seen, people = knowledge(connection), People(connection)
    for name in names:
        versions = VERSIONS[name]
        connection.execute(versions.delete())
        rows = replayed(connection, name, seen, people).versions
        if rows:
            connection.execute(versions.insert(), rows)
    wrong = [end for end in climate_ends(connection, seen) if end.held != end.told]
    if wrong:
        connection.execute(
            climate.update()
            .where(
                climate.c.series == sa.bindparam("s"),
                climate.c.time == sa.bindparam("t"),
                climate.c.event == sa.bindparam("e"),
            )
            .values(replaced=sa.bindparam("at")),
            [{"s": end.series, "t": end.time, "e": end.event, "at": end.told} for end in wrong],
        )


@dataclass(slots=True)
class ClimateEnd:
    """Until when a climate row holds: as its table says, and as the events tell. ``lost`` names what stands."""

    series: int
    time: int
    event: str
    held: str | None
    told: str | None
    recorded: str
    values: tuple[Any, ...]
    place: Place
    lost_to: ClimateEnd | None = None


def climate_ends(connection: sa.Connection, seen: Knowledge) -> Iterator[ClimateEnd]:
    """Yield the ends of all climate rows of which several share a moment, or which say that they end."""
    twice = (
        sa.select(climate.c.series, climate.c.time)
        .group_by(climate.c.series, climate.c.time)
        .having(sa.or_(sa.func.count() > 1, sa.func.count(climate.c.replaced) > 0))
        .subquery()
    )
    query = (
        sa.select(climate, events.c.device, events.c.seq)
        .join(twice, sa.and_(climate.c.series == twice.c.series, climate.c.time == twice.c.time))
        .join(events, climate.c.event == events.c.event)
        .order_by(climate.c.series, climate.c.time, events.c.position)
    )
    for _, rows in groupby(
        connection.execute(query).mappings().all(), key=lambda row: (row["series"], row["time"])
    ):
        ends: list[ClimateEnd] = []
        standing: ClimateEnd | None = None
        places: list[Place] = []
        for row in rows:
            values = (*(row[name] for name in CLIMATE_VALUES), row["withdrawn"])
            place = (row["device"], row["seq"])
            end = ClimateEnd(
                row["series"],
                row["time"],
                row["event"],
                row["replaced"],
                None,
                row["recorded"],
                values,
                place,
            )
            if standing is None or any(seen.knows(place, other) for other in places):
                for before in ends:  # none may outlast what replaces it
                    before.told = min(before.told or end.recorded, end.recorded)
                standing, places = end, [place]
            else:
                end.told = end.recorded
                if values == standing.values:
                    places.append(place)
                else:
                    end.lost_to = standing
            ends.append(end)
        for end in ends:  # what stands at last settles it, or is what it lost to
            if end.lost_to is not None and standing is not None:
                alike = [other.place for other in ends if other.values == end.values]
                end.lost_to = None if _settled(seen, places, end.place, alike) else standing
        yield from ends


def open_conflicts(connection: sa.Connection) -> list[Conflict]:
    """Return the rows of which two devices say different things and nobody has settled it yet."""
    if len(heads(connection)) < 2:
        return []
    seen, people = knowledge(connection), People(connection)
    found: list[Conflict] = []
    differs: dict[str, tuple[Any, Any]]
    for name in VERSIONS:
        described = table(name)
        told = replayed(connection, name, seen, people)
        standing = {version["row_key"]: version for version in told.versions if version["replaced"] is None}
        for lost in told.lost:
            key = lost.version["row_key"]
            now = standing[key]
            alike = [
                _place(version["event"])
                for version in told.versions
                if version["row_key"] == key and _alike(described, version, lost.version, people.name)
            ]
            if _settled(seen, told.places[key], _place(lost.version["event"]), alike):
                continue
            differs = {}
            for column in described.columns:
                mine, theirs = now[column.stored], lost.version[column.stored]
                if mine != theirs:
                    named = (people.name(mine), people.name(theirs))
                    differs[column.stored] = named if column.person else (mine, theirs)
            if now["withdrawn"] != lost.version["withdrawn"]:
                differs["withdrawn"] = (_yes(now["withdrawn"]), _yes(lost.version["withdrawn"]))
            words = key_words(described, lost.version)
            found.append(
                Conflict(
                    name,
                    words,
                    say("event {event}", event=lost.version["event"]),
                    differs,
                    lost.version["row_key"],
                )
            )
    series = {row.series: row for row in connection.execute(sa.select(climate_series))}
    for end in climate_ends(connection, seen):
        if end.lost_to is not None:
            shared = series[end.series]._mapping
            values = {**{name: shared[name] for name in SERIES_COLUMNS}, "time": text_of(end.time)}
            differs = {
                name: (mine, theirs)
                for name, mine, theirs in zip(
                    (*CLIMATE_VALUES, "withdrawn"), end.lost_to.values, end.values, strict=True
                )
                if mine != theirs
            }
            words = key_words(table("climate"), values)
            found.append(
                Conflict(
                    "climate",
                    words,
                    say("event {event}", event=end.event),
                    differs,
                    row_key(table("climate"), values),
                )
            )
    return found


def _settled(seen: Knowledge, standing: Iterable[Place], lost: Place, alike: Iterable[Place]) -> bool:
    """Say whether what stands was written in sight of a lost event, or of one that said the same apart from it.

    Any of the events that say what stands will do, so that both sides tell the same whichever came first to them.
    """
    return any(
        seen.knows(place, other)
        and (other == lost or not (seen.knows(other, lost) or seen.knows(lost, other)))
        for place, other in product(standing, alike)
    )


def _yes(flag: int) -> str:
    return "yes" if flag else "no"


def _place(event: str) -> Place:
    device, _, seq = event.rpartition("-")
    return device, int(seq)


def verify(connection: sa.Connection) -> list[str]:
    """Return a sentence for each thing that is not as the events say."""
    problems = [say("the guard {name} on events is gone", name=name) for name in missing_guards(connection)]
    problems += broken_links(connection)
    seen, people = knowledge(connection), People(connection)
    for name in VERSIONS:
        problems += _differing_versions(connection, name, seen, people)
    problems += _differing_batches(connection)
    problems += [
        say(
            "climate row of series {series} at {time}: says it ends {held}, the events say {told}",
            series=end.series,
            time=end.time,
            held=end.held,
            told=end.told,
        )
        for end in climate_ends(connection, seen)
        if end.held != end.told
    ]
    return problems


def _differing_versions(connection: sa.Connection, name: str, seen: Knowledge, people: People) -> list[str]:
    problems = []
    columns = VERSIONS[name].c.keys()
    at, key_at = columns.index("event"), columns.index("row_key")
    query = sa.select(VERSIONS[name]).execution_options(yield_per=5000)
    held = {row[at]: tuple(row) for row in connection.execute(query)}
    for version in replayed(connection, name, seen, people).versions:
        there = held.pop(version["event"], None)
        if there is None:
            problems.append(
                say(
                    "`{name}` {row_key}: the row of event {event} is gone",
                    name=name,
                    row_key=version["row_key"],
                    event=version["event"],
                )
            )
        elif there != tuple(map(version.__getitem__, columns)):
            differing = [
                column for column, value in zip(columns, there, strict=True) if version[column] != value
            ]
            problems.append(
                say(
                    "`{name}` {row_key}: {differing} differ from event {event}",
                    name=name,
                    row_key=version["row_key"],
                    differing=", ".join(differing),
                    event=version["event"],
                )
            )
    problems += [
        say("`{name}` {row}: no event made this row", name=name, row=row[key_at]) for row in held.values()
    ]
    return problems


def _differing_batches(connection: sa.Connection) -> list[str]:
    told = {
        event: json.loads(text)
        for event, text in connection.execute(
            sa.select(events.c.event, events.c.content).where(events.c.table == "climate")
        )
    }
    series = sa.select(climate_series.c.series, climate_series.c.series_key)
    keys: dict[int, str] = {row[0]: row[1] for row in connection.execute(series)}
    query = sa.select(
        climate.c.event, climate.c.series, climate.c.time, *(climate.c[name] for name in DIGESTED)
    )
    rows = connection.execute(query.order_by(climate.c.event).execution_options(yield_per=10_000))
    found = {
        event: batch_digest((keys[row[1]], row[2], row[3:]) for row in batch)
        for event, batch in groupby(rows, key=itemgetter(0))
    }
    problems = [
        say(
            "climate batch {event}: its {rows} rows were altered or are incomplete",
            event=event,
            rows=content["rows"],
        )
        for event, content in told.items()
        if found.get(event) != content["digest"]
    ]
    problems += [
        say("climate rows of {event}: no event made them", event=event)
        for event in found
        if event not in told
    ]
    return problems
