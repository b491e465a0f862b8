"""Events: one chain of digests a device, verified from its first link.

Each event holds the digest of the one before it on the same device, so no entry can be altered, dropped or
slipped in without every later digest changing; the last one is printed on the week sheet.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from outpace.language import say
from outpace.records.canonical import GENESIS, canonical_json, digest
from outpace.records.tables import events

#: What an event's digest covers, in this order.
HASHED = ("event", "device", "seq", "previous_hash", "recorded", "by", "why", "table", "key", "content")

#: The table that a merge event names: none.
MERGE = ""


def event_hash(event: Mapping[str, Any]) -> str:
    """Return the digest of one event."""
    return _digest_of([event[name] for name in HASHED])


def _digest_of(values: list[Any]) -> str:
    return digest(canonical_json(values))


@dataclass(frozen=True, slots=True)
class Head:
    """The last event of one device."""

    device: str
    seq: int
    hash: str


def heads(connection: sa.Connection, *, until: str | None = None) -> list[Head]:
    """Return the last event of each device, in order of device; ``until`` limits by recorded time."""
    last = sa.select(events.c.device, sa.func.max(events.c.seq).label("seq")).group_by(events.c.device)
    if until is not None:
        last = last.where(events.c.recorded <= until)
    found = last.subquery()
    query = (
        sa.select(events.c.device, events.c.seq, events.c.hash)
        .join(found, sa.and_(events.c.device == found.c.device, events.c.seq == found.c.seq))
        .order_by(events.c.device)
    )
    return [Head(*row) for row in connection.execute(query)]


Place = tuple[str, int]


class Knowledge:
    """Which events an event was written in sight of.

    An event knows the earlier ones of its own device, and those of others up to the heads that its device's merge
    events named before it. An event that replaces a row without knowing what stands there is no correction
    but a second opinion.
    """

    def __init__(self, merges: Iterable[tuple[str, int, str]]) -> None:
        self._seen: dict[str, list[tuple[int, dict[str, int]]]] = {}
        for device, seq, content in merges:
            named = json.loads(content)["heads"]
            self._seen.setdefault(device, []).append((seq, {other: at for other, (at, _) in named.items()}))

    def knows(self, event: Place, other: Place) -> bool:
        """Say whether one event, as (device, seq), was written in sight of another."""
        (device, seq), (there, at) = event, other
        if device == there:
            return at <= seq
        return any(mark <= seq and named.get(there, 0) >= at for mark, named in self._seen.get(device, ()))


def knowledge(connection: sa.Connection) -> Knowledge:
    """Return what the merge events of the book tell."""
    query = sa.select(events.c.device, events.c.seq, events.c.content).where(events.c.table == MERGE)
    return Knowledge((row.device, row.seq, row.content) for row in connection.execute(query))


def joint_head(connection: sa.Connection) -> str:
    """Return one digest for the whole book.

    The digest of the event that was written in sight of all others, where there is one; else a digest over the heads
    of all devices.
    """
    found = heads(connection)
    if not found:
        return GENESIS
    if len(found) == 1:
        return found[0].hash
    seen = knowledge(connection)
    for head in found:
        if all(seen.knows((head.device, head.seq), (other.device, other.seq)) for other in found):
            return head.hash
    return digest(canonical_json([[head.device, head.hash] for head in found]))


def entered_since(
    connection: sa.Connection, head: str, *, after: str, until: str | None = None
) -> frozenset[str] | None:
    """Return the tables that were written to since a book had a head; None where it is of no event of this book.

    Parameters
    ----------
    head : str
        As :func:`joint_head` told it.
    after : str
        The moment of which the book was asked then: what became known later counts too, wherever it stands.
    until : str, optional
        What became known later than this is not asked for. Left out: now.
    """
    # The head stands near the end of the book: looked for from there, few events are read.
    last = (
        sa.select(events.c.position).where(events.c.hash == head).order_by(events.c.position.desc()).limit(1)
    )
    position = connection.execute(last).scalar()
    if position is None:
        return None
    found = sa.select(events.c.table).distinct()
    if until is not None:
        found = found.where(events.c.recorded <= until)
    rows = [
        *connection.execute(found.where(events.c.position > position)).scalars(),
        *connection.execute(found.where(events.c.recorded > after)).scalars(),
    ]
    return frozenset(rows)


class Chain:
    """Adds events to one device's chain within one transaction; they are written by :meth:`flush`.

    Where other devices wrote what this one has not named yet, a merge event that names all heads goes first.
    """

    def __init__(self, connection: sa.Connection, device: str, now: str) -> None:
        self._connection = connection
        self._device = device
        self._now = now
        self._merged = False
        last = connection.execute(
            sa.select(events.c.seq, events.c.hash)
            .where(events.c.device == device)
            .order_by(events.c.seq.desc())
            .limit(1)
        ).first()
        self._seq: int = last.seq if last else 0
        self._hash: str = last.hash if last else GENESIS
        position = connection.execute(sa.select(sa.func.max(events.c.position))).scalar()
        self._position = position or 0
        self._waiting: list[dict[str, Any]] = []

    def add(
        self, *, table: str, key: str, content: Mapping[str, Any], recorded: str, by: str, why: str | None
    ) -> str:
        """Add one event and return its id."""
        if not self._merged:
            self._merged = True
            self._merge(by)
        return self._append(table=table, key=key, content=content, recorded=recorded, by=by, why=why)

    def _merge(self, by: str) -> None:
        found = heads(self._connection)
        seen = knowledge(self._connection)
        mine = (self._device, self._seq)
        if all(seen.knows(mine, (head.device, head.seq)) for head in found):
            return
        named = {head.device: [head.seq, head.hash] for head in found}
        content = {"do": "merge", "heads": named}
        self._append(table=MERGE, key="", content=content, recorded=self._now, by=by, why=None)

    def _append(
        self, *, table: str, key: str, content: Mapping[str, Any], recorded: str, by: str, why: str | None
    ) -> str:
        self._seq += 1
        self._position += 1
        event: dict[str, Any] = {
            "position": self._position,
            "event": f"{self._device}-{self._seq}",
            "device": self._device,
            "seq": self._seq,
            "previous_hash": self._hash,
            "recorded": recorded,
            "by": by,
            "why": why,
            "table": table,
            "key": key,
            "content": canonical_json(content),
        }
        self._hash = event["hash"] = event_hash(event)
        self._waiting.append(event)
        return str(event["event"])

    def flush(self) -> None:
        if self._waiting:
            self._connection.execute(events.insert(), self._waiting)
            self._waiting = []


def broken_links(connection: sa.Connection) -> list[str]:
    """Return a sentence for each event that does not fit its chain."""
    problems = []
    last: dict[str, tuple[int, str]] = {}
    query = sa.select(*(events.c[name] for name in HASHED), events.c.hash)
    query = query.order_by(events.c.device, events.c.seq).execution_options(yield_per=5000)
    for row in connection.execute(query):
        *hashed, held = row
        event, device, at, said_previous = hashed[:4]
        seq, previous = last.get(device, (0, GENESIS))
        if at != seq + 1:
            problems.append(
                say(
                    "event {event}: events {seq} to {at} are gone before it",
                    event=event,
                    seq=seq + 1,
                    at=at - 1,
                )
            )
        elif said_previous != previous:
            problems.append(say("event {event}: does not follow from the event before it", event=event))
        if _digest_of(hashed) != held:
            problems.append(say("event {event}: was altered after it was written", event=event))
        last[device] = (at, held)
    return problems
