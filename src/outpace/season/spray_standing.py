"""Every spray of a house with its clocks, what they clash with, and one sentence for each."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from outpace.estimation.efficacy import (
    FIELD,
    LABORATORY,
    PERSISTENCE,
    SideEffectClass,
    persistence_class,
    side_effect_class,
)
from outpace.facts.table import Fact, Facts, load, weakest
from outpace.planning.spray_clocks import NOT_BEGUN, OVER, RUNNING, UNKNOWN, VENTILATION, Clock, holding
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm
from outpace.season.observed import HouseWalks, walks_of
from outpace.season.released import on_the_way
from outpace.season.rhythm import WALK_EVERY_D
from outpace.season.spray import COUNTS_TOO
from outpace.season.spray_efficacy import efficacy_of
from outpace.season.sprayed import Sprayed, in_zone, moment_words, release_hold, sprays_of, standing
from outpace.season.words import percent, weekday
from outpace.terms.enemies import Lot, Release
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Harvest

Answer = dict[str, Any]

NAMES = {"reentry": "keep out", "picking": "do not pick", "bees": "bees", "release": "release nothing"}
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
    "end": "the end",
    "kind": "what kind it was",
    "product": "the product",
    "registration_no": "its registration number",
    "dose": "the rate",
    "amount_total": "the amount",
    "area_m2": "the area",
    "operator": "who applied it",
    "reason": "the reason",
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
        clashes += _clashes(snapshot, facts, there, place, found, walks, now)
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
        "cautions": [*dict.fromkeys(cautions), COUNTS_TOO],
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
        missing = f"not entered: {', '.join(lacks)}"
        return {
            "reentry": f"keep out, read the label ({missing})",
            "picking": f"do not pick, read the label ({missing})",
            "release": f"no release here ({missing})",
            "bees": f"hive closed or out, until when? ({missing})",
        }[name]
    if state == RUNNING:
        return {
            "reentry": f"keep out until {at}, and until it is aired as the label wants",
            "picking": f"do not pick until {at}",
            "release": f"no release before {at}",
            "bees": f"hive closed or out until {at}",
        }[name]
    if state == NOT_BEGUN:
        return f"planned: begins {at}" if at else "planned"
    if state == OVER:
        return {
            "reentry": f"keeping out is over since {at}, if it was aired as the label wants",
            "picking": f"the wait for picking is over since {at}",
            "release": f"the wait for releases is over since {at}",
            "bees": f"the wait for bees is over since {at}",
        }[name]
    return "no bees in this house" if name == "bees" else "nothing to wait for"


def _spray(
    item: Sprayed, house: House, walks: HouseWalks, facts: Facts, now: datetime, others: Sequence[Sprayed]
) -> tuple[Answer, list[Fact]]:
    row = item.row
    efficacy, used = efficacy_of(item, walks, facts, others)
    effects, more = _side_effects(item, facts)
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
        "ventilation": f"{VENTILATION}: look it up before anyone goes in; no figure of it is kept here",
        "lacks": list(item.clocks.lacks),
        "record": {name: getattr(row, name) for name in RECORD},
        "record_lacks": [words for name, words in FOR_THE_RECORD.items() if getattr(row, name) is None],
        "side_effects": effects,
        "efficacy": efficacy,
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
        kills = "how many wasps it kills was not entered, so count on all"
    elif row.kill_enemy_share == 0:
        kills = "kills no wasps now"
    else:
        kills = f"kills {percent(row.kill_enemy_share)} of the wasps now"
    where = f" in {row.zone}" if row.zone else ""
    return (
        f"{item.called[:1].upper()}{item.called[1:]}{where}: {kills}; "
        f"{clocks['release']['words']}; {clocks['reentry']['words']}; {clocks['picking']['words']}; "
        "source: what this farm entered."
    )


def _side_effects(item: Sprayed, facts: Facts) -> tuple[list[str], list[Fact]]:
    """Return the classes of the entered figures as sentences, each with its scale and the ends of the class."""
    row = item.row
    sentences: list[str] = []
    used: list[Fact] = []
    for words, loss in (("direct loss", row.kill_enemy_share), ("loss by residue", row.residual_enemy_share)):
        if loss is None:
            continue
        found = [side_effect_class(facts, loss, scale) for scale in (LABORATORY, FIELD)]
        used += [fact for each in found for fact in each.facts]
        sentences.append(
            f"A {words} of {percent(loss)} is class {found[0].word} by the limits for the laboratory "
            f"({_range(found[0])}) and class {found[1].word} by those for the field ({_range(found[1])}); both are "
            "IOBC scales, and which one your figure is of stands beside it where you read it."
        )
    if row.residual_d is not None:
        lasting = persistence_class(facts, row.residual_d)
        used += lasting.facts
        sentences.append(
            f"Harm for {row.residual_d:g} d is class {lasting.word} of persistence ({_range(lasting)}; IOBC)."
        )
    return sentences, used


def _range(found: SideEffectClass) -> str:
    """Return the ends of a class; the lower one belongs to class 2 or B, and to no class above it."""
    scale, unit = (1.0, "d") if found.scale == PERSISTENCE else (100.0, "%")
    low = f"{scale * found.low:g}"
    if found.high is None:
        return f"over {low} {unit}"
    high = f"{scale * found.high:g} {unit}"
    if found.low == 0:
        return f"under {high}"
    return f"{low} to {high}" if found.word in ("2", "B") else f"over {low} to {high}"


def _clashes(
    snapshot: Snapshot,
    facts: Facts,
    farm: Farm,
    house: House,
    sprays: Sequence[Sprayed],
    walks: HouseWalks,
    now: datetime,
) -> list[Answer]:
    """Return where the sprays stand in the way of what is planned, or did of what was done."""
    if not sprays:
        return []
    zone = sprays[0].zone
    found: list[Answer] = []

    def clash(kind: str, day: Any, what: str, why: str) -> None:
        found.append({"house": house.house, "kind": kind, "date": str(day), "what": what, "why": why})

    for coming in on_the_way(snapshot, farm, house):
        name = f"{coming.number} {facts.species[coming.line.enemy].latin}"
        day = max(coming.release_date, now.date())
        held = release_hold(sprays, day)
        if held is not None:
            clash("release", day, f"Release no {name} here: another house, or a later day", held)
        for item in sprays:
            begins = item.row.start.astimezone(zone).date()
            if item.row.start > now and begins > day and item.row.kill_enemy_share != 0:
                why = f"{item.called} would meet them"
                clash(
                    "release",
                    day,
                    f"Release of {name}: move it behind the spray, or leave the spray out",
                    why,
                )
    last = walks.last
    due = now.date() if last is None else last.time.astimezone(zone).date() + timedelta(days=WALK_EVERY_D)
    day = max(due, now.date())
    clock = holding([item.clocks.reentry for item in sprays], day, zone)
    if clock is not None and (clock.until is None or clock.until > now):
        item = next(each for each in sprays if each.clocks.reentry == clock)
        until = clock.until
        when = "not before its label was read" if until is None else f"after {moment_words(until, zone)}"
        clash("walk", day, f"Walk {house.house} {when}", f"{item.called} keeps people out")
    lots = {lot.lot: lot for lot in snapshot.table(Lot)}
    for release in snapshot.table(Release):
        if (release.farm, release.house) != (farm.farm, house.house) or release.lot not in lots:
            continue
        for item in in_zone(sprays, release.zone):
            if _inside(item.clocks.release, release.time):
                name = f"{release.number} {facts.species[lots[release.lot].enemy].latin}"
                day = release.time.astimezone(zone).date()
                clash(
                    "released",
                    day,
                    f"{name} were released: count on fewer",
                    f"{item.called} may have harmed them",
                )
    for harvest in snapshot.table(Harvest):
        if (harvest.farm, harvest.house) != (farm.farm, house.house):
            continue
        for item in in_zone(sprays, harvest.zone):
            if _inside(item.clocks.picking, harvest.time):
                day = harvest.time.astimezone(zone).date()
                why = f"{item.called}: its wait was not over, or was not entered"
                clash(
                    "picked",
                    day,
                    f"Lot {harvest.lot_code} was picked: call the adviser or buyer before selling",
                    why,
                )
    return found


def _inside(clock: Clock, moment: datetime) -> bool:
    return clock.applies and clock.begins <= moment and (clock.until is None or moment < clock.until)


def _cautions(house: House, sprays: Sequence[Sprayed], now: datetime) -> list[str]:
    found = []
    for item in sprays:
        if item.clocks.lacks:
            found.append(
                f"{house.house}, {item.called}: not entered: {', '.join(item.clocks.lacks)}. Unknown counts as danger; "
                f"complete it with `outpace spray add {house.house!r} --spray {item.row.spray}`."
            )
        if item.clocks.bees.applies and item.clocks.bees.until is None:
            bees = "Bees are in" if house.bees_in else "Nobody told whether bees are in"
            found.append(f"{bees} {house.house}: hive closed or out, until when? It was not entered.")
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
        noun = "spray" if count == 1 else "sprays"
        return f"Read the label on {weekday(now.date())}: {count} {noun} planned, none under way."
    return f"Do nothing on {weekday(now.date())}: 0 of {len(sprays)} sprays hold a house back."


def _house_sentence(house: Answer, clock: str, sprays: Sequence[Answer], now: datetime) -> str:
    found, name = house[clock], house["house"]
    verb = {
        "reentry": f"Keep out of {name}",
        "picking": f"Pick nothing in {name}",
        "release": f"Release nothing in {name}",
        "bees": f"Keep the hive of {name} closed or out",
    }[clock]
    if found["state"] == UNKNOWN:
        open_ = [
            spray for spray in sprays if spray["house"] == name and spray["clocks"][clock]["state"] == UNKNOWN
        ]
        count = len(open_)
        noun = "spray" if count == 1 else "sprays"
        return f"{verb} and read the label on {weekday(now.date())}: {count} {noun} not fully entered."
    holding = sum(spray["house"] == name and spray["clocks"][clock]["state"] == RUNNING for spray in sprays)
    until = moment_words(datetime.fromisoformat(found["until"]), now.tzinfo)  # type: ignore[arg-type]
    return f"{verb} until {until}: {holding} {'spray holds' if holding == 1 else 'sprays hold'} it."


def _fact(row: Fact) -> Answer:
    return {
        "key": row.key,
        "value": row.value,
        "unit": row.unit,
        "source": row.cited,
        "evidence": row.evidence,
    }
