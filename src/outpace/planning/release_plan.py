"""The least-cost schedule of whole packs that keeps one house under its level.

The search counts on one thing: another pack, or an earlier one, does not make a house worse by more than luck.
It starts with the packs as early as they can come, since early wasps are worth most; takes away what is not needed;
then looks through every cheaper schedule near it. All schedules meet the same members with the same luck.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from math import ceil, isfinite

import numpy as np
from numpy.typing import NDArray

from outpace.planning.effort import THOROUGH, Effort
from outpace.planning.house_outlook import HouseOutlook, Outcome, outcome
from outpace.simulation.model import Release
from outpace.terms.enemies import Pack

Array = NDArray[np.float64]
Counts = tuple[int, ...]

MOST_TRIED = 250
EVENING = 18 / 24
NEAR_LEAST = 0.02  # where nothing holds: the cheapest schedule within this of the least risk
STEADY_GAIN = 0.002  # a drop of risk below this is luck, not effect


@dataclass(frozen=True)
class Offer:
    """One pack that can be had on one day for one house.

    ``enemy`` is its index in the model; ``units`` the units in the carrier per pack; ``emergence`` and ``share_female``
    the draws of a lot that has not been seen. ``least_packs`` is the smallest number of packs that may be released
    at a time, 1 or the lowest published rate; ``most_units`` the most units of this enemy that are tried at a time.
    ``least_units`` is that rate in units, for releases that share a pack.
    """

    pack: Pack
    enemy: int
    delivery: date
    day: int
    cutoff: datetime
    next_cutoff: bool
    units: float
    emergence: Array
    share_female: Array
    least_packs: int
    labour: float
    most_units: float
    least_units: float = 0.0


@dataclass(frozen=True)
class Cost:
    """What a schedule costs in the farm's money."""

    packs: float
    freight: float
    labour: float

    @property
    def total(self) -> float:
        """Return the sum."""
        return self.packs + self.freight + self.labour


@dataclass(frozen=True)
class HousePlan:
    """What was found for one house.

    ``counts`` has one number of packs per offer. ``chance_above`` is the chance of being above the level on any day
    from the first day that an order can act; ``not_preventable`` the chance of being above before it.
    """

    house: HouseOutlook
    offers: tuple[Offer, ...]
    counts: Counts
    cost: Cost
    chance_above: float
    chance_if_nothing: float
    not_preventable: float
    feasible: bool
    first_day: int
    frontier: tuple[tuple[float, float, Counts], ...]
    ties: tuple[Counts, ...]
    tried: int
    later_chance: float | None = None
    days_above: float = 0.0


@dataclass
class _Search:
    house: HouseOutlook
    offers: Sequence[Offer]
    first_day: int
    most: int = 10**6
    seen: dict[Counts, float] = field(default_factory=dict)

    @property
    def spent(self) -> bool:
        """Return whether as many schedules were tried as may be."""
        return len(self.seen) >= self.most

    def risk(self, counts: Counts) -> float:
        if counts not in self.seen:
            done = outcome(self.house, releases_of(self.house, self.offers, counts))
            self.seen[counts] = done.chance_from(self.first_day)
        return self.seen[counts]


def releases_of(house: HouseOutlook, offers: Sequence[Offer], counts: Sequence[float]) -> tuple[Release, ...]:
    """Return the releases of a schedule, spread over the zones by their plants, on the evening of delivery.

    ``counts`` are packs of each offer; a part of a pack where it is shared with other houses.
    """
    plants = house.model.plants
    share = plants / plants.sum()
    return tuple(
        Release(
            day=offer.day + EVENING,
            enemy=offer.enemy,
            zone=zone,
            number=count * offer.units * float(share[zone]),
            form=offer.pack.form,
            emergence=offer.emergence[: house.members],
            share_female=offer.share_female[: house.members],
        )
        for offer, count in zip(offers, counts, strict=True)
        if count
        for zone in range(len(plants))
    )


def cost_of(offers: Sequence[Offer], counts: Counts) -> Cost:
    """Return the cost of a schedule: packs, one freight a parcel, minimum orders, and the hours of release."""
    packs = freight = labour = 0.0
    parcels: dict[tuple[str, date], list[tuple[Offer, int]]] = {}
    days: set[int] = set()
    for offer, count in zip(offers, counts, strict=True):
        if count:
            parcels.setdefault((offer.pack.supplier, offer.delivery), []).append((offer, count))
            if offer.day not in days:
                labour += offer.labour
                days.add(offer.day)
    for lines in parcels.values():
        goods = sum(offer.pack.price * count for offer, count in lines)
        least = max(offer.pack.minimum_order_money or 0.0 for offer, _ in lines)
        packs += max(goods, least)
        per_parcel = min(offer.pack.packs_per_parcel or 10**9 for offer, _ in lines)
        boxes = ceil(sum(count for _, count in lines) / per_parcel)
        freight += boxes * max(offer.pack.freight_per_parcel or 0.0 for offer, _ in lines)
    return Cost(packs=packs, freight=freight, labour=labour)


def plan_house(
    house: HouseOutlook,
    offers: Sequence[Offer],
    *,
    risk: float,
    budget: float | None = None,
    effort: Effort = THOROUGH,
) -> HousePlan:
    """Return the cheapest schedule found that meets the risk, or the least risk that can be reached.

    Parameters
    ----------
    offers : sequence of Offer
        In the order of delivery; only enemies that fit.
    risk : float
        Accepted chance of being above the level on any day from the first delivery to the horizon.
    budget : float, optional
        Most that may be spent. [farm's money]
    effort : Effort
        `THOROUGH` for a person's plan, `FAST` for many decisions in a row.

    Returns
    -------
    plan : HousePlan
    """
    offers = tuple(sorted(offers, key=lambda item: (item.day, item.pack.price, item.pack.supplier)))
    first_day = min((offer.day for offer in offers), default=house.today) - house.today
    house = house.some(effort.judged_on)
    search = _Search(house.some(effort.members), offers, first_day, effort.tried)
    nothing = (0,) * len(offers)
    caps = tuple(max(offer.least_packs, ceil(offer.most_units / offer.units)) for offer in offers)
    if search.risk(nothing) <= risk or not offers:
        best, feasible = nothing, search.risk(nothing) <= risk
    else:
        start = _reach(search, offers, caps, risk, budget)
        if search.risk(start) > risk:
            start = _flood(search, offers, caps, risk, budget)
        feasible = search.risk(start) <= risk
        best = (
            _cheaper(search, offers, caps, _pruned(search, offers, start, risk), risk) if feasible else start
        )
    full = outcome(house, releases_of(house, offers, best))
    while feasible and full.chance_from(first_day) > risk and any(best):
        stepped = _one_more(offers, caps, best)
        if stepped is None or (budget is not None and cost_of(offers, stepped).total > budget):
            feasible = False
            break
        best = stepped
        full = outcome(house, releases_of(house, offers, best))
    return _told(house, offers, best, full, feasible, first_day, search, risk)


def _told(
    house: HouseOutlook,
    offers: tuple[Offer, ...],
    best: Counts,
    full: Outcome,
    feasible: bool,
    first_day: int,
    search: _Search,
    risk: float,
) -> HousePlan:
    without = outcome(house) if any(best) else full
    later = _a_week_later(offers, best)
    return HousePlan(
        house=house,
        offers=offers,
        counts=best,
        cost=cost_of(offers, best),
        chance_above=full.chance_from(first_day),
        chance_if_nothing=without.chance_from(first_day),
        not_preventable=without.chance_before(first_day),
        feasible=feasible and full.chance_from(first_day) <= risk,
        first_day=first_day,
        frontier=_frontier(offers, search.seen),
        ties=_ties(offers, search.seen, best, risk),
        tried=len(search.seen),
        later_chance=None
        if later is None
        else outcome(house, releases_of(house, offers, later)).chance_from(first_day),
        days_above=full.days_above(),
    )


def _allowed(offers: Sequence[Offer], counts: Counts) -> bool:
    """Return whether no release goes beyond the most units of one enemy on one day, by more than one pack."""
    units: dict[tuple[int, int], float] = {}
    for offer, count in zip(offers, counts, strict=True):
        if count:
            place = (offer.day, offer.enemy)
            units[place] = units.get(place, 0.0) + count * offer.units
            if units[place] > max(offer.most_units + offer.units, offer.least_packs * offer.units):
                return False
    return True


def _reach(
    search: _Search, offers: Sequence[Offer], caps: Counts, risk: float, budget: float | None
) -> Counts:
    """Return the schedule that grows by the best use of money until the risk is met or nothing helps."""
    counts = (0,) * len(offers)
    while search.risk(counts) > risk and not search.spent:
        best: tuple[float, Counts] | None = None
        spent = cost_of(offers, counts).total
        for i, offer in enumerate(offers):
            for step in {1, max(1, counts[i]), max(1, caps[i] // 4)}:
                wanted = max(counts[i] + step, offer.least_packs)
                if wanted > caps[i]:
                    continue
                trial = (*counts[:i], wanted, *counts[i + 1 :])
                if not _allowed(offers, trial):
                    continue
                more = cost_of(offers, trial).total - spent
                if budget is not None and spent + more > budget:
                    continue
                gain = search.risk(counts) - search.risk(trial)
                if gain > STEADY_GAIN and (best is None or gain / max(more, 1e-9) > best[0]):
                    best = (gain / max(more, 1e-9), trial)
        if best is None:
            return counts
        counts = best[1]
    return counts


def _flood(
    search: _Search, offers: Sequence[Offer], caps: Counts, risk: float, budget: float | None
) -> Counts:
    """Return the smallest doubling of packs on all deliveries that meets the risk, else the least risk seen.

    Where a house is far above its level one pack more changes nothing that can be seen, and only many do.
    """
    scale = 1
    while scale <= max(caps):
        trial = tuple(
            min(cap, max(scale, offer.least_packs)) for offer, cap in zip(offers, caps, strict=True)
        )
        within = budget is None or cost_of(offers, trial).total <= budget
        if within and _allowed(offers, trial) and search.risk(trial) <= risk:
            return trial
        scale *= 2
    within_luck = min(search.seen.values()) + NEAR_LEAST
    return min(
        (counts for counts, chance in search.seen.items() if chance <= within_luck),
        key=lambda counts: (cost_of(offers, counts).total, search.seen[counts]),
    )


def _pruned(search: _Search, offers: Sequence[Offer], counts: Counts, risk: float) -> Counts:
    """Return the schedule without the packs that are not needed, dearest and latest first."""
    changed = True
    while changed and not search.spent:
        changed = False
        for i in sorted(range(len(offers)), key=lambda j: (-offers[j].pack.price, -offers[j].day)):
            if not counts[i]:
                continue
            less = counts[i] - 1 if counts[i] > offers[i].least_packs else 0
            for fewer in dict.fromkeys((0, counts[i] // 2, less)):
                if fewer and fewer < offers[i].least_packs:
                    continue
                trial = (*counts[:i], fewer, *counts[i + 1 :])
                if search.risk(trial) <= risk:
                    counts, changed = trial, True
                    break
    return counts


def _cheaper(search: _Search, offers: Sequence[Offer], caps: Counts, start: Counts, risk: float) -> Counts:
    """Return the cheapest schedule that meets the risk among those cheaper than the start, tried by cost.

    A schedule below one that failed, offer by offer, fails too and is passed over.
    """
    best, best_cost = start, cost_of(offers, start).total
    failed = [counts for counts, chance in search.seen.items() if chance > risk]
    nothing = (0,) * len(offers)
    queue: list[tuple[float, Counts]] = [(0.0, nothing)]
    queued = {nothing}
    tried = popped = 0
    while queue and tried < MOST_TRIED and popped < 20_000 and not search.spent:
        cost, counts = heapq.heappop(queue)
        popped += 1
        if cost >= best_cost - 1e-9:
            break
        below = any(all(a <= b for a, b in zip(counts, bad, strict=True)) for bad in failed)
        if counts != nothing and not below:
            tried += counts not in search.seen
            if search.risk(counts) <= risk:
                best, best_cost = counts, cost
                continue
            failed.append(counts)
        for i, offer in enumerate(offers):
            grown = max(counts[i] + 1, offer.least_packs)
            child = (*counts[:i], grown, *counts[i + 1 :])
            if grown <= caps[i] and child not in queued and _allowed(offers, child):
                child_cost = cost_of(offers, child).total
                if child_cost < best_cost - 1e-9:
                    queued.add(child)
                    heapq.heappush(queue, (child_cost, child))
    return best


def _one_more(offers: Sequence[Offer], caps: Counts, counts: Counts) -> Counts | None:
    """Return the schedule with one pack more of its cheapest used line, or None at the caps."""
    more = [
        (offers[i].day, offers[i].pack.price, (*counts[:i], count + 1, *counts[i + 1 :]))
        for i, count in enumerate(counts)
        if count and count < caps[i]
    ]
    return min((item for item in more if _allowed(offers, item[2])), default=(0, 0.0, None))[2]


def _a_week_later(offers: Sequence[Offer], counts: Counts) -> Counts | None:
    """Return the same packs, each on the next delivery of its kind that is about a week later."""
    moved = [0] * len(offers)
    for i, count in enumerate(counts):
        if not count:
            continue
        later = [
            j
            for j, offer in enumerate(offers)
            if offer.pack == offers[i].pack and 5 <= offer.day - offers[i].day <= 9
        ]
        if not later:
            return None
        moved[later[0]] += count
    return tuple(moved) if any(moved) else None


def _frontier(offers: Sequence[Offer], seen: dict[Counts, float]) -> tuple[tuple[float, float, Counts], ...]:
    """Return the schedules that no other beats in both cost and chance, cheapest first."""
    points = sorted((cost_of(offers, counts).total, chance, counts) for counts, chance in seen.items())
    kept: list[tuple[float, float, Counts]] = []
    for cost, chance, counts in points:
        if isfinite(cost) and (not kept or chance < kept[-1][1] - 1e-9):
            kept.append((cost, chance, counts))
    return tuple(kept)


def _ties(
    offers: Sequence[Offer], seen: dict[Counts, float], best: Counts, risk: float
) -> tuple[Counts, ...]:
    """Return other schedules that meet the risk at the same cost, to one part in a hundred."""
    cost = cost_of(offers, best).total
    return tuple(
        counts
        for counts, chance in sorted(seen.items())
        if counts != best
        and chance <= risk
        and cost
        and abs(cost_of(offers, counts).total / cost - 1) <= 0.01
    )[:5]
