"""The temperature of one house, hour by hour, from what its farm recorded."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from outpace.season.names import zone_of_farm
from outpace.terms.place import Climate, Farm, House
from outpace.terms.tables import Snapshot

Hours = NDArray[np.float64]

INSIDE = ("canopy", "air", None)


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
    for row in snapshot.table(Climate):
        if row.farm != farm.farm or row.house != house.house or row.source == "forecast":
            continue
        if row.place not in sums or row.flag in ("spike", "stuck", "impossible", "conflict"):
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
            place_used = place or "place not told"
    source = "none" if last is None else "typed" if typed > logged else "logger"
    return Recorded(first_day=first_day, hours=hours, place=place_used, source=source, last=last)


def daily_maxima(hours: Hours, first_day: date) -> dict[date, float]:
    """Return each day's highest hourly temperature. [°C]"""
    days = len(hours) // 24
    shaped = hours[: days * 24].reshape(days, 24)
    known = np.isfinite(shaped).any(axis=1)
    return {first_day + timedelta(days=int(d)): float(np.nanmax(shaped[d])) for d in np.flatnonzero(known)}


def describe(record: Recorded, mean: float, low: float, high: float, from_prior: bool) -> dict[str, Any]:
    """Return the block of an answer that says where its temperature comes from."""
    if record.source == "none":
        words = "no logger: from place, season and set-points, a wide guess"
    elif record.source == "typed":
        words = f"daily minimum and maximum, typed, to {record.last:%d %B}"
    else:
        words = f"logger ({record.place}) to {record.last:%d %B}"
    if from_prior and record.source != "none":
        words += "; too short a record for its own swings, those are a wide guess"
    return {"mean_next_7_d": round(mean, 1), "low": round(low, 1), "high": round(high, 1), "source": words}
