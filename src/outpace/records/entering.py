"""One transaction of entries: all of them stand, or none."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

import sqlalchemy as sa

from outpace.errors import ManyErrors
from outpace.records.chain import Chain
from outpace.records.climate_rows import ClimateWriter
from outpace.records.entries import Entry, Tally
from outpace.records.people import People
from outpace.records.rebuilding import open_conflicts
from outpace.records.references import Wanted
from outpace.records.tables import SERIES_COLUMNS
from outpace.records.versions import Circumstances, Writer, entries_by_table
from outpace.terms.tables import TABLES


class NothingToWrite(Exception):
    """Ends a transaction in which nothing changed, or nothing may."""


class Entering:
    """Takes entries in portions within one open transaction; :meth:`finish` settles them all."""

    def __init__(self, connection: sa.Connection, device: str, how: Circumstances) -> None:
        if how.correct:
            settling = frozenset((open.table, open.row_key) for open in open_conflicts(connection))
            how = dataclasses.replace(how, settling=settling)
        self.connection = connection
        self._device, self._how = device, how
        self.tally = Tally()
        self.people = People(connection)
        self.chain = Chain(connection, device, how.now)
        self._writer = Writer(connection, self.chain, self.people, how, self.tally)
        self._climate = ClimateWriter(connection, self.chain, self.people, how, self.tally)

    def take(self, entries: Iterable[Entry]) -> None:
        """Decide on entries of any tables and write them within the transaction."""
        groups = entries_by_table(entries)
        for name in TABLES:
            if name not in groups:
                continue
            if name == "climate":
                self._climate.take(groups[name])
                first = {
                    tuple(entry.values[column] for column in SERIES_COLUMNS): entry
                    for entry in reversed(groups[name])
                    if not entry.withdrawn
                }
                for entry in first.values():  # all hours of a series lean on the same rows
                    self._writer.wanted.add(name, entry.values, entry.where)
            else:
                self._writer.take(groups[name])
        self.chain.flush()
        self._writer.flush()

    @property
    def wanted(self) -> Wanted:
        """The rows that new rows lean on."""
        return self._writer.wanted

    def restart_chain(self) -> None:
        """Read the chain anew after events of others were added."""
        self.chain = Chain(self.connection, self._device, self._how.now)
        self._writer.chain = self._climate.chain = self.chain

    def finish(self) -> None:
        """Refuse what leans on nothing; end without writing where there is a conflict or no change."""
        refused = self._writer.refused()
        if refused:
            raise refused[0] if len(refused) == 1 else ManyErrors(refused)
        if self.tally.conflicts or not self.tally.tables:
            raise NothingToWrite
