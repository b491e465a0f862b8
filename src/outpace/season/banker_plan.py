"""Banker plants for a house that has none yet: whether they serve, how many by each published density, and when."""

from __future__ import annotations

from datetime import date, timedelta
from math import ceil
from typing import Any

from outpace.facts.table import Facts, load, weakest
from outpace.language import say, say_many
from outpace.season.bankers import CEREAL_APHID, banker_wasps, bankers_of, withdrawal_day
from outpace.season.case import HouseCase, house_case
from outpace.season.hyper_signs import HOLES_COUNT_D
from outpace.season.moments import day as day_of_words
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm
from outpace.season.observed import ragged_holes
from outpace.season.words import weekday
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]

FEW_MEMBERS = 8
"""A case is opened for its walks and aphids alone."""
MOST_RENEWALS = 20


def banker_plan(
    snapshot: Snapshot,
    house: str | None = None,
    *,
    farm: str | None = None,
    aphids_from: str | None = None,
    facts: Facts | None = None,
) -> Answer:
    """Return a plan of banker plants as the answer ``outpace.bankerplan/1``.

    Parameters
    ----------
    aphids_from : str, optional
        The day on which aphids are expected; as soon as bankers can stand where not told.
    """
    there, known = pick_farm(snapshot, farm), facts or load()
    today = snapshot.as_of.astimezone(zone_of_farm(there)).date()
    expected = None if aphids_from is None else day_of_words(aphids_from, where="`--aphids-from`")
    places = (pick_house(snapshot, there, house),) if house else houses_of(snapshot, there)
    rows = [_house(snapshot, there, place, known, today, expected) for place in places]
    names = ("banker_start", "banker_life", "banker_renewal", "banker_withdrawal", "banker_wasps")
    used = [known.one("any_wasp", name) for name in names]
    used += [known.one("", "edge_day", stage="bankers ordered")]
    return {
        "schema": "outpace.bankerplan/1",
        "as_of": snapshot.as_of.astimezone(zone_of_farm(there)).isoformat(timespec="seconds"),
        "farm": there.farm,
        "sentence": _sentence(rows, today),
        "houses": rows,
        "steps": [
            say(
                "Ask first which cereals, maize, grasses, lilies, onion or garlic grow near: a cereal aphid comes along"
            ),
            say(
                "Raise the cereal in a cage, let its aphid settle for one to two weeks, then add a few wasps"
            ),
            say("Set the pots out when mummies show on them, in the shade and off ants"),
            say("Water them like a crop, and read 30 empty mummies a week"),
            say("At the first ragged hole in a tan mummy: bag all pots and take them out, whatever the day"),
        ],
        "evidence_weakest": weakest(used),
        "facts": [
            {"key": f.key, "value": f.value, "unit": f.unit, "source": f.cited, "evidence": f.evidence}
            for f in used
        ],
        "cautions": [
            say(
                "Densities differ twenty-fold and none was tested here: all four stand side by side, none is chosen."
            ),
            say("Cereal aphids can carry a potato virus, weakly: mind it beside seed crops and nightshades."),
        ],
    }


def _house(
    snapshot: Snapshot, farm: Farm, house: House, facts: Facts, today: date, expected: date | None
) -> Answer:
    case = house_case(snapshot, farm, house, facts=facts, members=FEW_MEMBERS)
    serves, why = _serves(case, facts)
    looked, ragged = ragged_holes(case.rows, case.now - timedelta(days=HOLES_COUNT_D))
    stand = [row for row in bankers_of(snapshot, farm, house) if row.withdrawn_on is None]
    dates = _dates(facts, farm, today, expected, house)
    if ragged:
        serves = False
        why.append(
            say(
                "{ragged} of {n} empty tan mummies have a ragged hole: bankers would feed them",
                ragged=ragged,
                n=looked,
            )
        )
    return {
        "house": house.house,
        "area_m2": house.area_m2,
        "serves": serves,
        "why": why,
        "standing": sum(row.plants for row in stand),
        "withdraw_now": bool(ragged and stand),
        "how_many": [
            {
                "case": row.case,
                "low": max(1, ceil(row.low_per_1000_m2 * house.area_m2 / 1000 - 1e-9)),
                "high": max(1, ceil(row.high_per_1000_m2 * house.area_m2 / 1000 - 1e-9)),
                "low_per_1000_m2": row.low_per_1000_m2,
                "high_per_1000_m2": row.high_per_1000_m2,
                "source": row.source,
                "evidence": row.evidence,
                "note": row.note,
            }
            for row in facts.bankers
        ],
        **dates,
    }


def _serves(case: HouseCase, facts: Facts) -> tuple[bool | None, list[str]]:
    """Return whether the wasps of bankers take the aphids of the house; None while none was found or named."""
    wasps = banker_wasps(facts)
    names = ", ".join(facts.species[key].latin for key in wasps)
    if not case.found or "unknown_aphid" in case.model.pests:
        return None, [say("no aphid is named here yet: bankers give {names}", names=names)]
    why, serves = [], False
    for pest in case.model.pests:
        taken = any(
            (row := facts.find(wasp, "host_match", other_species=pest)) is not None and row.value > 0
            for wasp in wasps
        )
        serves = serves or taken
        text = (
            say("bankers give {names}, which accept {pest}", names=names, pest=facts.species[pest].latin)
            if taken
            else say(
                "bankers give {names}, which do not accept {pest}",
                names=names,
                pest=facts.species[pest].latin,
            )
        )
        why.append(text)
    crop = facts.resolve_crop(case.house.crop)
    if crop is not None and facts.find(CEREAL_APHID, "crop_multiplier", crop=crop) is not None:
        host = facts.crops[crop].role != "crop"
        if host:
            why.append(say("the cereal aphid lives on this crop too: no bankers here"))
            serves = False
    return serves, why


def _dates(facts: Facts, farm: Farm, today: date, expected: date | None, house: House) -> Answer:
    """Return when to order, set out, renew and withdraw; renewals end where pots would no longer pay."""
    start, renewal = facts.one("any_wasp", "banker_start"), facts.one("any_wasp", "banker_renewal")
    ahead = -facts.one("", "edge_day", stage="bankers ordered").value
    earliest = today + timedelta(days=round(ahead))
    aphids = expected or earliest + timedelta(days=round(start.value))
    out = aphids - timedelta(days=round(start.value))
    order = min(max(today, aphids - timedelta(days=round(ahead))), out)
    ends = withdrawal_day(max(out, today), facts.one("any_wasp", "banker_withdrawal").value, farm.latitude)
    if house.removed is not None and house.removed > out:
        ends = min(ends, house.removed - timedelta(days=7))
    renewals, day = [], out
    for _ in range(MOST_RENEWALS):
        day += timedelta(days=round(renewal.value))
        if day >= ends:
            break
        renewals.append(str(day))
    return {
        "aphids_from": str(aphids),
        "order_by": str(order),
        "late": expected is not None and out < today,
        "set_out": str(max(out, today)),
        "wasps_from": [
            str(out + timedelta(days=round(start.low or start.value))),
            str(out + timedelta(days=round(start.high or start.value))),
        ],
        "renew": renewals,
        "withdraw_by": str(ends),
    }


def _sentence(rows: list[Answer], today: date) -> str:
    if not rows:
        return say("Add a first house: `outpace house NAME`.")
    out = next((row for row in rows if row["withdraw_now"]), None)
    if out is not None:
        return say(
            "Take {n} bankers out of {house} on {day}: ragged holes.",
            n=out["standing"],
            house=out["house"],
            day=weekday(today),
        )
    fitting = [row for row in rows if row["serves"] is not False]
    if not fitting:
        return say_many(
            "Set out no bankers on {day}: in {n} house asked about they do not serve.",
            "Set out no bankers on {day}: in all {n} houses they do not serve.",
            len(rows),
            day=weekday(today),
        )
    row = min(fitting, key=lambda item: item["order_by"])
    counts = [number for way in row["how_many"] for number in (way["low"], way["high"])]
    return say(
        "If you want bankers in {house}: order {low} to {high} pots by {day}, by whose density you follow.",
        house=row["house"],
        low=min(counts),
        high=max(counts),
        day=weekday(row["order_by"]),
    )
