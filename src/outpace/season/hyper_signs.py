"""What points to hyperparasitoids in a house: ragged holes, banker plants, a winter under heat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from outpace.biology.day_length import day_length
from outpace.estimation.hyperparasitoids import GENUS, of_season, share_taken, without_signs
from outpace.estimation.lot_quality import Beta
from outpace.facts.table import Fact, Facts
from outpace.language import say
from outpace.season.observed import HouseWalks, taken_signs
from outpace.season.words import percent
from outpace.terms.enemies import Banker
from outpace.terms.place import Farm, House

Array = NDArray[np.float64]

HOLES_COUNT_D = 28
"""Empty mummies of so many days speak of hyperparasitoids."""
SHORTEST_DAYS = ((12, 21), (6, 21))
"""Month and day, north and south."""


@dataclass(frozen=True, slots=True)
class Signs:
    """What points to hyperparasitoids in a house."""

    looked_at: int
    ragged: int
    bankers: bool
    heated_winter: bool
    jars: bool = False

    @property
    def any(self) -> bool:
        """Return whether anything does."""
        return self.ragged > 0 or self.harboured

    @property
    def harboured(self) -> bool:
        """Return whether the house is one in which they breed through the winter or on banker plants."""
        return self.bankers or self.heated_winter


def signs_of(
    facts: Facts, farm: Farm, house: House, rows: HouseWalks, bankers: Sequence[Banker], now: datetime
) -> Signs:
    """Return what points to hyperparasitoids in a house today."""
    looked_at, ragged = taken_signs(rows, now - timedelta(days=HOLES_COUNT_D))
    standing = any(row.withdrawn_on is None or row.withdrawn_on > now for row in bankers)
    warm_enough = facts.one(GENUS, "heated_winter_from").value
    heated = house.heating_setpoint_degc is not None and house.heating_setpoint_degc >= warm_enough
    shortest = shortest_day(farm.latitude, now.date())
    through = house.planted is not None and house.planted <= shortest
    jars = any(
        walk.walk in rows.jars for walk in rows.walks if walk.time >= now - timedelta(days=HOLES_COUNT_D)
    )
    return Signs(looked_at, ragged, standing, heated and through, jars)


def shortest_day(latitude: float, today: date) -> date:
    """Return the last shortest day of the year, by hemisphere.

    Examples
    --------
    >>> shortest_day(52.0, date(2026, 5, 1)).isoformat(), shortest_day(-34.0, date(2026, 5, 1)).isoformat()
    ('2025-12-21', '2025-06-21')
    """
    month, day = SHORTEST_DAYS[0] if latitude >= 0 else SHORTEST_DAYS[1]
    this_year = date(today.year, month, day)
    return this_year if this_year <= today else date(today.year - 1, month, day)


def share_before_holes(
    facts: Facts, farm: Farm, house: House, signs: Signs, today: date, hours: Array, past_d: int
) -> Fact:
    """Return the share of mummies taken, before any hole is read: near zero, or that of the season.

    Parameters
    ----------
    hours : array of float, shape (hours, members)
        Temperature from day 0 on. [°C]
    past_d : int
        Whole days of it before today; earlier days are taken to be as warm.
    """
    if not signs.harboured:
        return without_signs(facts)
    lower = facts.one(GENUS, "lower_threshold").value
    known = hours[: 24 * past_d] if past_d else hours[:24]
    begun = shortest_day(farm.latitude, today)
    if house.planted is not None:
        begun = max(begun, house.planted)
    heat = float(np.maximum(known - lower, 0.0).mean()) * max((today - begun).days, 0)
    light = float(day_length(farm.latitude, today.timetuple().tm_yday))
    return of_season(facts, heat, light)


def caution(signs: Signs, share: Beta) -> str:
    """Return what is told of hyperparasitoids beside a forecast."""
    low, high = percent(share.quantile(0.05)), percent(share.quantile(0.95))
    if signs.ragged and signs.jars:
        return say(
            "{ragged} of {read} mummies that told in four weeks, by their hole or in a jar, had a hyperparasitoid. "
            "The forecast lets them take {low} to {high} of the mummies now, and grow on from there",
            ragged=signs.ragged, read=signs.looked_at, low=low, high=high,
        )  # fmt: skip
    if signs.ragged:
        return say(
            "{ragged} of {read} empty tan mummies read in four weeks have a ragged hole: hyperparasitoids are here. "
            "The forecast lets them take {low} to {high} of the mummies now, and grow on from there",
            ragged=signs.ragged, read=signs.looked_at, low=low, high=high,
        )  # fmt: skip
    if signs.bankers:
        return say(
            "Banker plants feed hyperparasitoids too: the forecast lets them take {low} to {high} of the mummies at "
            "this time of year. Read the holes of empty tan mummies, they move this figure",
            low=low, high=high,
        )  # fmt: skip
    return say(
        "This house was heated through the winter, where hyperparasitoids may live: the forecast lets them take {low} "
        "to {high} of the mummies at this time of year. Read the holes of empty tan mummies, they move this figure",
        low=low, high=high,
    )  # fmt: skip


def taken(facts: Facts, before: Fact, signs: Signs) -> tuple[Beta, tuple[Fact, ...]]:
    """Return the share of mummies taken, after the holes, and the rows it rests on."""
    used = [before]
    if signs.harboured:
        used += [
            facts.one(GENUS, quantity, stage=month)
            for quantity in ("season_heat", "season_day_length")
            for month in ("April", "June")
        ]
    return share_taken(before, signs.ragged, signs.looked_at), tuple(used)
