"""When to stop releasing in a house, and what the edges of its season ask for."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import numpy as np

from outpace.facts.table import Fact, Facts, weakest
from outpace.language import say, to_say
from outpace.planning.course import fate
from outpace.season.hyper_signs import HOLES_COUNT_D
from outpace.season.lag import lag
from outpace.season.leaf_crops import EATEN_AS_LEAVES
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm
from outpace.season.observed import means_by_walk, ragged_holes
from outpace.season.outlook import Outlook, for_planning, outlook
from outpace.season.season_edges import checked, edge_tasks
from outpace.season.studied import house_cautions
from outpace.season.tasks import PLANTS
from outpace.season.words import percent, weekday
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]

GO_ON, STOP, STOP_WASPS, TOO_LATE, OPEN = "go on", "stop", "stop wasps", "too late", "not judged"
JUDGED_D = 28
"""Days ahead over which the risk without another release is judged."""
WELL = 0.8
"""Chance to end well from which a house may be left to what is in it, as the verdict Holding asks."""
WORDS = {
    GO_ON: to_say("go on where the plan says so"),
    STOP: to_say("stop releasing, and keep walking"),
    STOP_WASPS: to_say("stop releasing wasps"),
    TOO_LATE: to_say("stop releasing: the crop goes out before a release can act"),
    OPEN: to_say("walk first"),
}


def edges(
    snapshot: Snapshot,
    house: str | None = None,
    *,
    farm: str | None = None,
    facts: Facts | None = None,
    planting: date | None = None,
    end: date | None = None,
) -> Answer:
    """Return when to stop and the dated checklists, of one house or each, as the answer ``outpace.edges/1``.

    Parameters
    ----------
    planting, end : date, optional
        Instead of the days the book holds, for a crop that is planned.
    """
    there = pick_farm(snapshot, farm)
    places = (pick_house(snapshot, there, house),) if house else houses_of(snapshot, there)
    used: list[Fact] = []
    beyond: list[str] = []
    rows = [_house(snapshot, there, place, facts, planting, end, used, beyond) for place in places]
    return {
        "schema": "outpace.edges/1",
        "as_of": snapshot.as_of.astimezone(zone_of_farm(there)).isoformat(timespec="seconds"),
        "farm": there.farm,
        "sentence": _sentence(rows, snapshot.as_of.astimezone(zone_of_farm(there)).date()),
        "houses": rows,
        "evidence_weakest": weakest(used),
        "cautions": [
            say("Stopping early is the classic error: no single sign decides, and walks go on."),
            say("Lists are the trade's; local rules on waste, water and disinfectants come first."),
            *beyond,
        ],
    }


def _house(
    snapshot: Snapshot,
    farm: Farm,
    house: House,
    facts: Facts | None,
    planting: date | None,
    end: date | None,
    used: list[Fact],
    beyond: list[str],
) -> Answer:
    found = outlook(snapshot, farm, house, facts=facts)
    beyond += [f"{house.house}: {line}" for line in house_cautions(found.case, JUDGED_D)]
    planted, ends = planting or house.planted, end or house.removed
    tasks = edge_tasks(snapshot, found.case.facts, farm, house, planting=planted, end=ends)
    used += [item.fact for item in tasks]
    return {
        "house": house.house,
        "crop": house.crop,
        "planted": None if planted is None else str(planted),
        "ends": None if ends is None else str(ends),
        "releases": _releases(found, ends, used),
        "tasks": [
            {
                "edge": item.edge,
                "day": str(item.day),
                "from": str(item.first),
                "to": str(item.last),
                "what": item.what,
                "why": item.why,
                "past": max(item.last, item.day) < found.case.day,
                "on_record": checked(snapshot, farm, house, item),
                "evidence": item.fact.evidence,
                "source": item.fact.cited,
            }
            for item in tasks
        ],
        "asks": [
            text
            for text, told in (
                (say("When is it planted? `outpace house NAME --planted DATE`"), planted),
                (
                    say("When does the crop go out? `outpace house NAME --removed DATE`, or `--end` here"),
                    ends,
                ),
            )
            if told is None
        ],
    }


def _releases(found: Outlook, ends: date | None, used: list[Fact]) -> Answer:
    """Return whether to go on releasing, each sign with whether it is met."""
    case = found.case
    ragged = _ragged(found, used)
    last_useful, lag_d = _last_useful(found, ends)
    answer: Answer = {
        "word": OPEN,
        "text": say(WORDS[OPEN]),
        "signs": [],
        "last_useful_release": None if last_useful is None else str(last_useful),
        "lag_d": lag_d,
        "chance_if_stopped": None,
        "look_again": str(case.day + timedelta(days=7)),
    }
    if case.rows.last is None or found.stale:
        return answer
    fared = fate(for_planning(found, JUDGED_D), [level.value for level in case.levels])
    risk = case.farm.risk if case.farm.risk is not None else case.facts.one("", "accepted_risk").value
    chance, well = fared.chance_ever_above, float(fared.ends_well.mean())
    signs = [
        _low_and_falling(found, used),
        _mummies_everywhere(found),
        {
            "sign": "risk over",
            "met": chance <= risk and well >= WELL,
            "text": say(
                "without another release: {chance} chance above your level in 28 days (you accept {risk}), {well} to "
                "end well",
                chance=percent(chance),
                risk=percent(risk),
                well=percent(well),
            ),
        },
        ragged,
    ]
    word = GO_ON
    if ragged["met"]:
        word = STOP_WASPS
    elif last_useful is not None and case.day > last_useful:
        word = TOO_LATE
    elif signs[0]["met"] and signs[1]["met"] is not False and signs[2]["met"]:
        word = STOP
    answer.update(word=word, text=say(WORDS[word]), signs=signs, chance_if_stopped=round(chance, 3))
    crop = case.facts.resolve_crop(case.house.crop) or case.house.crop
    if crop in EATEN_AS_LEAVES:
        answer["text"] += "; " + say("mummies are contaminants in a leaf crop: end wasps well before harvest")
    return answer


def _low_and_falling(found: Outlook, used: list[Fact]) -> Answer:
    """Return whether the last counts are low against the level and not rising."""
    case = found.case
    walks, low = case.facts.one("", "stop_walks"), case.facts.one("", "stop_over_level")
    used += [walks, low]
    need = round(walks.value)
    ratios = _over_level(found)[-need:]
    met = (
        len(ratios) >= need
        and all(ratio <= low.value for ratio in ratios)
        and all(after <= before for before, after in pairwise(ratios))
    )
    return {
        "sign": "low and falling",
        "met": met,
        "text": say(
            "last counts at {ratios} of your level; {need} on end at or under {low:.0%} and not rising are asked for",
            ratios=", ".join(f"{ratio:.0%}" for ratio in ratios) or say("no count"),
            need=need,
            low=low.value,
        ),
    }


def _over_level(found: Outlook) -> list[float]:
    """Return the mean of each walk that was not hunted over the level, the worst aphid of it, in the order of days.

    Where the walk looked at other units than the level counts in, the forecast's middle of that day stands in.
    """
    case, past = found.case, found.posterior.past
    local = {walk.walk: str(walk.time.astimezone(case.now.tzinfo).date()) for walk in case.rows.walks}
    by_day: dict[str, float] = {}
    for row in means_by_walk(case.rows, case.model.pests, local):
        if row["hunted"]:
            continue
        index = case.model.pests.index(str(row["pest"]))
        level, day = case.levels[index], str(row["date"])
        if row["unit"] == level.unit:
            mean = float(str(row["mean"]))
        else:
            at = max(0, min(int(case.day_of(date.fromisoformat(day))) - past.first_day, past.days))
            mean = float(np.median(past.live(index, unit=level.unit)[at]))
        by_day[day] = max(by_day.get(day, 0.0), mean / max(level.value, 1e-9))
    return [by_day[day] for day in sorted(by_day)]


def _mummies_everywhere(found: Outlook) -> Answer:
    """Return whether the last walk saw mummies, or their shells, in each zone in which it found aphids."""
    rows = found.case.rows
    last = rows.last
    counts = () if last is None else rows.counts.get(last.walk, ())
    lines = () if last is None else rows.lines.get(last.walk, ())
    infested = {row.zone for row in counts if row.aphids not in (None, "0")}
    zone_of = {row.unit_no: row.zone for row in counts}
    with_mummies = set()
    told = () if last is None else rows.mummies.get(last.walk, ())
    for row in told:
        seen = (row.closed or 0) + (row.empty_smooth or 0) + (row.empty_ragged or 0) + (row.empty_unread or 0)
        if seen:
            with_mummies.add(zone_of.get(row.unit_no))
    if lines and sum(line.infested for line in lines):
        infested |= {None}
    if any(line.mummies_about for line in lines):
        with_mummies |= {None}
    if not infested:
        return {
            "sign": "mummies everywhere",
            "met": None,
            "text": say("the last walk found no aphids to have mummies beside"),
        }
    missing = len(infested - with_mummies)
    return {
        "sign": "mummies everywhere",
        "met": missing == 0,
        "text": say(
            "mummies in {seen} of {all} zones in which the last walk found aphids",
            seen=len(infested) - missing,
            all=len(infested),
        ),
    }


def _ragged(found: Outlook, used: list[Fact]) -> Answer:
    case = found.case
    limit = case.facts.one("", "ragged_share_limit", stage="speaks against wasps")
    fewest = case.facts.one("", "ragged_holes_least", stage="speaks against wasps")
    used += [limit, fewest]
    looked, ragged = ragged_holes(case.rows, case.now - timedelta(days=HOLES_COUNT_D))
    met = None if looked < fewest.value else ragged / looked > limit.value
    return {
        "sign": "hyperparasitoids dominate",
        "met": met,
        "text": say(
            "{ragged} of {looked} empty tan mummies read in four weeks have a ragged hole; over {limit:.0%} of at "
            "least {fewest:g} speaks against more wasps",
            ragged=ragged,
            looked=looked,
            limit=limit.value,
            fewest=fewest.value,
        ),
    }


def _last_useful(found: Outlook, ends: date | None) -> tuple[date | None, int | None]:
    """Return the last day on which wasps let go still make mummies before the crop is out, and the days they take."""
    case = found.case
    if ends is None:
        return None, None
    pests = case.model.pests
    fitting = [
        (enemy, pest)
        for pest in pests
        for enemy in case.model.enemies
        if (row := case.facts.find(enemy, "host_match", other_species=pest)) is not None and row.value > 0
    ]
    if not fitting:
        return None, None
    degc = float(case.temperature.hours[case.today * 24 : (case.today + 28) * 24].mean())
    told = [
        lag(enemy, pest, case.day, temperature=degc, facts=case.facts)["first_mummies"]
        for enemy, pest in fitting
    ]
    days = [row["likely"]["days"] for row in told if row]
    if not days:
        return None, None
    return ends - timedelta(days=round(min(days))), round(min(days))


def _sentence(rows: Sequence[Answer], today: date) -> str:
    """Return one verb, one day, one number."""
    if not rows:
        return say("Add a first house: `outpace house NAME`.")
    order = (STOP_WASPS, TOO_LATE, STOP, GO_ON, OPEN)
    row = min(rows, key=lambda item: order.index(item["releases"]["word"]))
    told = row["releases"]
    if told["word"] == OPEN:
        return say(
            "Walk {n} plants in {house} on {day}: nothing can be said of stopping without a fresh count.",
            n=PLANTS,
            house=row["house"],
            day=weekday(today),
        )
    return say(
        "{house}: {what}; {chance} chance above your level without another release; look again on {day}.",
        house=row["house"],
        what=told["text"],
        chance=percent(told["chance_if_stopped"]),
        day=weekday(told["look_again"]),
    )
