"""The options with which commands end, said once: those of commands that record, and of commands that show.

A command names one such tail as its last parameter, and its own options before it::

    def withdraw(banker: BankerArgument, on: OnOption = None, *, entry: Change) -> None: ...

``spread`` puts the options of the tail in its place, so that the parser and ``--help`` see each of them.
"""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, get_type_hints

from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import (
    AsOfOption,
    BookOption,
    ByOption,
    CorrectOption,
    FarmOption,
    JsonOption,
    OnOption,
    SourcesOption,
    WhyOption,
)

if TYPE_CHECKING:
    from outpace.season.enter import Entered
    from outpace.season.open_book import Book, Snapshot


@dataclass(frozen=True, kw_only=True)
class Tail:
    """Options that stand at the end of a command; a kind's own stand before those of the kind it builds on."""


@dataclass(frozen=True, kw_only=True)
class Entry(Tail):
    """How a command writes into the book; what the book holds under the same key is left as it is."""

    book: BookOption = None
    farm: FarmOption = None
    by: ByOption = None
    as_json: JsonOption = False

    def open_book(self) -> AbstractContextManager[Book]:
        """Open the book and close it, whatever happens."""
        return door.book_at(self.book)

    @property
    def changes(self) -> bool:
        """Return whether what is entered replaces what the book holds under the same key."""
        return False

    @property
    def reason(self) -> str | None:
        """Return why it does, where that was told."""
        return None

    def record(self, book: Book, entered: Entered, *, changes: bool = False) -> None:
        """Record rows and print what was written; see `door.record`."""
        door.record(
            book,
            entered,
            by=self.by,
            changes=changes or self.changes,
            as_json=self.as_json,
            why=self.reason,
        )


@dataclass(frozen=True, kw_only=True)
class Change(Entry):
    """How a command writes that changes what it names: the old value stays, with the reason told."""

    why: WhyOption = None

    @property
    def changes(self) -> bool:
        """Return True: the command names what it changes."""
        return True

    @property
    def reason(self) -> str | None:
        """Return what ``--why`` told."""
        return self.why


@dataclass(frozen=True, kw_only=True)
class Correction(Change):
    """How a command writes something new that may also correct what the book holds, once told to."""

    correct: CorrectOption = False

    @property
    def changes(self) -> bool:
        """Return whether ``--correct`` was told."""
        return self.correct


@dataclass(frozen=True, kw_only=True)
class Happening(Correction):
    """How a command writes what happened at some time."""

    on: OnOption = None


@dataclass(frozen=True, kw_only=True)
class Asked(Tail):
    """Of which book, day and farm a command shows something, and how."""

    book: BookOption = None
    as_of: AsOfOption = None
    farm: FarmOption = None
    as_json: JsonOption = False

    def snapshot(self, *, all_climate: bool = False) -> AbstractContextManager[Snapshot]:
        """Return what the book knew on the day asked of; with temperatures of all years where asked."""
        return door.snapshot_at(self.book, self.as_of, self.farm, all_climate=all_climate)

    def show(self, answer: door.Answer, render: Callable[[door.Answer], str]) -> None:
        """Print an answer, as JSON for a program or as text for a person."""
        door.show(answer, self.as_json, render)


@dataclass(frozen=True, kw_only=True)
class AskedWithSources(Asked):
    """The same, of an answer that can show what lies behind it."""

    sources: SourcesOption = False


def spread(command: Callable[..., None]) -> Callable[..., None]:
    """Return a command with the options of its tail in place of the tail.

    Examples
    --------
    >>> def withdraw(banker: str, *, entry: Change) -> None:
    ...     print(banker, entry.why)
    >>> list(inspect.signature(spread(withdraw)).parameters)
    ['banker', 'why', 'book', 'farm', 'by', 'as_json']
    >>> spread(withdraw)("Barley 1", why="grazed bare")
    Barley 1 grazed bare
    """
    signature = inspect.signature(command, eval_str=True)
    *own, last = signature.parameters.values() or [None]
    if last is None or not (isinstance(last.annotation, type) and issubclass(last.annotation, Tail)):
        return command
    kind = last.annotation
    options = list(_options(kind))

    @functools.wraps(command)
    def spread_out(*arguments: Any, **told: Any) -> None:
        tail = kind(**{option.name: told.pop(option.name) for option in options if option.name in told})
        command(*arguments, **told, **{last.name: tail})

    vars(spread_out)["__signature__"] = signature.replace(parameters=[*own, *options])
    return spread_out


def _options(kind: type[Tail]) -> Iterator[inspect.Parameter]:
    """Yield the options of a tail, those of the most special kind first."""
    told = get_type_hints(kind, include_extras=True)
    defaults = {each.name: each.default for each in fields(kind)}
    for part in kind.__mro__:
        for name in inspect.get_annotations(part):
            yield inspect.Parameter(
                name, inspect.Parameter.KEYWORD_ONLY, default=defaults[name], annotation=told[name]
            )
