"""Rows on their way into the book, and what became of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from outpace.language import say
from outpace.records.columns import Table


@dataclass(slots=True)
class Entry:
    """One row that someone brings: plain values, and what is told about it.

    ``recorded`` is when it is said to have become known; without it a new row is known from ``own``, its own
    time, or from now where it has none. ``by`` is a name, ``where`` the place to name in an error.
    """

    table: Table
    values: dict[str, Any]
    key: str
    recorded: str | None = None
    own: str | None = None
    by: str | None = None
    replaces: str | None = None
    withdrawn: bool = False
    written: Mapping[str, str] | None = None
    where: str = ""
    event: str | None = None


@dataclass(frozen=True, slots=True)
class Conflict:
    """A known key that came with other content: to be confirmed, never taken silently.

    ``differs`` maps a column to what the book holds and what was offered.
    """

    table: str
    key: str
    where: str
    differs: Mapping[str, tuple[Any, Any]]
    row_key: str = ""

    def text(self) -> str:
        """Return the conflict in one line."""
        parts = [
            say("{column} is {held}, offered {new}", column=column, held=_shown(held), new=_shown(new))
            for column, (held, new) in self.differs.items()
        ]
        place = f"{self.where}: " if self.where else ""
        return f"{place}`{self.table}` {self.key}: {'; '.join(parts)}"


def _shown(value: Any) -> str:
    return "empty" if value is None else f"{value}"


@dataclass(frozen=True, slots=True)
class Recorded:
    """What became of the rows that were brought; with any conflict nothing was written."""

    new: int = 0
    same: int = 0
    corrected: int = 0
    withdrawn: int = 0
    conflicts: tuple[Conflict, ...] = ()
    tables: Mapping[str, int] = field(default_factory=dict)

    @property
    def written(self) -> bool:
        return not self.conflicts


@dataclass(slots=True)
class Tally:
    """Counts while rows are being decided."""

    new: int = 0
    same: int = 0
    corrected: int = 0
    withdrawn: int = 0
    conflicts: list[Conflict] = field(default_factory=list)
    tables: dict[str, int] = field(default_factory=dict)

    def changed(self, name: str, count: int = 1) -> None:
        self.tables[name] = self.tables.get(name, 0) + count

    def result(self) -> Recorded:
        return Recorded(
            self.new, self.same, self.corrected, self.withdrawn, tuple(self.conflicts), dict(self.tables)
        )
