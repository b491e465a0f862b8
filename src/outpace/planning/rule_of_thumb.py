"""What the trade's calendars would buy, beside the plan: with their published range, never as one number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from outpace.facts.table import Facts, ReleaseRate
from outpace.planning.release_plan import Cost, Offer, cost_of


@dataclass(frozen=True, slots=True)
class ThumbPlan:
    """One calendar: how many units per release at the low and the high end, on which offers, at what cost.

    ``counts`` are the packs of each offer that falls within the offers at hand; ``releases`` is how many the rule asks
    for in all, some perhaps later.
    """

    use: str
    enemy: str
    interval_d: int
    releases: int
    per_release_low: int
    per_release_high: int
    counts_low: tuple[int, ...]
    counts_high: tuple[int, ...]
    cost_low: Cost
    cost_high: Cost
    rate: ReleaseRate


def published_rates(facts: Facts, enemy: str, use: str) -> tuple[ReleaseRate, ...]:
    """Return the rates of one enemy for one use, each with its source."""
    return tuple(rate for rate in facts.release_rates if rate.enemy == enemy and rate.use == use)


def lowest_rate(facts: Facts, enemy: str, use: str) -> float | None:
    """Return the lowest published rate for a use, or for any use where that one has none. [m⁻² per release]"""
    rates = published_rates(facts, enemy, use) or tuple(
        rate for rate in facts.release_rates if rate.enemy == enemy
    )
    return min((rate.low for rate in rates), default=None)


def highest_rate(facts: Facts, enemy: str) -> float | None:
    """Return the highest published rate of an enemy for any use. [m⁻² per release]"""
    return max((rate.high for rate in facts.release_rates if rate.enemy == enemy), default=None)


def thumb_plans(
    facts: Facts, offers: Sequence[Offer], enemies: Sequence[str], area_m2: float, use: str
) -> tuple[ThumbPlan, ...]:
    """Return the trade's calendar for each enemy on offer: fortnightly × 4 preventive, weekly × 3 curative."""
    found = []
    rhythm = next(item for item in facts.release_rhythms if item.use == use)
    for index, enemy in enumerate(enemies):
        lines = [i for i, offer in enumerate(offers) if offer.enemy == index]
        for rate in published_rates(facts, enemy, use):
            if not lines:
                continue
            chosen = _every(offers, lines, rhythm.interval_d, rhythm.releases)
            low = [0] * len(offers)
            high = [0] * len(offers)
            for i in chosen:
                low[i] = max(1, ceil(rate.low * area_m2 / offers[i].units))
                high[i] = max(1, ceil(rate.high * area_m2 / offers[i].units))
            found.append(
                ThumbPlan(
                    use=use,
                    enemy=enemy,
                    interval_d=rhythm.interval_d,
                    releases=rhythm.releases,
                    per_release_low=ceil(rate.low * area_m2),
                    per_release_high=ceil(rate.high * area_m2),
                    counts_low=tuple(low),
                    counts_high=tuple(high),
                    cost_low=cost_of(offers, tuple(low)),
                    cost_high=cost_of(offers, tuple(high)),
                    rate=rate,
                )
            )
    return tuple(found)


def _every(offers: Sequence[Offer], lines: list[int], interval_d: int, releases: int) -> list[int]:
    """Return the lines that keep the interval, starting with the earliest and cheapest."""
    chosen: list[int] = []
    for i in sorted(lines, key=lambda j: (offers[j].day, offers[j].pack.price / offers[j].units)):
        if len(chosen) == releases:
            break
        if not chosen or offers[i].day - offers[chosen[-1]].day >= interval_d - 2:
            chosen.append(i)
    return chosen
