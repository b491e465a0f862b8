"""Copies of a book: taken while others may write, checked before they are trusted."""

from __future__ import annotations

import os
import secrets
import sqlite3
from contextlib import closing
from pathlib import Path

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.records.book import COPY, Book


def on_a_server() -> OutpaceError:
    """Return the refusal of a book that no file holds."""
    return OutpaceError(
        say("this book is kept on a database server"),
        allowed=say("only a book in a file is copied so"),
        hint=say("use the server's own tool, or write a package with `outpace book export`"),
    )


def backup(book: Book, path: str | Path) -> Path:
    """Write a copy of the book to one file, consistent whoever writes meanwhile, and check it.

    A copy that is written on is a device of its own, on this machine too: both may grow and be merged later.

    Raises
    ------
    OutpaceError
        If the book is on a server, the target exists, or the copy does not verify.
    """
    source = book.engine.url.database
    if book.engine.dialect.name != "sqlite" or source is None:
        raise on_a_server()
    target = Path(path)
    if target.exists():
        raise OutpaceError(say("`{target}` is there already", target=target), hint=say("name a new file"))
    target.parent.mkdir(parents=True, exist_ok=True)
    return _copy(Path(source), target)


def restore(source: str | Path, target: str | Path) -> Path:
    """Put a copy back as a book, after checking it; a book that is there is never written over.

    Raises
    ------
    OutpaceError
        If the copy is no whole book, or the target exists.
    """
    copy, place = Path(source), Path(target)
    if not copy.is_file():
        raise OutpaceError(
            say("`{copy}` does not exist", copy=copy), hint=say("name the file that `outpace backup` wrote")
        )
    if place.exists():
        raise OutpaceError(
            say("`{place}` is there already", place=place),
            hint=say("move it away first, or restore to another name"),
        )
    place.parent.mkdir(parents=True, exist_ok=True)
    return _copy(copy, place)


def _copy(source: Path, target: Path) -> Path:
    part = target.with_name(f".{target.name}.part")
    _remove(part)
    try:
        with (
            closing(sqlite3.connect(f"{source.resolve().as_uri()}?mode=ro", uri=True)) as old,
            closing(sqlite3.connect(part)) as new,
        ):
            old.backup(new)
            new.execute("PRAGMA journal_mode = DELETE")
        with Book.open(part) as copy:
            problems = copy.verify()
        if problems:
            raise OutpaceError(
                say("the copy is not whole: {problems}", problems=problems[0]), where=f"`{source}`"
            )
        with closing(sqlite3.connect(part)) as new:
            new.execute("PRAGMA journal_mode = DELETE")
            with new:
                new.execute(
                    "INSERT OR REPLACE INTO settings (name, value) VALUES (?, ?)",
                    (COPY, secrets.token_hex(8)),
                )
        os.replace(part, target)
    except sqlite3.DatabaseError as error:
        raise OutpaceError(
            say("`{source}` is no copy of a book: {error}", source=source, error=error)
        ) from error
    finally:
        _remove(part)
    return target


def _remove(path: Path) -> None:
    for ending in ("", "-wal", "-shm"):
        path.with_name(path.name + ending).unlink(missing_ok=True)
