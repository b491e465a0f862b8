"""The run of the demo: a book, its week, its sheets."""

from __future__ import annotations

import time
from pathlib import Path

from outpace.surfaces.cli import door
from outpace.surfaces.cli.week_files import write_sheets

SHEETS = "sheets"


def run_demo(out: Path, *, fresh: bool, as_json: bool) -> str:
    """Build the farm where it is not there, print its week, write its sheets; return where the book is."""
    from outpace.season.demo.beside import build_at, place_in, remove
    from outpace.season.week import week_of_book
    from outpace.surfaces.text.week import render

    began = time.monotonic()
    # The season of the invented farm ends on the day it is built: another day, another book.
    path = place_in(out)
    if fresh:
        remove(path)
    if not path.exists():
        build_at(path, door.say)
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
