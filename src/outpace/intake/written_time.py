"""Dates and times as loggers and people write them, and the order of day and month."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache

from outpace.intake.questions import Choice, Question
from outpace.language import say

DAY_FIRST, MONTH_FIRST, YEAR_FIRST = "day", "month", "year"
ORDERS = (DAY_FIRST, MONTH_FIRST, YEAR_FIRST)
ORDER_OPTION = "--date-order"

_MONTHS = (
    ("jan", "ene", "gen"),
    ("feb", "fev"),
    ("mar", "mrt", "maa", "marz"),
    ("apr", "avr", "abr"),
    ("may", "mai", "mei", "mag"),
    ("jun", "juin", "giu"),
    ("jul", "juil", "lug"),
    ("aug", "aou", "ago"),
    ("sep", "set"),
    ("oct", "okt", "ott", "out"),
    ("nov",),
    ("dec", "dez", "dic"),
)
_MONTH_OF = {name: number for number, names in enumerate(_MONTHS, 1) for name in names}

_CLOCK = (
    r"(?P<hour>\d{1,2})[:.h](?P<minute>\d{2})(?:[:.](?P<second>\d{2})(?:[.,]\d+)?)?"
    r"\s*(?P<half>[ap]\.?\s?m\.?)?\s*(?P<offset>z|utc|gmt|(?:utc|gmt)?[+\-\u2212]\d{1,2}:?(?:\d{2})?)?"
    r"\s*(?P<word>[a-z]{2,5})?"
)
_DATE = (
    r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}"
    r"|\d{1,2}[-/.]\d{1,2}[-/.](?:\d{4}|\d{2})(?![\d])"
    r"|[^\W\d]{3,}\.?\s+\d{1,2},?\s+\d{4}"
    r"|\d{1,2}[-\s.]+(?:de\s+)?[^\W\d]{3,}\.?[-\s,]+(?:de\s+)?(?:\d{4}|\d{2})(?!\d)"
    r"|(?:19|20)\d{6}(?=\D|$)"
)
_WHOLE = re.compile(rf"(?:[^\W\d]{{2,}}[.,]?\s+(?=\d))?(?P<date>{_DATE})(?:[t\s,]+{_CLOCK})?")
_RUN = re.compile(
    r"(?P<date>(?:19|20)\d{6})[t_]?(?P<hour>\d{2}):?(?P<minute>\d{2})(?::?(?P<second>\d{2}))?z?"
)
_EPOCH = re.compile(r"\d{9,10}(?:\.\d+)?|\d{13}")


@dataclass(frozen=True, slots=True)
class Written:
    """One time as it was written: a day still to be understood, and what is clear.

    ``seconds`` counts from the midnight that begins the day. An epoch time has only ``epoch``.
    """

    day: str = ""
    seconds: int = 0
    offset: int | None = None
    zone_word: str | None = None
    epoch: float | None = None


def read_written(cells: Iterable[str]) -> list[Written | None]:
    """Return each cell as a time; None where it holds none."""
    found: list[Written | None] = []
    for cell in cells:
        plain = cell.strip().strip("\"'").casefold()
        if (match := _WHOLE.fullmatch(plain)) or (match := _RUN.fullmatch(plain)):
            found.append(_from_match(match))
        elif _EPOCH.fullmatch(plain):
            number = float(plain)
            found.append(Written(epoch=number / 1000 if len(plain) == 13 and "." not in plain else number))
        else:
            found.append(None)
    return found


def _from_match(match: re.Match[str]) -> Written | None:
    parts = match.groupdict()
    if parts.get("hour") is None:
        return Written(day=parts["date"])
    hour, minute, second = int(parts["hour"]), int(parts["minute"]), int(parts["second"] or 0)
    half = (parts.get("half") or "")[:1]
    if half and hour <= 12:
        hour = hour % 12 + (12 if half == "p" else 0)
    if hour > 24 or minute > 59 or second > 60 or (hour == 24 and minute + second > 0):
        return None
    offset = parts.get("offset")
    return Written(
        day=parts["date"],
        seconds=hour * 3600 + minute * 60 + second,
        offset=None if offset is None else offset_seconds(offset),
        zone_word=(parts.get("word") or "").upper() or None,
    )


def offset_seconds(text: str) -> int | None:
    """Return an offset from UTC such as ``Z``, ``+02:00``, ``GMT-5`` in seconds; None if it is none.

    Examples
    --------
    >>> offset_seconds("UTC+05:30"), offset_seconds("z"), offset_seconds("+1")
    (19800, 0, 3600)
    """
    plain = text.strip().casefold()
    if found := re.fullmatch(r"(?:utc|gmt)?\s*([+\-\u2212])(\d{1,2}):?(\d{2})?", plain):
        sign = 1 if found[1] == "+" else -1
        return sign * (int(found[2]) * 3600 + int(found[3] or 0) * 60)
    return 0 if plain in ("z", "utc", "gmt") else None


@lru_cache(maxsize=8192)
def day_of(written: str, order: str) -> date | None:
    """Return the day that a text means under an order of its numbers; None if there is no such day.

    Examples
    --------
    >>> day_of("03/04/2026", "day"), day_of("03/04/2026", "month")
    (datetime.date(2026, 4, 3), datetime.date(2026, 3, 4))
    """
    if re.fullmatch(r"\d{8}", written):
        return _day(int(written[:4]), int(written[4:6]), int(written[6:]))
    if named := re.search(r"[^\W\d]{3,}(?!.*[^\W\d]{3,})", written):
        month = month_number(named[0])
        numbers = [int(part) for part in re.findall(r"\d+", written)]
        return None if month is None or len(numbers) != 2 else _day(_year(numbers[1]), month, numbers[0])
    first, second, third = (int(part) for part in re.split(r"[-/.]", written))
    if first > 999:
        return _day(first, second, third)
    if order == YEAR_FIRST:
        return _day(_year(first), second, third) if third < 100 else None
    day, month = (first, second) if order == DAY_FIRST else (second, first)
    return _day(_year(third), month, day)


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _year(number: int) -> int:
    return number + 2000 if number < 100 else number


def month_number(word: str) -> int | None:
    """Return the month a word names in English, Spanish, German, French, Italian, Portuguese or Dutch."""
    plain = unicodedata.normalize("NFKD", word).encode("ascii", "ignore").decode().casefold()
    return _MONTH_OF.get(plain[:4]) or _MONTH_OF.get(plain[:3])


def is_open(written: str) -> bool:
    """Return whether a day is written in numbers only, the year not in front: its order must be found."""
    return re.fullmatch(r"\d{1,2}([-/.])\d{1,2}\1(?:\d{4}|\d{2})", written) is not None


@dataclass(frozen=True, slots=True)
class OrderFound:
    """The order of day and month, or the question to ask; ``why`` says what settled it."""

    order: str | None
    why: str = ""
    question: Question | None = None
    contradiction: tuple[str, str] | None = None


def find_order(moments: Sequence[Written | None]) -> OrderFound:
    """Return in which order day and month are written.

    Settled by any day above 12; else by days that follow each other within 24 hours under one order only;
    else by the dots of a dotted date, which put the day first. What stays open becomes a question.
    """
    sequence = [moment for moment in moments if moment is not None and moment.day]
    open_days = list(dict.fromkeys(moment.day for moment in sequence if is_open(moment.day)))
    if not open_days:
        return OrderFound(DAY_FIRST)
    short_years = all(len(re.split(r"[-/.]", day)[2]) == 2 for day in open_days)
    valid = [order for order in ORDERS if all(day_of(day, order) for day in open_days)]
    if YEAR_FIRST in valid and not (short_years and _follow(sequence, YEAR_FIRST)):
        valid.remove(YEAR_FIRST)
    if not valid:
        not_day = next(day for day in open_days if not day_of(day, DAY_FIRST))
        not_month = next(day for day in open_days if not day_of(day, MONTH_FIRST))
        return OrderFound(None, contradiction=(not_day, not_month))
    if len(valid) == 1:
        return OrderFound(
            valid[0], say("a day above 12") if valid[0] != YEAR_FIRST else say("days that follow")
        )
    following = [order for order in valid if _follow(sequence, order)]
    if len(following) == 1:
        return OrderFound(following[0], say("days that follow each other"))
    if "." in open_days[0] and DAY_FIRST in valid:
        return OrderFound(DAY_FIRST, say("dots between the numbers"))
    telling = next((day for day in open_days if day_of(day, DAY_FIRST) != day_of(day, MONTH_FIRST)), None)
    if telling is None:
        return OrderFound(DAY_FIRST, say("day and month are the same number"))
    return OrderFound(None, question=_ask(telling))


def _ask(written: str) -> Question:
    choices = []
    for order in (DAY_FIRST, MONTH_FIRST):
        meant = day_of(written, order)
        if meant is not None:
            choices.append(Choice(order, f"{meant.day} {meant:%B %Y}"))
    return Question(
        "date_order",
        say(
            "{written} could mean {choices}",
            written=written,
            choices=" or ".join(choice.meaning for choice in choices),
        ),
        ORDER_OPTION,
        tuple(choices),
    )


def _follow(sequence: Sequence[Written], order: str) -> bool:
    """Return whether, under an order, any reading follows another of the day before within 24 hours."""
    before: tuple[str, datetime] | None = None
    for moment in sequence:
        if before is not None and before[0] == moment.day:
            before = (moment.day, before[1])
        day = day_of(moment.day, order)
        if day is None:
            return False
        time = datetime(day.year, day.month, day.day) + timedelta(seconds=moment.seconds)
        if before is not None and before[0] != moment.day and abs(time - before[1]) <= timedelta(days=1):
            return True
        before = (moment.day, time)
    return False
