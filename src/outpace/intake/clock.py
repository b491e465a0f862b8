"""From the time a logger wrote to the moment it meant: offsets, time zone, the nights clocks change."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from zoneinfo import ZoneInfo

from outpace.errors import ExitCode, OutpaceError
from outpace.intake.questions import Choice, Question
from outpace.intake.written_time import Written, day_of, offset_seconds
from outpace.language import say

FARM, WINTER = "farm", "winter"
CLOCK_OPTION = "--clock"

_EPOCH = datetime(1970, 1, 1)


@dataclass(slots=True)
class Moments:
    """When each row was, in seconds since 1970 UTC; None where its cell held no time."""

    seconds: list[int | None]
    notes: list[str] = field(default_factory=list)
    question: Question | None = None


def check_clock(clock: str | None) -> str | None:
    """Return a clock setting as it is kept: ``farm``, ``winter``, or an offset from UTC.

    Raises
    ------
    OutpaceError
        If it is none of them.
    """
    if clock is None or clock in (FARM, WINTER):
        return clock
    if offset_seconds(clock) is None:
        raise OutpaceError(
            f"{clock!r}",
            where=f"`{CLOCK_OPTION}`",
            allowed=say("farm, winter, utc or an offset such as +02:00"),
            hint=say("farm: the logger follows the clock on the wall; winter: it never changes"),
            code=ExitCode.USAGE,
        )
    return clock


def offset_in_heading(headings: Sequence[str]) -> int | None:
    """Return the offset from UTC that a heading of the time column names, in seconds.

    Examples
    --------
    >>> offset_in_heading(["Date Time, GMT+01:00"]), offset_in_heading(["time (UTC)"])
    (3600, 0)
    """
    for heading in headings:
        found = re.search(r"\b(?:utc|gmt)\s*([+\-\u2212]\s*\d{1,2}(?::?\d{2})?)?", heading.casefold())
        if found:
            return offset_seconds((found[1] or "utc").replace(" ", ""))
    return None


def resolve(
    moments: Sequence[Written | None],
    *,
    order: str,
    zone: ZoneInfo,
    clock: str | None = None,
    heading_offset: int | None = None,
) -> Moments:
    """Return when each row was.

    An offset in the cell wins, then one told, then one in the heading, then the farm's time zone. In the hour
    that a clock shows twice the order of rows decides. In the hour that a clock skips a row shows that the
    logger did not change its clock: that becomes a question, unless ``clock`` answers it; with ``farm`` such
    rows move forward with the clock on the wall.

    Parameters
    ----------
    order : str
        Which of day and month comes first.
    zone : ZoneInfo
        The farm's.
    clock : str, optional
        ``farm``, ``winter`` or an offset from UTC.
    heading_offset : int, optional
        What the heading of the time column says. [s]
    """
    fixed = None if clock in (None, FARM, WINTER) else offset_seconds(str(clock))
    if clock is None:
        fixed = heading_offset
    found = Moments([])
    skipped: list[datetime] = []
    twice: dict[date, set[int]] = {}
    before: int | None = None
    hourly = _is_hourly(moments)
    for moment in moments:
        seconds: int | None = None
        if moment is None:
            pass
        elif moment.epoch is not None:
            seconds = round(moment.epoch)
        elif (day := day_of(moment.day, order)) is not None:
            local = _local_seconds(day) + moment.seconds
            if moment.offset is not None:
                seconds = local - moment.offset
            elif fixed is not None:
                seconds = local - fixed
            elif clock == WINTER:
                seconds = local - _winter_offset(zone, day.year)
            else:
                seconds = _by_the_wall(moment, local, day, zone, before, hourly, skipped, twice)
        found.seconds.append(seconds)
        before = seconds if seconds is not None else before
    _say(found, skipped, twice, clock, zone)
    return found


@lru_cache(maxsize=8192)
def _local_seconds(day: date) -> int:
    return (day - _EPOCH.date()).days * 86_400


@lru_cache(maxsize=256)
def _winter_offset(zone: ZoneInfo, year: int) -> int:
    offsets = [datetime(year, month, 15, 12, tzinfo=zone).utcoffset() for month in (1, 7)]
    return int(min(offset for offset in offsets if offset is not None).total_seconds())


@lru_cache(maxsize=8192)
def _offset_all_day(zone: ZoneInfo, day: date) -> int | None:
    """Return the offset of a day on which it does not change, evening before and morning after included."""
    midnight = datetime(day.year, day.month, day.day, tzinfo=zone)
    offsets = {_offset(midnight + timedelta(hours=hour), fold) for hour in (-3, 0, 24, 27) for fold in (0, 1)}
    return offsets.pop() if len(offsets) == 1 else None


def _offset(local: datetime, fold: int) -> int:
    found = local.replace(fold=fold).utcoffset()
    return 0 if found is None else int(found.total_seconds())


def _by_the_wall(
    moment: Written,
    local: int,
    day: date,
    zone: ZoneInfo,
    before: int | None,
    hourly: bool,
    skipped: list[datetime],
    twice: dict[date, set[int]],
) -> int:
    steady = _offset_all_day(zone, day)
    if steady is not None:
        return local - steady
    wall = (_EPOCH + timedelta(seconds=local)).replace(tzinfo=zone)
    first, second = (_offset(wall, fold) for fold in (0, 1))
    if first == second:
        return local - first
    if first < second:
        skipped.append(wall)
        return local - first
    fold = _named_fold(moment.zone_word, wall)
    if fold is None:
        # A row that would lie before the one above it belongs to the second time the hour was shown. One at
        # the same time is a repeated row, unless there is but one reading an hour.
        earliest = local - first + (0 if hourly else 1)
        fold = int(before is not None and earliest <= before <= local - second + 3600)
    twice.setdefault(day, set()).add(fold)
    return local - (first, second)[fold]


def _is_hourly(moments: Sequence[Written | None]) -> bool:
    """Return whether most readings lie about an hour or more apart."""
    clocks = [moment.seconds for moment in moments[:2000] if moment is not None]
    steps = sorted(abs(b - a) for a, b in pairwise(clocks))
    return bool(steps) and steps[len(steps) // 2] > 3000


def _named_fold(word: str | None, wall: datetime) -> int | None:
    names = [wall.replace(fold=fold).tzname() for fold in (0, 1)]
    return names.index(word) if word in names and names[0] != names[1] else None


def _say(
    found: Moments,
    skipped: list[datetime],
    twice: dict[date, set[int]],
    clock: str | None,
    zone: ZoneInfo,
) -> None:
    if skipped:
        first = skipped[0]
        if clock == FARM:
            found.notes.append(
                say(
                    "{skipped} rows on {first:%Y-%m-%d} stand in the hour the clock skipped: moved forward "
                    "with the clock on the wall",
                    skipped=len(skipped),
                    first=first,
                )
            )
        else:
            found.question = Question(
                "clock",
                say(
                    "{first:%Y-%m-%d %H:%M} did not exist in {key}: the clock skipped that hour",
                    first=first,
                    key=zone.key,
                ),
                CLOCK_OPTION,
                (
                    Choice(WINTER, say("the logger keeps winter time all year")),
                    Choice(FARM, say("it follows the clock on the wall; move those rows forward")),
                ),
            )
    for day, folds in twice.items():
        if folds == {0, 1}:
            found.notes.append(
                say("the hour that the clock showed twice on {day} was told apart by row order", day=day)
            )
        elif clock != FARM:
            found.notes.append(
                say(
                    "the hour that the clock showed twice on {day} stands once in the file: if the logger "
                    "keeps winter time all year, add `{clock_option} {winter}`",
                    day=day,
                    clock_option=CLOCK_OPTION,
                    winter=WINTER,
                )
            )


def aware(seconds: int) -> datetime:
    """Return a moment in UTC."""
    return datetime.fromtimestamp(seconds, UTC)
