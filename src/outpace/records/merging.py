"""The history of another copy of the book, taken over: chains checked, nothing lost, conflicts listed."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from outpace.errors import ManyErrors, OutpaceError
from outpace.language import say
from outpace.records.canonical import GENESIS, record_of
from outpace.records.chain import MERGE, Knowledge, event_hash
from outpace.records.checks import check_row
from outpace.records.climate_rows import batch_digest, digest_values
from outpace.records.columns import table
from outpace.records.entering import Entering
from outpace.records.people import People
from outpace.records.rebuilding import rebuild, replay
from outpace.records.tables import SERIES_COLUMNS, VERSIONS, climate, climate_series, events
from outpace.terms.tables import TABLES

Row = dict[str, Any]

#: What an event may name beside a table of the trade.
OTHER_TABLES = (MERGE, "people")


@dataclass(slots=True)
class Past:
    """The history that came in a package: events in order, names by id, climate rows by their event."""

    events: list[Row] = field(default_factory=list)
    people: dict[str, str | None] = field(default_factory=dict)
    climate: dict[str, list[Row]] = field(default_factory=dict)

    def current(self) -> dict[tuple[str, str], Row]:
        """Return the rows that hold by this history alone, names in words, by table and key."""
        seen = Knowledge((e["device"], e["seq"], e["content"]) for e in self.events if e["table"] == MERGE)
        found = {}
        for name in VERSIONS:
            described = table(name)
            mine = (event for event in self.events if event["table"] == name)
            for version in replay(described, mine, seen, self.people.get).versions:
                if version["replaced"] is None:
                    for column in described.columns:
                        if column.person:
                            version[column.stored] = self.people.get(version[column.stored])
                    found[name, version["row_key"]] = version
        return found


def take_over(transaction: Entering, past: Past, now: datetime) -> int:
    """Add the events that the book does not know, with their climate rows, and return how many.

    Raises
    ------
    OutpaceError
        If a chain is broken, parts from the one the book holds, or holds rows that may not be.
    """
    connection = transaction.connection
    fresh = _fresh_events(connection, past.events)
    _check_batches(past, fresh)
    if not fresh:
        return 0
    _check_contents(fresh, now)
    people = transaction.people
    for person, name in past.people.items():
        people.adopt(person, name)
    position = connection.execute(sa.select(sa.func.max(events.c.position))).scalar() or 0
    for at, event in enumerate(fresh, start=1):
        event["position"] = position + at
    connection.execute(events.insert(), fresh)
    for event in fresh:
        _erase_again(people, event, now)
        if event["table"] == "climate":
            _insert_hours(connection, event["event"], past.climate.get(event["event"], []), people)
    touched = {event["table"] for event in fresh} & set(VERSIONS)
    rebuild(connection, sorted(touched))
    for event in fresh:
        if event["table"] in VERSIONS:
            content = json.loads(event["content"])
            if content["do"] != "withdraw":
                transaction.wanted.add(
                    event["table"], content["row"], say("`events.csv` event {event}", event=event["event"])
                )
    for batch in {event["event"] for event in fresh if event["table"] == "climate"}:
        for row in past.climate.get(batch, [])[:1]:
            transaction.wanted.add("climate", row, say("`climate.csv`, batch {batch}", batch=batch))
    transaction.restart_chain()
    return len(fresh)


def _fresh_events(connection: sa.Connection, offered: Iterable[Row]) -> list[Row]:
    """Return the events that continue or add chains; refuse broken ones and those that part ways."""
    held: dict[str, dict[int, str]] = {}
    for device, seq, own in connection.execute(sa.select(events.c.device, events.c.seq, events.c.hash)):
        held.setdefault(device, {})[seq] = own
    last: dict[str, tuple[int, str]] = {}
    fresh = []
    for event in offered:
        device, seq = event["device"], event["seq"]
        where = say("`events.csv` event {event}", event=event["event"])
        before, previous = last.get(device, (0, GENESIS))
        if seq != before + 1 or event["previous_hash"] != previous or event["event"] != f"{device}-{seq}":
            raise OutpaceError(
                say("does not follow from the event before it"),
                where=where,
                allowed=say("a history is taken over whole and unaltered"),
                hint=say("export the book again, or remove `events.csv` to import the tables alone"),
            )
        event["hash"] = event_hash(event)
        last[device] = (seq, event["hash"])
        known = held.get(device, {}).get(seq)
        if known is None:
            fresh.append(event)
        elif known != event["hash"]:
            raise OutpaceError(
                say("the two histories of device {device} part here", device=device),
                where=where,
                allowed=say("one device has one chain"),
                hint=say(
                    "a copy of the book was continued apart under one name: import its tables without "
                    "`events.csv`"
                ),
            )
    return fresh


def _check_contents(fresh: Iterable[Row], now: datetime) -> None:
    errors = []
    for event in fresh:
        where = say("`events.csv` event {event}", event=event["event"])
        name = event["table"]
        try:
            content = json.loads(event["content"])
            if name in OTHER_TABLES or name == "climate":
                continue
            if name not in TABLES or set(content["row"]) - set(table(name).names):
                raise KeyError(name)
            values = {column: content["row"].get(column) for column in table(name).names}
            faults = (
                []
                if content["do"] == "withdraw"
                else check_row(table(name), record_of(table(name), values), now)
            )
            errors += [OutpaceError(f.what, where=where, allowed=f.allowed, hint=f.hint) for f in faults]
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            raise OutpaceError(
                say("holds no row of the book"), where=where, allowed=say("must be as it was exported")
            ) from error
    if errors:
        raise errors[0] if len(errors) == 1 else ManyErrors(errors)


def _check_batches(past: Past, fresh: Iterable[Row]) -> None:
    """Refuse climate rows that are not those which their events vouch for."""
    wanted = {event["event"] for event in fresh if event["table"] == "climate"} | set(past.climate)
    contents = {event["event"]: event["content"] for event in past.events if event["table"] == "climate"}
    for batch in sorted(wanted):
        rows = past.climate.get(batch, [])
        found = batch_digest((row["series_key"], row["time"], digest_values(row)) for row in rows)
        told = json.loads(contents.get(batch, "{}")).get("digest")
        if found != told:
            raise OutpaceError(
                say("the rows of batch {batch} are not those it was recorded with", batch=batch),
                where="`climate.csv`",
                allowed=say("rows that name their event are taken over unaltered"),
                hint=say("leave the column `event` empty in rows that you changed"),
            )


def _erase_again(people: People, event: Mapping[str, Any], now: datetime) -> None:
    """Erase here the names that were erased there."""
    if event["table"] == "people":
        for person in json.loads(event["content"]).get("people", ()):
            name = people.name_or_none(person)
            if name is not None:
                people.erase(name, now)


def _insert_hours(connection: sa.Connection, batch: str, rows: Iterable[Row], people: People) -> None:
    known = {
        key: at
        for at, key in connection.execute(sa.select(climate_series.c.series, climate_series.c.series_key))
    }
    fresh = []
    for row in rows:
        key = row["series_key"]
        if key not in known:
            known[key] = max(known.values(), default=0) + 1
            shared = {name: row[name] for name in SERIES_COLUMNS}
            connection.execute(climate_series.insert().values(series=known[key], series_key=key, **shared))
        values = {name: row[name] for name in (c.name for c in climate.columns) if name in row}
        by = people.id(row["by"]) if row["by"] else None
        fresh.append({**values, "series": known[key], "event": batch, "recorded_by": by, "replaced": None})
    if fresh:
        connection.execute(climate.insert(), fresh)
