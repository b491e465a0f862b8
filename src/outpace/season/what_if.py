"""What if it were warmer, or fewer wasps came: the forecast of one house with one thing otherwise, beside today's.

Nothing is recorded and no plan is made. Both forecasts meet the same members with the same luck, so they differ by what
was asked alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from outpace.errors import ExitCode, OutpaceError
from outpace.estimation.bands import Bands
from outpace.estimation.forecast import look_ahead
from outpace.estimation.verdict import Verdict, binding
from outpace.facts.table import Facts
from outpace.language import long_date, say, say_many
from outpace.measures import difference
from outpace.season.ahead import SCENARIO_FROM_D, band_told, zone_name
from outpace.season.case import LAID_OUT_D, HouseCase
from outpace.season.considered import Figures, considered
from outpace.season.judged import house_verdicts, verdicts_over
from outpace.season.names import pick_farm, pick_house
from outpace.season.offers import packs_in_force
from outpace.season.outlook import Outlook, outlook
from outpace.season.words import percent
from outpace.simulation.model import Release
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]

SHOWN_D = 28
MOST_DEGC = 10.0
MOST_LATER_D = 21
MOST_TIMES = 10.0
NINE = 9 / 24
"""What is let go on a day goes at nine in the morning."""
SAME_POINTS = 0.01
"""Chances nearer than this are told as the same."""


@dataclass(frozen=True, slots=True)
class Changes:
    """What is otherwise in a what-if.

    Parameters
    ----------
    warmer : float
        So much warmer from tomorrow's midnight on, colder below 0. [°C]
    times : float
        Of what is ordered or arrived and still to be let go: 0 is none of it, 2 twice as much.
    later_d : int
        So many days later it is let go. [d]
    enemy, number, on : optional
        Enemies let go beside it, and on which day; today where no day is told.
    spray : Figures, optional
        A spray of the whole house this evening; what is not told of it acts as danger.
    """

    warmer: float = 0.0
    times: float = 1.0
    later_d: int = 0
    enemy: str | None = None
    number: int | None = None
    on: date | None = None
    spray: Figures | None = None

    @property
    def any(self) -> bool:
        """Return whether anything is otherwise."""
        return self != Changes()


def what_if(
    snapshot: Snapshot,
    house: str,
    changes: Changes,
    *,
    farm: str | None = None,
    facts: Facts | None = None,
) -> Answer:
    """Return the forecast with something otherwise beside today's, as the answer ``outpace.whatif/1``.

    Raises
    ------
    OutpaceError
        If a change is out of its range, or names an enemy that is neither released, ordered nor on offer.
    """
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    found = outlook(snapshot, there, place, facts=facts)
    case = found.case
    _check(changes, case)
    answer: Answer = {
        "schema": "outpace.whatif/1",
        "farm": there.farm,
        "house": place.house,
        "as_of": case.now.isoformat(timespec="seconds"),
        "until": str(case.day + timedelta(days=SHOWN_D)),
        "scenario_from": str(case.date_of(case.today + SCENARIO_FROM_D)),
        "coming": sum(release.day >= case.today for release in case.let_go.releases),
        "enemies": [{"key": key, "latin": case.facts.species[key].latin} for key in case.model.agents],
        "changed": _changed(changes, case),
        "pests": [],
        "sentence": "",
        "cautions": [],
    }
    if case.rows.last is None or found.stale:
        answer["sentence"] = say(
            "Walk {house} on {day}: 10 plants, then it can be asked what would be otherwise.",
            house=place.house,
            day=long_date(case.day),
        )
        return answer
    now, verdicts = house_verdicts(found)
    then = _otherwise(found, changes) if changes.any else now
    # Over the same days as today's: a horizon that moved would change the question.
    judged = verdicts_over(
        case, then, [verdict.level for verdict in verdicts], [verdict.horizon_d for verdict in verdicts]
    )
    bound = binding(verdicts)
    order = sorted(range(len(verdicts)), key=lambda number: verdicts[number] is not bound)
    answer["pests"] = [_pest(case, (now, verdicts[n]), (then, judged[n])) for n in order]
    answer["sentence"] = _sentence(answer)
    answer["cautions"] = _cautions(changes, case, answer["coming"])
    return answer


def _check(changes: Changes, case: HouseCase) -> None:
    ranges = (
        ("warmer", changes.warmer, -MOST_DEGC, MOST_DEGC),
        ("times", changes.times, 0.0, MOST_TIMES),
        ("later", changes.later_d, 0, MOST_LATER_D),
    )
    for name, value, least, most in ranges:
        if not least <= value <= most:
            allowed = (
                say("{low} to {high}", low=difference(least), high=difference(most))
                if name == "warmer"
                else say("{low} to {high}", low=f"{least:g}", high=f"{most:g}")
            )
            raise OutpaceError(f"{value:g}", where=name, allowed=allowed, code=ExitCode.USAGE)
    if changes.number is not None and changes.number < 1:
        raise OutpaceError(
            str(changes.number), where="number", allowed=say("must be above 0"), code=ExitCode.USAGE
        )
    if changes.number is not None and changes.enemy not in case.model.agents:
        raise OutpaceError(
            say("no enemy is told") if changes.enemy is None else f"{changes.enemy!r}",
            where="enemy",
            allowed=say("one that was released or ordered here, or is on offer"),
            code=ExitCode.USAGE,
        )
    last = case.day + timedelta(days=SHOWN_D)
    if changes.on is not None and not case.day <= changes.on <= last:
        raise OutpaceError(
            str(changes.on),
            where="on",
            allowed=say("{low} to {high}", low=long_date(case.day), high=long_date(last)),
            code=ExitCode.USAGE,
        )


def _otherwise(found: Outlook, changes: Changes) -> Bands:
    case = found.case
    heat = case.temperature.hours.copy()
    heat[case.today * 24 :] += changes.warmer
    sprays = list(case.sprays)
    if changes.spray is not None:
        sprays.append(considered(case, changes.spray, "what if", found.posterior.members).drawn)
    releases = _releases(case, changes)
    return look_ahead(found.posterior, case.model, heat, releases, sprays, LAID_OUT_D)


def _releases(case: HouseCase, changes: Changes) -> list[Release]:
    told: list[Release] = []
    for release in case.let_go.releases:
        if release.day < case.today:
            told.append(release)
        elif changes.times > 0:
            later, number = release.day + changes.later_d, release.number * changes.times
            told.append(replace(release, day=later, number=number))
    if changes.number is not None and changes.enemy is not None:
        day = case.day_of(changes.on or case.day) + NINE
        shares = case.model.plants / case.model.plants.sum()
        told += [
            Release(
                day=day,
                enemy=case.model.agents.index(changes.enemy),
                zone=zone,
                number=changes.number * float(share),
                form=_form(case, changes.enemy),
            )
            for zone, share in enumerate(shares)
        ]
    return told


def _form(case: HouseCase, enemy: str) -> str:
    """Return in which form an enemy is on offer; of one that is not, what it comes as most often."""
    for pack in packs_in_force(case.snapshot, case.day):
        if pack.enemy == enemy:
            return pack.form
    return "mummies" if enemy in case.model.enemies else "larvae"


def _pest(case: HouseCase, now: tuple[Bands, Verdict], then: tuple[Bands, Verdict]) -> Answer:
    level = now[1].level

    def side(bands: Bands, verdict: Verdict) -> Answer:
        live = bands.quantiles(level.pest, level.zone, level.unit)
        above = bands.chance_above(level.level, level.pest, level.zone, level.unit)
        return {
            "chance_ever_above": round(
                bands.chance_ever_above(
                    level.level, level.pest, level.zone, level.unit, to_day=case.today + SHOWN_D
                ),
                3,
            ),
            "ends_well": round(verdict.ends_well, 3),
            "word": verdict.word,
            "days": [
                {
                    "date": str(case.date_of(case.today + day)),
                    "aphids": band_told(live[day]),
                    "chance_above_that_day": round(float(above[day]), 3),
                }
                for day in range(SHOWN_D + 1)
            ],
        }

    return {
        "pest": case.model.pests[level.pest],
        "zone": zone_name(case, level.zone),
        "unit": level.unit,
        "action_level": level.level,
        "horizon_d": now[1].horizon_d,
        "now": side(*now),
        "then": side(*then),
    }


def _changed(changes: Changes, case: HouseCase) -> list[str]:
    told: list[str] = []
    if changes.warmer:
        told.append(
            say("{degrees} warmer from today on", degrees=difference(changes.warmer))
            if changes.warmer > 0
            else say("{degrees} colder from today on", degrees=difference(-changes.warmer))
        )
    if changes.times == 0:
        told.append(say("nothing of what is on its way is let go"))
    elif changes.times != 1:
        told.append(say("{times:g} times what is on its way", times=changes.times))
    if changes.later_d and changes.times > 0:
        told.append(say_many("let go {n} day later", "let go {n} days later", changes.later_d))
    if changes.number is not None and changes.enemy is not None:
        told.append(
            say(
                "{number:,} {enemy} let go on {day}",
                number=changes.number,
                enemy=case.facts.species[changes.enemy].latin,
                day=long_date(changes.on or case.day),
            )
        )
    if changes.spray is not None:
        told.append(say("a spray of the whole house this evening"))
    return told


def _sentence(answer: Answer) -> str:
    first = answer["pests"][0]
    now, then = (first[side]["chance_ever_above"] for side in ("now", "then"))
    day = long_date(date.fromisoformat(answer["until"]))
    if not answer["changed"]:
        return say(
            "As things stand, the chance of passing your level by {day} is {now}.", day=day, now=percent(now)
        )
    if abs(then - now) < SAME_POINTS:
        return say("The chance of passing your level by {day} stays {then}.", day=day, then=percent(then))
    if then > now:
        return say(
            "The chance of passing your level by {day} rises from {now} to {then}.",
            day=day,
            now=percent(now),
            then=percent(then),
        )
    return say(
        "The chance of passing your level by {day} falls from {now} to {then}.",
        day=day,
        now=percent(now),
        then=percent(then),
    )


def _cautions(changes: Changes, case: HouseCase, coming: int) -> list[str]:
    told: list[str] = []
    if not coming and (changes.times != 1 or changes.later_d):
        told.append(say("Nothing is on its way to this house: more, less or later changes nothing"))
    if changes.spray is not None:
        lacks = changes.spray.lacks
        if lacks:
            told.append(
                say("Not told of the spray, so drawn over all it could be: {what}", what=", ".join(lacks))
            )
        told.append(
            say("The label comes first: re-entry, harvest, bees, ventilation. Not told means keep out.")
        )
    if changes.warmer:
        hottest = float(np.max(case.temperature.hours[case.today * 24 :].mean(axis=1))) + changes.warmer
        line = case.facts.one("", "heat_caution").value
        if hottest >= line:
            told.append(say("Heat ahead: early hours, water, a partner; do not hang carriers in the sun"))
    return told
