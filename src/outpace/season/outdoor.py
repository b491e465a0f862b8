"""An imported forecast of outdoor air, turned into temperatures of a house."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from outpace.facts.table import Facts
from outpace.season.indexed import indexed
from outpace.season.names import zone_of_farm
from outpace.simulation.climate import fit_inside
from outpace.terms.place import Climate, Farm, House
from outpace.terms.tables import Snapshot

Hours = NDArray[np.float64]

OUTSIDE = "outside"


@dataclass(frozen=True, slots=True)
class Foreseen:
    """Daily means inside that a forecast leads to, and their spread; shape (days,), NaN beyond its reach. [°C]"""

    mean: Hours
    sd: Hours
    fitted: bool

    @property
    def days(self) -> int:
        """Return how many days it reaches."""
        return int(np.isfinite(self.mean).sum())


def foreseen(
    snapshot: Snapshot,
    facts: Facts,
    farm: Farm,
    house: House,
    inside: Hours,
    first_day: date,
    today: date,
    days: int,
) -> Foreseen | None:
    """Return what the latest imported forecast says of the house from today on; None if there is none.

    Outdoor air passes through the house's own response, fitted on whole days on which both were recorded: outdoor
    readings, or past forecasts where none were taken. Without such days the house is taken to be warmer than the
    air by a general figure, and the spread is wide. A forecast is less sure the further it reaches.

    Parameters
    ----------
    inside : array of float, shape (hours,)
        Recorded, from the midnight of ``first_day`` to that of ``today``; NaN where nothing is known. [°C]
    """
    past = (today - first_day).days
    told, air = _outdoor(snapshot, farm, house, first_day, (past + days) * 24)
    ahead = told[past * 24 :].reshape(-1, 24)
    whole = np.isfinite(ahead).all(axis=1)
    if not whole.any():
        return None
    before = np.where(np.isfinite(air[: past * 24]), air[: past * 24], told[: past * 24])
    response = fit_inside(before, inside[: past * 24]) if past else None
    mean = np.full(days, np.nan)
    if response is not None:
        mean[whole] = response.predict(ahead[whole].ravel()).reshape(-1, 24).mean(axis=1)
        own = response.sd
    else:
        mean[whole] = ahead[whole].mean(axis=1) + facts.one("", "inside_excess").value
        own = facts.one("", "temperature_unknown_sd").value
    first = facts.one("", "outdoor_forecast_error").value
    growth = facts.one("", "outdoor_forecast_error_growth").value
    error = first + growth * np.arange(days)
    return Foreseen(mean=mean, sd=np.hypot(own, error), fitted=response is not None)


def follow(hours: Hours, foretold: Foreseen) -> Hours:
    """Return members' hours with each day's mean and spread as foreseen, each member keeping its place among all.

    Parameters
    ----------
    hours : array of float, shape (days × 24, members)
        Ahead of today. [°C]
    """
    shaped = hours.reshape(-1, 24, hours.shape[1]).copy()
    for day in np.flatnonzero(np.isfinite(foretold.mean)[: len(shaped)]):
        own = shaped[day].mean(axis=0)
        middle, spread = own.mean(), max(float(own.std()), 1e-9)
        wanted = foretold.mean[day] + (own - middle) * foretold.sd[day] / spread
        shaped[day] += wanted - own
    return shaped.reshape(hours.shape)


def _outdoor(
    snapshot: Snapshot, farm: Farm, house: House, first_day: date, hours: int
) -> tuple[Hours, Hours]:
    """Return the latest forecast and the recorded outdoor air, hour by hour; those of the house before the farm's."""
    zone = zone_of_farm(farm)
    issued: dict[int, tuple[bool, float, float]] = {}
    sums, seen = np.zeros(hours), np.zeros(hours)
    for row in indexed(snapshot.table(Climate), "farm", "place").get((farm.farm, OUTSIDE), ()):
        local = row.time.astimezone(zone)
        hour = (local.date() - first_day).days * 24 + local.hour
        if not 0 <= hour < hours:
            continue
        if row.source == "forecast":
            moment = row.issued.timestamp() if row.issued is not None else 0.0
            place = (row.house == house.house, moment, row.temperature_degc)
            issued[hour] = max(issued.get(hour, place), place)
        else:
            sums[hour] += row.temperature_degc
            seen[hour] += 1
    told = np.full(hours, np.nan)
    for hour, (_, _, degc) in issued.items():
        told[hour] = degc
    return told, np.where(seen > 0, sums / np.maximum(seen, 1), np.nan)
