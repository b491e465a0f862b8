"""What each value and each row of the book may hold, whoever brings it: a form, a command or a file."""

from __future__ import annotations

import re
import zoneinfo
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache
from typing import Any

from outpace.language import say, to_say
from outpace.records.columns import Column, Table
from outpace.terms.scouting import COUNT_CLASSES

#: How far a phone's clock may run ahead before its entry counts as lying in the future.
CLOCK_SLACK = timedelta(minutes=5)
EARLIEST_ZONE = timedelta(hours=14)
"""How far the earliest clocks of the world are ahead of UTC (recalled)."""

LONGEST_TEXT = 4000
MOST_APHIDS_ON_ONE_UNIT = 30_000
YEARS = (2000, 2100)

#: What a spreadsheet would run, and what leads out of a folder: harmless inside the book, a trap on its way out.
NO_NAME = re.compile(r"\s*[=+@＝＋＠]|(.*[/\\])?\.\.([/\\]|$)", re.DOTALL)

UNIT_SIGNS = {
    "_per_m2": "W/m²",
    "_m2": "m²",
    "_degc": "°C",
    "_pct": "%",
    "_per_h": to_say("per hour"),
    "_m": "m",
    "_d": "d",
    "_h": "h",
}


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with one value, without the place where it stood."""

    column: str
    what: str
    allowed: str
    hint: str = ""


def told(column: Column, value: Any) -> str:
    """Return a value with the column's name in words and its unit: ``temperature 400 °C``."""
    name, sign = in_words(column)
    shown = say("{number:g}", number=value) if isinstance(value, float) else str(value)
    return say("{column} {value}{unit}", column=say(name), value=shown, unit=f" {say(sign)}" if sign else "")


def in_words(column: Column) -> tuple[str, str]:
    """Return the name of a column in English words, and its unit."""
    name = column.stored
    for ending, unit in UNIT_SIGNS.items():
        if name.endswith(ending) and column.kind is float:
            return name.removesuffix(ending).removesuffix("_w").replace("_", " "), unit
    return name.replace("_", " "), ""


Checker = Callable[[Any, datetime], Fault | None]


@cache
def _pattern(text: str) -> re.Pattern[str]:
    return re.compile(text)


def _check_number(column: Column) -> Checker:
    least, most, above = (column.rules.get(name) for name in ("least", "most", "above"))

    def check(value: Any, now: datetime) -> Fault | None:
        if value != value or value in (float("inf"), float("-inf")):
            return Fault(column.stored, f"{column.stored} {value}", say("must be a number"))
        if above is not None and value <= above:
            return Fault(
                column.stored,
                told(column, value),
                say("must be above {above:g}", above=above),
                _number_hint(column, value),
            )
        if least is not None and value < least:
            words = (
                say("must not be negative")
                if least == 0
                else say("below the limit of {column}", column=say_limit(column, least))
            )
            return Fault(column.stored, told(column, value), words, _number_hint(column, value))
        if most is not None and value > most:
            words = say("above the limit of {column}", column=say_limit(column, most))
            return Fault(column.stored, told(column, value), words, _number_hint(column, value))
        return None

    return check


def say_limit(column: Column, limit: float) -> str:
    """Return a limit with the column's unit: ``60 °C``."""
    _, sign = in_words(column)
    return f"{say('{number:g}', number=limit)} {say(sign)}".rstrip()


def _number_hint(column: Column, value: float) -> str:
    if column.stored.endswith("_degc"):
        if 60 < value <= 140:
            return say("if the file is in Fahrenheit, read it as a logger file with its unit named")
        return say("a reading like this is a broken sensor or cable: leave the row out")
    if column.stored.endswith("_share") or column.rules.get("most") == 1.0:
        return say("shares run from 0 to 1: write 0.25 for 25 %")
    if column.stored == "area_m2" and value <= 0:
        return say("measure length times width")
    if value < 0:
        return say("leave the cell empty where nothing was recorded; 0 means looked and found none")
    return ""


def _check_moment(column: Column) -> Checker:
    past = bool(column.rules.get("past"))

    def check(value: Any, now: datetime) -> Fault | None:
        if value.tzinfo is None:
            return Fault(column.stored, f"{column.stored} {value}", say("must say its offset from UTC"))
        if not YEARS[0] <= value.year <= YEARS[1]:
            return Fault(
                column.stored,
                f"{column.stored} {value:%Y-%m-%d}",
                say("the year must be {years} to {years2}", years=YEARS[0], years2=YEARS[1]),
            )
        if past and value > now + CLOCK_SLACK:
            return Fault(
                column.stored,
                f"{column.stored} {value:%Y-%m-%d %H:%M}",
                say(
                    "lies in the future (it is {tzinfo:%Y-%m-%d %H:%M})", tzinfo=now.astimezone(value.tzinfo)
                ),
                say("what happened cannot lie ahead: check day, month and year"),
            )
        return None

    return check


def _check_date(column: Column) -> Checker:
    past = bool(column.rules.get("past"))

    def check(value: Any, now: datetime) -> Fault | None:
        if not YEARS[0] <= value.year <= YEARS[1]:
            return Fault(
                column.stored,
                f"{column.stored} {value}",
                say("the year must be {years} to {years2}", years=YEARS[0], years2=YEARS[1]),
            )
        if past and value > _last_day(now):
            return Fault(
                column.stored,
                f"{column.stored} {value}",
                say("lies in the future (it is {today})", today=f"{now:%Y-%m-%d}"),
                say("what happened cannot lie ahead: check day, month and year"),
            )
        return None

    return check


def _last_day(moment: datetime) -> date:
    """Return the day of a moment where on earth it is latest: a day alone does not say where it was."""
    return (moment.astimezone(UTC) + EARLIEST_ZONE).date()


def _check_text(column: Column) -> Checker:
    one_of, each_of = column.rules.get("one_of"), column.rules.get("each_of")
    clock, count = column.rules.get("clock"), column.rules.get("count")
    control = _pattern(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
    zone = column.stored == "time_zone"
    name = column.key and not (one_of or column.rules.get("species"))

    def check(value: Any, now: datetime) -> Fault | None:
        if len(value) > LONGEST_TEXT:
            return Fault(
                column.stored,
                say("{stored} of {value} characters", stored=column.stored, value=len(value)),
                say("at most {longest_text}", longest_text=LONGEST_TEXT),
            )
        if control.search(value):
            return Fault(
                column.stored,
                say("{stored} with an unprintable character", stored=column.stored),
                say("must be plain text"),
            )
        what = f"{column.stored} `{value}`"
        if one_of and value not in one_of:
            return Fault(column.stored, what, say("must be one of {one_of}", one_of=", ".join(one_of)))
        if each_of:
            parts = [part for part in re.split(r"[\s,;|]+", value) if part]
            if not parts or any(part not in each_of for part in parts):
                return Fault(
                    column.stored, what, say("must be one or more of {each_of}", each_of=", ".join(each_of))
                )
        if clock and not _pattern(r"([01]\d|2[0-3]):[0-5]\d").fullmatch(value):
            return Fault(
                column.stored, what, say("must be a time of day"), say("write hours and minutes: 14:30")
            )
        if zone and not _known_zone(value):
            return Fault(
                column.stored, what, say("must be a time zone"), say("write it like Europe/Lisbon or Etc/UTC")
            )
        if count:
            return count_fault(column, value)
        if name and NO_NAME.match(value):
            return Fault(
                column.stored,
                what,
                say("a name may not begin as a formula does, nor hold ../"),
                say("give it the name people call it by"),
            )
        return None

    return check


@cache
def _known_zone(name: str) -> bool:
    try:
        zoneinfo.ZoneInfo(name)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True


MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def count_fault(column: Column, value: str) -> Fault | None:
    """Return what is wrong with a count of aphids: a whole number, a class, or ``present``."""
    if value in COUNT_CLASSES:
        return None
    if re.fullmatch(r"\d+", value):
        if int(value) <= MOST_APHIDS_ON_ONE_UNIT:
            return None
        return Fault(
            column.stored,
            say("{value} aphids on one unit", value=value),
            say(
                "above the limit of {most_aphids_on_one_unit}",
                most_aphids_on_one_unit=MOST_APHIDS_ON_ONE_UNIT,
            ),
            say(
                "numbers from 40000 on are how a spreadsheet stores a date: it may have turned the class "
                "4to10 into one; format the column as text and write the class again"
            ),
        )
    allowed = say("must be a whole number or one of {count_classes}", count_classes=", ".join(COUNT_CLASSES))
    if re.fullmatch(r"-\d+(\.\d+)?", value):
        return Fault(
            column.stored,
            f"{column.stored} {value}",
            say("must not be negative"),
            say("leave the row out where nothing was looked at; 0 means looked and found none"),
        )
    if _looks_like_date(value):
        likely = _class_behind(value) or "4to10"
        return Fault(
            column.stored,
            say("{stored} `{value}` is a date", stored=column.stored, value=value),
            allowed,
            say(
                "a spreadsheet made a date of the class {likely}: format the column as text and write "
                "{likely}",
                likely=likely,
            ),
        )
    return Fault(
        column.stored,
        f"{column.stored} `{value}`",
        allowed,
        say("write `present` where aphids were seen and not counted"),
    )


def _looks_like_date(value: str) -> bool:
    lower = value.lower()
    numbers = r"\d{1,4}([./-])\d{1,2}(\1\d{1,4})?([ t].*)?"
    return bool(re.fullmatch(numbers, lower)) or (
        bool(re.search(r"\d", lower)) and any(month in lower for month in MONTHS)
    )


def _class_behind(value: str) -> str | None:
    """Return the class whose two numbers stand in a date, or None."""
    lower = value.lower()
    numbers = {int(n) for n in re.findall(r"\d+", lower)}
    numbers |= {at for at, month in enumerate(MONTHS, start=1) if month in lower}
    for name, (low, high) in COUNT_CLASSES.items():
        if low != high and high is not None and {low, high} <= numbers:
            return name
    return None


@cache
def checker(column: Column) -> Checker:
    """Return the function that checks one value of a column."""
    if column.kind in (int, float):
        return _check_number(column)
    if column.kind is datetime:
        return _check_moment(column)
    if column.kind is date:
        return _check_date(column)
    if column.kind is bool:
        return lambda value, now: None
    return _check_text(column)


#: Pairs of columns of which the first may not exceed the second.
ORDERED: dict[str, tuple[tuple[str, str], ...]] = {
    "walk_lines": (("infested", "looked_at"),),
    "checks": (("positive", "looked_at"),),
    "plants_in": (("looked_at", "number"),),
    "houses": (("planted", "removed"),),
    "cards": (("hung", "taken"), ("hung", "time")),
    "sprays": (("start", "end"),),
    "lots": (("packed", "arrived"),),
    "bankers": (("set_out", "withdrawn_on"),),
    "forecasts": (("q05", "q25"), ("q25", "q50"), ("q50", "q75"), ("q75", "q95")),
}


def check_row(table: Table, row: Any, now: datetime) -> Iterator[Fault]:
    """Yield what is wrong with a record: types, missing cells, limits, order of pairs.

    Parameters
    ----------
    table
        The table the record belongs to.
    row
        A record of that table.
    now : aware datetime
        What counts as the present: events may not lie after it.
    """
    good: dict[str, Any] = {}
    for column in table.columns:
        value = getattr(row, column.name)
        if value is None or (column.kind is str and isinstance(value, str) and not value.strip()):
            if column.required:
                yield Fault(
                    column.stored, say("{stored} is empty", stored=column.stored), say("must be filled")
                )
            continue
        if not _is_a(value, column.kind):
            kind = {str: "text", datetime: say("a time"), date: say("a date")}.get(column.kind, "a number")
            yield Fault(column.stored, f"{column.stored} {value!r}", say("must be {kind}", kind=kind))
            continue
        fault = checker(column)(value, now)
        if fault:
            yield fault
        else:
            good[column.stored] = value
    yield from check_pairs(table, good)


def check_pairs(table: Table, values: dict[str, Any]) -> Iterator[Fault]:
    """Yield pairs of values that stand in the wrong order."""
    for low, high in ORDERED.get(table.name, ()):
        first, second = values.get(low), values.get(high)
        if first is None or second is None:
            continue
        until = (
            _last_day(second) if isinstance(second, datetime) and not isinstance(first, datetime) else second
        )
        if first > until:
            yield Fault(
                low,
                say(
                    "{low} {first} is more than {high} {second}",
                    low=low,
                    first=_short(first),
                    high=high,
                    second=_short(second),
                ),
                say("{low} may not exceed {high}", low=low, high=high),
            )


def _short(value: Any) -> str:
    return f"{value:%Y-%m-%d %H:%M}" if isinstance(value, datetime) else f"{value}"


def _is_a(value: Any, kind: type) -> bool:
    if kind is datetime:
        return isinstance(value, datetime)
    if kind is date:
        return isinstance(value, date) and not isinstance(value, datetime)
    if kind is float:
        return isinstance(value, (int, float)) and not isinstance(value, bool)
    if kind is int:
        return isinstance(value, int) and not isinstance(value, bool)
    return isinstance(value, kind)
