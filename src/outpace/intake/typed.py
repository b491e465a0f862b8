"""Daily minimum and maximum, typed by hand, as an hourly course of the day."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from outpace.errors import ExitCode, OutpaceError
from outpace.intake.readings import COLDEST_DEGC, WARMEST_DEGC
from outpace.language import say
from outpace.measures import degrees, temperature
from outpace.terms.place import Climate

#: When a house is coldest and warmest by the clock on the wall; common practice for a plain course of the day.
COLDEST_HOUR, WARMEST_HOUR = 6, 15

#: The flag of hours that were not read but drawn between two typed numbers.
SHAPED = "shaped"


@dataclass(frozen=True, slots=True)
class TypedDay:
    """What a thermometer with two pointers showed for one day. [°C]"""

    day: date
    low_degc: float
    high_degc: float


def check_typed(typed: TypedDay, today: date) -> None:
    """Refuse a day that cannot have been.

    Raises
    ------
    OutpaceError
        If it lies ahead, if the lower number is above the higher, or if no house is that cold or warm.
    """
    where = f"{typed.day}"
    if typed.day > today:
        raise OutpaceError(
            say("this day lies ahead"),
            where=where,
            allowed=say("at the latest {today}", today=today),
            hint=say("check day and month"),
            code=ExitCode.USAGE,
        )
    for value in (typed.low_degc, typed.high_degc):
        if not COLDEST_DEGC <= value <= WARMEST_DEGC:
            raise OutpaceError(
                say("temperature {told}", told=temperature(value)),
                where=where,
                allowed=say(
                    "must be from {coldest} to {warmest}",
                    coldest=degrees(COLDEST_DEGC),
                    warmest=temperature(WARMEST_DEGC),
                ),
                hint=say("write the unit where it is Fahrenheit, such as `75F`"),
                code=ExitCode.USAGE,
            )
    if typed.low_degc > typed.high_degc:
        raise OutpaceError(
            say(
                "minimum {low} above maximum {high}",
                low=temperature(typed.low_degc),
                high=temperature(typed.high_degc),
            ),
            where=where,
            allowed=say("minimum first"),
            hint=say("swap the two numbers"),
            code=ExitCode.USAGE,
        )


def climate_of_typed_days(
    days: Sequence[TypedDay],
    *,
    farm: str,
    house: str,
    time_zone: str,
    zone: str | None = None,
    place: str | None = None,
    now: datetime | None = None,
) -> list[Climate]:
    """Return hourly rows between the typed extremes, flagged as drawn and not read.

    The minimum stands at 6 and the maximum at 15 by the clock on the wall, joined by half cosines; the night
    runs from one day's maximum to the next day's minimum where both were typed. A day of clock change has its
    23 or 25 hours. Hours still to come are left out.

    Parameters
    ----------
    days : sequence of TypedDay
        In any order, each day once.

    Raises
    ------
    OutpaceError
        If a day cannot have been, or was typed twice with other numbers.

    Examples
    --------
    >>> day = TypedDay(date(2026, 4, 20), 8.0, 24.0)
    >>> rows = climate_of_typed_days([day], farm="F", house="H", time_zone="Europe/Madrid",
    ...                              now=datetime(2026, 5, 1, tzinfo=UTC))
    >>> len(rows), min(row.temperature_degc for row in rows), max(row.temperature_degc for row in rows)
    (24, 8.0, 24.0)
    """
    present = now or datetime.now(UTC)
    local = ZoneInfo(time_zone)
    by_day: dict[date, TypedDay] = {}
    for typed in days:
        check_typed(typed, present.astimezone(local).date())
        if by_day.setdefault(typed.day, typed) != typed:
            raise OutpaceError(
                say("this day was typed twice with other numbers"),
                where=f"{typed.day}",
                hint=say("leave one of them out"),
                code=ExitCode.USAGE,
            )
    rows = []
    for day in sorted(by_day):
        for moment in hours_of_day(day, local):
            if moment > present:
                break
            rows.append(
                Climate(
                    farm=farm,
                    house=house,
                    zone=zone,
                    place=place,
                    source="typed",
                    time=moment,
                    temperature_degc=round(_course(moment.astimezone(local), by_day), 2),
                    flag=SHAPED,
                )
            )
    return rows


def hours_of_day(day: date, zone: ZoneInfo) -> list[datetime]:
    """Return the moments in UTC at which the hours of a local day begin: 24, or 23 or 25 where clocks change."""
    start, end = (
        datetime(at.year, at.month, at.day, tzinfo=zone).astimezone(UTC)
        for at in (day, day + timedelta(days=1))
    )
    count = math.ceil((end - start) / timedelta(hours=1))
    return [start + timedelta(hours=hour) for hour in range(count)]


def _course(local: datetime, by_day: dict[date, TypedDay]) -> float:
    here = by_day[local.date()]
    hour = local.hour + local.minute / 60
    if COLDEST_HOUR <= hour <= WARMEST_HOUR:
        return _joined(here.low_degc, here.high_degc, (hour - COLDEST_HOUR) / (WARMEST_HOUR - COLDEST_HOUR))
    night = 24 - WARMEST_HOUR + COLDEST_HOUR
    if hour > WARMEST_HOUR:
        after = by_day.get(local.date() + timedelta(days=1), here)
        # A next day that never was as cold cannot pull the evening above its own maximum.
        return _joined(here.high_degc, min(after.low_degc, here.high_degc), (hour - WARMEST_HOUR) / night)
    before = by_day.get(local.date() - timedelta(days=1), here)
    return _joined(max(before.high_degc, here.low_degc), here.low_degc, (hour + 24 - WARMEST_HOUR) / night)


def _joined(start: float, end: float, share: float) -> float:
    return start + (end - start) * (1 - math.cos(math.pi * share)) / 2
