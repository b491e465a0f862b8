"""How a house is walked: which plants, in which order, and when the walk may stop."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from math import ceil
from typing import Any

from outpace.errors import OutpaceError
from outpace.estimation.bands import SHARE_INFESTED
from outpace.estimation.stop_table import HIGH, LOW, StopTable, where_it_stands
from outpace.facts.table import Facts, load, weakest
from outpace.language import say
from outpace.planning.walk_route import Look, blocks, passes
from outpace.season.case import WHOLE_HOUSE
from outpace.season.levels import Level, level_of
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm, zones_of
from outpace.season.observed import UNKNOWN, HouseWalks, pests_seen, walks_of
from outpace.season.sampled import Told, clumping_on, edge_looks, look_minutes, samples_of
from outpace.season.walk_rules import Rules, clumping_answer, rules_answer, rules_for
from outpace.season.words import percent, weekday
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]

LONG_BY_WIDE = 2.5
"""A house of which only the area is known is taken to be so many times as long as it is wide."""


def walk_plan(
    snapshot: Snapshot,
    house: str,
    *,
    farm: str | None = None,
    rows: int | None = None,
    seed: int | None = None,
    seen: Sequence[int] | None = None,
    facts: Facts | None = None,
) -> Answer:
    """Return how to walk one house, as the answer ``outpace.walkplan/1``.

    Parameters
    ----------
    rows : int, optional
        Plant rows of the house; guessed from its width where not told.
    seed : int, optional
        Of the random plants; left out, one for the house and the day.
    seen : sequence of int, optional
        Aphids by plant, in the order of looking, of a walk that is being made.
    """
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    known = facts or load()
    now = snapshot.as_of.astimezone(zone_of_farm(there))
    by_house = {
        other.house: walks_of(snapshot, there, other, other.planted) for other in houses_of(snapshot, there)
    }
    walks = list(by_house.values())
    pests = pests_seen(by_house[place.house])
    pest = pests[0] if pests else UNKNOWN
    level = level_of(snapshot, known, place, pest, now.date())
    rules = _rules(known, level, place, pest, walks)
    watched = [_watched(snapshot, other) for other in houses_of(snapshot, there)]
    edges = edge_looks(known, list(zip(walks, watched, strict=True)))
    minutes = look_minutes(known, walks)
    spacing = known.one("", "row_spacing")
    zones = _zones(snapshot, place, _watched(snapshot, place))
    counted = rows or _rows_guessed(place, spacing.value)
    sown = _seed(there, place, str(now.date())) if seed is None else seed
    try:
        route = passes(
            blocks(zones, counted), most=rules.most, by_pass=rules.least, edge_looks=edges.used, seed=sown
        )
    except ValueError as error:
        raise OutpaceError(str(error), where=place.house, hint=say("tell the plants of each zone")) from error
    used = [
        *rules.facts,
        known.one("", "edge_looks"),
        known.one("", "look_minutes"),
        *([] if rows else [spacing]),
    ]
    answer: Answer = {
        "schema": "outpace.walkplan/1",
        "farm": there.farm,
        "house": place.house,
        "crop": place.crop,
        "as_of": now.isoformat(timespec="seconds"),
        "pest": pest,
        "unit": "plant" if level.unit == SHARE_INFESTED else level.unit,
        "level": {"value": level.value, "unit": level.unit, "told": level.told},
        "needs_nothing": float(f"{rules.rules[0].needs_nothing:.3g}"),
        "plants": {"least": rules.least, "most": rules.most, "expected": round(rules.mean_looks[0], 1)},
        "minutes": {
            "per_plant": minutes.used,
            "expected": ceil(rules.mean_looks[0] * minutes.used),
            "most": ceil(rules.most * minutes.used),
            "prior": minutes.prior,
            "own": minutes.own,
        },
        "rules": rules_answer(rules),
        "stated_error": rules.error,
        "precision": rules.precision,
        "clumping": clumping_answer(rules),
        "edges": {"prior": edges.prior, "own": edges.own, "used": edges.used, "looked_at": edges.n},
        "rows": {"number": counted, "told": rows is not None},
        "seed": sown,
        "passes": [[_look(look) for look in looks] for looks in route],
        "stand": None if seen is None else stand(rules.rules[0].table, seen, level.unit),
        "evidence_weakest": weakest(used),
        "cautions": _cautions(rules, level, pests, rows, edges),
    }
    answer["sentence"] = _sentence(answer)
    return answer


def stand(table: StopTable, seen: Sequence[int], unit: str) -> Answer:
    """Return whether a walk may stop, from what was seen plant by plant.

    Examples
    --------
    >>> table = StopTable(least=2, most=4, low=(0, 0, 1), high=(5, 5, 2))
    >>> stand(table, [0, 2], "leaf")["say"]
    'Go on: 2 plants more at most'
    """
    found = where_it_stands(table, seen)
    if found.end == LOW:
        words = say("You may stop: clearly under your level")
    elif found.end == HIGH:
        words = say("You may stop: not clearly under your level, look at what to do")
    elif found.clean_more is not None and found.clean_more < found.at_most_more:
        words = say(
            "Go on: {clean_more} more if they are clean, {at_most_more} at most",
            clean_more=found.clean_more,
            at_most_more=found.at_most_more,
        )
    else:
        words = say("Go on: {at_most_more} plants more at most", at_most_more=found.at_most_more)
    return {
        "end": found.end,
        "looked_at": found.looked_at,
        "total": found.total,
        "clean_more": found.clean_more,
        "as_so_far_more": found.as_so_far_more,
        "at_most_more": found.at_most_more,
        "passed_over": len(seen) - found.looked_at,
        "say": words,
    }


def house_rules(snapshot: Snapshot, facts: Facts, farm: Farm, house: House, pest: str) -> Rules:
    """Return the stop rules of one house for one aphid."""
    day = snapshot.as_of.astimezone(zone_of_farm(farm)).date()
    walks = [walks_of(snapshot, farm, other, other.planted) for other in houses_of(snapshot, farm)]
    return _rules(facts, level_of(snapshot, facts, house, pest, day), house, pest, walks)


def _rules(facts: Facts, level: Level, house: House, pest: str, walks: Sequence[HouseWalks]) -> Rules:
    samples = [] if level.unit == SHARE_INFESTED else samples_of(walks, pest, level.unit)
    clumping = None if level.unit == SHARE_INFESTED else clumping_on(facts, samples)
    return rules_for(facts, level, house.plants, clumping, samples)


def _watched(snapshot: Snapshot, house: House) -> frozenset[str]:
    """Return the zones by which aphids come in: those with a door, or with a vent, where that tells zones apart."""
    described = zones_of(snapshot, house)
    for named in (
        {zone.zone for zone in described if zone.door},
        {zone.zone for zone in described if zone.vent},
    ):
        if 0 < len(named) < len(described):
            return frozenset(named)
    return frozenset()


def _zones(snapshot: Snapshot, house: House, watched: frozenset[str]) -> list[tuple[str, int, bool]]:
    described = zones_of(snapshot, house)
    if described:
        even = max(1, house.plants // len(described))
        return [(zone.zone, zone.plants or even, zone.zone in watched) for zone in described]
    count = house.zones or 1
    if count == 1:
        return [(WHOLE_HOUSE, house.plants, False)]
    return [(str(number + 1), max(1, house.plants // count), False) for number in range(count)]


def _rows_guessed(house: House, spacing: float) -> int:
    if house.width_m:
        width = house.width_m
    elif house.length_m:
        width = house.area_m2 / house.length_m
    else:
        width = (house.area_m2 / LONG_BY_WIDE) ** 0.5
    return max(1, min(round(width / spacing), house.plants))


def _seed(farm: Farm, house: House, day: str) -> int:
    digest = hashlib.sha256(f"{farm.farm}\0{house.house}\0{day}".encode()).digest()
    return int.from_bytes(digest[:4], "big")


def _look(look: Look) -> Answer:
    return {"no": look.number, "zone": look.zone, "row": look.row, "plant": look.plant, "kind": look.kind}


def _sentence(answer: Answer) -> str:
    house, today = answer["house"], weekday(answer["as_of"])
    if answer["stand"] is not None:
        return say(
            "{say_told}, in {house} on {today}.", say_told=answer["stand"]["say"], house=house, today=today
        )
    plants, minutes = answer["plants"], answer["minutes"]
    if plants["least"] == plants["most"]:
        return say(
            "Walk all {most} plants of {house} on {today}: {most2} minutes.",
            most=plants["most"],
            house=house,
            today=today,
            most2=minutes["most"],
        )
    return say(
        "Walk {house} on {today}: {least} plants, then on until a stop line; about {expected} plants and "
        "{expected2} minutes, {most} at most.",
        house=house,
        today=today,
        least=plants["least"],
        expected=round(plants["expected"]),
        expected2=minutes["expected"],
        most=minutes["most"],
    )


def _cautions(rules: Rules, level: Level, pests: Sequence[str], rows: int | None, edges: Told) -> list[str]:
    first = rules.rules[0]
    told = [
        say(
            "Called wrongly at most {wrong} of the time: above the level yet called low, or at a quarter "
            "of it yet called high; in between, either end is no mistake",
            wrong=percent(round(first.wrong, 4)),
        )
    ]
    if first.wrong > 1.2 * rules.error:
        told.append(
            say(
                "{error} was asked for: the stated maximum of {most} plants is too few for so low a level",
                error=percent(rules.error),
                most=rules.most,
            )
        )
    if not level.told:
        told.append(
            say(
                "No action level set: {value:g} per {unit} is provisional, yours to change",
                value=level.value,
                unit=level.unit,
            )
        )
    if len(pests) > 1:
        told.append(
            say("More than one aphid lives here: add up the one named above; write the others down beside it")
        )
    if rows is None:
        told.append(say("The number of rows is guessed from the size of the house: tell it with `--rows`"))
    if edges.used > 1:
        told.append(
            say(
                "Looks marked + lie where aphids come in: write them down as a walk of hunted plants, they "
                "are no sample"
            )
        )
    return told
