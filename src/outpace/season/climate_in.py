"""Temperatures on their way into the book: a logger's file looked at, asked about, read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from outpace.errors import ExitCode, OutpaceError
from outpace.intake.climate_file import Preview
from outpace.intake.climate_file import preview as look_at
from outpace.intake.climate_file import read as read_file
from outpace.intake.profile import Profile, ProfileShelf, sensor_answer
from outpace.intake.sheet import as_csv
from outpace.language import say, say_many
from outpace.season.enter import Entered
from outpace.season.lag_temperature import LOOK_BACK_D, from_release
from outpace.season.names import pick_farm, pick_house
from outpace.season.open_book import book_url
from outpace.terms.tables import Snapshot

PLACES_INSIDE = ("canopy", "air", None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What a person tells of a logger's file; None and empty: not told."""

    temperature_unit: str | None = None
    date_order: str | None = None
    decimal: str | None = None
    clock: str | None = None
    duplicates: str | None = None
    columns: Sequence[str] = ()
    humidity: str | None = None
    radiation: str | None = None
    name: str = ""

    def profile(self) -> Profile:
        """Return the answers as the reader of files takes them."""
        return Profile(
            name=self.name,
            temperature_unit=self.temperature_unit,
            date_order=self.date_order,
            decimal=self.decimal,
            clock=self.clock,
            duplicates=self.duplicates,
            sensors=tuple(sensor_answer(column) for column in self.columns),
            humidity=self.humidity,
            radiation=self.radiation,
        )


def shelf_of(url: str | None = None) -> ProfileShelf:
    """Return where the profiles of loggers are kept: beside the book, or at home where the book is on a server."""
    place = book_url(url)
    if "://" in place:
        return ProfileShelf(Path.home() / ".config" / "outpace" / "loggers.json")
    path = Path(place).expanduser()
    return ProfileShelf(path.with_name(f"{path.name}.loggers.json"))


def preview_answer(
    path: Path, told: Told, *, time_zone: str = "UTC", shelf: ProfileShelf | None = None
) -> dict[str, Any]:
    """Return what a file holds and what still has to be answered, as ``outpace.climate/1``."""
    return looked_into(path, told, time_zone=time_zone, shelf=shelf)[0]


def looked_into(
    path: Path, told: Told, *, time_zone: str = "UTC", shelf: ProfileShelf | None = None
) -> tuple[dict[str, Any], list[tuple[int, str]]]:
    """Return what a file holds as ``outpace.climate/1``, and its rows that cannot be read with their text."""
    _must_exist(path)
    read = as_csv(path)
    seen = look_at(read, name=path.name, answers=told.profile(), shelf=shelf, time_zone=time_zone)
    workbook, report = read is not path, seen.report
    answer = {
        "schema": "outpace.climate/1",
        "file": str(path),
        "sentence": _sentence(seen),
        "ready": seen.ready,
        "known_logger": seen.known_logger,
        "questions": [
            {
                "text": question.text,
                "option": question.option,
                "choices": [{"value": each.value, "meaning": each.meaning} for each in question.choices],
            }
            for question in seen.questions
        ],
        "dialect": {
            "kind": "workbook" if workbook else "text",
            "encoding": None if workbook else seen.dialect.encoding,
            "separator": None if workbook else seen.dialect.separator,
            "decimal": None if workbook and seen.dialect.decimal == "." else seen.dialect.decimal,
            "heading_row": seen.dialect.heading_row,
            "first_row": seen.dialect.first_row,
        },
        "columns": [
            {"heading": each.heading, "role": each.role, "unit": each.unit, "place": each.place}
            for each in seen.columns
        ],
        "rows": report.rows,
        "from": report.first.isoformat() if report.first else None,
        "to": report.last.isoformat() if report.last else None,
        "first_rows": seen.first_rows(),
        "warnings": report.lines(),
    }
    return answer, sorted(report.unread.items())


def _sentence(seen: Preview) -> str:
    report = seen.report
    if seen.questions:
        number = len(seen.questions)
        return say_many(
            "Answer {n} question before the import.", "Answer {n} questions before the import.", number
        )
    days = (report.last - report.first).days + 1 if report.first and report.last else 0
    return say_many(
        "Ready to import: {kept:,} readings of {n} day.",
        "Ready to import: {kept:,} readings of {n} days.",
        days,
        kept=report.kept,
    )


def climate_from_file(
    snapshot: Snapshot,
    path: Path,
    house: str,
    told: Told,
    *,
    farm: str | None = None,
    zone: str | None = None,
    shelf: ProfileShelf | None = None,
) -> Entered:
    """Return the climate rows of a logger's file, and what to mind about it.

    Raises
    ------
    OutpaceError
        If the file cannot be read, or a question about it is open.
    """
    _must_exist(path)
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    rows, report = read_file(
        as_csv(path),
        name=path.name,
        farm=there.farm,
        house=place.house,
        time_zone=there.time_zone,
        answers=told.profile(),
        shelf=shelf,
        zone=zone,
    )
    span = (
        say("{first:%Y-%m-%d} to {last:%Y-%m-%d}", first=report.first, last=report.last)
        if report.first and report.last
        else say("no day")
    )
    return Entered(
        rows,
        say("{house}: {kept:,} readings, {span}.", house=place.house, kept=report.kept, span=span),
        tuple(report.lines()),
    )


def hours_from(path: Path, release: date) -> tuple[list[float], str]:
    """Return hourly temperatures from the day of a release on, by the clock of a logger's file.

    Raises
    ------
    OutpaceError
        If the file cannot be read without an answer, or holds nothing near the release.
    """
    _must_exist(path)
    # The clock of the file is taken as it stands: a lag needs hours of the day, no time zone.
    rows, report = read_file(as_csv(path), name=path.name, farm="-", house="-", time_zone="UTC")
    first_day = release - timedelta(days=LOOK_BACK_D)
    last = max(release, report.last.date() if report.last else release)
    hours = np.full(((last - first_day).days + 1) * 24, np.nan)
    for place in reversed(PLACES_INSIDE):
        sums, seen = np.zeros(len(hours)), np.zeros(len(hours))
        for row in rows:
            hour = _hour(row.time, first_day)
            if row.place == place and not row.flag and 0 <= hour < len(hours):
                sums[hour] += row.temperature_degc
                seen[hour] += 1
        hours[seen > 0] = (sums / np.maximum(seen, 1))[seen > 0]
    known, days = from_release(hours, LOOK_BACK_D)
    if known is None:
        raise OutpaceError(
            say("it holds no temperature near {release}", release=release),
            where=f"`{path.name}`",
            hint=say("use a file of those days, or say how warm it is with `--temperature`"),
        )
    source = say("logger file {name}", name=path.name)
    return known, source if days else say("{source}, its last days stand for the days to come", source=source)


def _hour(time: datetime, first_day: date) -> int:
    return (time.date() - first_day).days * 24 + time.hour


def _must_exist(path: Path) -> None:
    if not path.is_file():
        raise OutpaceError(
            say("there is no such file"), where=f"`{path}`", hint=say("check the path"), code=ExitCode.USAGE
        )
