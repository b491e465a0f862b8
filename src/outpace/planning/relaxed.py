"""Where to begin the search: the relaxed programme, in which the effects of single releases add up.

Each place is tried alone at two numbers. Between them its effect is drawn as a straight line, and the cheapest set of
releases whose effects sum to a share of what is needed is found by an integer programme. What it says is only a start.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from outpace.planning.guide import Guide
from outpace.planning.places import Schedule
from outpace.planning.trials import Aim, Trials

Array = NDArray[np.float64]

MOST_NODES = 400
CLOSE_ENOUGH = 0.02


@dataclass(frozen=True)
class Effects:
    """What each rung of each place does by itself, in the measure of the aim's gap."""

    alone: tuple[Array, ...]
    needed: float

    def of(self, schedule: Schedule) -> float:
        """Return the sum over the places."""
        return float(sum(gains[rung] for gains, rung in zip(self.alone, schedule, strict=True)))


def effects(trials: Trials, aim: Aim) -> Effects:
    """Return the effects of single places, each tried at its top and at about a quarter of it."""
    nothing = (0,) * len(trials.places)
    base = trials.see(nothing).gap(aim)
    alone = []
    for i, place in enumerate(trials.places):
        levels = np.array(place.levels, dtype=float)
        top = len(levels) - 1
        quarter = int(np.argmin(np.abs(levels[1:] - levels[-1] / 4))) + 1
        known = {0: 0.0}
        for rung in sorted({quarter, top}):
            single = (*nothing[:i], rung, *nothing[i + 1 :])
            known[rung] = max(0.0, base - trials.see(single).gap(aim))
        rungs = sorted(known)
        gains = np.interp(levels, levels[rungs], [known[rung] for rung in rungs])
        alone.append(np.maximum.accumulate(gains))
    return Effects(tuple(alone), base)


def relaxed_schedule(guide: Guide, found: Effects, share: float) -> Schedule | None:
    """Return the cheapest releases whose effects sum to a share of what is needed; None where no sum does."""
    places = guide.places
    nothing = (0,) * len(places)
    columns = [(i, rung) for i, place in enumerate(places) for rung in range(1, len(place.levels))]
    days = sorted({place.day for place in places})
    fixed, single = _fixed(guide, days), []
    for i, rung in columns:
        cost = guide.cost((*nothing[:i], rung, *nothing[i + 1 :]))
        single.append(max(0.0, cost - fixed[places[i].day]))
    width = len(columns) + len(days)
    aim = np.array([*single, *(fixed[day] for day in days)])
    reach = np.zeros(width)
    reach[: len(columns)] = [found.alone[i][rung] for i, rung in columns]
    rows, low, high = [reach], [share * found.needed], [np.inf]
    for i, place in enumerate(places):
        row = np.zeros(width)
        row[[c for c, (j, _) in enumerate(columns) if j == i]] = 1.0
        row[len(columns) + days.index(place.day)] = -1.0
        rows.append(row)
        low.append(-np.inf)
        high.append(0.0)
    done = milp(
        aim,
        integrality=np.ones(width, dtype=np.int64),
        bounds=Bounds(0.0, 1.0),
        constraints=LinearConstraint(np.vstack(rows), low, high),
        options={"mip_rel_gap": CLOSE_ENOUGH, "node_limit": MOST_NODES},
    )
    if done.x is None:
        return None
    chosen = list(nothing)
    for c, (i, rung) in enumerate(columns):
        if done.x[c] > 0.5:
            chosen[i] = rung
    return tuple(chosen)


def _fixed(guide: Guide, days: Sequence[date]) -> dict[date, float]:
    """Return what any release of a day costs whatever its size: the least freight and the labour."""
    found = {}
    for day in days:
        places = [place for place in guide.places if place.day == day]
        freight = min(
            0.0
            if (offer.pack.supplier, day) in guide.open_parcels
            else guide.freight * (offer.pack.freight_per_parcel or 0.0)
            for place in places
            for offer in place.offers
        )
        found[day] = freight + max(place.offer.labour for place in places)
    return found
