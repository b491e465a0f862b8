"""The text of one CSV cell and the value it stands for, both ways.

A cell that a spreadsheet would run as a formula leaves with an apostrophe before it and loses it again on the
way in.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.records.columns import CROP_TABLES, Column
from outpace.terms.scouting import PESTS_UNNAMED

FORMULA = re.compile(r"'*[=+\-@\t\r＝＋－＠]")
GUARDED = re.compile(r"'+[=+\-@\t\r＝＋－＠]")
TIME = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?( ?Z|[+-]\d\d:?\d\d)?")
HAS_OFFSET = re.compile(r"(Z|[+-]\d\d:?\d\d)$")
NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")
YES = frozenset({"yes", "true", "1"})
NO = frozenset({"no", "false", "0"})


def guard(text: str) -> str:
    """Return text as it may stand in a CSV file that a spreadsheet opens.

    >>> guard("=cmd|' /C calc'!A0"), guard("'=1"), guard("T3")
    ("'=cmd|' /C calc'!A0", "''=1", 'T3')
    """
    return f"'{text}" if FORMULA.match(text) else text


def unguard(text: str) -> str:
    """Return the text that :func:`guard` was given."""
    return text[1:] if GUARDED.match(text) else text


class CellFault(Exception):
    """A cell that cannot be read: what, what is allowed, and a hint."""

    def __init__(self, what: str, allowed: str, hint: str = "") -> None:
        self.what, self.allowed, self.hint = what, allowed, hint
        super().__init__(what)


@dataclass(frozen=True, slots=True)
class Resolvers:
    """How names become keys. Each function raises :class:`OutpaceError` for a name it does not know.

    ``species`` takes any name of an aphid or an enemy, ``crop`` any name of a crop.
    """

    species: Callable[[str], str]
    crop: Callable[[str], str]


@dataclass(slots=True)
class LocalTime:
    """A time without an offset that the clock change made two of; to be settled by the order of rows."""

    first: datetime
    second: datetime


class LocalClock:
    """Turns local times of one place into UTC, knowing the missing and the repeated hour."""

    def __init__(self, zone: tzinfo) -> None:
        self._zone = zone
        self._offsets: dict[tuple[Any, ...], timedelta | None] = {}

    def utc(self, naive: datetime) -> datetime | LocalTime:
        """Return the time in UTC, both candidates in the repeated hour; refuse the missing hour."""
        slot = (naive.year, naive.month, naive.day, naive.hour, naive.minute // 15)
        if slot not in self._offsets:
            first, second = (naive.replace(fold=fold, tzinfo=self._zone).utcoffset() for fold in (0, 1))
            self._offsets[slot] = first if first == second else None
        offset = self._offsets[slot]
        if offset is not None:
            return (naive - offset).replace(tzinfo=UTC)
        both = [naive.replace(fold=fold, tzinfo=self._zone).astimezone(UTC) for fold in (0, 1)]
        if both[0] > both[1]:
            raise CellFault(
                say("local time {naive:%Y-%m-%d %H:%M} in {zone}", naive=naive, zone=self._zone),
                say("does not exist: the clock was put forward over it"),
                say("write the time with its offset from UTC, or in UTC with a Z"),
            )
        return LocalTime(*both)


@cache
def local_clock(zone: str) -> LocalClock:
    """Return the clock of a time zone."""
    return LocalClock(ZoneInfo(zone))


def read_time(text: str, clock: LocalClock | None) -> datetime | LocalTime:
    """Return the time a cell says, in UTC.

    Parameters
    ----------
    text
        ISO 8601, with or without an offset.
    clock : LocalClock or None
        Of the farm; None where several farms with different zones could be meant.
    """
    if not TIME.fullmatch(text):
        if re.fullmatch(r"\d{4}-\d\d-\d\d", text):
            raise CellFault(
                f"`{text}`",
                say("must say the time of day too"),
                say("write {text_told}T09:00", text_told=text),
            )
        raise CellFault(
            f"`{text}`",
            say("must be a time like 2026-11-03T09:10"),
            say("write year, month, day, then the time"),
        )
    try:
        moment = datetime.fromisoformat(text.replace(" Z", "Z"))
    except ValueError as error:
        raise CellFault(
            say("`{text_told}` is no time", text_told=text),
            f"{error}",
            say("look the day up in a calendar, and write the hour as 00 to 23"),
        ) from error
    moment = moment.replace(microsecond=0)
    if moment.tzinfo is not None:
        return moment.astimezone(UTC)
    if clock is None:
        raise CellFault(
            f"`{text}`",
            say("which farm's local time is it?"),
            say("write the offset: 2026-11-03T09:10+01:00"),
        )
    return clock.utc(moment)


def read_exact_time(text: str) -> datetime:
    """Return a time that says its offset, with its fraction of a second, in UTC."""
    if not TIME.fullmatch(text) or not HAS_OFFSET.search(text):
        raise CellFault(
            f"`{text}`", say("must be a time with its offset"), say("write it like 2026-11-03T09:10+01:00")
        )
    try:
        return datetime.fromisoformat(text.replace(" Z", "Z")).astimezone(UTC)
    except ValueError as error:
        raise CellFault(say("`{text_told}` is no time", text_told=text), f"{error}") from error


def read_date(text: str) -> date:
    """Return the date a cell says: year, month, day."""
    if re.fullmatch(r"\d{4}-\d\d-\d\d", text):
        try:
            return date.fromisoformat(text)
        except ValueError as error:
            raise CellFault(
                say("`{text_told}` is no date", text_told=text),
                f"{error}",
                say("look the day up in a calendar"),
            ) from error
    raise CellFault(f"`{text}`", say("must be a date like 2026-11-03"), say("write year, month, day"))


def read_number(text: str) -> float:
    """Return the number a cell says; a decimal comma is refused, not guessed at."""
    if NUMBER.fullmatch(text):
        return float(text)
    if re.fullmatch(r"[+-]?\d+,\d+", text):
        raise CellFault(
            f"`{text}`",
            say("has a decimal comma"),
            say("write {text_told}", text_told=text.replace(",", ".")),
        )
    raise CellFault(
        f"`{text}`", say("must be a number"), say("leave the cell empty where nothing was recorded")
    )


def read_whole(text: str) -> int:
    """Return the whole number a cell says."""
    if text.isascii() and text.isdigit() and len(text) <= 18:
        return int(text)
    number = read_number(text)
    if number != int(number) if abs(number) < 1e15 else True:
        raise CellFault(f"`{text}`", say("must be a whole number"))
    return int(number)


def read_yes_no(text: str) -> bool:
    """Return what a yes-or-no cell says."""
    lower = text.lower()
    if lower in YES:
        return True
    if lower in NO:
        return False
    raise CellFault(f"`{text}`", say("must be yes or no"))


def read_text(text: str) -> str:
    return unguard(text)


def _read_count(text: str) -> str:
    return str(int(text)) if text.isascii() and text.isdigit() and len(text) <= 12 else unguard(text)


def _naming(resolve: Callable[[str], str], spared: tuple[str, ...]) -> Callable[[str], str]:
    known: dict[str, str] = {}

    def read(text: str) -> str:
        if text not in known:
            lower = text.lower()
            if lower in spared:
                known[text] = lower
            else:
                try:
                    known[text] = resolve(text)
                except OutpaceError as error:
                    raise CellFault(
                        say("is not known: {what}", what=error.what), error.allowed, error.hint
                    ) from error
        return known[text]

    return read


def cell_reader(table: str, column: Column, resolve: Resolvers) -> Callable[[str], Any]:
    """Return the function that reads the cells of one column, times excepted."""
    if column.rules.get("species"):
        return _naming(
            resolve.species, PESTS_UNNAMED if column.stored in ("pest", "species", "other_species") else ()
        )
    if column.stored == "crop" and table in CROP_TABLES:
        return _naming(resolve.crop, ())
    if column.rules.get("count"):
        return _read_count
    readers: dict[type, Callable[[str], Any]] = {
        float: read_number,
        int: read_whole,
        bool: read_yes_no,
        date: read_date,
        str: read_text,
    }
    return readers[column.kind]
