"""How few animals, not packs, still hold a house: what is left of a pack can then serve another."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from outpace.planning.effort import SEARCH_MEMBERS
from outpace.planning.house_outlook import outcome
from outpace.planning.release_plan import HousePlan, releases_of

STEPS_PER_PACK = 20
STEPS_BACK = 4


def least_numbers(plan: HousePlan, risk: float) -> tuple[float, ...]:
    """Return the packs of each offer, in parts of a pack, that still hold the house.

    The latest and dearest release is made smaller first, by halving in steps of a twentieth of a pack, never below the
    offer's least number of units and never to nothing. The search meets the first members; what it finds is tried on
    all of them, and taken back toward whole packs as far as the risk asks for it.

    Parameters
    ----------
    plan : HousePlan
        One that meets the risk.
    risk : float
        Accepted chance of being above the level.

    Returns
    -------
    packs : tuple of float, one per offer
        Between the least units and ``plan.counts``.
    """
    small = plan.house.some(SEARCH_MEMBERS)

    def holds(packs: Sequence[float]) -> bool:
        return outcome(small, releases_of(small, plan.offers, packs)).chance_from(plan.first_day) <= risk

    packs = [float(count) for count in plan.counts]
    used = [i for i, count in enumerate(plan.counts) if count]
    for i in sorted(used, key=lambda j: (-plan.offers[j].day, -plan.offers[j].pack.price, j)):
        floor = plan.offers[i].least_units / plan.offers[i].units
        low = min(max(1, ceil(floor * STEPS_PER_PACK - 1e-9)), plan.counts[i] * STEPS_PER_PACK)
        high = plan.counts[i] * STEPS_PER_PACK
        while low < high:
            middle = (low + high) // 2
            packs[i] = middle / STEPS_PER_PACK
            if holds(packs):
                high = middle
            else:
                low = middle + 1
        packs[i] = high / STEPS_PER_PACK
    for part in range(STEPS_BACK):
        share = part / STEPS_BACK
        tried = tuple(few + (whole - few) * share for few, whole in zip(packs, plan.counts, strict=True))
        if chance_of(plan, tried) <= risk:
            return tried
    return plan.counts


def chance_of(plan: HousePlan, packs: Sequence[float]) -> float:
    """Return the chance of being above the level, on all members, with these packs or parts of packs."""
    return outcome(plan.house, releases_of(plan.house, plan.offers, packs)).chance_from(plan.first_day)
