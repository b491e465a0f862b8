"""Where the command line meets the world: answers to stdout, talk to stderr, the book opened and closed."""

from __future__ import annotations

import getpass
import json
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, nullcontext, suppress
from typing import TYPE_CHECKING, Any

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.language import adopt
from outpace.measures import with_farm_units

if TYPE_CHECKING:
    from outpace.season.enter import Entered
    from outpace.season.open_book import Book, Snapshot

Answer = Mapping[str, Any]


def say(text: str) -> None:
    """Talk to the person: progress, remarks, what to do next."""
    print(text, file=sys.stderr, flush=True)


def show(answer: Answer, as_json: bool, render: Callable[[Answer], str]) -> None:
    """Print an answer, as JSON for a program or as text for a person."""
    print(json.dumps(answer, ensure_ascii=False, indent=2) if as_json else render(answer))


def at_a_terminal() -> bool:
    """Return whether a person sits before both ends, to be asked and to read."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def person(by: str | None) -> str:
    """Return who records: as told, else the name this computer knows."""
    if by:
        return by
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "not told"


@contextmanager
def book_at(url: str | None, *, create: bool = False) -> Iterator[Book]:
    """Open the book and close it, whatever happens."""
    from outpace.season.open_book import open_book

    with open_book(url, create=create) as book:
        yield book


@contextmanager
def snapshot_at(
    url: str | None, as_of: str | None, farm: str | None, *, all_climate: bool = False
) -> Iterator[Snapshot]:
    """Open the book, read what it knew on a day, and close it; with temperatures of all years where asked."""
    from outpace.season.open_book import snapshot

    with book_at(url) as book:
        known = snapshot(book, as_of, farm, all_climate=all_climate)
    speak_as(known, farm)
    yield known


def known(book: Book) -> Snapshot:
    """Return what an open book knows now."""
    from outpace.season.open_book import snapshot

    found = snapshot(book)
    speak_as(found, None)
    return found


def speak_as(known: Snapshot, farm: str | None) -> None:
    """Tell this command's answer in the units of the farm, where the reader chose none."""
    from outpace.season.choices import units_of

    with suppress(OutpaceError):  # it is open which farm is meant: the command says so itself
        adopt(with_farm_units(*units_of(known, farm)))


def week_of(
    book: Book,
    as_of: str | None = None,
    farm: str | None = None,
    *,
    houses: Sequence[str] | None = None,
) -> tuple[Answer, Mapping[str, Answer]]:
    """Return this week and the forecast of each house, worked out once an hour while the book stays as it is.

    With ``houses`` it is the week of these alone.
    """
    from outpace.season.open_book import of_this_crop
    from outpace.surfaces.week_asked import HousesAsked, WeekAsked

    head = str(book.head())
    asked = (
        HousesAsked(houses, lambda: nullcontext(book), head, farm=farm, as_of=as_of)
        if houses
        else WeekAsked(head, farm=farm, as_of=as_of)
    )
    return asked.answer(lambda: of_this_crop(book, as_of, farm), say)


def record(
    book: Book,
    entered: Entered,
    *,
    by: str | None,
    changes: bool = False,
    as_json: bool = False,
    why: str | None = None,
) -> None:
    """Record rows and print what was written; a conflict ends with the exit code of an action that is due.

    ``changes`` lets the rows replace what the book holds under their keys: the person named what to change.
    """
    from outpace.season.recorded import record as written
    from outpace.surfaces.text.recorded import render

    answer = written(book, entered, by=person(by), changes=changes, why=why or "")
    show(answer, as_json, render)
    end_if_due(answer)


def end_if_due(answer: Answer) -> None:
    """End with the exit code of an action that is due where something is left to confirm."""
    if answer["conflicts"]:
        raise typer.Exit(int(ExitCode.ACTION_DUE))
