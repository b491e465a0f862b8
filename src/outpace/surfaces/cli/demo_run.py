"""The run of the demo: a book, its week, its sheets."""

from __future__ import annotations

import time
from datetime import date
from pathlib import Path

from outpace.surfaces.cli import door
from outpace.surfaces.cli.week_files import write_sheets

SHEETS = "sheets"


def run_demo(out: Path, *, fresh: bool, as_json: bool) -> str:
    """Build the farm where it is not there, print its week, write its sheets; return where the book is."""
    from outpace.season.week import week_of_book
    from outpace.surfaces.text.week import render

    began = time.monotonic()
    # The season of the invented farm ends on the day it is built: another day, another book.
    path = out / f"farm-{date.today().isoformat()}.book"
    if fresh:
        _remove(path)
    out.mkdir(parents=True, exist_ok=True)
    if not path.exists():
        _build(path)
    else:
        door.say(f"the farm is there already: {path} (`--fresh` builds it anew)")
    with door.book_at(str(path)) as book:
        answer, houses = week_of_book(book, progress=door.say)
    door.show(answer, as_json, render)
    door.say(f"this week was ready after {time.monotonic() - began:.0f} s")
    written = write_sheets(answer, houses, out / SHEETS, progress=door.say)
    if not as_json:
        print(f"\n{len(written)} week sheets, one a house: {(out / SHEETS).resolve()}")
    return str(path)


def _build(path: Path) -> None:
    """Build the book beside its place, so that a run that is broken off leaves none half-built."""
    from outpace.season.demo.build import build

    beside = path.with_name(f"building-{path.name}")
    _remove(beside)
    door.say("building the invented farm")
    with door.book_at(str(beside), create=True) as book:
        build(book, progress=door.say)
    beside.replace(path)


def _remove(path: Path) -> None:
    for ending in ("", "-wal", "-shm"):
        path.with_name(path.name + ending).unlink(missing_ok=True)
