"""What to buy and let go: the least-cost plan of every house of a farm."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from outpace.facts.table import Fact, Facts, load, weakest
from outpace.language import long_date, say, to_say
from outpace.planning.candidates import Candidate, fitting_enemies
from outpace.planning.house_outlook import outcome
from outpace.planning.release_plan import HousePlan, Offer, cost_of, plan_house, releases_of
from outpace.planning.rule_of_thumb import thumb_plans
from outpace.season.enemies import cold_caution
from outpace.season.farm_packs import Planned, farm_packs
from outpace.season.leaf_crops import EATEN_AS_LEAVES
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm
from outpace.season.offers import candidates, offers_for, packs_in_force, use_of
from outpace.season.outlook import Outlook, for_planning, outlook
from outpace.season.sprayed import release_hold, sprays_of
from outpace.season.studied import domain_cautions
from outpace.season.words import percent, weekday
from outpace.season.wrong_enemies import wrong_enemies
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Permit

Answer = dict[str, Any]
Progress = Callable[[str], None]

HORIZON_D = 28
BANDS_TO_D = 21
WALKS_TO_LEARN = 3
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
    progress: Progress | None = None,
) -> Answer:
    """Return the plan of a farm as the answer ``outpace.plan/1``.

    Parameters
    ----------
    houses : sequence of str, optional
        Only these.
    budget : float, optional
        Most that may be spent on one house. [farm's money]
    below_published : bool, default False
        Allow releases below the lowest published rate before the farm's own walks have taught enough.
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
        "rule_of_thumb": {},
        "scenario": [],
        "below_published": below_published,
        "cautions": [],
    }
    used: list[Fact] = []
    planned: list[Planned] = []
    for house in chosen:
        if progress:
            progress(say("planning {house}", house=house.house))
        used += _add_house(answer, snapshot, there, house, facts, budget, below_published, planned)
    _add_packs(answer, planned)
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


def _add_house(
    answer: Answer,
    snapshot: Snapshot,
    farm: Farm,
    house: House,
    facts: Facts | None,
    budget: float | None,
    below_published: bool,
    planned: list[Planned],
) -> list[Fact]:
    found = outlook(snapshot, farm, house, facts=facts)
    case = found.case
    if case.rows.last is None:
        answer["waiting"].append(
            {
                "house": house.house,
                "why": say("no walk yet: nothing to plan from"),
                "look_again": str(case.day),
            }
        )
        return []
    if found.stale:
        answer["scenario"].append(
            say(
                "{house}: scenario, not from your counts: the last walk is {age_d} days old",
                house=house.house,
                age_d=found.age_d,
            )
        )
    packs = packs_in_force(snapshot, case.day)
    ranked = candidates(case, packs)
    planner = for_planning(found, HORIZON_D)
    offers, used = offers_for(
        case,
        packs,
        ranked,
        use=use_of(case, _mean_over_level(found)),
        floor=not below_published and not _has_learned(found),
        members=planner.members,
    )
    risk = farm.risk if farm.risk is not None else case.facts.one("", "accepted_risk").value
    done = plan_house(planner, offers, risk=risk, budget=budget)
    answer["chance_ever_above"][house.house] = round(done.chance_above, 3)
    answer["not_preventable"][house.house] = round(done.not_preventable, 3)
    answer["cautions"] += [f"{house.house}: {line}" for line in wrong_enemies(case)]
    answer["cautions"] += [f"{house.house}: {line}" for line in cold_caution(found)]
    fitting = [item.enemy for item in ranked if item.fits]
    ahead = case.temperature.hours[case.today * 24 : (case.today + HORIZON_D) * 24]
    answer["cautions"] += [
        f"{house.house}: {line}" for line in domain_cautions(case.facts, [*case.model.pests, *fitting], ahead)
    ]
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
        planned.append(Planned(found, done, risk))
        _add_waiting(answer, house, done, found)
    else:
        _add_infeasible(answer, house, done, ranked, found)
    answer["frontier"] += [
        {
            "house": house.house,
            "cost": round(cost, 2),
            "chance_ever_above": {house.house: round(chance, 3)},
            "text": _packs_text(done.offers, counts, case.facts) or say("buy nothing"),
        }
        for cost, chance, counts in _thinned(done)
    ]
    answer["ties"] += [
        {
            "house": house.house,
            "text": say(
                "{offers}: the same cost, also within your limit",
                offers=_packs_text(done.offers, counts, case.facts),
            ),
        }
        for counts in done.ties
    ]
    thumb = _thumb(done, found, use_of(case, _mean_over_level(found)))
    if thumb:
        answer["rule_of_thumb"][house.house] = thumb
    return [*used, *(fact for item in ranked if item.fits for fact in item.facts), *found.posterior.facts]


def _add_packs(answer: Answer, planned: Sequence[Planned]) -> None:
    packs = farm_packs(planned, HORIZON_D)
    answer["decisions"] += packs.rows
    answer["cost"]["packs"] += packs.goods
    answer["cost"]["freight"] += packs.freight
    answer["cost"]["labour"] += sum(item.done.cost.labour for item in planned)
    answer["chance_ever_above"].update({name: round(chance, 3) for name, chance in packs.chances.items()})
    answer["cautions"] += packs.cautions


def _add_waiting(answer: Answer, house: House, done: HousePlan, found: Outlook) -> None:
    case = found.case
    if not any(done.counts):
        answer["waiting"].append(
            {
                "house": house.house,
                "why": say(
                    "{found}holds without a release: {chance_above} chance above your level in {horizon_d} "
                    "days",
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
                    "the same packs a week later: {later_chance} chance above your level instead of "
                    "{chance_above}",
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
    if not any(item.fits for item in ranked):
        reasons = [f"{found.case.facts.species[i.enemy].latin}: {'; '.join(i.against)}" for i in ranked]
        why = say("no enemy on offer fits. ") + ". ".join(reasons) if reasons else say(NO_PACKS)
        fitting = {e for pest in found.case.model.pests for e in fitting_enemies(found.case.facts, pest)}
        names = ", ".join(found.case.facts.species[key].latin for key in sorted(fitting))
        why += say(". What accepts the aphid: {names}", names=names) if names else ""
    elif not done.offers:
        why = say("no delivery can be ordered that may be released there")
    elif done.not_preventable > 0.5:
        why = say(
            "{not_preventable} chance of being above your level before any order can act",
            not_preventable=percent(done.not_preventable),
        )
    else:
        why = say("more packs, up to twice the published rates, bring the chance no lower")
    packs = _packs_text(done.offers, done.counts, found.case.facts)
    if packs:
        why += say("; the least is reached with {packs}", packs=packs)
    answer["infeasible"].append(
        {
            "house": house.house,
            "least_risk": round(done.chance_above, 3),
            "cost": round(done.cost.total, 2),
            "today": [say(line) for line in TODAY],
            "why": why,
        }
    )


def _mean_over_level(found: Outlook) -> float:
    past, case = found.posterior.past, found.case
    ratios = [
        float(np.median(past.live(pest, unit=level.unit)[-1])) / max(level.value, 1e-9)
        for pest, level in enumerate(case.levels)
    ]
    return max(ratios)


def _has_learned(found: Outlook) -> bool:
    """Return whether three own walks came after a release: until then published rates are a floor."""
    first = min((release.day for release in found.case.let_go.releases), default=None)
    if first is None:
        return False
    return sum(walk.day > first for walk in found.case.walks) >= WALKS_TO_LEARN


def _thinned(done: HousePlan, most: int = 8) -> list[tuple[float, float, tuple[int, ...]]]:
    points = list(done.frontier)
    if len(points) <= most:
        return points
    picked = sorted({round(i * (len(points) - 1) / (most - 1)) for i in range(most)})
    return [points[i] for i in picked]


def _packs_text(offers: Sequence[Offer], counts: Sequence[int], facts: Facts) -> str:
    return ", ".join(
        say(
            "{count} {value} of {latin} on {delivery}",
            count=count,
            value=say("pack") if count == 1 else say("packs"),
            latin=facts.species[offer.pack.enemy].latin,
            delivery=long_date(offer.delivery),
        )
        for offer, count in zip(offers, counts, strict=True)
        if count
    )


def _thumb(done: HousePlan, found: Outlook, use: str) -> Answer | None:
    use = "preventive" if use == "preventive" else "curative"
    rules = thumb_plans(found.case.facts, done.offers, found.case.model.agents, found.case.model.area_m2, use)
    if not rules:
        return None
    rule = min(rules, key=lambda item: item.cost_low.total)
    small = done.house.some(256)

    def chance(counts: tuple[int, ...]) -> float:
        return round(outcome(small, releases_of(small, done.offers, counts)).chance_from(done.first_day), 3)

    return {
        "enemy": rule.enemy,
        "use": use,
        "low_per_m2": rule.rate.low,
        "high_per_m2": rule.rate.high,
        "interval_d": rule.interval_d,
        "releases": rule.releases,
        "low_cost": round(cost_of(done.offers, rule.counts_low).total, 2),
        "high_cost": round(cost_of(done.offers, rule.counts_high).total, 2),
        "low_chance": chance(rule.counts_low),
        "high_chance": chance(rule.counts_high),
        "evidence": rule.rate.evidence,
        "source": f"{rule.rate.source}, {rule.rate.locator}"
        if rule.rate.source
        else say("common practice, no source"),
    }


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
