"""The files that go with a week: one printed sheet a house, one calendar."""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Callable, Mapping
from pathlib import Path

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.surfaces.cli.door import Answer

Progress = Callable[[str], None]


def file_name(house: str, taken: set[str]) -> str:
    """Return a name that no file system misreads, and that no other house has.

    Examples
    --------
    >>> file_name("../Lower/tunnel =1", set())
    'lower-tunnel-1'
    >>> file_name("North", {"north"})
    'north-2'
    """
    plain = unicodedata.normalize("NFKD", house).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "house"
    name, number = stem, 2
    while name in taken:
        name, number = f"{stem}-{number}", number + 1
    taken.add(name)
    return name


def write_sheets(
    week: Answer, houses: Mapping[str, Answer], folder: Path, *, progress: Progress
) -> list[Path]:
    """Write one PDF page a house of the week, from each house's own forecast, and return where they are."""
    from outpace.surfaces.sheets import week_sheet

    make_folder(folder)
    taken: set[str] = set()
    written: list[Path] = []
    for number, house in enumerate(week["houses"], 1):
        path = folder / f"{file_name(house['house'], taken)}.pdf"
        progress(say("sheet {number} of {n}: {file}", number=number, n=len(week["houses"]), file=path))
        head = str(week.get("book_head") or "")
        week_sheet.write(houses[house["house"]], path, week_row=house, head=head)
        written.append(path)
    return written


def write_calendar(week: Answer, path: Path, *, progress: Progress) -> None:
    """Write the tasks of the week as an iCalendar file."""
    from outpace.surfaces.calendar import week_calendar

    make_folder(path.parent)
    write_whole(path, week_calendar(week))
    progress(say("calendar: {file}", file=path))


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it is there whole or not at all."""
    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_bytes(content)
        os.replace(beside, path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise OutpaceError(
            say("cannot write it: {reason}", reason=error.strerror),
            where=f"`{path}`",
            hint=say("choose another place"),
        ) from error


def make_folder(folder: Path) -> None:
    """Make a folder where there is none."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutpaceError(
            say("cannot make this folder: {reason}", reason=error.strerror),
            where=f"`{folder}`",
            hint=say("choose another place"),
        ) from error
