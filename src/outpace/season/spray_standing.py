"""Every spray of a house with its clocks, what they clash with, and one sentence for each."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from outpace.facts.table import Fact, Facts, load, weakest
from outpace.language import say, say_many, to_say
from outpace.planning.spray_clocks import NOT_BEGUN, OVER, RUNNING, UNKNOWN, VENTILATION, Clock
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm
from outpace.season.observed import HouseWalks, walks_of
from outpace.season.side_effects import side_effects
from outpace.season.spray import COUNTS_TOO
from outpace.season.spray_clashes import clashes_of
from outpace.season.spray_efficacy import efficacy_lacks, efficacy_of
from outpace.season.sprayed import Sprayed, moment_words, sprays_of, standing
from outpace.season.words import percent, weekday
from outpace.terms.place import House
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]

NAMES = {
    "reentry": to_say("keep out"),
    "picking": to_say("do not pick"),
    "bees": "bees",
    "release": to_say("release nothing"),
}
RECORD = (
    "crop",
    "bbch",
    "kind",
    "product",
    "registration_no",
    "active",
    "action_group",
    "dose",
    "dose_unit",
    "amount_total",
    "area_m2",
    "wind",
    "reason",
    "operator",
    "operator_licence",
    "reentry_h",
    "harvest_interval_d",
    "kill_pest_share",
    "kill_enemy_share",
    "residual_enemy_share",
    "residual_d",
)
FOR_THE_RECORD = {
    "end": to_say("the end"),
    "kind": to_say("what kind it was"),
    "product": to_say("the product"),
    "registration_no": to_say("its registration number"),
    "dose": to_say("the rate"),
    "amount_total": to_say("the amount"),
    "area_m2": to_say("the area"),
    "operator": to_say("who applied it"),
    "reason": to_say("the reason"),
}
"""What records of treatments ask for in most places; a check with the authority stays with the farm."""


def spray_answer(snapshot: Snapshot, house: str | None = None, *, farm: str | None = None) -> Answer:
    """Return the sprays of one house, or of all, as the answer ``outpace.spray/1``.

    Raises
    ------
    OutpaceError
        If there is no such farm or house.
    """
    facts = load()
    there = pick_farm(snapshot, farm)
    houses = (pick_house(snapshot, there, house),) if house else houses_of(snapshot, there)
    now = snapshot.as_of.astimezone(zone_of_farm(there))
    sprays: list[Answer] = []
    clashes: list[Answer] = []
    stand: list[Answer] = []
    cautions: list[str] = []
    used: list[Fact] = []
    for place in houses:
        found = sprays_of(snapshot, facts, there, place)
        walks = walks_of(snapshot, there, place, place.planted)
        stand.append(_house(place, found, now))
        for item in found:
            told, rows = _spray(item, place, walks, facts, now, found)
            sprays.append(told)
            used += rows
        clashes += clashes_of(snapshot, facts, there, place, found, walks, now)
        cautions += _cautions(place, found, now)
    return {
        "schema": "outpace.spray/1",
        "as_of": now.isoformat(timespec="minutes"),
        "farm": there.farm,
        "house": houses[0].house if house else None,
        "sentence": _sentence(stand, sprays, now),
        "houses": stand,
        "sprays": sprays,
        "clashes": sorted(clashes, key=lambda clash: (clash["date"], clash["house"])),
        "cautions": [*dict.fromkeys(cautions), say(COUNTS_TOO)],
        "facts": [_fact(row) for row in dict.fromkeys(used)],
        "evidence_weakest": weakest(used),
    }


def _house(house: House, sprays: Sequence[Sprayed], now: datetime) -> Answer:
    """Return how a house stands under all its sprays together."""
    return {
        "house": house.house,
        "bees_in": house.bees_in,
        **{name: _combined([getattr(item.clocks, name) for item in sprays], now, name) for name in NAMES},
    }


def _combined(clocks: Sequence[Clock], now: datetime, name: str) -> Answer:
    found = standing(clocks, now)
    until: datetime | None = found["until"]
    local = None if until is None else until.astimezone(now.tzinfo)
    return {
        "state": found["state"],
        "until": None if local is None else local.isoformat(timespec="seconds"),
        "lacks": found["lacks"],
        "words": _clock_words(name, found["state"], until, found["lacks"], now),
    }


def _clock_words(name: str, state: str, until: datetime | None, lacks: Sequence[str], now: datetime) -> str:
    """Return one clock in words; a wait is never said shorter than it is."""
    at = "" if until is None else moment_words(until, now.tzinfo)  # type: ignore[arg-type]
    if state == UNKNOWN:
        missing = say("not entered: {lacks}", lacks=", ".join(lacks))
        return {
            "reentry": say("keep out, read the label ({missing})", missing=missing),
            "picking": say("do not pick, read the label ({missing})", missing=missing),
            "release": say("no release here ({missing})", missing=missing),
            "bees": say("hive closed or out, until when? ({missing})", missing=missing),
        }[name]
    if state == RUNNING:
        return {
            "reentry": say("keep out until {at}, and until it is aired as the label wants", at=at),
            "picking": say("do not pick until {at}", at=at),
            "release": say("no release before {at}", at=at),
            "bees": say("hive closed or out until {at}", at=at),
        }[name]
    if state == NOT_BEGUN:
        return say("planned: begins {at}", at=at) if at else "planned"
    if state == OVER:
        return {
            "reentry": say("keeping out is over since {at}, if it was aired as the label wants", at=at),
            "picking": say("the wait for picking is over since {at}", at=at),
            "release": say("the wait for releases is over since {at}", at=at),
            "bees": say("the wait for bees is over since {at}", at=at),
        }[name]
    return say("no bees in this house") if name == "bees" else say("nothing to wait for")


def _spray(
    item: Sprayed, house: House, walks: HouseWalks, facts: Facts, now: datetime, others: Sequence[Sprayed]
) -> tuple[Answer, list[Fact]]:
    row = item.row
    efficacy, used = efficacy_of(item, walks, facts, others)
    effects, more = side_effects(item, facts)
    clocks = {name: _combined_or_planned(getattr(item.clocks, name), now, name) for name in NAMES}
    told: Answer = {
        "spray": row.spray,
        "house": house.house,
        "zone": row.zone,
        "name": item.name,
        "start": row.start.astimezone(item.zone).isoformat(timespec="minutes"),
        "end": None if row.end is None else row.end.astimezone(item.zone).isoformat(timespec="minutes"),
        "planned": row.start > now,
        "sentence": _one_sentence(item, clocks),
        "clocks": clocks,
        "ventilation": say(
            "{ventilation}: look it up before anyone goes in; no figure of it is kept here",
            ventilation=say(VENTILATION),
        ),
        "lacks": list(item.clocks.lacks),
        "record": {name: getattr(row, name) for name in RECORD},
        "record_lacks": [say(words) for name, words in FOR_THE_RECORD.items() if getattr(row, name) is None],
        "side_effects": effects,
        "efficacy": efficacy,
        "efficacy_lacks": efficacy_lacks(item, walks, efficacy, others, now),
    }
    return told, [*used, *more]


def _combined_or_planned(clock: Clock, now: datetime, name: str) -> Answer:
    """Return one clock; of a planned spray with missing figures it is told now that the clock cannot start."""
    if clock.applies and clock.until is None:
        return {
            "state": UNKNOWN,
            "until": None,
            "lacks": list(clock.lacks),
            "words": _clock_words(name, UNKNOWN, None, clock.lacks, now),
        }
    state = clock.state(now)
    until = None if clock.until is None or not clock.applies else clock.until
    local = None if until is None else until.astimezone(now.tzinfo).isoformat(timespec="seconds")
    shown = RUNNING if state == NOT_BEGUN else state
    return {"state": state, "until": local, "lacks": [], "words": _clock_words(name, shown, until, (), now)}


def _one_sentence(item: Sprayed, clocks: dict[str, Answer]) -> str:
    row = item.row
    if row.kill_enemy_share is None:
        kills = say("how many wasps it kills was not entered, so count on all")
    elif row.kill_enemy_share == 0:
        kills = say("kills no wasps now")
    else:
        kills = say(
            "kills {kill_enemy_share} of the wasps now", kill_enemy_share=percent(row.kill_enemy_share)
        )
    where = say(" in {zone}", zone=row.zone) if row.zone else ""
    return say(
        "{called}{called2}{where}: {kills}; {words}; {words2}; {words3}; source: what this farm entered.",
        called=item.called[:1].upper(),
        called2=item.called[1:],
        where=where,
        kills=kills,
        words=clocks["release"]["words"],
        words2=clocks["reentry"]["words"],
        words3=clocks["picking"]["words"],
    )


def _cautions(house: House, sprays: Sequence[Sprayed], now: datetime) -> list[str]:
    found = []
    for item in sprays:
        if item.clocks.lacks:
            found.append(
                say(
                    "{house}, {called}: not entered: {lacks}. Unknown counts as danger; complete it with "
                    "`outpace spray add {house!r} --spray {spray}`.",
                    house=house.house,
                    called=item.called,
                    lacks=", ".join(item.clocks.lacks),
                    spray=item.row.spray,
                )
            )
        if item.clocks.bees.applies and item.clocks.bees.until is None:
            bees = say("Bees are in") if house.bees_in else say("Nobody told whether bees are in")
            found.append(
                say(
                    "{bees} {house}: hive closed or out, until when? It was not entered.",
                    bees=bees,
                    house=house.house,
                )
            )
    return found


def _sentence(houses: Sequence[Answer], sprays: Sequence[Answer], now: datetime) -> str:
    """Return one verb, one day, one number; the most dangerous house first."""
    for state in (UNKNOWN, RUNNING):
        for clock in ("reentry", "picking", "release", "bees"):
            for house in houses:
                if house[clock]["state"] == state:
                    return _house_sentence(house, clock, sprays, now)
    count = sum(spray["planned"] for spray in sprays)
    if count:
        return say_many(
            "Read the label on {date}: {n} spray planned, none under way.",
            "Read the label on {date}: {n} sprays planned, none under way.",
            count,
            date=weekday(now.date()),
        )
    return say(
        "Do nothing on {date}: 0 of {sprays} sprays hold a house back.",
        date=weekday(now.date()),
        sprays=len(sprays),
    )


def _house_sentence(house: Answer, clock: str, sprays: Sequence[Answer], now: datetime) -> str:
    found, name = house[clock], house["house"]
    verb = {
        "reentry": say("Keep out of {name}", name=name),
        "picking": say("Pick nothing in {name}", name=name),
        "release": say("Release nothing in {name}", name=name),
        "bees": say("Keep the hive of {name} closed or out", name=name),
    }[clock]
    if found["state"] == UNKNOWN:
        open_ = [
            spray for spray in sprays if spray["house"] == name and spray["clocks"][clock]["state"] == UNKNOWN
        ]
        count = len(open_)
        return say_many(
            "{verb} and read the label on {date}: {n} spray not fully entered.",
            "{verb} and read the label on {date}: {n} sprays not fully entered.",
            count,
            verb=verb,
            date=weekday(now.date()),
        )
    holding = sum(spray["house"] == name and spray["clocks"][clock]["state"] == RUNNING for spray in sprays)
    until = moment_words(datetime.fromisoformat(found["until"]), now.tzinfo)  # type: ignore[arg-type]
    return say_many(
        "{verb} until {until}: {n} spray holds it.",
        "{verb} until {until}: {n} sprays hold it.",
        holding,
        verb=verb,
        until=until,
    )


def _fact(row: Fact) -> Answer:
    return {
        "key": row.key,
        "value": row.value,
        "unit": row.unit,
        "source": row.cited,
        "evidence": row.evidence,
    }
