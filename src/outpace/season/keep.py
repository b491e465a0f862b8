"""The book as a whole: begin, import, export, verify, copy and put back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say, say_many
from outpace.records.backup import backup, restore
from outpace.records.entries import Conflict
from outpace.records.exchange import import_package
from outpace.records.export import export_package
from outpace.season.headings import heading_of
from outpace.season.open_book import Book, book_url, open_book, resolvers
from outpace.season.recorded import recorded_answer, told_value
from outpace.season.worked_out import forget


def _kept(sentence: str, **more: Any) -> dict[str, Any]:
    return {"schema": "outpace.book/1", "sentence": sentence, "head": None, "problems": [], **more}


def begin(url: str | None = None) -> dict[str, Any]:
    """Begin an empty book; one that is there already stays as it is."""
    place = book_url(url)
    there = "://" not in place and Path(place).expanduser().exists()
    with open_book(url, create=True) as book:
        head = book.head()
    return _kept(
        say("The book is there already: {place}", place=place)
        if there
        else say("The book has begun: {place}", place=place),
        head=head,
        place=place,
    )


def import_paths(book: Book, paths: Sequence[Path], *, by: str, correct: bool = False) -> dict[str, Any]:
    """Import a package, or single tables, and return what was written."""
    for path in paths:
        if not path.exists():
            raise OutpaceError(
                say("there is no such file or folder"),
                where=f"`{path}`",
                hint=say("check the path"),
                code=ExitCode.USAGE,
            )
    imported = import_package(
        book,
        list(paths) if len(paths) > 1 else paths[0],
        by=by,
        resolve=resolvers(),
        correct=correct,
        now=datetime.now(UTC),
    )
    read = sum(imported.read.values())
    answer = recorded_answer(
        book,
        imported,
        sentence=say_many("Imported: {n:,} row read.", "Imported: {n:,} rows read.", read),
        cautions=[_unsettled(len(imported.unsettled))] if imported.unsettled else (),
    )
    return {**answer, "unsettled": _conflicts_told(imported.unsettled)}


def _unsettled(number: int) -> str:
    return say_many(
        "Two devices say different things of {n} row: both are kept, and what this book said stands. "
        "`outpace book conflicts` shows it; tell what is right again, and it is settled.",
        "Two devices say different things of {n} rows: both are kept, and what this book said stands. "
        "`outpace book conflicts` lists them; tell what is right again, and they are settled.",
        number,
    )


def export_to(book: Book, target: Path) -> dict[str, Any]:
    """Write the book as a data package."""
    export_package(book, target)
    return _kept(say("Exported to {target}", target=target), head=book.head(), place=str(target))


def verify_book(book: Book) -> dict[str, Any]:
    """Check the whole history and return what is wrong with it."""
    problems = [str(problem) for problem in book.verify()]
    sentence = (
        say("The book is whole: nothing in it was altered or lost.")
        if not problems
        else say_many("The book has {n} fault.", "The book has {n} faults.", len(problems))
    )
    return _kept(sentence, head=book.head(), problems=problems)


def head_of(book: Book) -> dict[str, Any]:
    """Return the digest that stands for the whole book, and the last event of each device."""
    devices = [{"device": head.device, "seq": head.seq, "hash": head.hash} for head in book.heads()]
    return _kept(say("Two books with this head hold the same records."), head=book.head(), devices=devices)


def conflicts_of(book: Book) -> dict[str, Any]:
    """Return the rows of which merged devices say different things, to be settled by a correction."""
    found = book.open_conflicts()
    told = _conflicts_told(found)
    sentence = (
        say("No device contradicts another.")
        if not found
        else say_many(
            "Settle {n} row of which devices say different things: tell what is right again, where a command asks for "
            "it with `--correct`.",
            "Settle {n} rows of which devices say different things: tell what is right again, where a command asks "
            "for it with `--correct`.",
            len(found),
        )
    )
    return _kept(sentence, head=book.head(), conflicts=told)


def _conflicts_told(found: Sequence[Conflict]) -> list[str]:
    return [f"`{conflict.table}` {conflict.key}: {_both_said(conflict)}" for conflict in found]


def _both_said(conflict: Conflict) -> str:
    return "; ".join(
        say(
            "{column}: {held} stands, {other} was said too",
            column=heading_of(conflict.table, column),
            held=told_value(held),
            other=told_value(other),
        )
        for column, (held, other) in conflict.differs.items()
    )


def erase(book: Book, name: str, *, by: str, why: str = "") -> dict[str, Any]:
    """Remove a person's name for good; what the person entered stays, and the erasure is written down.

    Raises
    ------
    OutpaceError
        If nobody of that name is in the book.
    """
    if not book.erase_person(name.strip(), by=by, why=why):
        raise OutpaceError(
            say("nobody called {name!r} is in the book", name=name),
            hint=say("write the name as it stands there"),
            code=ExitCode.USAGE,
        )
    forget()
    return _kept(say("The name is erased; what was entered under it stays, without it."), head=book.head())


def printed(what: str, target: Path) -> dict[str, Any]:
    """Return that a paper was written."""
    return _kept(
        say("Printed {what}: {target}", what=what.replace("-", " "), target=target), place=str(target)
    )


def back_up(book: Book, target: Path) -> dict[str, Any]:
    """Write a whole copy of the book to one file, while others may go on writing, and check it."""
    written = backup(book, target)
    return _kept(
        say("Copied to {written}, and checked.", written=written), head=book.head(), place=str(written)
    )


def put_back(source: Path, url: str | None = None) -> dict[str, Any]:
    """Put a copy back where the book belongs; a book that is there is never written over."""
    place = book_url(url)
    if "://" in place:
        raise OutpaceError(
            say("this book is kept on a database server"),
            hint=say("restore to a file with `--book FILE`, then bring it in with `outpace book import`"),
        )
    restore(source, Path(place).expanduser())
    with open_book(url) as book:
        head = book.head()
    return _kept(say("Restored to {place}, and checked.", place=place), head=head, place=place)
