"""The temperature that a lag is reckoned with: typed, from a logger's file, or from a house of the book."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.units import temperature_degc

BRIDGED_H = 6

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from outpace.terms.tables import Snapshot

    Hours = NDArray[np.float64]

LOOK_BACK_D = 14
"""Where the release lies after the record, its last days stand for the days to come."""


def degrees(text: str, *, where: str = "temperature") -> float:
    """Return a typed temperature in °C.

    Examples
    --------
    >>> degrees("64.4F"), degrees("18")
    (18.0, 18.0)
    """
    return temperature_degc(text, where=where)


def from_house(
    snapshot: Snapshot, house: str, release: date, *, farm: str | None = None
) -> tuple[list[float], str, str]:
    """Return hourly temperatures of a house from the day of a release on, where they come from, and its crop.

    Raises
    ------
    OutpaceError
        If the house has no reading on which to go.
    """
    from outpace.season.names import pick_farm, pick_house
    from outpace.season.temperature import recorded

    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    last_day = max(release, snapshot.as_of.date()) + timedelta(days=1)
    known = recorded(snapshot, there, place, release - timedelta(days=LOOK_BACK_D), last_day)
    hours, days = from_release(known.hours, LOOK_BACK_D)
    if hours is None:
        raise OutpaceError(
            say("{house} has no temperature near {release}", house=place.house, release=release),
            hint=say(
                "import a logger's file with `outpace climate import FILE --house {house!r}`, or say how "
                "warm it is with `--temperature`",
                house=place.house,
            ),
            code=ExitCode.FAILED,
        )
    source = f"{place.house}, {known.source}"
    if days == 0:
        source += say(", the days up to {last:%Y-%m-%d} stand for the days to come", last=known.last)
    return hours, source, place.crop


def from_release(hours: Hours, skip_d: int) -> tuple[list[float] | None, int]:
    """Return hours from the release on and how many of its days are known; gaps take the hour's own mean.

    Parameters
    ----------
    hours : array of float, shape (days × 24,)
        With NaN where nothing is known; the release is at the midnight after ``skip_d`` days. [°C]
    """
    shaped = _bridged(hours).reshape(-1, 24)
    if not np.isfinite(shaped).any():
        return None, 0
    by_hour = np.array([_mean(shaped[:, hour]) for hour in range(24)])
    at = np.flatnonzero(np.isfinite(by_hour))
    by_hour = np.interp(np.arange(24), at, by_hour[at], period=24)
    after = shaped[skip_d:]
    whole = np.flatnonzero(np.isfinite(after).any(axis=1))
    if len(whole) == 0:
        return [float(value) for value in by_hour], 0
    after = after[: int(whole[-1]) + 1]
    filled = np.where(np.isfinite(after), after, by_hour)
    return [float(value) for value in filled.ravel()], len(after)


def _bridged(hours: Hours) -> Hours:
    """Return the hours with short gaps bridged by straight lines; longer ones stay."""
    known = np.flatnonzero(np.isfinite(hours))
    if len(known) < 2:
        return hours
    every = np.arange(len(hours))
    after = np.searchsorted(known, every).clip(1, len(known) - 1)
    short = known[after] - known[after - 1] <= BRIDGED_H
    inside = (every >= known[0]) & (every <= known[-1])
    line = np.interp(every, known, hours[known])
    return np.where(np.isfinite(hours) | ~(short & inside), hours, line)


def _mean(values: Hours) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) else float("nan")
