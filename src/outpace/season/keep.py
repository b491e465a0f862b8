"""The book as a whole: begin, import, export, verify, copy and put back."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.records.exchange import export_package, import_package
from outpace.season.open_book import Book, book_url, open_book, resolvers
from outpace.season.recorded import recorded_answer


def _kept(sentence: str, **more: Any) -> dict[str, Any]:
    return {"schema": "outpace.book/1", "sentence": sentence, "head": None, "problems": [], **more}


def begin(url: str | None = None) -> dict[str, Any]:
    """Begin an empty book; one that is there already stays as it is."""
    place = book_url(url)
    there = "://" not in place and Path(place).expanduser().exists()
    with open_book(url, create=True) as book:
        head = book.head()
    return _kept(f"The book {'is there already' if there else 'has begun'}: {place}", head=head, place=place)


def import_paths(book: Book, paths: Sequence[Path], *, by: str, correct: bool = False) -> dict[str, Any]:
    """Import a package, or single tables, and return what was written."""
    for path in paths:
        if not path.exists():
            raise OutpaceError(
                "there is no such file or folder",
                where=f"`{path}`",
                hint="check the path",
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
    return recorded_answer(book, imported, sentence="Imported.")


def export_to(book: Book, target: Path) -> dict[str, Any]:
    """Write the book as a data package."""
    export_package(book, target)
    return _kept(f"Exported to {target}", head=book.head(), place=str(target))


def verify_book(book: Book) -> dict[str, Any]:
    """Check the whole history and return what is wrong with it."""
    problems = [str(problem) for problem in book.verify()]
    sentence = (
        "The book is whole: nothing in it was altered or lost."
        if not problems
        else f"The book has {len(problems)} {'fault' if len(problems) == 1 else 'faults'}."
    )
    return _kept(sentence, head=book.head(), problems=problems)


def head_of(book: Book) -> dict[str, Any]:
    """Return the digest that stands for the whole book, and the last event of each device."""
    devices = [{"device": head.device, "seq": head.seq, "hash": head.hash} for head in book.heads()]
    return _kept("Two books with this head hold the same records.", head=book.head(), devices=devices)


def back_up(book: Book, target: Path, url: str | None = None) -> dict[str, Any]:
    """Write a whole copy of the book to one file, while others may go on writing.

    Raises
    ------
    OutpaceError
        If the book is not a file, or if the target is there already.
    """
    source = _file_of(url)
    if target.exists():
        raise OutpaceError("there is a file already", where=f"`{target}`", hint="name a new file")
    target.parent.mkdir(parents=True, exist_ok=True)
    beside = target.with_name(f".{target.name}.part")
    beside.unlink(missing_ok=True)
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(beside)) as new:
        old.backup(new)
        new.execute("PRAGMA journal_mode = DELETE")
    os.replace(beside, target)
    return _kept(f"Copied to {target}", head=book.head(), place=str(target))


def put_back(source: Path, url: str | None = None) -> dict[str, Any]:
    """Put a copy back where the book belongs, after checking that it is whole.

    Raises
    ------
    OutpaceError
        If the copy is no whole book, or if a book is there already.
    """
    target = _file_of(url)
    if not source.exists():
        raise OutpaceError("there is no such file", where=f"`{source}`", hint="check the path")
    if target.exists():
        raise OutpaceError(
            "there is a book already, and it is not written over",
            where=f"`{target}`",
            hint="move it away first, or restore to another place with `--book FILE`",
        )
    target.parent.mkdir(parents=True, exist_ok=True)
    beside = target.with_name(f".{target.name}.part")
    beside.unlink(missing_ok=True)
    try:
        kept = f"{source.resolve().as_uri()}?mode=ro"
        with closing(sqlite3.connect(kept, uri=True)) as old, closing(sqlite3.connect(beside)) as new:
            old.backup(new)
        with open_book(str(beside)) as book:
            problems = [str(problem) for problem in book.verify()]
            head = book.head()
        if problems:
            raise OutpaceError(f"this copy is not whole: {problems[0]}", where=f"`{source}`")
    except sqlite3.DatabaseError as error:
        _remove(beside)
        raise OutpaceError(f"this is no copy of a book: {error}", where=f"`{source}`") from error
    except OutpaceError:
        _remove(beside)
        raise
    os.replace(beside, target)
    _remove(beside)
    return _kept(f"Restored to {target}", head=head, place=str(target))


def _remove(path: Path) -> None:
    for ending in ("", "-wal", "-shm"):
        path.with_name(path.name + ending).unlink(missing_ok=True)


def _file_of(url: str | None) -> Path:
    place = book_url(url)
    if "://" in place and not place.startswith("sqlite"):
        raise OutpaceError(
            "this book is kept on a database server",
            hint="copy it with the server's own tool, or write it out with `outpace book export DIR`",
        )
    return Path(place.removeprefix("sqlite:///")).expanduser()
