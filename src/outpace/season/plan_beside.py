"""What is shown beside a plan: dearer and cheaper ones, ties, what waiting costs, the trade's rates and calendars."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from outpace.facts.table import Facts, OtherRate, ReleaseRate
from outpace.language import long_date, say, say_many
from outpace.planning.candidate_house import Candidate
from outpace.planning.farm_plan import FarmPlan
from outpace.planning.offer import Offer, cost_of
from outpace.planning.questions import Instead, thumb_fate
from outpace.planning.rule_of_thumb import thumb_plans
from outpace.season.farm_packs import Planned

Answer = dict[str, Any]


def packs_text(offers: Sequence[Offer], counts: Sequence[float], facts: Facts) -> str:
    """Return packs by enemy and day in words; nothing where there are none."""
    return ", ".join(
        say_many(
            "{n} pack of {enemy} on {day}",
            "{n} packs of {enemy} on {day}",
            _number(count),
            enemy=facts.species[offer.pack.enemy].latin,
            day=long_date(offer.delivery),
        )
        if float(count).is_integer()
        else say(
            "{n} of a pack of {enemy} on {day}",
            n=f"{count:.2g}",
            enemy=facts.species[offer.pack.enemy].latin,
            day=long_date(offer.delivery),
        )
        for offer, count in zip(offers, counts, strict=True)
        if count
    )


def _number(count: float) -> int:
    return round(count)


def frontier_told(planned: Planned) -> list[Answer]:
    """Return cost against chance of one house if it orders by itself."""
    facts = planned.found.case.facts
    return [
        {
            "house": planned.name,
            "cost": round(cost, 2),
            "chance_ever_above": {planned.name: round(chance, 3)},
            "text": packs_text(planned.done.offers, counts, facts) or say("buy nothing"),
        }
        for cost, chance, counts in planned.done.frontier
    ]


def ties_told(planned: Planned) -> list[Answer]:
    """Return the plans of one house that cost the same."""
    return [
        {
            "house": planned.name,
            "text": say(
                "{packs}: the same cost, also within your limit",
                packs=packs_text(planned.done.offers, counts, planned.found.case.facts),
            ),
        }
        for counts in planned.done.ties
    ]


def instead_told(asked: Sequence[Instead], planned: Planned) -> list[Answer]:
    """Return what else could be done in one house, each with cost, chance, days above the level and hours."""
    facts = planned.found.case.facts
    return [
        {
            "house": planned.name,
            "key": one.what,
            "what": _words(one, facts),
            "packs": packs_text(planned.done.offers, one.counts, facts) or say("buy nothing"),
            "cost": round(one.cost.total, 2),
            "chance_ever_above": round(one.chance, 3),
            "days_above": round(one.days_above, 1),
            "hours": round(one.hours, 2),
        }
        for one in asked
    ]


def _words(one: Instead, facts: Facts) -> str:
    if one.what == "other":
        return say("{enemy} instead", enemy=facts.species[one.enemy].latin)
    return {
        "plan": say("the plan"),
        "later": say("the same a week later"),
        "half": say("half of it"),
        "double": say("twice as much"),
        "first": say("all with the first delivery"),
        "even": say("the same on every delivery, as a standing order"),
        "nothing": say("nothing"),
    }[one.what]


def thumb_told(candidate: Candidate, planned: Planned, use: str) -> Answer | None:
    """Return the trade's calendar for a house, from the low to the high end of its published range."""
    use = "preventive" if use == "preventive" else "curative"
    case, done = planned.found.case, planned.done
    rules = thumb_plans(case.facts, done.offers, case.model.agents, case.model.area_m2, use)
    if not rules:
        return None
    rule = min(rules, key=lambda item: item.cost_low.total)
    low_chance, low_days = thumb_fate(candidate, done, rule.counts_low)
    high_chance, high_days = thumb_fate(candidate, done, rule.counts_high)
    return {
        "enemy": rule.enemy,
        "use": use,
        "low_per_m2": rule.rate.low,
        "high_per_m2": rule.rate.high,
        "interval_d": rule.interval_d,
        "releases": rule.releases,
        "low_cost": round(cost_of(done.offers, rule.counts_low).total, 2),
        "high_cost": round(cost_of(done.offers, rule.counts_high).total, 2),
        "low_chance": round(low_chance, 3),
        "high_chance": round(high_chance, 3),
        "low_days_above": round(low_days, 1),
        "high_days_above": round(high_days, 1),
        "evidence": rule.rate.evidence,
        "source": source_words(case.facts, rule.rate),
        "note": rule.rate.note,
    }


def rates_told(facts: Facts) -> list[Answer]:
    """Return every release rate that is published, sold with or practised, each with where it is from.

    Rates of enemies that no plan is made with follow at the end, with the pest they are for and what they count per.
    """
    return [
        *(
            {
                "enemy": rate.enemy,
                "against": None,
                "use": rate.use,
                "low_per_m2": rate.low,
                "high_per_m2": rate.high,
                "per": "m2",
                "interval_d": rate.interval_d,
                "releases": rate.releases,
                "source": source_words(facts, rate),
                "evidence": rate.evidence,
                "note": rate.note,
            }
            for rate in facts.release_rates
        ),
        *(
            {
                "enemy": rate.enemy,
                "against": rate.against,
                "use": rate.use,
                "low_per_m2": rate.low,
                "high_per_m2": rate.high,
                "per": rate.per,
                "interval_d": rate.every_d_high,
                "releases": None,
                "source": source_words(facts, rate),
                "evidence": rate.evidence,
                "note": rate.note,
            }
            for rate in facts.other_rates
        ),
    ]


def source_words(facts: Facts, rate: ReleaseRate | OtherRate) -> str:
    """Return who gives a rate, in words: authors and year, and where in it."""
    source = facts.sources.get(rate.source)
    if source is None:
        return say("common practice, no source")
    who = f"{source.authors} {source.year}".strip()
    return f"{who}, {rate.locator}" if rate.locator else who


def search_told(found: FarmPlan, planned: Sequence[Planned]) -> Answer:
    """Return how the plan was searched for and what is not proved of it."""
    tried = sum(item.done.tried for item in planned)
    some_ties = any(item.done.ties for item in planned)
    if not any(item.done.offers for item in planned):
        text = say("nothing was searched for: no pack that fits can be had in these weeks")
    elif found.complete and not found.gap and not any(item.done.feasible for item in planned):
        text = say("every schedule was tried: none holds these houses")
    elif found.complete and not found.gap:
        text = say("every schedule was tried: no cheaper one holds these houses")
    elif not found.gap:
        text = say(
            "{tried} schedules were tried, and no cheaper choice among them holds these houses; one that was not tried "
            "could",
            tried=tried,
        )
    else:
        text = say(
            "{tried} schedules were tried; a choice among them could be up to {gap} % cheaper",
            tried=tried,
            gap=f"{100 * found.gap:.1f}",
        )
    if not some_ties and any(any(item.done.counts) for item in planned):
        text += "; " + say("none of those that were judged costs the same within 1 %: no ties")
    return {
        "tried": tried,
        "judged": sum(item.done.judged for item in planned),
        "members": {item.name: item.done.members for item in planned},
        "upper_95": {item.name: round(item.done.upper, 3) for item in planned},
        "gap": round(found.gap, 4),
        "complete": found.complete,
        "text": text,
    }
