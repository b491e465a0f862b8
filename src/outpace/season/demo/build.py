"""The invented farm, recorded in a book as a farm would have done it: day by day, its loggers read by the week."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from itertools import groupby

from outpace.errors import OutpaceError
from outpace.intake.climate_file import read
from outpace.intake.typed import climate_of_typed_days
from outpace.language import say
from outpace.records.store import Book
from outpace.season.demo.calendar import SEASON_D, TIME_ZONE, ZONE, Season
from outpace.season.demo.farm import dated_rows
from outpace.season.demo.place import FARM, LETTUCE, PEPPER, house_rows
from outpace.season.demo.weather import logger_files, typed_days
from outpace.terms.place import Climate, House

BY = "invented farm"

Progress = Callable[[str], None]


def _silent(text: str) -> None:
    """Say nothing."""


def build(
    book: Book,
    today: date | None = None,
    by: str = BY,
    *,
    progress: Progress = _silent,
) -> Season:
    """Record the invented farm in a book, its season ending on a day; once more changes nothing.

    Parameters
    ----------
    book : Book
        Open for writing.
    today : date, optional
        The last day of the season; default the farm's today. It cannot lie ahead.
    by : str
        Who is said to have recorded it.
    progress : callable
        Is told what is being done.

    Raises
    ------
    OutpaceError
        If the day lies ahead, or the farm is in the book with a season that ends on another day.
    """
    now = datetime.now(UTC)
    if today is not None and today > now.astimezone(ZONE).date():
        raise OutpaceError(
            say("{day} lies ahead", day=today),
            allowed=say("at the latest {day}", day=now.astimezone(ZONE).date()),
            hint=say("leave it out"),
        )
    season = Season.ending(today, now)
    _refuse_other_season(book, season)
    steps = dated_rows(season)
    progress(say("recording {n} entries of {days} days", n=len(steps), days=SEASON_D))
    for day, group in groupby(steps, key=lambda step: step[0].astimezone(ZONE).date()):
        entries = list(group)
        moment = min(max(time for time, _ in entries) + timedelta(minutes=5), season.now)
        rows = [row for _, part in entries for row in part]
        book.record(rows, by=by, recorded=moment, why=f"invented season, {day}")
    progress(say("reading the loggers' files"))
    for rows in climate_rows(season):
        for week in _by_week(rows, season):
            book.record(week, by=by, recorded=min(week[-1].time + timedelta(hours=1), season.now))
    return season


def climate_rows(season: Season) -> list[list[Climate]]:
    """Return each house's temperatures, out of the loggers' files and the typed pairs of numbers."""
    found = []
    for file in logger_files(season, SEASON_D):
        rows, _ = read(
            file.data,
            farm=FARM,
            house=file.house,
            time_zone=TIME_ZONE,
            answers=file.answers,
            place=file.place,
            name=file.name,
            now=season.now,
        )
        found.append(rows)
    typed = typed_days(season, 44)
    found.append(
        climate_of_typed_days(
            typed, farm=FARM, house=LETTUCE, time_zone=TIME_ZONE, place="air", now=season.now
        )
    )
    return found


def _by_week(rows: list[Climate], season: Season) -> list[list[Climate]]:
    weeks: dict[int, list[Climate]] = {}
    for row in rows:
        weeks.setdefault((row.time - season.start).days // 7, []).append(row)
    return [weeks[week] for week in sorted(weeks)]


def _refuse_other_season(book: Book, season: Season) -> None:
    planted = {row.house: row.planted for row in house_rows(season)}[PEPPER]
    for row in book.snapshot().table(House):
        if row.farm == FARM and row.house == PEPPER and row.planted != planted:
            raise OutpaceError(
                say("the invented farm is in this book with a season that ends on another day"),
                where=f"`{FARM}`",
                hint=say("build it anew with `outpace demo --fresh`"),
            )
