"""What else could be done in a house, each tried on the first of the members that judged its plan, beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import Literal

from outpace.planning.candidate_house import Candidate
from outpace.planning.offer import Cost, Offer, cost_of
from outpace.planning.release_plan import Counts, HousePlan, a_week_later, counts_of, numbers_at

What = Literal["plan", "later", "half", "double", "first", "even", "other", "nothing"]


@dataclass(frozen=True)
class Instead:
    """One answer: what it costs if the house orders by itself, its chance, days above and hours of letting go."""

    what: What
    enemy: str
    counts: Counts
    cost: Cost
    chance: float
    days_above: float
    hours: float


def questions(item: Candidate, plan: HousePlan) -> tuple[Instead, ...]:
    """Return the plan and what could be done instead: later, half, double, all at once, evenly, another enemy, nothing.

    Parts of packs are let go where half is asked for, but whole ones are paid. What cannot be had, such as a week later
    than the last delivery, is left out.
    """
    offers = plan.offers
    asked: list[tuple[What, str, Counts]] = [("plan", "", plan.counts)]
    if any(plan.counts):
        later = a_week_later(offers, plan.counts)
        if later is not None:
            asked.append(("later", "", later))
        asked += [
            ("half", "", tuple(count / 2 for count in plan.counts)),
            ("double", "", tuple(count * 2 for count in plan.counts)),
            ("first", "", _moved(offers, plan.counts, evenly=False)),
            ("even", "", _moved(offers, plan.counts, evenly=True)),
        ]
        asked += [("other", enemy, counts) for enemy, counts in _of_others(offers, plan.counts)]
        asked.append(("nothing", "", (0,) * len(offers)))
    told: list[Instead] = []
    known: set[Counts] = set()
    for what, enemy, counts in asked:
        if counts in known:
            continue
        known.add(counts)
        chance, days_above = (
            (plan.seen.chance, plan.seen.days_above)
            if what == "plan"
            else item.judge.beside(numbers_at(item, offers, counts), plan.seen)
        )
        whole = tuple(ceil(count - 1e-9) for count in counts)
        days = {offer.day: offer.hours for offer, count in zip(offers, counts, strict=True) if count}
        told.append(
            Instead(what, enemy, counts, cost_of(offers, whole), chance, days_above, sum(days.values()))
        )
    return tuple(told)


def _moved(offers: Sequence[Offer], counts: Counts, *, evenly: bool) -> Counts:
    """Return the same packs of each kind all on its first delivery, or the same number on every delivery."""
    moved = [0.0] * len(offers)
    for pack in dict.fromkeys(offer.pack for offer in offers):
        lines = [i for i, offer in enumerate(offers) if offer.pack == pack]
        total = sum(counts[i] for i in lines)
        if not total:
            continue
        to = lines if evenly else [min(lines, key=lambda i: offers[i].day)]
        for i in to:
            moved[i] = ceil(total / len(to) - 1e-9)
    return tuple(moved)


def _of_others(offers: Sequence[Offer], counts: Counts) -> list[tuple[str, Counts]]:
    """Return, for every enemy on offer that is not in the plan, as many of it on the same days."""
    used = {offer.pack.enemy for offer, count in zip(offers, counts, strict=True) if count}
    units: dict[int, float] = {}
    for offer, count in zip(offers, counts, strict=True):
        if count:
            units[offer.day] = units.get(offer.day, 0.0) + count * offer.units
    found = []
    for enemy in dict.fromkeys(offer.pack.enemy for offer in offers if offer.pack.enemy not in used):
        instead = [0.0] * len(offers)
        for day, number in units.items():
            there = [i for i, o in enumerate(offers) if o.pack.enemy == enemy and o.day == day]
            if there:
                i = min(there, key=lambda j: ceil(number / offers[j].units) * offers[j].pack.price)
                instead[i] = ceil(number / offers[i].units - 1e-9)
        if any(instead):
            found.append((enemy, tuple(instead)))
    return found


def thumb_fate(item: Candidate, plan: HousePlan, counts: Sequence[float]) -> tuple[float, float]:
    """Return chance and days above of packs that somebody else would buy."""
    return item.judge.beside(numbers_at(item, plan.offers, counts), plan.seen)


__all__ = ["Instead", "counts_of", "questions", "thumb_fate"]
