"""How long the week of a big book takes: twenty houses, a plan, twenty sheets, each by a new start of the program.

Asked by ``python -m benchmarks.book ask FILE``, on a copy of the book: with nothing kept, again within the hour, at
another hour, after one walk in one house, and then the sheet of that house alone.
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from contextlib import nullcontext
from datetime import datetime, timedelta
from pathlib import Path

from outpace.records.book import Book
from outpace.season.open_book import of_this_crop
from outpace.surfaces.cli.week_files import write_sheets
from outpace.surfaces.week_asked import HousesAsked, WeekAsked
from outpace.terms.place import Farm, House
from outpace.terms.scouting import Walk, WalkLine

HOUR = timedelta(hours=1)


def week_rows(place: Path, morning: datetime) -> None:
    """Print how long the week takes on a morning, and what moves it.

    Parameters
    ----------
    morning : aware datetime
        The book is asked as it was known then, and one, two and three hours later.
    """
    with tempfile.TemporaryDirectory() as kept:
        copy = Path(kept) / "copy.book"
        shutil.copyfile(place, copy)
        told = {**os.environ, "OUTPACE_CACHE": str(Path(kept) / "answers")}
        _row("week, nothing kept", copy, morning, told)
        _row("again within the hour", copy, morning, told)
        _row("at another hour", copy, morning + HOUR, told)
        house = _walked(copy, morning + 1.5 * HOUR)
        _row(f"after a walk in {house}", copy, morning + 2 * HOUR, told)
        _row("again within the hour", copy, morning + 2 * HOUR, told)
        _walked(copy, morning + 2.5 * HOUR, "the next benchmark")
        _row(f"after one more, {house} alone", copy, morning + 3 * HOUR, told, house)


def _walked(place: Path, when: datetime, name: str = "benchmark") -> str:
    """Enter one walk in the middle house of the farm."""
    with Book.open(place) as book:
        known = book.snapshot(only={"farm": {}, "houses": {}})
        houses = known.table(House)
        house = houses[len(houses) // 2]
        walk = Walk(
            walk=name, farm=known.table(Farm)[0].farm, house=house.house, time=when, unit="plant",
            chosen="random", looked_at=20,
        )  # fmt: skip
        line = WalkLine(
            walk=walk.walk, pest="myzus_persicae", looked_at=20, infested=6, aphids_about=40, mummies_about=3
        )
        book.record([walk, line], by="invented", recorded=when)
    return house.house


def _row(what: str, place: Path, at: datetime, told: dict[str, str], *houses: str) -> None:
    used, begun = _of_children(), time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "benchmarks.book_week", str(place), at.isoformat(), *houses],
        env=told,
        check=True,
    )
    wall, spent = time.perf_counter() - begun, _of_children() - used
    print(f"{what:<34} {wall:7.2f} s, of processor {spent:6.2f} s", flush=True)


def _of_children() -> float:
    spent = resource.getrusage(resource.RUSAGE_CHILDREN)
    return spent.ru_utime + spent.ru_stime


def main() -> None:
    """Write the sheets of a week, or of the houses named, as the command does, at a moment that has passed."""
    place, moment, *names = sys.argv[1:]
    at = datetime.fromisoformat(moment)
    with Book.open(place) as book, tempfile.TemporaryDirectory() as sheets:
        head = str(book.head())
        asked = (
            HousesAsked(names, lambda: nullcontext(book), head, at=at, fixed=True)
            if names
            else WeekAsked(head, at=at, fixed=True)
        )
        week, houses = asked.answer(lambda: of_this_crop(book, at=at))
        write_sheets(week, houses, Path(sheets), progress=lambda said: None)


if __name__ == "__main__":
    main()
