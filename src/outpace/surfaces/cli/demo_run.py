"""The run of the demo: a book, its week, its sheets."""

from __future__ import annotations

import time
from pathlib import Path

from outpace.language import say, say_many
from outpace.surfaces.cli import door
from outpace.surfaces.cli.week_files import write_sheets

SHEETS = "sheets"


def run_demo(out: Path, *, fresh: bool, as_json: bool) -> str:
    """Build the farm where it is not there, print its week, write its sheets; return where the book is."""
    from outpace.season.demo.beside import build_at, place_in, remove
    from outpace.surfaces.text.week import render

    began = time.monotonic()
    # The season of the invented farm ends on the day it is built: another day, another book.
    path = place_in(out)
    if fresh:
        remove(path)
    if not path.exists():
        build_at(path, door.say)
    else:
        door.say(say("the farm is there already: {file} (`--fresh` builds it anew)", file=path))
    with door.book_at(str(path)) as book:
        answer, houses = door.week_of(book)
    door.show(answer, as_json, render)
    door.say(say("this week was ready after {seconds:.0f} s", seconds=time.monotonic() - began))
    written = write_sheets(answer, houses, out / SHEETS, progress=door.say)
    if not as_json:
        told = say_many(
            "{n} week sheet, one a house: {folder}",
            "{n} week sheets, one a house: {folder}",
            len(written),
            folder=(out / SHEETS).resolve(),
        )
        print(f"\n{told}")
    return str(path)
