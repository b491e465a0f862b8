"""Which enemy fits a house, and why: every enemy that is known, with the reasons for and against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np

from outpace.facts.table import Fact, Facts, load, weakest
from outpace.language import say, say_many
from outpace.planning.candidates import rank
from outpace.planning.course import standing_now
from outpace.planning.delivery_calendar import slots
from outpace.planning.enemy_window import (
    LATER,
    NOT,
    NOW,
    PART,
    UNKNOWN,
    Match,
    Standing,
    Window,
    cold_share,
    fits_several,
    matched,
    mixtures,
    warm_from,
    window,
)
from outpace.planning.spray_clocks import earliest
from outpace.season.case import HouseCase
from outpace.season.hyper_signs import HOLES_COUNT_D
from outpace.season.indexed import of_house
from outpace.season.leaf_crops import EATEN_AS_LEAVES
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm
from outpace.season.observed import UNKNOWN as UNNAMED
from outpace.season.observed import ragged_holes
from outpace.season.offers import packs_in_force, use_of
from outpace.season.outlook import Outlook, for_planning, outlook
from outpace.season.sprayed import release_hold, sprays_of
from outpace.season.studied import house_cautions
from outpace.season.words import weekday
from outpace.terms.place import Climate, Farm, House
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]

AHEAD_D = 28
HUMIDITY_D = 14
ORDER = (NOW, PART, LATER, UNKNOWN, NOT)
EVIDENCE = ("own", "read", "derived", "recalled", "seller", "practice")


def enemies(
    snapshot: Snapshot, house: str | None = None, *, farm: str | None = None, facts: Facts | None = None
) -> Answer:
    """Return which enemies fit one house, or each house of a farm, as the answer ``outpace.enemies/1``."""
    there = pick_farm(snapshot, farm)
    places = (pick_house(snapshot, there, house),) if house else houses_of(snapshot, there)
    used: list[Fact] = []
    beyond: list[str] = []
    rows = [_house(snapshot, there, place, facts, used, beyond) for place in places]
    return {
        "schema": "outpace.enemies/1",
        "as_of": snapshot.as_of.astimezone(zone_of_farm(there)).isoformat(timespec="seconds"),
        "farm": there.farm,
        "sentence": _sentence(rows, str(snapshot.as_of.astimezone(zone_of_farm(there)).date())),
        "houses": rows,
        "evidence_weakest": weakest(used),
        "facts": [
            {"key": f.key, "value": f.value, "unit": f.unit, "source": f.cited, "evidence": f.evidence}
            for f in dict.fromkeys(used)
        ],
        "cautions": [
            say("Before the first order of an enemy: look up the permit or list entry of your country."),
            say("Where reasons weigh alike, the order of the list says nothing: the counts decide."),
            *beyond,
        ],
    }


def matches_of(found: Outlook) -> tuple[list[Match], Window, Standing]:
    """Return every known enemy for a house, the best first, with the window and the standing they rest on."""
    case = found.case
    facts, pests = case.facts, case.model.pests
    hours = case.temperature.hours[case.today * 24 : (case.today + AHEAD_D) * 24]
    ahead = window(hours, case.farm.latitude, case.day.timetuple().tm_yday)
    house = _standing(found)
    every = [key for key, item in facts.species.items() if item.kind == "enemy"]
    fortnight = hours[: 14 * 24]
    ranked = rank(
        facts,
        every,
        pests,
        mean_temperature=float(fortnight.mean()),
        hottest=float(fortnight.mean(axis=1).max()),
        ragged_share=house.ragged_share,
    )
    told = [matched(facts, item, ahead, house, pests) for item in ranked]
    place = {item.enemy: number for number, item in enumerate(told)}
    return (
        sorted(told, key=lambda item: (ORDER.index(item.state), len(item.against), place[item.enemy])),
        ahead,
        house,
    )


@dataclass(frozen=True)
class Surroundings:
    """What a house is like for enemies today beside its aphids; ``free_in_d`` is None where a hold has no known end."""

    humidity: float | None
    held: str | None
    free_in_d: int | None
    ragged_share: float | None


def surroundings(case: HouseCase) -> Surroundings:
    """Return what the air, the sprays and the holes of a house say to enemies today."""
    sprays = sprays_of(case.snapshot, case.facts, case.farm, case.house)
    held = release_hold(sprays, case.day)
    free: int | None = 0
    if held is not None:
        open_at = earliest([item.clocks.release for item in sprays], case.now)
        free = (
            None if open_at is None else max(1, (open_at.astimezone(case.now.tzinfo).date() - case.day).days)
        )
    looked, ragged = ragged_holes(case.rows, case.now - timedelta(days=HOLES_COUNT_D))
    fewest = case.facts.one("", "ragged_holes_least", stage="speaks against wasps").value
    return Surroundings(
        humidity=_humidity(case),
        held=held,
        free_in_d=free,
        ragged_share=ragged / looked if looked >= fewest else None,
    )


def _standing(found: Outlook) -> Standing:
    case = found.case
    around = surroundings(case)
    crop = case.facts.resolve_crop(case.house.crop) or case.house.crop
    return Standing(
        use=use_of(case, _over_level(found)),
        floor=case.house.floor,
        humidity=around.humidity,
        ants=case.model.ants,
        leaf_crop=crop in EATEN_AS_LEAVES,
        there=_there(found),
        held=around.held,
        free_in_d=around.free_in_d,
        ragged_share=around.ragged_share,
    )


def _there(found: Outlook) -> dict[str, float]:
    """Return the median number of each enemy that searches in the house today."""
    case = found.case
    if case.rows.last is None:
        return {}
    now = standing_now(for_planning(found))
    wasps = {
        enemy: float(np.median(now.females[0, index].sum(axis=0)))
        for index, enemy in enumerate(case.model.enemies)
    }
    hunters = {
        enemy: float(
            np.median(sum(now.predators[kind][0, index].sum(axis=0) for kind in ("larvae", "adults")))
        )
        for index, enemy in enumerate(case.model.predators)
    }
    return {**wasps, **hunters}


def _over_level(found: Outlook) -> float:
    past, case = found.posterior.past, found.case
    return max(
        float(np.median(past.live(pest, unit=level.unit)[-1])) / max(level.value, 1e-9)
        for pest, level in enumerate(case.levels)
    )


def _humidity(case: HouseCase) -> float | None:
    """Return the mean relative humidity of the last two weeks, where it was recorded."""
    since: datetime = case.now - timedelta(days=HUMIDITY_D)
    found = [
        row.humidity_pct
        for row in of_house(case.snapshot, Climate, case.farm, case.house)
        if row.humidity_pct is not None and row.place != "outside" and since <= row.time <= case.now
    ]
    return sum(found) / len(found) / 100 if found else None


def _house(
    snapshot: Snapshot, farm: Farm, house: House, facts: Facts | None, used: list[Fact], beyond: list[str]
) -> Answer:
    found = outlook(snapshot, farm, house, facts=facts)
    case = found.case
    told, ahead, standing = matches_of(found)
    weighed = [item.enemy for item in told if item.state != NOT]
    beyond += [f"{house.house}: {line}" for line in house_cautions(case, AHEAD_D, weighed)]
    on_offer = {pack.enemy for pack in packs_in_force(snapshot, case.day)}
    pairs = mixtures(case.facts, told, case.model.pests, standing.use)
    for item in told:
        used += item.facts
    for pair in pairs:
        used += pair.facts
    fortnight = slice(0, 14)
    return {
        "house": house.house,
        "crop": house.crop,
        "pests": list(case.model.pests),
        "found": case.found,
        "use": standing.use,
        "window": {
            "days": len(ahead.light),
            "light_mean_degc": round(float(ahead.light[fortnight].mean()), 1),
            "light_coldest_degc": round(float(ahead.light[fortnight].min()), 1),
            "hottest_degc": round(float(ahead.hottest[fortnight].max()), 1),
            "daylight_first_h": round(float(ahead.daylight[0]), 1),
            "daylight_last_h": round(float(ahead.daylight[-1]), 1),
        },
        "held": standing.held,
        "candidates": [
            {
                "enemy": item.enemy,
                "on_offer": item.enemy in on_offer,
                "order_by": _order_by(case, item.enemy) if item.enemy in on_offer else None,
                "state": item.state,
                "from_date": None if item.in_d is None else str(case.day + timedelta(days=item.in_d)),
                "pests": list(item.pests),
                "for": list(item.for_it),
                "against": list(item.against),
                "evidence": item.evidence,
            }
            for item in told
        ],
        "mixtures": [
            {"enemies": list(pair.enemies), "why": list(pair.why), "evidence": weakest(pair.facts)}
            for pair in pairs
        ],
        "waiting": waiting(found, ahead, told),
        "unknown": _unknown(case) if UNNAMED in case.model.pests else None,
    }


def waiting(found: Outlook, ahead: Window, told: Sequence[Match]) -> Answer | None:
    """Return the offer to wait, or to use larvae, where it is too cold by day for wasps; None where it is not."""
    case = found.case
    least = case.facts.one("any_wasp", "useful_day_temperature")
    if cold_share(ahead.light, least.value) <= case.facts.one("", "cold_days_share").value:
        return None
    day = warm_from(ahead.light, least.value)
    larvae = [
        item.enemy
        for item in told
        if case.facts.species[item.enemy].guild in ("lacewing", "ladybird") and item.pests
    ]
    if day is None:
        text = say(
            "Too cold by day for wasps for four weeks ahead: wait, and walk on; no release for the calendar's sake."
        )
    else:
        text = say(
            "Too cold by day for wasps until about {day}: wait until then; no release for the calendar's sake.",
            day=weekday(case.day + timedelta(days=day)),
        )
    if larvae:
        text += " " + say(
            "Where spots cannot wait: larvae of {names}, placed on them, who also need it milder by day.",
            names=", ".join(case.facts.species[key].latin for key in larvae),
        )
    return {
        "until": None if day is None else str(case.day + timedelta(days=day)),
        "larvae": larvae,
        "text": text,
    }


def cold_caution(found: Outlook) -> list[str]:
    """Return what a plan must say of days that are too cold for wasps; nothing where they are warm enough."""
    told, ahead, _ = matches_of(found)
    offer = waiting(found, ahead, told)
    return [] if offer is None else [offer["text"]]


def _unknown(case: HouseCase) -> Answer:
    """Return what fits several aphids, and how to find out which one it is."""
    return {
        "fits_several": [
            {"enemy": key, "accepts": accepts, "of": of, "evidence": weakest(rows)}
            for key, accepts, of, rows in fits_several(case.facts)
            if accepts
        ],
        "find_out": [
            say("Look at adult females without wings through a lens of 10 to 15 times, several of a colony"),
            say("Look where they sit: tops and flowers, or lower leaves and dropping off when touched"),
            say("Note the notch between the feelers, the colour of the tubes and of the patch at their base"),
            say("Colour of the body alone decides nothing"),
            say(
                "Still open: send twenty in 70 % alcohol to an adviser or a plant clinic, and walk on meanwhile"
            ),
        ],
    }


def _sentence(rows: Sequence[Answer], today: str) -> str:
    """Return one verb, one day, one number, of the first house."""
    if not rows:
        return say("Add a first house: `outpace house NAME`.")
    row = rows[0]
    house, known = row["house"], len(row["candidates"])
    fitting = [item for item in row["candidates"] if item["state"] == NOW]
    if row["unknown"] is not None:
        return say(
            "Name the aphid of {house} by {day}: 0 wasps are promised on one without a name.",
            house=house,
            day=weekday(today),
        )
    if row["waiting"] is not None and not fitting:
        until = row["waiting"]["until"]
        if until is None:
            return say(
                "Wait in {house} and look again on {day}: too cold by day for wasps in all of the next {days} days.",
                house=house,
                day=weekday(date.fromisoformat(today) + timedelta(days=7)),
                days=row["window"]["days"],
            )
        return say(
            "Wait until {day} in {house}: before it is too cold by day for wasps, and {n} of them fit now.",
            day=weekday(until),
            house=house,
            n=0,
        )
    fitting.sort(key=lambda item: EVIDENCE.index(item["evidence"]))  # of equals the one that is known best
    bought = [item for item in fitting if item["on_offer"]]
    if bought:
        return say_many(
            "Choose {enemy} for {house} if you order by {day}: {n} known enemy fits now, {offered} on offer.",
            "Choose {enemy} for {house} if you order by {day}: {n} known enemies fit now, {offered} on offer.",
            len(fitting),
            enemy=load().species[bought[0]["enemy"]].latin,
            house=house,
            day=weekday(bought[0]["order_by"] or today),
            offered=len(bought),
        )
    if fitting:
        return say_many(
            "Ask a supplier for {enemy} on {day}: {n} known enemy fits {house} now, none on offer.",
            "Ask a supplier for {enemy} on {day}: {n} known enemies fit {house} now, none on offer.",
            len(fitting),
            enemy=load().species[fitting[0]["enemy"]].latin,
            day=weekday(today),
            house=house,
        )
    return say(
        "Release nothing in {house} on {day}: 0 of {n} known enemies fit now without reserve.",
        house=house,
        day=weekday(today),
        n=known,
    )


def _order_by(case: HouseCase, enemy: str) -> str | None:
    """Return the day of the next cut-off at which an enemy can be ordered; None where it is not on offer."""
    now = case.now.replace(tzinfo=None)
    until = case.day + timedelta(days=AHEAD_D)
    cutoffs = [
        slot.cutoff
        for pack in packs_in_force(case.snapshot, case.day)
        if pack.enemy == enemy
        for slot in slots(pack, now, until)
    ]
    return min(cutoffs).isoformat(timespec="minutes") if cutoffs else None
