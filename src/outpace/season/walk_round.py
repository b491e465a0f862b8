"""Which houses to walk in the minutes there are: in full, by a glance, or not yet, and until when that may wait."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import ceil
from typing import Any

from outpace.estimation.staleness import LOOK_PLANTS, NO_VERDICT_D, days_until_grown
from outpace.estimation.verdict import HOLDING, LOSING, binding
from outpace.facts.table import Facts, load, weakest
from outpace.language import say, to_say
from outpace.planning.delivery_calendar import slots
from outpace.season.judged import house_verdicts
from outpace.season.names import houses_of, pick_farm, zone_of_farm
from outpace.season.observed import walks_of
from outpace.season.offers import DELIVERIES_AHEAD_D, packs_in_force
from outpace.season.outlook import Outlook, outlook
from outpace.season.rhythm import WALK_EVERY_D
from outpace.season.sampled import look_minutes
from outpace.season.walk_plan import house_rules
from outpace.season.words import percent, weekday
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]
Progress = Callable[[str], None]

UNSURE = 0.2
"""Spare minutes are offered to houses of which so much doubt is left."""
FULL, GLANCE, WAIT, NO_TIME = "full", "glance", "wait", "no time"
FIRST = {
    FULL: to_say("Walk {house} first on {today}{more}: about {total} minutes."),
    GLANCE: to_say("Glance at {house} first on {today}{more}: about {total} minutes."),
}


@dataclass(frozen=True)
class _Stood:
    """How a house stands before the walk, and what a walk there would take."""

    house: House
    age_d: int | None
    word: str | None
    ends_well: float | None
    doubt: float
    fresh_until: date | None
    due: date
    want: str
    why: str
    glance_plants: int
    full_plants: float
    most_plants: int
    per_plant: float

    @property
    def glance_minutes(self) -> int:
        return ceil(self.glance_plants * self.per_plant)

    @property
    def full_minutes(self) -> int:
        return ceil(self.full_plants * self.per_plant)


@dataclass(frozen=True)
class Weighed:
    """The houses of a farm, the one where a walk can change most first; minutes are not shared out yet."""

    farm: str
    now: datetime
    cutoff: datetime | None
    per_plant: float
    stood: tuple[_Stood, ...]
    evidence_weakest: str


def walk_round(
    snapshot: Snapshot,
    *,
    farm: str | None = None,
    minutes: float | None = None,
    facts: Facts | None = None,
    progress: Progress | None = None,
) -> Answer:
    """Return which houses to walk, as the answer ``outpace.walkround/1``.

    Parameters
    ----------
    minutes : float, optional
        For all houses together; left out, as many as it takes.
    """
    return share_minutes(weigh_houses(snapshot, farm=farm, facts=facts, progress=progress), minutes)


def weigh_houses(
    snapshot: Snapshot,
    *,
    farm: str | None = None,
    facts: Facts | None = None,
    progress: Progress | None = None,
) -> Weighed:
    """Return how the houses stand before a walk, which takes a refit of each."""
    there = pick_farm(snapshot, farm)
    known = facts or load()
    now = snapshot.as_of.astimezone(zone_of_farm(there))
    houses = houses_of(snapshot, there)
    per_plant = look_minutes(known, [walks_of(snapshot, there, house, house.planted) for house in houses])
    cutoff = _next_cutoff(snapshot, now)
    stood = []
    for house in houses:
        if progress:
            progress(say("weighing {house}", house=house.house))
        found = outlook(snapshot, there, house, facts=facts)
        stood.append(_stand(snapshot, known, there, found, cutoff, per_plant.used))
    stood.sort(key=lambda one: (one.want == WAIT, -one.doubt * one.house.area_m2, one.house.house))
    used = [known.one("", name) for name in ("look_minutes", "density_before_walk", "stop_error")]
    return Weighed(there.farm, now, cutoff, per_plant.used, tuple(stood), weakest(used))


def share_minutes(weighed: Weighed, minutes: float | None) -> Answer:
    """Return the answer ``outpace.walkround/1`` for so many minutes; None: as many as it takes.

    Minutes go to the houses where a walk can change most: the chance that what is held of the house is wrong, times
    its area. A look is opened in as many houses as can be before any of them is walked in full.
    """
    today = weighed.now.date()
    given = _share_out(weighed.stood, minutes)
    rows = [_row(one, given[one.house.house], today) for one in weighed.stood]
    answer: Answer = {
        "schema": "outpace.walkround/1",
        "farm": weighed.farm,
        "as_of": weighed.now.isoformat(timespec="seconds"),
        "minutes": minutes,
        "minutes_planned": sum(row["minutes"] for row in rows),
        "minutes_per_plant": weighed.per_plant,
        "next_cutoff": None if weighed.cutoff is None else weighed.cutoff.isoformat(timespec="minutes"),
        "houses": rows,
        "evidence_weakest": weighed.evidence_weakest,
        "cautions": _cautions(rows, minutes),
    }
    answer["sentence"] = _sentence(rows, today, minutes)
    return answer


def _next_cutoff(snapshot: Snapshot, now: datetime) -> datetime | None:
    local = now.replace(tzinfo=None)
    until = now.date() + timedelta(days=DELIVERIES_AHEAD_D)
    ahead = [
        slot.cutoff
        for pack in packs_in_force(snapshot, now.date())
        for slot in slots(pack, local, until)
        if slot.cutoff >= local
    ]
    return min(ahead, default=None)


def _stand(
    snapshot: Snapshot, facts: Facts, farm: Farm, found: Outlook, cutoff: datetime | None, per_plant: float
) -> _Stood:
    case = found.case
    rules = house_rules(snapshot, facts, farm, case.house, case.model.pests[0])
    today = case.day
    word: str | None = None
    ends_well: float | None = None
    doubt = 0.5
    if not found.stale:
        bound = binding(house_verdicts(found)[1])
        word, ends_well = bound.word, bound.ends_well
        doubt = min(bound.ends_well, 1 - bound.ends_well)
    fresh_until, due = None, today
    if found.age_d is not None:
        walked = today - timedelta(days=found.age_d)
        start = max(0, case.today - found.age_d)
        grown = days_until_grown(
            case.model,
            found.posterior.parameters,
            case.temperature.hours,
            from_day=start,
            pest=0,
            seed=case.seed,
        )
        fresh_until = walked + timedelta(days=min(grown, NO_VERDICT_D))
        due = min(walked + timedelta(days=WALK_EVERY_D), fresh_until)
    want, why, due = _wanted(found.age_d, found.stale, word, ends_well, fresh_until, due, today, cutoff)
    return _Stood(
        house=case.house,
        age_d=found.age_d,
        word=word,
        ends_well=ends_well,
        doubt=doubt,
        fresh_until=fresh_until,
        due=due,
        want=want,
        why=why,
        glance_plants=min(LOOK_PLANTS, case.house.plants),
        full_plants=max(rules.mean_looks[0], float(rules.least)),
        most_plants=rules.most,
        per_plant=per_plant,
    )


def _wanted(
    age_d: int | None,
    stale: bool,
    word: str | None,
    ends_well: float | None,
    fresh_until: date | None,
    due: date,
    today: date,
    cutoff: datetime | None,
) -> tuple[str, str, date]:
    """Return how a house is to be walked, why, and by which day at the latest."""
    if age_d is None or fresh_until is None or ends_well is None:
        told = (
            say("no walk yet")
            if age_d is None
            else say("the last walk is {age_d} days old: no verdict from it", age_d=age_d)
        )
        return FULL, told, today
    chance = say("{word}, {ends_well} chance to end well", word=say(word or ""), ends_well=percent(ends_well))
    order_by = cutoff.date() if cutoff is not None else None
    before_order = (
        word != HOLDING and age_d > 1 and order_by is not None and order_by < due + timedelta(days=1)
    )
    if before_order and order_by is not None:
        return (
            FULL,
            say("{chance}, and the order closes on {order_by}", chance=chance, order_by=weekday(order_by)),
            max(today, min(order_by, due)),
        )
    if due > today:
        return WAIT, chance, due
    if word == HOLDING:
        return (
            GLANCE,
            say(
                "{chance}; the aphid can have grown four-fold since {age_d} days ago",
                chance=chance,
                age_d=age_d,
            ),
            today,
        )
    return FULL, say("{chance}; last walked {age_d} days ago", chance=chance, age_d=age_d), today


def _share_out(stood: Sequence[_Stood], minutes: float | None) -> dict[str, str]:
    """Return what each house gets: first a glance where one is due, then in full, the weightiest first."""
    left = float("inf") if minutes is None else float(minutes)
    given = {one.house.house: WAIT if one.want == WAIT else NO_TIME for one in stood}
    asked = [one for one in stood if one.want != WAIT]
    for one in asked:
        if one.glance_minutes <= left:
            given[one.house.house] = GLANCE
            left -= one.glance_minutes
    for one in asked:
        more = one.full_minutes - one.glance_minutes
        if one.want == FULL and given[one.house.house] == GLANCE and more <= left:
            given[one.house.house] = FULL
            left -= max(more, 0)
    return given


def _row(one: _Stood, given: str, today: date) -> Answer:
    minutes = {FULL: max(one.full_minutes, one.glance_minutes), GLANCE: one.glance_minutes}.get(given, 0)
    plants = {FULL: ceil(one.full_plants), GLANCE: one.glance_plants}.get(given, 0)
    by = one.due
    if given == NO_TIME and one.fresh_until is not None:
        by = max(today, one.fresh_until)
    return {
        "house": one.house.house,
        "look": given,
        "wanted": one.want,
        "plants": plants,
        "most_plants": one.most_plants if given == FULL else plants,
        "minutes": minutes,
        "by": str(by),
        "fresh_until": None if one.fresh_until is None else str(one.fresh_until),
        "age_d": one.age_d,
        "verdict": one.word,
        "ends_well": None if one.ends_well is None else round(one.ends_well, 3),
        "doubt": round(one.doubt, 3),
        "why": one.why,
    }


def _sentence(rows: list[Answer], today: date, minutes: float | None) -> str:
    walked = [row for row in rows if row["look"] in (FULL, GLANCE)]
    if walked:
        first = walked[0]
        more = say(", then {walked} more", walked=len(walked) - 1) if len(walked) > 1 else ""
        total = sum(row["minutes"] for row in walked)
        return say(
            FIRST[first["look"]],
            house=first["house"],
            today=weekday(today),
            more=more,
            total=total,
        )
    lost = [row for row in rows if row["look"] == NO_TIME]
    if lost:
        return say(
            "Find {minutes} minutes or more for {house} by {by}.",
            minutes=ceil(minutes or 0) + 1,
            house=lost[0]["house"],
            by=weekday(lost[0]["by"]),
        )
    if not rows:
        return say("Add a first house today: `outpace house NAME`.")
    first = min(rows, key=lambda row: (row["by"], row["house"]))
    all_wait = say("the 1 house there is") if len(rows) == 1 else say("all {rows} houses", rows=len(rows))
    return say(
        "Wait until {by}, then walk {house}: till then {all_wait} may wait.",
        by=weekday(first["by"]),
        house=first["house"],
        all_wait=all_wait,
    )


def _cautions(rows: list[Answer], minutes: float | None) -> list[str]:
    told = [say("Minutes are for looking at plants; the way from house to house comes on top")]
    lost = [row["house"] for row in rows if row["look"] == NO_TIME]
    if lost and minutes is not None:
        told.append(
            say(
                "No time is left for {lost}: what is held of them ages, and at ten days it closes",
                lost=", ".join(lost),
            )
        )
    if any(row["look"] == GLANCE and row["wanted"] == FULL for row in rows):
        told.append(say("A glance opens the forecast again; it seldom decides between acting and waiting"))
    spare = [row for row in rows if row["look"] == WAIT and row["age_d"] and row["doubt"] >= UNSURE]
    left = None if minutes is None else minutes - sum(row["minutes"] for row in rows)
    if spare and left is not None and not lost and left >= 1:
        best = max(spare, key=lambda row: float(row["doubt"]))
        told.append(
            say(
                "{left:.0f} minutes are left: a walk today changes most in {house}, {why}",
                left=left,
                house=best["house"],
                why=best["why"],
            )
        )
    losing = [row["house"] for row in rows if row["look"] == WAIT and row["verdict"] == LOSING]
    if losing:
        told.append(
            say("Losing already, and no walk changes that: act in {losing}", losing=", ".join(losing))
        )
    return told
