"""What to buy and let go: the least-cost plan of every house of a farm."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from outpace.facts.table import Fact, Facts, weakest
from outpace.language import say, to_say
from outpace.planning.candidates import Candidate, fitting_enemies
from outpace.planning.farm_plan import plan_farm
from outpace.planning.questions import questions
from outpace.planning.release_plan import HousePlan, house_plans
from outpace.planning.side_by_side import of_each
from outpace.season.course_words import TODAY
from outpace.season.evidence import digest_of
from outpace.season.farm_packs import Planned, cautions_of, rows_of
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm
from outpace.season.observed import UNKNOWN as UNNAMED
from outpace.season.outlook import Outlook, outlook
from outpace.season.plan_also import also_told, line
from outpace.season.plan_asked import HORIZON_D, AskedHouse, ask, asked_digest
from outpace.season.plan_beside import (
    frontier_told,
    instead_told,
    rates_told,
    search_told,
    thumb_told,
    ties_told,
)
from outpace.season.plan_spots import spots_told
from outpace.season.plan_words import care_of, sentence_of
from outpace.season.plan_worth import add_losses
from outpace.season.sprayed import release_hold, sprays_of
from outpace.season.words import percent
from outpace.season.worked_out import once_from
from outpace.season.worth import worth_of
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]
Progress = Callable[[str], None]

NO_PACKS = to_say(
    "no packs are on offer; bring in a price list of your supplier with `outpace book import packs.csv`"
)
EVEN_TWICE = to_say("even twice the published rates leave more risk than you accept")


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
        "budget": budget,
        "also": [],
        "instead": [],
        "rule_of_thumb": {},
        "rates": [],
        "search": {},
        "scenario": [],
        "below_published": below_published,
        "cautions": [],
        "studied": [],
    }
    walked: list[House] = []
    for house in chosen:
        if outlook(snapshot, there, house, facts=facts).case.rows.last is None:
            answer["waiting"].append(
                {
                    "house": house.house,
                    "why": say("no walk yet: nothing to plan from"),
                    "look_again": str(snapshot.as_of.astimezone(zone_of_farm(there)).date()),
                }
            )
            continue
        walked.append(house)

    def work() -> Answer:
        def asking(house: House) -> AskedHouse | None:
            if progress:
                progress(say("planning {house}", house=house.house))
            return ask(snapshot, there, house, facts=facts, below_published=below_published)

        asked = [item for item in of_each(asking, walked) if item is not None]
        used: list[Fact] = []
        if asked:
            used += _add_farm(answer, snapshot, there, asked, budget, others=others, facts=facts)
            for item in asked:
                if item.earlier is not None:
                    item.earlier.keep()
        used += [fact for item in asked for fact in item.used]
        for name in ("packs", "freight", "labour"):
            answer["cost"][name] = round(answer["cost"][name], 2)
        answer["decisions"].sort(key=lambda d: (d["delivery_date"], d["house"], d["enemy"]))
        answer["evidence_weakest"] = weakest(used)
        answer["facts"] = [
            {"key": f.key, "value": f.value, "unit": f.unit, "source": f.cited, "evidence": f.evidence}
            for f in dict.fromkeys(used)
        ]
        return answer

    if facts is None and not others:
        rests_on = [asked_digest(outlook(snapshot, there, house)) for house in walked]
        begun = {**answer, "as_of": None}  # the hour counts by what it changes
        answer = {
            **once_from("plan", digest_of(begun, there, rests_on), work),
            "as_of": answer["as_of"],
        }
    else:
        # What else could be done rests on more of the book than the packs do.
        answer = work()
    answer["cautions"] = list(dict.fromkeys([*answer["cautions"], *care_of(answer, snapshot, there, facts)]))
    answer["sentence"] = sentence_of(answer)
    return answer


def _add_farm(
    answer: Answer,
    snapshot: Snapshot,
    farm: Farm,
    asked: Sequence[AskedHouse],
    budget: float | None,
    *,
    others: bool,
    facts: Facts | None,
) -> list[Fact]:
    """Add the plan of the houses to the answer; return the facts that it rests on beside those asked with."""
    used: list[Fact] = []
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
        answer["cautions"] += [f"{house.house}: {text}" for text in (*item.cautions, *item.studied)]
        answer["studied"] += [f"{house.house}: {text}" for text in item.studied]
        if len(case.zones) > 1:
            answer["cautions"].append(
                say(
                    "{house}: the plan's chance is that any of its zones goes above your level; the page of the house "
                    "tells of each zone by itself",
                    house=house.house,
                )
            )
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
            questioned = questions(candidate, done)
            rows = instead_told(questioned, part)
            dearer = add_losses(
                rows,
                questioned,
                candidate,
                part,
                worth_of(snapshot, farm, house.crop, facts),
                farm.currency,
            )
            if dearer is not None:
                answer["also"].append(line("course", house.house, dearer))
            answer["instead"] += rows
            if any(done.counts) or not done.feasible:
                answer["instead"] += spots_told(candidate, part, used)
            thumb = thumb_told(candidate, part, item.use)
            if thumb:
                answer["rule_of_thumb"][house.house] = thumb
    lost = [row["loss"] for row in answer["instead"] if row["key"] == "plan" and "loss" in row]
    if lost:
        answer["cost"]["loss"] = round(sum(lost), 2)
    answer["cautions"] += cautions_of(found, planned)
    if budget is not None:
        answer["cautions"].append(
            say(
                "Held to {budget:.2f} {currency} for the whole farm: packs, freight and labour of all houses together",
                budget=budget,
                currency=farm.currency,
            )
        )
    if others:
        answer["also"] += also_told(snapshot, farm, planned, answer["instead"], answer["frontier"], facts)
    return used


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


def what_is_left(why: str, chance: float, days: float, before: float) -> str:
    """Return why a house cannot be held, with the chance and the days above the level that the plan leaves.

    Short enough that a week sheet prints it whole.
    """
    return say(
        "{why}; the plan leaves {chance} and {after} days above your level, not {before}",
        why=why,
        chance=percent(chance),
        after=f"{days:.1f}",
        before=f"{before:.1f}",
    )


def _add_infeasible(
    answer: Answer, house: House, done: HousePlan, ranked: Sequence[Candidate], found: Outlook
) -> None:
    facts = found.case.facts
    if UNNAMED in found.case.model.pests and not any(item.fits for item in ranked):
        why = say(
            "its aphid has no name yet, and no wasp is promised on one without: name it with a lens, then plan again"
        )
    elif not any(item.fits for item in ranked):
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
        why = say(EVEN_TWICE)
    packs = any(done.counts)
    if packs:
        why = what_is_left(why, done.chance_above, done.days_above, done.days_if_nothing)
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
