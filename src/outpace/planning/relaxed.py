"""Where to begin the search: the relaxed programme, in which the effects of single releases add up.

Each place is tried alone at two numbers. Between them its effect is drawn as a straight line, and the cheapest set of
releases whose effects sum to a share of what is needed is found by dynamic programming over the sum, in small steps
that are rounded down. What it says is only a start.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
from numpy.typing import NDArray

from outpace.planning.foretold import Foretold
from outpace.planning.guide import Guide
from outpace.planning.places import Schedule

Array = NDArray[np.float64]
Index = NDArray[np.intp]

STEPS = 160
"""Parts into which what is needed is divided."""


@dataclass(frozen=True)
class Effects:
    """What each rung of each place does by itself, in the measure of the aim's gap."""

    alone: tuple[Array, ...]
    needed: float

    def of(self, schedule: Schedule) -> float:
        """Return the sum over the places."""
        return float(sum(gains[rung] for gains, rung in zip(self.alone, schedule, strict=True)))


def effects(told: Foretold) -> Effects:
    """Return the effects of single places, each tried at its top and at about a quarter of it."""
    places = told.few.places
    nothing = (0,) * len(places)
    base = told.level(nothing)
    alone = []
    for i, place in enumerate(places):
        levels = np.array(place.levels, dtype=float)
        top = len(levels) - 1
        quarter = int(np.argmin(np.abs(levels[1:] - levels[-1] / 4))) + 1
        known = {0: 0.0}
        for rung in sorted({quarter, top}):
            single = (*nothing[:i], rung, *nothing[i + 1 :])
            known[rung] = max(0.0, base - told.level(single))
        rungs = sorted(known)
        gains = np.interp(levels, levels[rungs], [known[rung] for rung in rungs])
        alone.append(np.maximum.accumulate(gains))
    return Effects(tuple(alone), told.tell(nothing).gap)


def relaxed_schedules(guide: Guide, found: Effects, shares: Sequence[float]) -> list[Schedule]:
    """Return the cheapest releases whose effects sum to each share of what is needed, where any do."""
    most = max(shares) * found.needed
    if most <= 0:
        return []
    days = sorted({place.day for place in guide.places})
    fixed = _fixed(guide, days)
    sums = np.arange(STEPS + 1)
    # The least cost of at least so large a sum; within a day, apart for nothing and for something let go so far.
    idle = np.where(sums == 0, 0.0, np.inf)
    steps: list[_Day] = []
    for day in days:
        busy = np.full(STEPS + 1, np.inf)
        step = _Day([i for i, place in enumerate(guide.places) if place.day == day])
        for i in step.places:
            gains = np.floor(found.alone[i] / most * STEPS + 1e-9).astype(np.intp)
            left = np.maximum(sums - gains[:, None], 0)
            price = _singles(guide, i, fixed[day])[:, None]
            ways = np.concatenate([busy[left] + price, idle[left] + price + fixed[day]])
            ways[len(gains)] = np.inf
            step.way.append(ways.argmin(axis=0))
            step.left.append(np.concatenate([left, left]))
            busy = ways.min(axis=0)
        step.busy = busy < idle
        idle = np.minimum(idle, busy)
        steps.append(step)
    starts = []
    for share in shares:
        at = int(np.ceil(share * found.needed / most * STEPS - 1e-9))
        if np.isfinite(idle[at]):
            starts.append(_walked_back(steps, at, len(guide.places)))
    return list(dict.fromkeys(starts))


@dataclass
class _Day:
    """What was chosen on one day for each sum: the way at each place, and whether anything is let go."""

    places: list[int]
    way: list[Index] = field(default_factory=list)
    left: list[Index] = field(default_factory=list)
    busy: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, dtype=np.bool_))


def _walked_back(steps: Sequence[_Day], at: int, places: int) -> Schedule:
    chosen = [0] * places
    for step in reversed(steps):
        begun = bool(step.busy[at])
        for i, way, left in reversed(list(zip(step.places, step.way, step.left, strict=True))):
            if not begun:
                break
            rungs, taken = len(left) // 2, int(way[at])
            chosen[i] = taken % rungs
            begun = taken < rungs
            at = int(left[taken, at])
    return tuple(chosen)


def _singles(guide: Guide, place: int, fixed: float) -> Array:
    """Return what each rung of a place costs beside that."""
    nothing = (0,) * len(guide.places)
    costs = [
        guide.cost((*nothing[:place], rung, *nothing[place + 1 :]))
        for rung in range(len(guide.places[place].levels))
    ]
    return np.maximum(np.array(costs) - fixed, 0.0)


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
