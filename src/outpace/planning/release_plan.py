"""The plan of each house as it is told: its packs, its chance, what else could be done and what waiting costs.

All chances of a house come from the members that judged its plan, so that no two of them disagree.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from math import isfinite

from outpace.planning.candidate_house import Asked, Candidate
from outpace.planning.effort import THOROUGH, Effort
from outpace.planning.farm_plan import FarmPlan, plan_farm
from outpace.planning.goods import Goods
from outpace.planning.guide import Guide
from outpace.planning.house_outlook import HouseOutlook
from outpace.planning.offer import Cost as Cost
from outpace.planning.offer import Offer as Offer
from outpace.planning.offer import cost_of as cost_of
from outpace.planning.offer import releases_of as releases_of
from outpace.planning.places import Schedule, goods_of, numbers_of
from outpace.planning.side_by_side import TOGETHER, of_each
from outpace.planning.trials import Tried

Counts = tuple[float, ...]

FRONTIER_POINTS = 7
TIES_TOLD = 5
CLEARER = 0.01
"""How much lower a dearer schedule must lie to be shown beside a cheaper one, in log density or days."""
AS_DEAR = 0.01
"""Schedules whose costs differ by no more than this share are told as ties."""


@dataclass(frozen=True)
class HousePlan:
    """What was found for one house.

    ``counts`` are the packs of each offer that it is given, in parts of a pack where it shares one. ``chance_above`` is
    the chance of being above the level on any day from the first day that an order can act, ``not_preventable`` that
    of being above before it, ``upper`` the upper 95 % bound of the first. ``candidate`` knows the members that judged
    it, and ``judge_offers`` have the draws for them; ``seen`` tells how it fares on these.
    ``feasible`` tells whether the risk is met; where it is not, ``counts`` are the least
    that brings about all that releases can, or nothing where they would not help clearly. ``frontier`` has points of
    cost by itself, chance and counts. ``money_ends`` tells that a plan holds the house, but not within the budget.
    ``least_chance`` and ``least_cost`` are those of as many packs as are tried on every delivery.
    """

    candidate: Candidate
    offers: tuple[Offer, ...]
    seen: Tried
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
    judged: int = 0
    complete: bool = False
    upper: float = 0.0
    others_judged: bool = False
    later_chance: float | None = None
    days_above: float = 0.0
    days_if_nothing: float = 0.0
    money_ends: bool = False
    least_chance: float = 0.0
    least_cost: float = 0.0

    @property
    def members(self) -> int:
        """Return how many members judged it."""
        return self.candidate.judge.ends[-1]

    @property
    def judge_offers(self) -> tuple[Offer, ...]:
        """Return the offers with draws for the members that judged it."""
        return self.candidate.offers


def plan_house(
    house: HouseOutlook,
    offers: Sequence[Offer],
    *,
    risk: float,
    budget: float | None = None,
    effort: Effort = THOROUGH,
    judge: HouseOutlook | None = None,
    judge_offers: Sequence[Offer] = (),
) -> HousePlan:
    """Return the cheapest schedule of whole packs found that meets the risk, or the least risk that can be reached.

    Parameters
    ----------
    offers : sequence of Offer
        Only enemies that fit.
    risk : float
        Accepted chance of being above the level on any day from the first delivery to the horizon.
    budget : float, optional
        Most that may be spent, labour included. [farm's money]
    effort : Effort
        `THOROUGH` for a person's plan, `FAST` for many decisions in a row: a third of a second of processor time.
    judge : HouseOutlook, optional
        The same house with other members, on which what is found is judged; with ``judge_offers`` drawn for them.

    Returns
    -------
    plan : HousePlan
        ``counts`` in the order of ``plan.offers``, whole numbers of packs.
    """
    in_order = sorted(
        range(len(offers)), key=lambda i: (offers[i].day, offers[i].pack.price, offers[i].pack.supplier)
    )
    judged_by = None
    if judge is not None:
        other = (judge, tuple(judge_offers[i] for i in in_order))
        judged_by = partial(_as_it_is, other)
    asked = Asked(house, tuple(offers[i] for i in in_order), risk, judged_by)
    found = plan_farm([asked], budget=budget, effort=effort)
    return house_plans(found, others=effort.again > 0)[0]


def _as_it_is(value: tuple[HouseOutlook, tuple[Offer, ...]]) -> tuple[HouseOutlook, tuple[Offer, ...]]:
    return value


def house_plans(found: FarmPlan, *, others: bool = True, threads: int = TOGETHER) -> tuple[HousePlan, ...]:
    """Return the plan of each house of a farm.

    Parameters
    ----------
    others : bool
        Whether to judge cheaper and dearer plans too.
    threads : int
        Houses worked on at a time; of no effect on the plans.
    """
    return tuple(of_each(partial(_told, found, others=others), range(len(found.candidates)), threads))


def _told(found: FarmPlan, number: int, *, others: bool) -> HousePlan:
    item = found.candidates[number]
    offers = item.asked.offers
    given = found.given(number)
    counts = _bought(found, item, offers) if len(found.candidates) == 1 else counts_of(item, offers, given)
    first_day = item.asked.first_day
    seen = (
        item.see(found.schedules[number])
        if given == numbers_of(item.places, found.schedules[number])
        else item.judge.look(given)
    )
    nothing = item.see(item.nothing)
    later = a_week_later(offers, counts)
    cost = (
        Cost(found.pooled.goods, found.pooled.freight, found.labour)
        if len(found.candidates) == 1
        else Cost(*_own_part(found, item), item.labour(found.schedules[number]))
    )
    return HousePlan(
        candidate=item,
        offers=offers,
        seen=seen,
        counts=counts,
        cost=cost,
        chance_above=seen.chance,
        chance_if_nothing=nothing.chance,
        not_preventable=item.judge.chance_before(),
        feasible=found.holds[number],
        first_day=first_day,
        frontier=_frontier(item, offers, seen) if others else (),
        ties=_ties(item, offers, found.schedules[number]),
        tried=item.trials.tried,
        judged=item.judged,
        complete=found.complete,
        upper=item.upper(seen),
        others_judged=item.judging is not None,
        later_chance=None
        if later is None or not others
        else item.judge.beside(numbers_at(item, offers, later), seen)[0],
        days_above=seen.days_above,
        days_if_nothing=nothing.days_above,
        money_ends=item.reachable and not found.holds[number],
        least_chance=seen.chance if found.holds[number] else item.see(item.search.full).chance,
        least_cost=Guide(item.places).cost(item.search.full),
    )


def _bought(found: FarmPlan, item: Candidate, offers: Sequence[Offer]) -> Counts:
    """Return the packs that one house buys for itself, by offer."""
    packs = {(line.arrival.pack, line.arrival.delivery): line.packs for line in found.pooled.lines}
    return tuple(packs.get((offer.pack, offer.delivery), 0) for offer in offers)


def counts_of(item: Candidate, offers: Sequence[Offer], numbers: Sequence[float]) -> Counts:
    """Return numbers at each place as packs, or parts of packs, of the first offer of the place."""
    by_place = {
        (place.offer.pack, place.day): number / place.offer.pack.pack_size
        for place, number in zip(item.places, numbers, strict=True)
    }
    return tuple(_whole(by_place.get((offer.pack, offer.delivery), 0)) for offer in offers)


def numbers_at(item: Candidate, offers: Sequence[Offer], counts: Sequence[float]) -> tuple[float, ...]:
    """Return packs of each offer as labelled animals at each place."""
    found: dict[tuple[Goods, date], float] = {}
    for offer, count in zip(offers, counts, strict=True):
        where = (goods_of(offer), offer.delivery)
        found[where] = found.get(where, 0.0) + count * offer.pack.pack_size
    return tuple(found.get((place.goods, place.day), 0.0) for place in item.places)


def _whole(count: float) -> float:
    return round(count) if abs(count - round(count)) < 1e-9 else count


def _own_part(found: FarmPlan, item: Candidate) -> tuple[float, float]:
    """Return packs and freight of a house in a shared order, by the animals that it is given."""
    goods = freight = 0.0
    for share in found.pooled.shares:
        if share.house != item.asked.house.name:
            continue
        bought = next(line for line in found.pooled.lines if line.arrival == share.arrival)
        part = share.number / (bought.packs * share.arrival.pack.pack_size - bought.leftover)
        goods += part * bought.packs * share.arrival.pack.price
        parcel = [
            line
            for line in found.pooled.lines
            if (line.arrival.pack.supplier, line.arrival.delivery)
            == (share.arrival.pack.supplier, share.arrival.delivery)
        ]
        packs = sum(line.packs for line in parcel)
        freight += part * bought.packs / packs * found.freight_of(parcel)
    return goods, freight


def a_week_later(offers: Sequence[Offer], counts: Counts) -> Counts | None:
    """Return the same packs, each on the next delivery of its kind that is about a week later."""
    moved = [0.0] * len(offers)
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


def _frontier(
    item: Candidate, offers: Sequence[Offer], seen: Tried
) -> tuple[tuple[float, float, Counts], ...]:
    """Return the schedules that no other beats in both cost and chance, cheapest first, judged."""
    guide = Guide(item.places)
    kept: list[tuple[float, Schedule]] = []
    lowest = float("inf")
    for cost, one in sorted((guide.cost(one), one) for one in item.trials.seen):
        level = item.told.level(one)
        if isfinite(cost) and level < lowest - CLEARER:
            kept.append((cost, one))
            lowest = level
    if len(kept) > FRONTIER_POINTS:
        last = len(kept) - 1
        kept = [kept[round(i * last / (FRONTIER_POINTS - 1))] for i in range(FRONTIER_POINTS)]
    told: list[tuple[float, float, Counts]] = []
    for cost, one in kept:
        numbers = numbers_of(item.places, one)
        chance = item.see(one).chance if item.judging is None else item.judge.beside(numbers, seen)[0]
        if not told or chance < told[-1][1] - 1e-9:
            told.append((cost, chance, counts_of(item, offers, numbers_of(item.places, one))))
    return tuple(told)


def _ties(item: Candidate, offers: Sequence[Offer], best: Schedule) -> tuple[Counts, ...]:
    """Return other schedules that hold the house and cost as much by themselves, to one part in a hundred."""
    guide = Guide(item.places)
    cost = guide.cost(best)
    if not cost:
        return ()
    found = [one for one in item.held() if one != best and abs(guide.cost(one) / cost - 1) <= AS_DEAR]
    return tuple(counts_of(item, offers, numbers_of(item.places, one)) for one in found[:TIES_TOLD])


__all__ = [
    "Cost", "HousePlan", "Offer", "cost_of", "house_plans", "plan_house", "releases_of",
]  # fmt: skip
