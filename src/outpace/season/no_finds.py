"""What it proves that a house's walks found nothing."""

from __future__ import annotations

from math import exp
from typing import Any

import numpy as np
from numpy.typing import NDArray

from outpace.errors import OutpaceError
from outpace.estimation.no_finds import CleanWalk, fresh_plants, plant_detection, what_it_proves
from outpace.estimation.observations import LineSeen, Seen
from outpace.estimation.staleness import days_until_grown
from outpace.facts.table import Facts, weakest
from outpace.season.case import HouseCase
from outpace.season.names import pick_farm, pick_house
from outpace.season.outlook import outlook
from outpace.season.studied import domain_cautions
from outpace.terms.scouting import Walk
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
            "no walk without finds to judge from",
            where=place.house,
            allowed="the last walk must have found none, on plants taken at random or fixed",
            hint=f'after such a walk: `outpace walk "{place.house}: 30 looked at, none"`',
        )
    last, last_row = clean[-1]
    fact = case.facts.one("", "plant_detection")
    groups = case.facts.one("", "aphid_groups_power")
    per_plant = 1.0 if last.unit == "plant" else 1.0 / case.model.leaves_per_plant
    detection = plant_detection(
        fact.value,
        fact.low if fact.low is not None else fact.value - 0.1,
        fact.high if fact.high is not None else fact.value + 0.1,
        aphids=1.0 if per_plant == 1.0 else max(1.0, at_least**groups.value),
        share_looked_at=min(per_plant, 1.0),
        source=fact.evidence,
    )
    arrivals = case.facts.one("", "immigration")
    plants = int(case.model.plants.sum())
    looked = [(seen.day, _plants(seen, row)) for seen, row in clean]
    fresh = fresh_plants(looked)
    walks = [
        CleanWalk(min(number, plants), _holds(seen.day, last.day, arrivals.value * case.model.area_m2))
        for (seen, _), (_, number) in zip(clean, fresh, strict=True)
        if number
    ]
    proved = what_it_proves(walks, detection, lot=plants, confidence=confidence)
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
        tail = f"look at {more} more plants by {by:%a %-d %b} to halve that, or accept it"
    else:
        tail = f"look again by {by:%a %-d %b}, or accept it"
    return {
        "schema": "outpace.nofinds/1",
        "farm": there.farm,
        "house": place.house,
        "as_of": case.now.isoformat(timespec="seconds"),
        "walk": last_row.walk,
        "unit": last.unit,
        "looked_at": sum(walk.plants for walk in walks),
        "found": 0,
        "confidence": confidence,
        "design_density": at_least,
        "detection": {
            "mean": round(detection.mean, 3),
            "low": round(detection.low, 3),
            "high": round(detection.high, 3),
            "source": fact.evidence,
        },
        "below_share": round(share, 4),
        "more_plants_to_halve": more,
        "valid_until": str(until),
        "sentence": f"With {_percent(confidence)} confidence fewer than {_percent(share)} of plants "
        f"({_in_plants(share)}) carry {at_least} or more aphids: {tail}.",
        "assumptions": _assumptions(at_least, last, detection.mean, len(walks), plants),
        "evidence_weakest": weakest([fact, groups, arrivals]),
        "cautions": [
            "This is a limit from one side: it says what was looked at and what that excludes, no more",
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


def _plants(seen: Seen, row: Walk) -> list[str]:
    if isinstance(seen, LineSeen):
        return [f"{row.walk}-{number}" for number in range(seen.looked_at)]
    told = [
        f"plant {plant}" if plant >= 0 else f"{row.walk}{plant}"
        for plant in (int(number) for number in seen.plant)
    ]
    return list(dict.fromkeys(told))


def _holds(day: float, last: float, arrivals_per_d: float) -> float:
    return exp(-arrivals_per_d * (last - day))


def _in_plants(share: float) -> str:
    return f"about one in {max(1, round(1 / share))}" if share < 1 else "any"


def _percent(share: float) -> str:
    """Return a share as a percentage, finer where it is small, as every surface writes it."""
    return f"{100 * share:.3g} %" if share >= 0.1 else f"{100 * share:.2g} %"


def _assumptions(at_least: int, last: Seen, detection: float, walks: int, plants: int) -> list[str]:
    told = [
        "plants were taken as they came, not where aphids were expected",
        f"a plant counts as infested from {at_least} live aphids on",
        f"one look finds {_percent(detection)} of infested plants, common practice",
        f"the house has {plants:,} plants, and a plant looked at twice counts once",
    ]
    if last.unit != "plant":
        told.append(f"one {last.unit} of a plant was looked at, not the whole plant")
    if walks > 1:
        told.append("earlier clean walks count less, by the chance that winged aphids came in since")
    return told
