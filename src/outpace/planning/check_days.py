"""When the pot of a parcel can be counted, in the warmth of the house where it stays."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.lot_checks import heat_needed
from outpace.facts.table import Facts

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ends:
    """When the pot of a lot can be counted: in the run of days from its arrival.

    ``earliest``, ``likely`` and ``latest`` are dates, None where the pot stays too cold to end within the hours known.
    """

    earliest: date | None
    likely: date | None
    latest: date | None


def check_ends(facts: Facts, enemy: str, arrived: date, hours: Array) -> Ends:
    """Return when an emergence check ends in the warmth of the house where the pot stays.

    The days of the guideline in a house of 21 °C and more; as many more days as the same heat takes where it is cooler.

    Parameters
    ----------
    arrived : date
    hours : array of float, shape (hours, members)
        Temperature from the midnight that begins the day of arrival. [°C]

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> warm, cool = np.full((40 * 24, 1), 23.0), np.full((40 * 24, 1), 15.0)
    >>> [check_ends(load(), "aphidius_colemani", date(2026, 11, 2), each).likely.day for each in (warm, cool)]
    [9, 13]
    """
    needed = heat_needed(facts, enemy)
    least = facts.one(enemy, "guideline_check_days").value
    heat = np.cumsum(np.clip(hours - facts.one(enemy, "lower_threshold").value, 0.0, None) / 24, axis=0)
    reached = heat >= needed - 1e-6
    days = np.where(reached.any(axis=0), np.argmax(reached, axis=0) / 24, np.inf)
    days = np.maximum(np.ceil(days - 1e-9), least)
    low, middle, high = np.quantile(days, (0.05, 0.5, 0.95), method="higher")
    return Ends(_after(arrived, low), _after(arrived, middle), _after(arrived, high))


def _after(day: date, days: float) -> date | None:
    return None if not np.isfinite(days) else day + timedelta(days=ceil(days))
