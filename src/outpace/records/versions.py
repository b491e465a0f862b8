"""Row versions: deciding what a row that is brought means, and writing it beside what was there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.records.canonical import canonical_json, key_words
from outpace.records.chain import Chain
from outpace.records.columns import Table
from outpace.records.entries import Conflict, Entry, Tally
from outpace.records.people import People
from outpace.records.references import CHUNK, Wanted, still_needed
from outpace.records.tables import VERSIONS, events

RECORD, CORRECT, WITHDRAW = "record", "correct", "withdraw"


@dataclass(frozen=True, slots=True)
class Circumstances:
    """Who writes, when, why, and whether known rows may change.

    ``settling`` names rows of which two devices said different things: saying one of them again, as a correction,
    settles it.
    """

    now: str
    by: str
    correct: bool
    why: str | None
    settling: frozenset[tuple[str, str]] = frozenset()


def entries_by_table(entries: Iterable[Entry]) -> dict[str, list[Entry]]:
    """Return entries in groups, each table's in the order they came."""
    groups: dict[str, list[Entry]] = {}
    for entry in entries:
        groups.setdefault(entry.table.name, []).append(entry)
    return groups


def current(connection: sa.Connection, table: Table, keys: Sequence[str]) -> dict[str, Any]:
    """Return the current version, withdrawn or not, of each key that has one."""
    versions = VERSIONS[table.name]
    found = {}
    for at in range(0, len(keys), CHUNK):
        query = sa.select(versions).where(
            versions.c.replaced.is_(None), versions.c.row_key.in_(keys[at : at + CHUNK])
        )
        for row in connection.execute(query).mappings():
            found[row["row_key"]] = dict(row)
    return found


def differences(
    table: Table, held: dict[str, Any], offered: dict[str, Any], people: People
) -> dict[str, Any]:
    """Return the columns in which a held version and an offered row differ: ``{column: (held, offered)}``.

    A name that was erased differs from nothing, so an old file brings no erased name back.
    """
    found = {}
    for column in table.columns:
        name = column.stored
        there, new = held[name], offered[name]
        if column.person and there is not None:
            if people.is_erased(there):
                continue
            there = people.name(there)
        if column.kind is bool and there is not None:
            there = bool(there)
        if there != new:
            found[name] = (there, new)
    return found


class Writer:
    """Writes entries of all tables but climate within one transaction."""

    def __init__(
        self, connection: sa.Connection, chain: Chain, people: People, how: Circumstances, tally: Tally
    ) -> None:
        self._connection = connection
        self.chain = chain
        self._people = people
        self._how = how
        self._tally = tally
        self._rows: dict[str, list[dict[str, Any]]] = {}
        self._closed: dict[str, list[dict[str, str]]] = {}
        self._leaving: list[Entry] = []
        self.wanted = Wanted()

    def take(self, entries: Sequence[Entry]) -> None:
        """Decide on each entry of one table: new, same, correction, withdrawal or conflict."""
        table = entries[0].table
        held = current(self._connection, table, [entry.key for entry in entries])
        if table.name == "houses":
            self._refuse_twin_houses(entries)
        for entry in entries:
            version = held.get(entry.key)
            written = self._decide(table, entry, version)
            if written is not None:
                held[entry.key] = written

    def _decide(self, table: Table, entry: Entry, held: dict[str, Any] | None) -> dict[str, Any] | None:
        tally = self._tally
        if held is None:
            if entry.withdrawn:
                tally.withdrawn += 1
            else:
                tally.new += 1
            return self._write(table, entry, WITHDRAW if entry.withdrawn else RECORD, None)
        if held["withdrawn"]:
            if entry.withdrawn:
                tally.same += 1
                return None
            differs: dict[str, Any] = {"withdrawn": ("yes", "no")}
        elif entry.withdrawn:
            tally.withdrawn += 1
            entry.values = {column.stored: held[column.stored] for column in table.columns}
            for column in table.columns:
                if column.person:
                    entry.values[column.stored] = self._people.name(held[column.stored])
            self._leaving.append(entry)
            return self._write(table, entry, WITHDRAW, held)
        else:
            differs = differences(table, held, entry.values, self._people)
            if not differs and (table.name, entry.key) not in self._how.settling:
                tally.same += 1
                return None
        if self._how.correct or self._replaces(entry, held):
            tally.corrected += 1
            return self._write(table, entry, CORRECT, held)
        tally.conflicts.append(Conflict(table.name, key_words(table, entry.values), entry.where, differs))
        self.wanted.add(table.name, entry.values, entry.where)  # confirming it would not mend a wrong name
        return None

    def _replaces(self, entry: Entry, held: dict[str, Any]) -> bool:
        """Say whether a ``replaces`` cell allows the change: it may not name a version already replaced."""
        if not entry.replaces:
            return False
        if entry.replaces == held["event"]:
            return True
        known = sa.select(events.c.event).where(events.c.event == entry.replaces)
        return self._connection.execute(known).first() is None

    def _write(self, table: Table, entry: Entry, deed: str, held: dict[str, Any] | None) -> dict[str, Any]:
        recorded = entry.recorded or (entry.own if held is None else None) or self._how.now
        if held is not None and recorded < held["recorded"]:
            recorded = held["recorded"]  # a correction is not known before what it corrects
        values = dict(entry.values)
        for column in table.columns:
            if column.person and values[column.stored] is not None:
                values[column.stored] = (
                    held[column.stored]
                    if deed == WITHDRAW and held is not None
                    else self._people.id(values[column.stored])
                )
        by = str(self._people.id(entry.by or self._how.by))
        content: dict[str, Any] = {"do": deed, "row": values}
        replaces = held["event"] if held is not None else entry.replaces
        if replaces:
            content["replaces"] = replaces
        if entry.written:
            content["written"] = dict(entry.written)
        if recorded != self._how.now:
            content["entered"] = self._how.now
        event = self.chain.add(
            table=table.name,
            key=entry.key,
            content=content,
            recorded=recorded,
            by=by,
            why=self._how.why,
        )
        version = version_of(table, event, entry.key, recorded, by, content)
        if held is not None:
            self._close(table, held["event"], recorded)
        self._rows.setdefault(table.name, []).append(version)
        self._tally.changed(table.name)
        if deed != WITHDRAW:
            self.wanted.add(table.name, entry.values, entry.where)
        return version

    def _close(self, table: Table, event: str, recorded: str) -> None:
        for waiting in self._rows.get(table.name, ()):
            if waiting["event"] == event:
                waiting["replaced"] = recorded
                return
        self._closed.setdefault(table.name, []).append({"old": event, "at": recorded})

    def flush(self) -> None:
        """Write the versions, closing the ones they replace first."""
        for name, closed in self._closed.items():
            versions = VERSIONS[name]
            self._connection.execute(
                versions.update()
                .where(versions.c.event == sa.bindparam("old"))
                .values(replaced=sa.bindparam("at")),
                closed,
            )
        for name, rows in self._rows.items():
            self._connection.execute(VERSIONS[name].insert(), rows)
        self._rows, self._closed = {}, {}

    def refused(self) -> list[OutpaceError]:
        """Return an error for each row that leans on nothing, once all is written."""
        errors = self.wanted.missing(self._connection)
        for entry in self._leaving:
            words = still_needed(self._connection, entry.table.name, entry.values)
            if words:
                errors.append(
                    OutpaceError(
                        say(
                            "`{name}` {table} cannot be withdrawn",
                            name=entry.table.name,
                            table=key_words(entry.table, entry.values),
                        ),
                        where=entry.where,
                        allowed=words,
                        hint=say("withdraw those rows first"),
                    )
                )
        return errors

    def _refuse_twin_houses(self, entries: Sequence[Entry]) -> None:
        """Refuse two houses whose names differ in capitals only: on a phone they are one."""
        houses = VERSIONS["houses"]
        query = sa.select(houses.c.farm, houses.c.house).where(
            houses.c.replaced.is_(None), houses.c.withdrawn == 0
        )
        seen = {(farm, house.casefold()): house for farm, house in self._connection.execute(query)}
        for entry in entries:
            house = entry.values["house"]
            twin = seen.setdefault((entry.values["farm"], house.casefold()), house)
            if twin != house and not entry.withdrawn:
                raise OutpaceError(
                    say("house `{house}` and house `{twin}`", house=house, twin=twin),
                    where=entry.where,
                    allowed=say("two houses of one name cannot be told apart"),
                    hint=say("give one of them another name"),
                )


def version_of(
    table: Table, event: str, key: str, recorded: str, by: str, content: dict[str, Any]
) -> dict[str, Any]:
    """Return the row version that an event's content makes: the one rule for writing and for rebuilding."""
    version: dict[str, Any] = {"event": event, "row_key": key}
    for column in table.columns:
        value = content["row"].get(column.stored)
        version[column.stored] = int(value) if isinstance(value, bool) else value
    version["recorded"] = recorded
    version["recorded_by"] = by
    version["replaces"] = content.get("replaces")
    version["replaced"] = None
    version["withdrawn"] = int(content["do"] == WITHDRAW)
    written = content.get("written")
    version["written"] = canonical_json(written) if written else None
    return version
