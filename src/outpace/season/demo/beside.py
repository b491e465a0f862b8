"""The invented farm as a book of its own: built beside its place, so that a run that is broken off leaves no half."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from datetime import date
from pathlib import Path

from outpace.language import say
from outpace.records.store import Book

Progress = Callable[[str], None]


def place_in(folder: Path) -> Path:
    """Return where the invented farm of today is in a folder: its season ends on the day it is built."""
    return folder / f"farm-{date.today().isoformat()}.book"


def folder_beside(book: str) -> Path:
    """Return the folder for an invented farm beside a book; a temporary one where the book is on a server."""
    if "://" in book:
        return Path(tempfile.gettempdir()) / "outpace-invented-farm"
    return Path(book).expanduser().parent / "invented-farm"


def build_at(path: Path, progress: Progress) -> None:
    """Build the invented farm as the book at a path, replacing what is there."""
    from outpace.season.demo.build import build

    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f"building-{path.name}")
    remove(beside)
    progress(say("building the invented farm"))
    with Book.open(str(beside), create=True) as book:
        build(book, progress=progress)
    beside.replace(path)


def remove(path: Path) -> None:
    """Remove a book and what its database keeps beside it."""
    for ending in ("", "-wal", "-shm"):
        path.with_name(path.name + ending).unlink(missing_ok=True)
