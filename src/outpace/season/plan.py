"""What to buy and let go: the least-cost plan of every house of a farm."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from outpace.facts.table import Fact, Facts, load, weakest
from outpace.language import say, to_say
from outpace.planning.candidates import Candidate, fitting_enemies
from outpace.planning.farm_plan import plan_farm
from outpace.planning.release_plan import HousePlan, house_plans
from outpace.season.farm_packs import Planned, cautions_of, rows_of
from outpace.season.leaf_crops import EATEN_AS_LEAVES
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm
from outpace.season.outlook import Outlook
from outpace.season.plan_asked import HORIZON_D, AskedHouse, ask
from outpace.season.plan_beside import (
    frontier_told,
    instead_told,
    rates_told,
    search_told,
    thumb_told,
    ties_told,
)
from outpace.season.sprayed import release_hold, sprays_of
from outpace.season.words import percent, weekday
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Permit

Answer = dict[str, Any]
Progress = Callable[[str], None]

NO_PACKS = to_say(
    "no packs are on offer; bring in a price list of your supplier with `outpace book import packs.csv`"
)
TODAY = (
    to_say("Squash or wipe off the colonies that are in reach"),
    to_say("Pinch out and bag the worst tips, and carry the bag out of the house"),
    to_say("Take out single plants that are covered, in a closed bag"),
    to_say("Shut the door to the clean bays, and walk those first"),
)
"""Deeds that need no delivery; common practice, no source."""


def plan(
    snapshot: Snapshot,
    *,
    farm: str | None = None,
    facts: Facts | None = None,
    houses: Sequence[str] | None = None,
    budget: float | None = None,
    below_published: bool = False,
    others: bool = True,
    progress: Progress | None = None,
) -> Answer:
    """Return the plan of a farm as the answer ``outpace.plan/1``.

    Parameters
    ----------
    houses : sequence of str, optional
        Only these.
    budget : float, optional
        Most that the plan may cost, labour included. [farm's money]
    below_published : bool, default False
        Allow releases below the lowest published rate before the farm's own walks have taught enough.
    others : bool, default True
        Whether to reckon what else could be done: cheaper and dearer plans, waiting, the rule of thumb.
    progress : callable, optional
        Told of each house as it is begun.
    """
    there = pick_farm(snapshot, farm)
    chosen = [pick_house(snapshot, there, name) for name in houses] if houses else houses_of(snapshot, there)
    answer: Answer = {
        "schema": "outpace.plan/1",
        "as_of": snapshot.as_of.astimezone(zone_of_farm(there)).isoformat(timespec="seconds"),
        "farm": there.farm,
        "horizon_d": HORIZON_D,
        "decisions": [],
        "cost": {"packs": 0.0, "freight": 0.0, "labour": 0.0, "currency": there.currency},
        "chance_ever_above": {},
        "not_preventable": {},
        "infeasible": [],
        "frontier": [],
        "waiting": [],
        "ties": [],
        "instead": [],
        "rule_of_thumb": {},
        "rates": [],
        "search": {},
        "scenario": [],
        "below_published": below_published,
        "cautions": [],
    }
    used: list[Fact] = []
    asked: list[AskedHouse] = []
    for house in chosen:
        if progress:
            progress(say("planning {house}", house=house.house))
        item = ask(snapshot, there, house, facts=facts, below_published=below_published)
        if item is None:
            answer["waiting"].append(
                {
                    "house": house.house,
                    "why": say("no walk yet: nothing to plan from"),
                    "look_again": str(snapshot.as_of.astimezone(zone_of_farm(there)).date()),
                }
            )
            continue
        asked.append(item)
    if asked:
        _add_farm(answer, snapshot, there, asked, budget, others=others)
        used += [fact for item in asked for fact in item.used]
    for part in ("packs", "freight", "labour"):
        answer["cost"][part] = round(answer["cost"][part], 2)
    answer["decisions"].sort(key=lambda d: (d["delivery_date"], d["house"], d["enemy"]))
    answer["evidence_weakest"] = weakest(used)
    answer["facts"] = [
        {"key": f.key, "value": f.value, "unit": f.unit, "source": f.cited, "evidence": f.evidence}
        for f in dict.fromkeys(used)
    ]
    answer["cautions"] = list(dict.fromkeys([*answer["cautions"], *_care(answer, snapshot, there, facts)]))
    answer["sentence"] = _sentence(answer)
    return answer


def _add_farm(
    answer: Answer,
    snapshot: Snapshot,
    farm: Farm,
    asked: Sequence[AskedHouse],
    budget: float | None,
    *,
    others: bool,
) -> None:
    found = plan_farm([item.asked for item in asked], budget=budget)
    planned = [
        Planned(item.found, done) for item, done in zip(asked, house_plans(found, others=others), strict=True)
    ]
    answer["decisions"] = rows_of(found, planned, HORIZON_D)
    answer["cost"].update(packs=found.pooled.goods, freight=found.pooled.freight, labour=found.labour)
    answer["cost"]["labour_h"] = round(
        sum(
            hours
            for item in planned
            for hours in {
                offer.day: offer.hours
                for offer, count in zip(item.done.offers, item.done.counts, strict=True)
                if count
            }.values()
        ),
        2,
    )
    answer["search"] = search_told(found, planned)
    answer["rates"] = rates_told(asked[0].found.case.facts)
    for item, part, candidate in zip(asked, planned, found.candidates, strict=True):
        house, done, case = item.found.case.house, part.done, item.found.case
        answer["chance_ever_above"][house.house] = round(done.chance_above, 3)
        answer["not_preventable"][house.house] = round(done.not_preventable, 3)
        if item.found.stale:
            answer["scenario"].append(
                say(
                    "{house}: scenario, not from your counts: the last walk is {age_d} days old",
                    house=house.house,
                    age_d=item.found.age_d,
                )
            )
        answer["cautions"] += [f"{house.house}: {line}" for line in item.cautions]
        held = release_hold(sprays_of(snapshot, case.facts, farm, house), case.day)
        if held is not None:
            answer["cautions"].append(
                say(
                    "{house}: no release is planned while a spray holds it back. {held}",
                    house=house.house,
                    held=held,
                )
            )
        if done.feasible:
            _add_waiting(answer, house, done, item.found)
        else:
            _add_infeasible(answer, house, done, item.ranked, item.found)
        if others:
            answer["frontier"] += frontier_told(part)
            answer["ties"] += ties_told(part)
            answer["instead"] += instead_told(candidate, part)
            thumb = thumb_told(candidate, part, item.use)
            if thumb:
                answer["rule_of_thumb"][house.house] = thumb
    answer["cautions"] += cautions_of(found, planned)


def _add_waiting(answer: Answer, house: House, done: HousePlan, found: Outlook) -> None:
    case = found.case
    if not any(done.counts):
        answer["waiting"].append(
            {
                "house": house.house,
                "why": say(
                    "{found}holds without a release: {chance_above} chance above your level in {horizon_d} days",
                    found=_scenario(found),
                    chance_above=percent(done.chance_above),
                    horizon_d=HORIZON_D,
                ),
                "look_again": str(case.date_of(case.today + 7)),
            }
        )
    elif done.later_chance is not None:
        answer["waiting"].append(
            {
                "house": house.house,
                "why": say(
                    "the same packs a week later: {later_chance} chance above your level instead of {chance_above}",
                    later_chance=percent(done.later_chance),
                    chance_above=percent(done.chance_above),
                ),
                "look_again": str(case.date_of(case.today + 7)),
            }
        )


def _scenario(found: Outlook) -> str:
    return say("scenario, not from your counts: ") if found.stale else ""


def _add_infeasible(
    answer: Answer, house: House, done: HousePlan, ranked: Sequence[Candidate], found: Outlook
) -> None:
    facts = found.case.facts
    if not any(item.fits for item in ranked):
        reasons = [f"{facts.species[i.enemy].latin}: {'; '.join(i.against)}" for i in ranked]
        why = say("no enemy on offer fits. ") + ". ".join(reasons) if reasons else say(NO_PACKS)
        fitting = {e for pest in found.case.model.pests for e in fitting_enemies(facts, pest)}
        names = ", ".join(facts.species[key].latin for key in sorted(fitting))
        why += say(". What accepts the aphid: {names}", names=names) if names else ""
    elif not done.offers:
        why = say("no delivery can be ordered that may be released there")
    elif done.money_ends:
        why = say("the budget ends before it")
    elif done.not_preventable > 0.5:
        why = say(
            "{not_preventable} chance of being above your level before any order can act",
            not_preventable=percent(done.not_preventable),
        )
    else:
        why = say("more packs, up to twice the published rates, bring the chance no lower")
    packs = any(done.counts)
    if packs:
        why = say(
            "{why}; the plan orders what brings it to {chance}, and days above your level from {before} to {after}",
            why=why,
            chance=percent(done.chance_above),
            before=f"{done.days_if_nothing:.1f}",
            after=f"{done.days_above:.1f}",
        )
    elif done.offers:
        why = say("{why}; packs would not help clearly, so none are ordered", why=why)
    answer["infeasible"].append(
        {
            "house": house.house,
            "least_risk": round(min(done.least_chance, done.chance_above), 3),
            "cost": round(done.least_cost, 2),
            "ordered": packs,
            "days_above": round(done.days_above, 1),
            "days_above_if_nothing": round(done.days_if_nothing, 1),
            "today": [say(line) for line in TODAY],
            "why": why,
        }
    )


def _care(answer: Answer, snapshot: Snapshot, farm: Farm, facts: Facts | None) -> list[str]:
    """Return what must be said with these orders: permits not seen yet, and wasps in a crop that is eaten as leaves."""
    known = facts or load()
    seen = {row.enemy for row in snapshot.table(Permit) if row.farm == farm.farm and row.seen}
    country = say(" of {country}", country=farm.country) if farm.country else say(" of your country")
    told = [
        say(
            "Before the first order of {latin}: look up the permit or list entry{country} and note its "
            "number",
            latin=known.species[enemy].latin,
            country=country,
        )
        for enemy in sorted({decision["enemy"] for decision in answer["decisions"]} - seen)
    ]
    crops = {house.house: house.crop for house in houses_of(snapshot, farm)}
    leafy = sorted(
        {
            decision["house"]
            for decision in answer["decisions"]
            if (known.resolve_crop(crops[decision["house"]]) or "") in EATEN_AS_LEAVES
        }
    )
    told += [
        say("{house}: mummies are contaminants in a leaf crop; stop wasps well before harvest", house=house)
        for house in leafy
    ]
    return told


def _sentence(answer: Answer) -> str:
    firm = [d for d in answer["decisions"] if not d["provisional"]]
    if firm:
        first = min(firm, key=lambda d: d["cutoff"])
        same = [d for d in firm if (d["supplier"], d["cutoff"]) == (first["supplier"], first["cutoff"])]
        packs = sum(d["opened"] if "opened" in d else d["packs"] for d in same)
        clock = first["cutoff"].partition("T")[2]
        noun = say("pack") if packs == 1 else say("packs")
        return say(
            "Order {packs} {noun} from {supplier} by {cutoff}, {clock}.",
            packs=packs,
            noun=noun,
            supplier=first["supplier"],
            cutoff=weekday(first["cutoff"]),
            clock=clock,
        )
    day = weekday(answer["as_of"])
    if answer["infeasible"]:
        names = ", ".join(item["house"] for item in answer["infeasible"])
        count = len(answer["infeasible"])
        return say(
            "Act by hand on {day} in {count} {value}: no release plan holds {names}.",
            day=day,
            count=count,
            value=say("house") if count == 1 else say("houses"),
            names=names,
        )
    return say("Buy nothing on {day}: 0 packs are due before the next cut-off.", day=day)
