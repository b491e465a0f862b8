"""Forecasts that are kept in the book, so that later walks can judge them as they were made."""

from __future__ import annotations

from datetime import UTC, timedelta
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.bands import HOUSE, QUANTILES, Bands
from outpace.estimation.beta_range import beta_of_range
from outpace.estimation.forecast import look_ahead
from outpace.estimation.observations import Seen, WalkSeen
from outpace.estimation.sightings import mean_to_be_seen
from outpace.facts.table import Facts
from outpace.language import say
from outpace.season.enter import Entered
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm
from outpace.season.outlook import Outlook, outlook
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Forecast

Array = NDArray[np.float64]

KEPT_D = (4, 7, 10, 14, 17, 21, 24)
"""Days ahead that are kept; a walk between two of them is judged by what lies between."""

SEEN = "seen_per_"
"""Quantity of the mean that a walk like the last would write, ``seen_per_leaf``; ``live_per_leaf`` is the density."""
LIVE = "live_per_"


class Look(NamedTuple):
    """How a walk looks: at which unit, at how many."""

    unit: str
    looked_at: int


def keep_forecasts(
    snapshot: Snapshot,
    *,
    farm: str | None = None,
    houses: list[str] | None = None,
    facts: Facts | None = None,
) -> Entered:
    """Return the rows that keep the forecasts of some houses or of all as they stand now.

    A house of which the same was kept since its last walk on this day is passed over, and so is one without a
    forecast.
    """
    there = pick_farm(snapshot, farm)
    chosen = (
        [pick_house(snapshot, there, name) for name in houses] if houses else list(houses_of(snapshot, there))
    )
    rows: list[Forecast] = []
    names: list[str] = []
    for house in chosen:
        found = outlook(snapshot, there, house, facts=facts)
        if found.stale or not found.case.found or is_kept(snapshot, found):
            continue
        look = last_look(found)
        if look is not None:
            rows += _rows(found, look)
            names.append(house.house)
    what = ", ".join(names)
    sentence = (
        say("Kept for the review: the forecast of {what}.", what=what)
        if names
        else say("Nothing new to keep.")
    )
    return Entered(list(rows), sentence)


def is_kept(snapshot: Snapshot, found: Outlook) -> bool:
    """Return whether a forecast of this day, made after the last walk, is in the book already."""
    case = found.case
    last = case.rows.last
    zone = zone_of_farm(case.farm)
    return any(
        row.farm == case.farm.farm
        and row.house == case.house.house
        and row.made.astimezone(zone).date() == case.day
        and (last is None or row.made >= last.time)
        for row in snapshot.table(Forecast)
    )


def last_look(found: Outlook) -> Look | None:
    """Return how the last walk looked that was no hunt; None without any."""
    walks = [walk for walk in found.case.walks if not walk.hunted]
    return look_of(walks[-1]) if walks else None


def look_of(walk: Seen) -> Look:
    """Return how one walk looked."""
    return Look(walk.unit, walk.units if isinstance(walk, WalkSeen) else walk.looked_at)


def to_be_seen(found: Outlook, ahead: Bands, pest: int, look: Look) -> Array:
    """Return draws of what a walk would write at each midnight ahead, shape (days + 1, members)."""
    fact = found.case.facts.one(found.case.model.pests[pest], "detection")
    low, high = (fact.value if each is None else each for each in (fact.low, fact.high))
    return mean_to_be_seen(
        ahead,
        pest,
        look.unit,
        units=max(look.looked_at, 1),
        detection=beta_of_range(fact.value, low, high),
        rng=np.random.default_rng([found.case.seed, 23, ahead.first_day, pest]),
    )


def house_ahead(found: Outlook, days: int) -> Bands:
    """Return the forecast of a house as it stands, with what is let go and on its way."""
    case = found.case
    return look_ahead(
        found.posterior, case.model, case.temperature.hours, case.let_go.releases, case.sprays, days
    )


def _rows(found: Outlook, look: Look) -> list[Forecast]:
    case = found.case
    ahead = house_ahead(found, max(KEPT_D))
    rows = []
    for pest, name in enumerate(case.model.pests):
        drawn = {
            f"{SEEN}{look.unit}": to_be_seen(found, ahead, pest, look),
            f"{LIVE}{look.unit}": ahead.live(pest, HOUSE, look.unit),
        }
        for quantity, members in drawn.items():
            for days in KEPT_D:
                q05, q25, q50, q75, q95 = (
                    float(f"{value:.4g}") for value in np.quantile(members[days], QUANTILES)
                )
                rows.append(
                    Forecast(
                        farm=case.farm.farm,
                        house=case.house.house,
                        pest=name,
                        made=case.now.astimezone(UTC),
                        for_date=case.day + timedelta(days=days),
                        quantity=quantity,
                        q05=q05,
                        q25=q25,
                        q50=q50,
                        q75=q75,
                        q95=q95,
                    )
                )
    return rows
