"""The book: everything a farm has recorded, nothing ever lost.

Entries are events in a chain that only grows; what holds now is read from row versions that the events make.
"""

from __future__ import annotations

import hashlib
import socket
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import UTC, date, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import sqlalchemy as sa

from outpace.errors import ManyErrors, OutpaceError
from outpace.language import say
from outpace.records.canonical import key_words, plain, plain_row, recorded_text, row_key
from outpace.records.chain import Chain, Head, entered_since, heads
from outpace.records.changes import Change, changes_of
from outpace.records.checks import check_row
from outpace.records.columns import table, table_of
from outpace.records.engine import reading, writing
from outpace.records.entering import Entering, NothingToWrite
from outpace.records.entries import Conflict, Entry, Recorded
from outpace.records.known import History, Only, head_at, history_of, known_at
from outpace.records.opening import opened
from outpace.records.people import People
from outpace.records.rebuilding import open_conflicts, rebuild, verify
from outpace.records.tables import VERSIONS, climate, events, settings
from outpace.records.versions import Circumstances
from outpace.terms.tables import TABLE_OF, TABLES, Snapshot

Clock = Callable[[], datetime]


COPY = "copy"
"""The setting that a copy of a book has and its original has not: what tells their chains apart."""


def _now() -> datetime:
    return datetime.now(UTC)


class Book:
    """A farm's records, open for reading and writing. Use as a context manager, or call :meth:`close`.

    Examples
    --------
    >>> from outpace.terms.place import Farm
    >>> with Book.open(getfixture("tmp_path") / "farm.book", create=True) as book:
    ...     done = book.record([Farm(farm="Invented", latitude=43.1, longitude=-8.2,
    ...                              time_zone="Europe/Madrid", currency="EUR")], by="Ana")
    ...     (done.new, book.snapshot().table(Farm)[0].currency, book.verify())
    (1, 'EUR', [])
    """

    def __init__(self, engine: sa.Engine, *, device: str | None = None, clock: Clock = _now) -> None:
        self.engine = engine
        self.clock = clock
        self._device = device

    @classmethod
    def open(
        cls, place: str | Path, create: bool = False, *, device: str | None = None, clock: Clock = _now
    ) -> Book:
        """Open a book, bringing its tables to the present form.

        Parameters
        ----------
        place
            A file (SQLite), or a URL that starts with ``postgresql://``.
        create : bool, default False
            Make the book where there is none; without it a missing book is an error.
        device : str, optional
            Whose chain new events join; default: one id for this book on this machine.
        clock : callable, optional
            What counts as now.

        Raises
        ------
        OutpaceError
            If there is no book there, if the file is something else, or if a newer program wrote it.
        """
        return cls(opened(place, create), device=device, clock=clock)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    # Writing

    def record(
        self,
        rows: Sequence[Any],
        *,
        by: str,
        device: str | None = None,
        recorded: datetime | None = None,
        correct: bool = False,
        why: str = "",
    ) -> Recorded:
        """Record rows, all or none; the same row again changes nothing.

        Parameters
        ----------
        rows
            Records of the trade, of any tables, in any order.
        by : str
            Who says so.
        device : str, optional
            Whose chain the events join.
        recorded : aware datetime, optional
            When it became known; default now.
        correct : bool, default False
            Let a known key take other content; without it that is a conflict and nothing is written.
        why : str, optional
            Kept with the events.

        Returns
        -------
        Recorded
            Counts, and the conflicts.

        Raises
        ------
        OutpaceError
            If a value breaks its rules or a row leans on one that does not exist. The book is unchanged.
        """
        now = self.clock()
        errors = []
        entries = []
        known = None if recorded is None else recorded_text(min(recorded, now))
        for row in rows:
            described = table_of(row)
            faults = list(check_row(described, row, now))
            if faults:
                where = f"`{described.name}`{_words(row)}"
                errors += [OutpaceError(f.what, where=where, allowed=f.allowed, hint=f.hint) for f in faults]
                continue
            values = plain_row(described, row)
            key = row_key(described, values)
            where = f"`{described.name}` {key_words(described, values)}"
            entries.append(Entry(described, values, key, recorded=known, where=where))
        if errors:
            raise errors[0] if len(errors) == 1 else ManyErrors(errors)
        return self.enter(entries, by=by, device=device, correct=correct, why=why)

    def withdraw(
        self,
        kind: type | str,
        *key: Any,
        by: str,
        device: str | None = None,
        recorded: datetime | None = None,
        why: str = "",
    ) -> Recorded:
        """Withdraw the row of a table with this key; it stays in the history.

        Raises
        ------
        OutpaceError
            If there is no such row, or other rows still name it.
        """
        described = table(kind if isinstance(kind, str) else TABLE_OF[kind])
        if len(key) != len(described.keys):
            raise TypeError(f"the key of {described.name} is {[c.stored for c in described.keys]}")
        values: dict[str, Any] = dict.fromkeys(described.names)
        for column, value in zip(described.keys, key, strict=True):
            values[column.stored] = plain(column, value)
        words = key_words(described, values)
        if self.history(described.name, *key).now is None:
            raise OutpaceError(
                say("`{name}` {words} does not exist", name=described.name, words=words),
                hint=say("check the key with `outpace book`"),
            )
        entry = Entry(
            described,
            values,
            row_key(described, values),
            recorded=None if recorded is None else recorded_text(recorded),
            withdrawn=True,
            where=f"`{described.name}` {words}",
        )
        return self.enter([entry], by=by, device=device, why=why)

    def enter(
        self,
        entries: Iterable[Entry],
        *,
        by: str,
        device: str | None = None,
        correct: bool = False,
        why: str = "",
    ) -> Recorded:
        """Write checked entries: all of them, or none where one conflicts or is refused."""
        with self.entering(by=by, device=device, correct=correct, why=why) as transaction:
            transaction.take(entries)
        return transaction.tally.result()

    @contextmanager
    def entering(
        self, *, by: str, device: str | None = None, correct: bool = False, why: str = ""
    ) -> Iterator[Entering]:
        """Yield a transaction that takes entries in portions; it stands as a whole, or not at all."""
        if not by.strip():
            raise OutpaceError(
                say("nobody is named"),
                allowed=say("every entry says who made it"),
                hint=say("give a name or initials"),
            )
        how = Circumstances(recorded_text(self.clock()), by.strip(), correct, why or None)
        with suppress(NothingToWrite), writing(self.engine) as connection:
            transaction = Entering(connection, device or self.device_id(connection), how)
            yield transaction
            transaction.finish()

    def erase_person(self, name: str, *, by: str, why: str = "") -> int:
        """Remove a person's name from the book for good; the erasure itself is an event.

        Returns the number of ids that bore the name. Chains stay valid: events hold ids, not names.
        """
        with writing(self.engine) as connection:
            people = People(connection)
            ids = people.erase(name, self.clock())
            if ids:
                now = recorded_text(self.clock())
                chain = Chain(connection, self.device_id(connection), now)
                chain.add(
                    table="people",
                    key="",
                    content={"do": "erase", "people": sorted(ids)},
                    recorded=now,
                    by=str(people.id(by)),
                    why=why or None,
                )
                chain.flush()
        return len(ids)

    # Reading

    def snapshot(
        self,
        as_of: datetime | None = None,
        *,
        climate_since: datetime | None = None,
        walked_since: date | None = None,
        only: Only | None = None,
    ) -> Snapshot:
        """Return all rows that were known at a moment.

        Parameters
        ----------
        as_of : aware datetime, optional
            The moment; default: everything recorded so far.
        climate_since : aware datetime, optional
            Leave out climate rows before this time, for speed over many seasons.
        walked_since : date, optional
            Leave out what was written down on walks before this day.
        only : mapping, optional
            Read these tables alone, and of each the rows whose columns have one of the values named. The head of such a
            part is empty: ask for it with :meth:`head`.
        """
        with reading(self.engine) as connection:
            return known_at(
                connection,
                as_of,
                now=self.clock(),
                climate_since=climate_since,
                walked_since=walked_since,
                only=only,
            )

    def changes(self, tables: Iterable[str] = tuple(VERSIONS), as_of: datetime | None = None) -> list[Change]:
        """Return every correction and withdrawal in these tables that was known at a moment, oldest first."""
        with reading(self.engine) as connection:
            return changes_of(connection, tables, as_of)

    def history(self, kind: type | str, *key: Any) -> History:
        """Return every version a row has had, oldest first, with who, when and why."""
        described = table(kind if isinstance(kind, str) else TABLE_OF[kind])
        cells = [plain(column, value) for column, value in zip(described.keys, key, strict=True)]
        with reading(self.engine) as connection:
            return history_of(connection, described, cells)

    def head(self, as_of: datetime | None = None) -> str:
        """Return the digest that stands for the whole book; it changes with every entry."""
        with reading(self.engine) as connection:
            return head_at(connection, as_of)

    def entered_since(
        self, head: str, *, after: datetime, until: datetime | None = None
    ) -> frozenset[str] | None:
        """Return the tables written to since the book had a head and was asked as of a moment.

        None where the head is of no event of this book, as when two devices' chains have not met since.
        """
        ended = None if until is None else recorded_text(until)
        with reading(self.engine) as connection:
            return entered_since(connection, head, after=recorded_text(after), until=ended)

    def heads(self) -> list[Head]:
        """Return the last event of each device's chain."""
        with reading(self.engine) as connection:
            return heads(connection)

    def open_conflicts(self) -> list[Conflict]:
        """Return the rows of which merged devices say different things; recording with ``correct`` settles one."""
        with reading(self.engine) as connection:
            return open_conflicts(connection)

    def row_counts(self) -> dict[str, int]:
        """Return how many current rows each table holds, with the number of events under ``events``."""
        counts = {}
        with reading(self.engine) as connection:
            for name in TABLES:
                versions = climate if name == "climate" else VERSIONS[name]
                query = sa.select(sa.func.count()).where(
                    versions.c.replaced.is_(None), versions.c.withdrawn == 0
                )
                counts[name] = connection.execute(query).scalar_one()
            counts["events"] = connection.execute(sa.select(sa.func.count(events.c.position))).scalar_one()
        return counts

    # Care

    def verify(self) -> list[str]:
        """Return a sentence for every place where chain, rows, batches or guards disagree."""
        with reading(self.engine) as connection:
            return verify(connection)

    def rebuild(self) -> None:
        """Make all row versions anew from the events.

        Climate rows stay: the digests of their batches vouch for them.
        """
        with writing(self.engine) as connection:
            rebuild(connection)

    def device_id(self, connection: sa.Connection) -> str:
        """Return whose chain new events join: one id for this book on this machine.

        A copy gets another id, on another machine as here, so both may grow and be merged later.
        """
        if self._device is None:
            asked = sa.select(settings.c.name, settings.c.value).where(settings.c.name.in_(["book", COPY]))
            named = {row.name: row.value for row in connection.execute(asked)}
            parts = [named["book"], socket.gethostname(), *([named[COPY]] if COPY in named else [])]
            self._device = hashlib.sha256(" ".join(parts).encode()).hexdigest()[:10]
        return self._device


def _words(row: Any) -> str:
    described = table_of(row)
    cells = [(c.stored, getattr(row, c.name)) for c in described.keys]
    return "".join(f" {name} {value}" for name, value in cells if value is not None)
