"""What the houses of a farm teach each other this season, and what last season left.

A house learns from the others as they stood at the midnight that begins its day: what is entered of today moves the
house it is of, and from tomorrow on the others.
"""

from __future__ import annotations

import threading
from collections import OrderedDict, deque
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from outpace.estimation.assimilation import LEARNABLE, refit
from outpace.estimation.pooling import (
    Belief,
    Beliefs,
    Taught,
    books_of,
    next_season,
    of_farm_and_crop,
    pooled,
)
from outpace.facts.table import Facts
from outpace.season.case import HouseCase, house_case
from outpace.season.evidence import case_digest
from outpace.season.left_out import left_out
from outpace.season.names import houses_of, zone_of_farm
from outpace.season.own_facts import season_of
from outpace.season.worked_out import once_from
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import OwnFact

MEMBERS_ALONE = 512
LEAST_WALKS = 2
MOST_HOUSES = 12
"""Others that are asked at most, those with the same crop first."""
KEPT = 256


@dataclass(frozen=True)
class Alone:
    """What one house has taught by its own walks, by (pest, quantity)."""

    crop: str
    planted: date
    ended: date | None
    taught: dict[tuple[str, str], Taught]


_kept: OrderedDict[tuple[str, ...], Alone | None] = OrderedDict()
_lock = threading.Lock()
_then: deque[tuple[Snapshot, datetime, Snapshot]] = deque(maxlen=2)
_cutting = threading.Lock()


def beliefs_of(case: HouseCase, facts: Facts | None = None) -> Beliefs:
    """Return what stands in the place of the books' prior in a house: last season, moved by the houses beside it.

    Parameters
    ----------
    facts : Facts, optional
        Those of the books when not given.
    """
    farm, crop, known = case.farm, case.model.crop, case.facts
    others = [other for other in houses_of(case.snapshot, farm) if other.house != case.house.house]
    others.sort(key=lambda other: known.resolve_crop(other.crop) != crop)
    then = at_midnight(case)
    teachers = [
        found
        for other in others[:MOST_HOUSES]
        if (found := alone(then, farm, other, facts)) is not None and found.ended is None
    ]
    shares = of_farm_and_crop(known)
    planted = case.house.planted or case.first_day
    beliefs: dict[tuple[str, str], Belief] = {}
    for pest in case.model.pests:
        for quantity in LEARNABLE:
            books = books_of(known, pest, quantity)
            before = carried(case.snapshot, known, farm, crop, pest, quantity, planted) or books
            said = [each.taught[(pest, quantity)] for each in teachers if (pest, quantity) in each.taught]
            belief = pooled(before, crop, said, *shares)
            if belief != books:
                beliefs[(pest, quantity)] = belief
    return beliefs


def at_midnight(case: HouseCase) -> Snapshot:
    """Return what had happened on the farm by the midnight that begins the day of a house."""
    snapshot, farm = case.snapshot, case.farm
    midnight = datetime.combine(case.day, time(), tzinfo=case.now.tzinfo)
    with _cutting:
        for held, until, found in _then:
            if held is snapshot and until == midnight:
                return found
        found = left_out(snapshot, midnight, zone_of_farm(farm), sums=True)
        _then.append((snapshot, midnight, found))
    return found


def carried(
    snapshot: Snapshot, facts: Facts, farm: Farm, crop: str, pest: str, quantity: str, planted: date
) -> Belief | None:
    """Return what the seasons of this farm and crop that ended before a planting have left of a quantity.

    None where they left nothing. A season that ended later is not read: its counts may be those of this very crop.
    """
    rows = [
        (season[1], row)
        for row in snapshot.table(OwnFact)
        if row.farm == farm.farm
        and row.species == pest
        and (facts.resolve_crop(row.crop or "") or "") == crop
        and (season := season_of(row.quantity)) is not None
        and season[0] == quantity
        and season[1] <= planted
    ]
    if not rows:
        return None
    _, row = max(rows, key=lambda each: each[0])
    carry = facts.one("", "season_carry").value
    return next_season(Belief(row.value, row.sd), books_of(facts, pest, quantity), carry)


def alone(snapshot: Snapshot, farm: Farm, house: House, facts: Facts | None = None) -> Alone | None:
    """Return what a house has taught by its own walks of this crop; None where they are too few."""
    if facts is not None:
        return _alone(snapshot, farm, house, facts)
    place = (snapshot.head, str(snapshot.as_of), farm.farm, house.house)
    with _lock:
        if place in _kept:
            _kept.move_to_end(place)
            return _kept[place]
    found = _alone(snapshot, farm, house, None)
    with _lock:
        _kept[place] = found
        while len(_kept) > KEPT:
            _kept.popitem(last=False)
    return found


def _alone(snapshot: Snapshot, farm: Farm, house: House, facts: Facts | None) -> Alone | None:
    case = house_case(snapshot, farm, house, facts=facts, members=MEMBERS_ALONE)
    known = case.facts
    if not case.found or sum(not walk.hunted for walk in case.walks) < LEAST_WALKS:
        return None
    crop = case.model.crop
    planted = house.planted or case.first_day
    prior = {
        (pest, quantity): carried(snapshot, known, farm, crop, pest, quantity, planted)
        or books_of(known, pest, quantity)
        for pest in case.model.pests
        for quantity in LEARNABLE
    }

    def teach() -> dict[str, list[list[Any]]]:
        posterior = refit(
            case.model,
            known,
            case.temperature.hours,
            case.walks,
            case.let_go.releases,
            case.sprays,
            first_day=0,
            until_day=case.today,
            members=MEMBERS_ALONE,
            seed=case.seed,
            beliefs=prior,
            cards=case.cards,
        )
        told = []
        for p, pest in enumerate(case.model.pests):
            for quantity in LEARNABLE:
                values = posterior.parameters.get(f"log_{quantity}", pest=p)
                told.append([pest, quantity, float(values.mean()), float(values.std())])
        return {"taught": told}

    told = teach() if facts is not None else once_from("taught", case_digest(case), teach)
    taught = {
        (pest, quantity): Taught(crop, prior[(pest, quantity)], Belief(mean, sd))
        for pest, quantity, mean, sd in told["taught"]
    }
    out = house.removed if house.removed is not None and house.removed <= case.day else None
    return Alone(crop, planted, out, taught)
