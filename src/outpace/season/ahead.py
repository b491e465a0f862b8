"""The forecast of one house with its verdict, reasons and tasks."""

from __future__ import annotations

import dataclasses
import re
from datetime import date, datetime, time, timedelta
from typing import Any

import numpy as np

from outpace.estimation.bands import HOUSE
from outpace.facts.table import Fact, Facts, weakest
from outpace.language import long_date, say, week_number, week_start, week_year
from outpace.season.case import WHOLE_HOUSE, HouseCase
from outpace.season.evidence import digest_of, only
from outpace.season.house_sentence import sentence_of
from outpace.season.hyper_signs import caution as hyper_caution
from outpace.season.judged import Judged, judge_house
from outpace.season.lag import lag
from outpace.season.names import pick_farm, pick_house
from outpace.season.next_look import next_look
from outpace.season.observed import means_by_walk
from outpace.season.outlook import Outlook, outlook
from outpace.season.parasitism import parasitism, parasitism_facts
from outpace.season.studied import house_cautions
from outpace.season.tasks import house_tasks
from outpace.season.temperature import daily_maxima
from outpace.season.worked_out import once_from
from outpace.season.wrong_enemies import wrong_enemies
from outpace.terms.enemies import Check, Lot, Release
from outpace.terms.place import CropStage
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import OwnFact

Answer = dict[str, Any]

SCENARIO_FROM_D = 21


def ahead(
    snapshot: Snapshot,
    house: str,
    *,
    farm: str | None = None,
    facts: Facts | None = None,
    days: int = 28,
) -> Answer:
    """Return the forecast of one house as the answer ``outpace.ahead/1``.

    Parameters
    ----------
    days : int
        Days shown; those past the 21st are a scenario.
    """
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    found = outlook(snapshot, there, place, facts=facts)
    case = found.case
    at_midnight = as_at_midnight(found)

    def work() -> Answer:
        return _told(at_midnight, days)

    if facts is None:
        told = once_from("ahead", digest_of(found.digest, at_midnight.case.snapshot.rows, days), work)
    else:
        told = work()
    tasks = house_tasks(found, told["four_fold_d"], told["mummies_from"])
    answer: Answer = {
        "schema": "outpace.ahead/1",
        "farm": there.farm,
        "house": place.house,
        "crop": place.crop,
        "week": _week(case.day),
        "as_of": case.now.isoformat(timespec="seconds"),
        **{name: value for name, value in told.items() if name != "four_fold_d"},
        "tasks": tasks,
    }
    answer["sentence"] = sentence_of(answer, tasks)
    return answer


def as_at_midnight(found: Outlook) -> Outlook:
    """Return a house as it stands at the midnight that begins its day, with the rows alone that its forecast reads.

    So the same forecast stands all day while nothing new is known of the house.
    """
    case = found.case
    now = datetime.combine(case.day, time(), tzinfo=case.now.tzinfo)
    seen = only(case.snapshot, case.farm, case.house, (CropStage, Lot, Check, Release, OwnFact), now)
    return found.of(dataclasses.replace(case, now=now, snapshot=seen))


def _told(found: Outlook, days: int) -> Answer:
    """Return what the forecast of a house says, tasks left out: they hang on the hour."""
    case = found.case
    judged = judge_house(found) if case.rows.last is not None else None
    open_ = judged is not None and not found.stale
    local = {walk.walk: str(walk.time.astimezone(case.now.tzinfo).date()) for walk in case.rows.walks}
    looks = _first_mummies(case)
    used = list(dict.fromkeys([*found.posterior.facts, *case.let_go.facts, *parasitism_facts(found)]))
    return {
        "data_age_d": found.age_d,
        "verdict": _verdict(judged, case) if judged is not None and open_ else _no_verdict(found),
        "binding": _binding(judged, case) if judged is not None and open_ else None,
        "pests": _pests(judged, case, days) if judged is not None and open_ else [],
        "next_look": next_look(found, judged, looks) if judged is not None and open_ else None,
        "learned": _learned(found),
        "walks": means_by_walk(case.rows, case.model.pests, local),
        "releases": [_release(row, case) for row in case.let_go.told],
        "past": _past(found),
        "heat_days": _heat_days(case, days),
        "scenario_from": str(case.date_of(case.today + SCENARIO_FROM_D)),
        "stale": _stale(judged),
        "mummies_from": looks,
        "parasitism": parasitism(found) if case.rows.last is not None else None,
        "temperature": case.temperature.told,
        "evidence_weakest": weakest(used),
        "facts": [_fact(fact) for fact in used],
        "cautions": _cautions(found, days),
        "four_fold_d": judged.four_fold_d if judged else 7,
    }


def _verdict(judged: Judged, case: HouseCase) -> Answer:
    bound = judged.bound
    until = bound.above_until
    word = bound.word
    note = "; ".join(bound.remarks)
    if until is not None:
        day = case.date_of(until)
        note = "; ".join(
            part
            for part in (say("Holding, still above your level until about {day}", day=long_date(day)), note)
            if part
        )
    return {
        "word": word,
        "stays_below": round(bound.stays_below, 3),
        "ends_well": round(bound.ends_well, 3),
        "horizon_d": bound.horizon_d,
        "reasons": [reason.text for reason in judged.reasons],
        "above_until": None if until is None else str(case.date_of(until)),
        "note": note or None,
    }


def _no_verdict(found: Outlook) -> Answer:
    if found.age_d is None:
        why = say("no walk yet: look at 20 plants and write down also the clean ones")
    else:
        why = say(
            "the last walk is {age_d} days old; look at 10 plants to open the forecast again",
            age_d=found.age_d,
        )
    return {
        "word": None,
        "stays_below": None,
        "ends_well": None,
        "horizon_d": None,
        "reasons": [why],
        "above_until": None,
        "note": None,
    }


def _binding(judged: Judged, case: HouseCase) -> Answer:
    level = judged.bound.level
    return {"pest": case.model.pests[level.pest], "zone": zone_name(case, level.zone)}


def zone_name(case: HouseCase, zone: int) -> str:
    """Return the name of a zone by its index, or of the whole house."""
    return WHOLE_HOUSE if zone == HOUSE else case.zones[zone]


def _pests(judged: Judged, case: HouseCase, days: int) -> list[Answer]:
    told = []
    for verdict in judged.verdicts:
        level = verdict.level
        enemies = tuple(e for p, e in judged.ahead.parameters.substages.pairs if p == level.pest)
        live = judged.ahead.quantiles(level.pest, level.zone, level.unit)
        closed = (
            judged.ahead.mummy_quantiles(enemies, level.zone, level.unit) if enemies else np.zeros_like(live)
        )
        above = judged.ahead.chance_above(level.level, level.pest, level.zone, level.unit)
        told.append(
            {
                "pest": case.model.pests[level.pest],
                "zone": zone_name(case, level.zone),
                "unit": level.unit,
                "action_level": level.level,
                "now_by_unit": {
                    unit: band_told(judged.ahead.quantiles(level.pest, level.zone, unit)[0])
                    for unit in ("leaf", "shoot", "plant", "m2")
                },
                "days": [
                    {
                        "date": str(case.date_of(case.today + d)),
                        "aphids": band_told(live[d]),
                        "mummies_closed": band_told(closed[d]),
                        "chance_above_that_day": round(float(above[d]), 3),
                    }
                    for d in range(min(days, judged.ahead.days) + 1)
                ],
                "chance_ever_above": round(
                    judged.ahead.chance_ever_above(
                        level.level,
                        level.pest,
                        level.zone,
                        level.unit,
                        to_day=case.today + min(days, judged.ahead.days),
                    ),
                    3,
                ),
            }
        )
    return told


def band_told(quantiles: Any) -> dict[str, float]:
    """Return five quantiles by their names, to three figures."""
    names = ("q05", "q25", "q50", "q75", "q95")
    return {name: float(f"{value:.3g}") for name, value in zip(names, quantiles, strict=True)}


def _past(found: Outlook) -> list[Answer]:
    case, past = found.case, found.posterior.past
    told = []
    for pest, level in enumerate(case.levels):
        bands = past.quantiles(pest, unit=level.unit)
        told.append(
            {
                "pest": case.model.pests[pest],
                "zone": WHOLE_HOUSE,
                "days": [
                    {"date": str(case.date_of(past.first_day + d)), **band_told(bands[d])}
                    for d in range(len(bands))
                ],
            }
        )
    return told


def _learned(found: Outlook) -> dict[str, float]:
    pests = found.case.model.pests
    if len(pests) == 1:
        return {name: round(share, 2) for name, share in found.posterior.learned_of(pests[0]).items()}
    return {name: round(share, 2) for name, share in found.posterior.learned.items()}


def _release(row: dict[str, Any], case: HouseCase) -> dict[str, Any]:
    matches = [case.facts.find(row["enemy"], "host_match", other_species=pest) for pest in case.model.pests]
    if case.found and all(m is not None and m.value <= 0 for m in matches):
        pests = " or ".join(case.facts.species[pest].latin for pest in case.model.pests)
        return {**row, "note": say("does not accept {pests}", pests=pests)}
    return row


def _heat_days(case: HouseCase, days: int) -> list[Answer]:
    caution = case.facts.one("", "heat_caution").value
    hours = case.temperature.mean[case.today * 24 : (case.today + days) * 24]
    maxima = daily_maxima(np.asarray(hours), case.day)
    return [{"date": str(day), "max": round(top, 1)} for day, top in maxima.items() if top >= caution]


def _stale(judged: Judged | None) -> Answer | None:
    if judged is None or judged.stale is None or not judged.stale.warn:
        return None
    return {
        "days": round(judged.stale.days, 1),
        "times_grown": round(judged.stale.times_grown, 1),
        "message": judged.stale.message,
    }


def _first_mummies(case: HouseCase) -> dict[str, str] | None:
    """Return when mummies of the last release that can have any may first be seen, and when their absence counts."""
    for row in reversed(case.let_go.told):
        if row["note"] == "on its way":
            continue
        for pest in case.model.pests:
            match = case.facts.find(row["enemy"], "host_match", other_species=pest)
            if match is None or match.value <= 0:
                continue
            day = date.fromisoformat(row["date"])
            start = int(case.day_of(day)) * 24
            hours = case.temperature.mean[start:]
            told = lag(
                row["enemy"],
                pest,
                day,
                hourly=[float(value) for value in hours],
                temperature_source="house",
                form=row["form"],
                facts=case.facts,
                crop=case.model.crop or None,
            )
            if told["first_look"] and told["absence_means_something"]:
                return {
                    "earliest": told["first_look"]["date"],
                    "latest": told["absence_means_something"]["date"],
                }
    return None


def _cautions(found: Outlook, days: int) -> list[str]:
    case = found.case
    rescued = [
        re.sub(say("day {number}", number=r"(\d+)"), lambda day: long_date(case.date_of(int(day[1]))), line)
        for line in found.posterior.rescued
    ]
    beyond = house_cautions(case, days)
    told = [*wrong_enemies(case), *case.cautions, *case.temperature.cautions, *beyond, *rescued]
    for pest, level in zip(case.model.pests, case.levels, strict=True):
        if not level.told:
            told.append(
                say(
                    "No action level set for {latin}: {value:g} per {unit} is provisional, common "
                    "practice, yours to change",
                    latin=case.facts.species[pest].latin or say("this aphid"),
                    value=level.value,
                    unit=level.unit,
                )
            )
        if pest == "unknown_aphid":
            told.append(say("The aphid was not named: it grows as your counts say, and no wasp is promised"))
    if len(case.zones) > 1:
        told.append(
            say("Each zone is told by itself; the plan's chance is that any of them goes above your level")
        )
    if not case.let_go.told and _mummies_seen(case):
        told.append(
            say("Mummies were seen but no release is on record: the wasps they hold are not in the forecast")
        )
    if not case.found:
        told.append(say("Nothing found so far: `nofinds` says what that excludes"))
    if case.hyper_share is not None:
        told.append(hyper_caution(case.signs, case.hyper_share))
    if _heat_days(case, days):
        told.append(say("Heat ahead: early hours, water, a partner; do not hang carriers in the sun"))
    if case.house.virus_sensitive:
        told.append(say("Insects do not stop virus in time: clean plants, screens, take out sick plants"))
    if case.house.bees_in:
        told.append(
            say(
                "Bees are in the house: before any spray, close the hive or take it out, and write until when"
            )
        )
    return list(dict.fromkeys(told))


def _mummies_seen(case: HouseCase) -> bool:
    by_unit = (row.closed for rows in case.rows.mummies.values() for row in rows)
    by_line = (line.mummies_about for lines in case.rows.lines.values() for line in lines)
    return any(by_unit) or any(by_line)


def _fact(fact: Fact) -> Answer:
    return {
        "key": fact.key,
        "value": fact.value,
        "unit": fact.unit,
        "source": fact.cited,
        "evidence": fact.evidence,
    }


def _week(day: date) -> str:
    first = week_start(day)
    last = first + timedelta(days=6)
    start = str(first.day) if first.month == last.month else long_date(first)
    year = week_year(day)
    return say(
        "{year}-W{week:02d}, {start} to {sunday}",
        year=str(year),
        week=week_number(day),
        start=start,
        sunday=long_date(last),
    )
