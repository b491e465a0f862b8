"""The rows of a plan: who gets how many out of which packs, and what is said of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from outpace.language import long_date, say
from outpace.planning.farm_plan import FarmPlan
from outpace.planning.goods import Arrival
from outpace.planning.offer import Offer
from outpace.planning.places import arrival_of
from outpace.planning.pooling import Share
from outpace.planning.release_plan import HousePlan
from outpace.season.outlook import Outlook
from outpace.season.words import percent

Answer = dict[str, Any]


@dataclass(frozen=True)
class Planned:
    """A house with what is held of it and what was found for it."""

    found: Outlook
    done: HousePlan

    @property
    def name(self) -> str:
        """Return the name of the house."""
        return self.found.case.house.house


def rows_of(farm: FarmPlan, planned: Sequence[Planned], horizon_d: int) -> list[Answer]:
    """Return one row for each house and line of an order, with the number that the house is given."""
    items = {item.name: item for item in planned}
    offers = {arrival_of(offer): offer for item in planned for offer in item.done.offers}
    takers: dict[Arrival, set[str]] = defaultdict(set)
    for share in farm.pooled.shares:
        takers[share.arrival].add(share.house)
    return [
        _row(items[share.house], offers[share.arrival], share, takers[share.arrival], horizon_d)
        for share in farm.pooled.shares
    ]


def cautions_of(farm: FarmPlan, planned: Sequence[Planned]) -> list[str]:
    """Return what is to be minded of shared packs."""
    told = []
    takers: dict[Arrival, set[str]] = defaultdict(set)
    for share in farm.pooled.shares:
        takers[share.arrival].add(share.house)
    if any(len(names) > 1 for names in takers.values()):
        told.append(say("Packs are shared between houses: what is opened on a day is parted by the numbers"))
    for line in farm.pooled.lines:
        if line.leftover:
            told.append(
                say(
                    "{leftover} of the {packs} labelled animals of {latin} that come on {delivery} are over: "
                    "let them go where the aphids are",
                    leftover=line.leftover,
                    packs=line.packs * line.arrival.pack.pack_size,
                    latin=planned[0].found.case.facts.species[line.arrival.pack.enemy].latin,
                    delivery=long_date(line.arrival.delivery),
                )
            )
    return told


def why_of(done: HousePlan, horizon_d: int) -> str:
    """Return what packs do in a house: to its chance of being above the level, or to the days above it."""
    if done.feasible or done.chance_if_nothing - done.chance_above >= 0.005:
        told = say(
            "chance above your level in the next {horizon_d} days {chance_if_nothing} without, {chance} with the plan",
            horizon_d=horizon_d,
            chance_if_nothing=percent(done.chance_if_nothing),
            chance=percent(done.chance_above),
        )
    else:
        told = say(
            "days above your level in the next {days} days {before} without, {after} with the plan",
            days=horizon_d,
            before=f"{done.days_if_nothing:.1f}",
            after=f"{done.days_above:.1f}",
        )
    if done.feasible:
        return told
    return say("no plan holds this house; the least risk in reach: {what}", what=told)


def _row(item: Planned, offer: Offer, share: Share, takers: set[str], horizon_d: int) -> Answer:
    case, pack = item.found.case, offer.pack
    why = why_of(item.done, horizon_d)
    others = sorted(takers - {share.house})
    if others and share.number < share.draws_on * pack.pack_size:
        why = say("{why}; packs shared with {houses}", why=why, houses=", ".join(others))
    return {
        "house": item.name,
        "zone": case.zones[0] if len(case.zones) == 1 else "all zones",
        "enemy": pack.enemy,
        "supplier": pack.supplier,
        "form": pack.form,
        "delivery_date": str(offer.delivery),
        "release_date": str(share.release),
        "cutoff": offer.cutoff.isoformat(timespec="minutes"),
        "packs": share.draws_on,
        "opened": share.opens,
        "pack_size": pack.pack_size,
        "number": share.number,
        "price": round(share.opens * pack.price, 2),
        "provisional": item.found.stale or not offer.next_cutoff,
        "why": why,
    }
