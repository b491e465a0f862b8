"""The temperature of one house, hour by hour, from what its farm recorded."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from outpace.facts.table import Facts
from outpace.language import long_date, say
from outpace.season.evidence import Derived, digest_of
from outpace.season.indexed import of_house
from outpace.season.names import zone_of_farm
from outpace.season.outdoor import Foreseen, follow, foreseen
from outpace.season.worked_out import once_from
from outpace.simulation.climate import BETWEEN, FROM_OTHER_DAYS, Ahead, hourly_ahead, prior_from_place
from outpace.terms.place import Climate, Farm, House
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import OwnFact

Hours = NDArray[np.float64]

INSIDE = ("canopy", "air", None)
RECORD_D = 42
"""Days of record that are read to fit its swings, at least."""


@dataclass(frozen=True, slots=True)
class Recorded:
    """Hourly means by the clock on the wall; NaN where nothing was recorded.

    ``hours`` has shape (days × 24,), its first hour is the midnight that begins ``first_day``. [°C]
    """

    first_day: date
    hours: Hours
    place: str
    source: str
    last: date | None

    @property
    def share_known(self) -> float:
        """Return the share of hours with a reading."""
        return float(np.isfinite(self.hours).mean()) if len(self.hours) else 0.0


def recorded(snapshot: Snapshot, farm: Farm, house: House, first_day: date, last_day: date) -> Recorded:
    """Return the hourly temperature inside the house from one midnight to another.

    The sensor nearest the leaves wins: canopy, then air, then one whose place was not told; several sensors
    of one place are averaged, and so are several readings of one hour. On the night when clocks go
    back both readings of the double hour count; the hour that clocks skip stays empty and is filled like
    any gap. An outdoor sensor never stands in for the house.

    Parameters
    ----------
    first_day, last_day : date
        Midnight beginning the first, midnight ending the last.
    """
    zone = zone_of_farm(farm)
    days = (last_day - first_day).days + 1
    sums = {place: np.zeros(days * 24) for place in INSIDE}
    seen = {place: np.zeros(days * 24) for place in INSIDE}
    typed = logged = 0
    last: date | None = None
    for row in of_house(snapshot, Climate, farm, house):
        if row.source == "forecast":
            continue
        if row.place not in sums or row.flag in ("spike", "stuck", "unlikely"):
            continue
        local = row.time.astimezone(zone)
        hour = (local.date() - first_day).days * 24 + local.hour
        if 0 <= hour < days * 24:
            sums[row.place][hour] += row.temperature_degc
            seen[row.place][hour] += 1
            last = max(last or local.date(), local.date())
            typed += row.source == "typed"
            logged += row.source != "typed"
    hours = np.full(days * 24, np.nan)
    place_used = ""
    for place in reversed(INSIDE):
        known = seen[place] > 0
        hours[known] = sums[place][known] / seen[place][known]
        if known.any():
            place_used = place or say("place not told")
    source = "none" if last is None else "typed" if typed > logged else "logger"
    return Recorded(first_day=first_day, hours=hours, place=place_used, source=source, last=last)


def daily_maxima(hours: Hours, first_day: date) -> dict[date, float]:
    """Return each day's highest hourly temperature. [°C]"""
    days = len(hours) // 24
    shaped = hours[: days * 24].reshape(days, 24)
    known = np.isfinite(shaped).any(axis=1)
    return {first_day + timedelta(days=int(d)): float(np.nanmax(shaped[d])) for d in np.flatnonzero(known)}


class HouseTemperature(Derived):
    """Temperature of one house from day 0 on, past and ahead, and how it is told.

    The members' hours are laid out when they are first asked for: an answer that is kept by what it rests on does
    without, and takes what it needs of them from what was kept beside.

    Parameters
    ----------
    rests_on : str
        The digest of all that the hours follow from.
    laid_out : callable
        Returns the hours.
    today : int
        Day index of today.
    source : str
        Where they come from, in words.
    cautions : tuple of str
    kept : bool
        Whether what is read of the hours may be kept on the disk by what they rest on.
    """

    def __init__(
        self,
        rests_on: str,
        laid_out: Callable[[], Hours],
        *,
        today: int,
        source: str,
        cautions: tuple[str, ...],
        kept: bool,
    ) -> None:
        self.rests_on, self.source, self.cautions = rests_on, source, cautions
        self._laid_out, self._today, self._kept = laid_out, today, kept
        self._hours: Hours | None = None
        self._laying = threading.Lock()

    @property
    def hours(self) -> Hours:
        """Return the temperature of each hour and member from the midnight of day 0 on. [°C]"""
        with self._laying:
            if self._hours is None:
                self._hours = self._laid_out()
            return self._hours

    @property
    def mean(self) -> Hours:
        """Return the mean of the members by hour, shape (hours,). [°C]"""
        return np.asarray(self._read["mean"])

    @property
    def coolest(self) -> Hours:
        """Return that of the coolest member by hour, shape (hours,). [°C]"""
        return np.asarray(self._read["coolest"])

    @property
    def told(self) -> dict[str, Any]:
        """Return the mean of the next week with its 90 % range, and its source in words. [°C]"""
        mean, low, high = (round(value, 1) for value in self._read["week"])
        return {"mean_next_7_d": mean, "low": low, "high": high, "source": self.source}

    def read(self, kind: str, asked: tuple[Any, ...], work: Callable[[], dict[str, Any]]) -> dict[str, Any]:
        """Return what is read of the hours, as kept by what they rest on and by all else that is asked."""
        return once_from(kind, digest_of(self.rests_on, asked), work) if self._kept else work()

    @cached_property
    def _read(self) -> dict[str, Any]:
        return self.read("warmth", (), self._summed)

    def _summed(self) -> dict[str, Any]:
        week = self.hours[self._today * 24 :][: 7 * 24].mean(axis=0)
        low, high = np.quantile(week, (0.05, 0.95))
        return {
            "mean": self.hours.mean(axis=1).tolist(),
            "coolest": self.hours.min(axis=1).tolist(),
            "week": [float(week.mean()), float(low), float(high)],
        }


def house_temperature(
    snapshot: Snapshot,
    facts: Facts,
    farm: Farm,
    house: House,
    first_day: date,
    now: datetime,
    days: int,
    members: int,
    *,
    kept: bool = False,
) -> HouseTemperature:
    """Return the record of a house made whole and an ensemble of the days ahead.

    Member i strays from the expected course alike in all houses of the farm. Without any record the place, the season
    and the set-points give a wide guess.

    Parameters
    ----------
    first_day : date
        Day 0 of the house's calendar.
    now : datetime
        Local time; the record ends at the midnight that begins this day.
    days : int
        Days ahead, today included.
    kept : bool, default False
        Whether the facts are those of the books and of the farm, so that what is read of the hours may be kept.
    """
    today = now.date()
    begin = min(first_day, today - timedelta(days=RECORD_D))
    record = recorded(snapshot, farm, house, begin, today - timedelta(days=1))
    before = (first_day - begin).days
    course = prior_from_place(
        facts,
        farm.latitude,
        begin.timetuple().tm_yday,
        (today - begin).days + days,
        heating_setpoint=house.heating_setpoint_degc,
        vent_setpoint=house.vent_setpoint_degc,
    )
    past = (today - begin).days * 24
    said = foreseen(snapshot, facts, farm, house, record.hours, begin, today, days)

    def ahead(members: int) -> Ahead:
        return hourly_ahead(
            facts,
            record.hours,
            days,
            members,
            _site_seed(farm),
            course=course,
            canopy_measured=record.place == "canopy",
        )

    def laid_out() -> Hours:
        hours = ahead(members).hours
        if said is not None:
            hours[past:] = follow(hours[past:], said)
        return np.ascontiguousarray(hours[before * 24 :])

    one = ahead(1)
    return HouseTemperature(
        digest_of(
            record, before, (today - first_day).days, days, members, course, said, _site_seed(farm),
            snapshot.table(OwnFact),
        ),
        laid_out,
        today=(today - first_day).days,
        source=_source(record, one.swings.fitted, said),
        cautions=_cautions(record, one.flags[before * 24 :], (today - first_day).days, today, said),
        kept=kept,
    )  # fmt: skip


def _site_seed(farm: Farm) -> int:
    return int.from_bytes(hashlib.sha256(farm.farm.encode()).digest()[:4], "big")


def _source(record: Recorded, fitted: bool, said: Foreseen | None) -> str:
    if record.last is None:
        words = say("no record: from place, season and set-points, a wide guess")
    elif record.source == "typed":
        words = say("daily minimum and maximum, typed, to {last}", last=long_date(record.last))
    else:
        words = say("logger ({place}) to {last}", place=record.place, last=long_date(record.last))
    if said is not None:
        words += say(", then {days} days of an imported forecast", days=said.days)
    elif record.last is not None:
        words += say(", then its own swings") if fitted else say(", then swings that are assumed")
    return words


def _cautions(
    record: Recorded, flags: Any, past_days: int, today: date, said: Foreseen | None
) -> tuple[str, ...]:
    told = []
    if said is not None and not said.fitted:
        told.append(
            say(
                "Temperature: the forecast is outdoor air, and how this house follows it is not known; "
                "bands are wide"
            )
        )
    filled = int(np.isin(flags[: past_days * 24], (BETWEEN, FROM_OTHER_DAYS)).sum())
    if record.last is None:
        told.append(
            say(
                "Temperature: nothing recorded; place, season and set-points stand in, and the bands are wide"
            )
        )
    elif filled >= 24:
        told.append(
            say(
                "Temperature: {filled} of {past_days} past hours were filled from other hours",
                filled=filled,
                past_days=past_days * 24,
            )
        )
    if record.last is not None and (today - record.last).days > 3:
        told.append(say("Temperature: no reading since {last}", last=long_date(record.last)))
    if record.last is not None and record.place not in ("canopy", ""):
        told.append(
            say("Temperature: not measured among the leaves; each member has its own difference to them")
        )
    return tuple(told)
