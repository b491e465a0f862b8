"""What it proves that a house's walks found nothing."""

from __future__ import annotations

from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray

from outpace.errors import OutpaceError
from outpace.estimation.no_finds import (
    CleanWalk,
    Detection,
    fresh_plants,
    plant_detection,
    what_it_proves,
    whole_plant_detection,
)
from outpace.estimation.observations import FIXED, LineSeen, Seen
from outpace.estimation.staleness import days_until_grown
from outpace.estimation.starting import growth_alone
from outpace.facts.table import Fact, Facts, weakest
from outpace.language import day as weekday
from outpace.language import say
from outpace.season.case import HouseCase
from outpace.season.names import houses_of, pick_farm, pick_house
from outpace.season.observed import HouseWalks, walks_of
from outpace.season.outlook import Outlook, outlook
from outpace.season.sampled import scouts_eyes
from outpace.season.studied import domain_cautions
from outpace.terms.place import Farm
from outpace.terms.scouting import PLANT, Walk
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]


def no_finds(
    snapshot: Snapshot,
    house: str,
    *,
    farm: str | None = None,
    confidence: float = 0.95,
    at_least: int = 5,
    facts: Facts | None = None,
) -> Answer:
    """Return what the clean walks of a house exclude, as the answer ``outpace.nofinds/1``.

    Parameters
    ----------
    confidence : float
    at_least : int
        Live aphids on a plant from which it is called infested.

    Raises
    ------
    OutpaceError
        If there is no walk, or the last one found aphids.
    """
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    found = outlook(snapshot, there, place, facts=facts)
    case = found.case
    clean = _clean_walks(case)
    if not clean:
        raise OutpaceError(
            say("no walk without finds to judge from"),
            where=place.house,
            allowed=say("the last walk must have found none, on plants taken at random or fixed"),
            hint=say('after such a walk: `outpace walk "{house}: 30 looked at, none"`', house=place.house),
        )
    last, last_row = clean[-1]
    eye, used = _eye(case, snapshot, there, last, last_row, at_least)
    arrivals, alike = case.facts.one("", "immigration"), case.facts.one("", "plants_alike")
    plants = int(case.model.plants.sum())
    looked = [(seen.day, _plants(seen, row, case.rows)) for seen, row in clean]
    fresh = fresh_plants(looked)
    newcomers = case.model.area_m2 * float(found.posterior.parameters.get("immigration", pest=0).mean())
    walks = [
        CleanWalk(
            min(number, plants),
            grown=_grown(found, seen.day, last.day),
            arrivals=newcomers * max(0.0, last.day - seen.day),
        )
        for (seen, _), (_, number) in zip(clean, fresh, strict=True)
    ]
    counted = [(row, walk) for (_, row), walk in zip(clean, walks, strict=True) if walk.plants]
    proved = what_it_proves(
        [walk for _, walk in counted], eye, lot=plants, confidence=confidence, correlation=alike.value
    )
    good_for = days_until_grown(
        case.model,
        found.posterior.parameters,
        case.temperature.hours,
        from_day=min(int(last.day), case.today),
        pest=0,
        seed=case.seed,
    )
    until = case.date_of(int(last.day) + good_for)
    share = proved.below_share
    more = proved.more_plants_to_halve
    by = max(until, case.day)
    if more:
        tail = say(
            "look at {more} more plants by {by} to halve that, or accept it", more=more, by=weekday(by)
        )
    else:
        tail = say("look again by {by}, or accept it", by=weekday(by))
    return {
        "schema": "outpace.nofinds/1",
        "farm": there.farm,
        "house": place.house,
        "as_of": case.now.isoformat(timespec="seconds"),
        "walk": last_row.walk,
        "unit": last.unit,
        "looked_at": sum(walk.plants for _, walk in counted),
        "found": 0,
        "confidence": confidence,
        "design_density": at_least,
        "detection": {
            "mean": round(eye.mean, 3),
            "low": round(eye.low, 3),
            "high": round(eye.high, 3),
            "source": eye.source,
        },
        "scout": last_row.scout,
        "law": "hypergeometric",
        "plants_in_house": plants,
        "up_to_plants": max(0, ceil(share * plants - 1e-9) - 1),
        "plants_alike": alike.value,
        "walks": [
            {
                "walk": row.walk,
                "date": str(row.time.astimezone(case.now.tzinfo).date()),
                "plants": walk.plants,
                "times_grown_since": round(walk.grown, 2),
                "arrived_since": round(walk.arrivals, 2),
            }
            for row, walk in counted
        ],
        "below_share": round(share, 4),
        "more_plants_to_halve": more,
        "valid_until": str(until),
        "sentence": say(
            "With {confidence} confidence fewer than {share} of plants ({share2}) carry {at_least} or more "
            "aphids: {tail}.",
            confidence=_percent(confidence),
            share=_percent(share),
            share2=_in_plants(share),
            at_least=at_least,
            tail=tail,
        ),
        "assumptions": _assumptions(at_least, last, eye, last_row.scout, len(counted), plants),
        "evidence_weakest": weakest([*used, arrivals, alike]),
        "cautions": [
            say("This is a limit from one side: it says what was looked at and what that excludes, no more"),
            *domain_cautions(case.facts, case.model.pests, _hours_until(case, last, good_for)),
        ],
    }


def _hours_until(case: HouseCase, last: Seen, days: int) -> NDArray[np.float64]:
    """Return the hours from the last walk on in which the aphid could grow four-fold. [°C]"""
    start = min(int(last.day), case.today)
    return case.temperature.hours[start * 24 : (start + max(days, 1)) * 24]


def _clean_walks(case: HouseCase) -> list[tuple[Seen, Walk]]:
    """Return the unbroken run of clean samples that ends the record, oldest first; hunted plants are no sample."""
    by_day: dict[float, Walk] = {case.day_of(walk.time): walk for walk in case.rows.walks}
    clean: list[tuple[Seen, Walk]] = []
    for seen in sorted(case.walks, key=lambda item: -item.day):
        finds = sum(seen.found(pest) for pest in range(len(case.model.pests)))
        if finds:
            break
        if seen.hunted or any(seen.day == other.day for other, _ in clean):
            continue
        clean.append((seen, by_day[seen.day]))
    return clean[::-1]


def _plants(seen: Seen, row: Walk, rows: HouseWalks) -> list[str]:
    """Return names of the plants of a walk; a walk that repeats another, and fixed plants, have the same again."""
    origin = {walk.walk: walk.repeats for walk in rows.walks}
    root, known = row.walk, {row.walk}
    while origin.get(root) and origin[root] not in known:
        root = str(origin[root])
        known.add(root)
    unnamed = "fixed" if seen_fixed(seen) else root
    if isinstance(seen, LineSeen):
        return [f"{unnamed} {number}" for number in range(seen.looked_at)]
    told = [
        say("plant {plant}", plant=plant) if plant >= 0 else f"{unnamed} {-1 - plant}"
        for plant in (int(number) for number in seen.plant)
    ]
    return list(dict.fromkeys(told))


def seen_fixed(seen: Seen) -> bool:
    """Return whether the same plants are looked at each time."""
    return seen.chosen == FIXED


def _grown(found: Outlook, then: float, last: float) -> float:
    """Return how many times the aphid can have multiplied, alone, from an earlier walk to the last; at least once."""
    case = found.case
    days = int(last) - int(then)
    if days < 1:
        return 1.0
    grown = growth_alone(
        case.model,
        found.posterior.parameters,
        case.temperature.hours,
        pest=0,
        first_day=int(then),
        days=days,
        seed=case.seed,
    )
    return max(1.0, grown)


def _eye(
    case: HouseCase, snapshot: Snapshot, farm: Farm, last: Seen, row: Walk, at_least: int
) -> tuple[Detection, list[Fact]]:
    """Return the chance that the scout of the last walk sees an infested plant, and the facts behind it."""
    fact = case.facts.one("", "plant_detection")
    groups, few = case.facts.one("", "aphid_groups_power"), case.facts.one("", "aphids_per_infested_unit")
    mean, source = fact.value, fact.evidence
    low, high = fact.low or mean / 2, fact.high or (1 + mean) / 2
    farm_walks = [walks_of(snapshot, farm, house, house.planted) for house in houses_of(snapshot, farm)]
    own = scouts_eyes(case.facts, farm_walks).get(row.scout or "")
    if own is not None and own.plants:
        mean, (low, high), source = own.mean, own.ends, "own"
    if last.unit == PLANT:
        eye = whole_plant_detection(
            mean, low, high, aphids=at_least, a_few=few.value, groups_power=groups.value, source=source
        )
        return eye, [fact, groups, few]
    units = 1.0 if isinstance(last, LineSeen) else last.units / len(set(_plants(last, row, case.rows)))
    eye = plant_detection(
        mean,
        low,
        high,
        aphids=max(1.0, at_least**groups.value),
        share_looked_at=min(1.0, units / case.model.leaves_per_plant),
        source=source,
    )
    return eye, [fact, groups]


def _in_plants(share: float) -> str:
    return say("about one in {value}", value=max(1, round(1 / share))) if share < 1 else "any"


def _percent(share: float) -> str:
    """Return a share as a percentage, finer where it is small, as every surface writes it."""
    return f"{100 * share:.3g} %" if share >= 0.1 else f"{100 * share:.2g} %"


def _assumptions(
    at_least: int, last: Seen, eye: Detection, scout: str | None, walks: int, plants: int
) -> list[str]:
    whose = say("{scout}'s own double counts", scout=scout) if eye.source == "own" else say("common practice")
    told = [
        say("plants were taken as they came, not where aphids were expected"),
        say("a plant counts as infested from {at_least} live aphids on", at_least=at_least),
        say("one look finds {mean} of infested plants, {whose}", mean=_percent(eye.mean), whose=whose),
        say("the house has {plants:,} plants, and a plant looked at twice counts once", plants=plants),
        say("plants of one walk are somewhat alike, so each counts for less than one taken by itself"),
    ]
    if last.unit != "plant":
        told.append(say("one {unit} of a plant was looked at, not the whole plant", unit=last.unit))
    if walks > 1:
        told.append(
            say(
                "earlier clean walks count less: since then aphids can have multiplied, and winged ones "
                "come in"
            )
        )
    return told
