"""When a walk of one house may stop: its stop tables, with what they do, exactly, at each density."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from outpace.estimation.bands import SHARE_INFESTED
from outpace.estimation.clumping import Clumping, Law, Sample, crowding_line
from outpace.estimation.precision_tables import green_table, kuno_table
from outpace.estimation.staleness import WARN_TIMES
from outpace.estimation.stop_table import NEVER
from outpace.estimation.stopping import (
    StopRule,
    best_tally,
    count_rule,
    prior_weights,
    share_rule,
    stated_over,
    wrong_under,
)
from outpace.facts.table import Fact, Facts
from outpace.season.levels import Level

Answer = dict[str, Any]

TIMES = (0.01, 0.03, 0.1, 0.2, 0.25, 0.35, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 10.0)
"""Multiples of the action level at which a rule's exact characteristic is shown."""
DRAWN, STATED = "drawn for", "stated for"
"""Stages of the quantity ``stop_clumping``."""
TALLY_TIMES = 2.0
"""A rule that asks only for more than so many aphids is offered where its error is at most so many times the asked."""


@dataclass(frozen=True)
class Rules:
    """The stop rules of one house and aphid, the one to be used first."""

    level: Level
    rules: tuple[StopRule, ...]
    mean_looks: tuple[float, ...]
    expected_wrong: tuple[float | None, ...]
    clumping: Clumping | None
    facts: tuple[Fact, ...]
    precision: Answer | None
    error: float

    @property
    def least(self) -> int:
        """Return the fewest plants of a walk."""
        return self.rules[0].table.least

    @property
    def most(self) -> int:
        """Return the most plants of a walk."""
        return self.rules[0].table.most


def rules_for(
    facts: Facts, level: Level, plants: int, clumping: Clumping | None, samples: Sequence[Sample]
) -> Rules:
    """Return the stop rules for a level.

    A quarter of the level needs nothing: from there a four-fold growth, which is when the next walk is due, does not
    pass it.

    Parameters
    ----------
    plants : int
        Of the house; a walk cannot look at more.
    clumping : Clumping, optional
        Not needed where the level is a share of infested plants.
    """
    least_fact, most_fact = facts.one("", "walk_plants"), facts.one("", "walk_plants", stage="at most")
    error, prior = facts.one("", "stop_error"), facts.one("", "density_before_walk")
    precise = facts.one("", "counting_precision")
    least = min(int(least_fact.value), plants)
    most = min(int(most_fact.value), plants)
    limits: dict[str, float | int] = {"least": least, "most": most, "error": error.value}
    used = [least_fact, most_fact, error, prior]
    nothing, acting = level.value / WARN_TIMES, level.value
    places = [time * level.value for time in TIMES]
    weights = prior_weights(TIMES, prior.value, prior.low or prior.value, prior.high or prior.value)
    if level.unit == SHARE_INFESTED:
        places = [place for place in places if place < 1]
        rules = [share_rule(nothing, min(acting, 0.99), places, **limits)]
        looks = tuple(rule.mean_looks(weights[: len(places)]) for rule in rules)
        return Rules(level, tuple(rules), looks, (None,), None, tuple(used), None, error.value)
    if clumping is None:
        raise ValueError("a level per unit needs to know how clumped aphids are")
    law = clumping.used.taylor
    rules = rules_of_means(facts, clumping, nothing, acting, places, limits)
    wrong = [wrong_under(rule, law) for rule in rules]
    line = crowding_line(samples)
    precision = {
        "standard_error_over_mean": precise.value,
        "green": _listed(green_table(law, precise.value, least, most)),
        "kuno": _listed(kuno_table(*line, precise.value, least, most)) if line else None,
    }
    used += [facts.one("", "taylor_a"), facts.one("", "taylor_b"), precise]
    used += [facts.one("", "stop_clumping", stage=stage) for stage in (DRAWN, STATED)]
    looks = tuple(rule.mean_looks(weights) for rule in rules)
    return Rules(level, tuple(rules), looks, tuple(wrong), clumping, tuple(used), precision, error.value)


def rules_of_means(
    facts: Facts,
    clumping: Clumping,
    nothing: float,
    acting: float,
    places: Sequence[float],
    limits: Mapping[str, float | int],
) -> list[StopRule]:
    """Return the rules between two means: that of counts, and one that asks only for more than so many, if any does.

    Few crowded plants carry most of the aphids, so lines that were drawn for the middle of what clumping may be stop
    low too soon. They are drawn for strong clumping, and the error stated is that under clumping stronger still.
    """
    law, middle = clumping.used.taylor, math.sqrt(nothing * acting)
    stated_for = facts.one("", "stop_clumping", stage=STATED).value
    drawn = clumping.likely.law_at(middle, facts.one("", "stop_clumping", stage=DRAWN).value)
    strong, even = (clumping.likely.law_at(middle, chance) for chance in (stated_for, 1 - stated_for))
    counts = count_rule(nothing, acting, law, places, drawn=drawn, **limits)
    tally = best_tally(nothing, acting, law, places, over=(even, strong), **limits)
    useful = tally is not None and tally.wrong <= TALLY_TIMES * limits["error"]
    return [stated_over(counts, (drawn, strong)), *([tally] if tally is not None and useful else [])]


def _listed(totals: Sequence[int | None] | None) -> list[int | None] | None:
    return None if totals is None else list(totals)


def rules_answer(rules: Rules) -> list[Answer]:
    """Return the rules as they stand in an answer; a page can follow a walk with the two lists alone."""
    told = []
    for rule, looks, expected in zip(rules.rules, rules.mean_looks, rules.expected_wrong, strict=True):
        table = rule.table
        worst = max(range(len(rule.exact)), key=lambda at: rule.exact[at].mean_looks)
        told.append(
            {
                "adds_up": "aphids" if table.tally is None else "units",
                "more_than": table.tally,
                "least": table.least,
                "most": table.most,
                "low_at_or_under": [None if low == NEVER else low for low in table.low],
                "high_at_or_over": list(table.high),
                "wrong": round(rule.wrong, 4),
                "wrong_as_expected": None if expected is None else round(expected, 4),
                "mean_looks": round(looks, 1),
                "saved": round(1 - looks / table.most, 3),
                "worst": {
                    "times_level": round(rule.places[worst] / rules.level.value, 3),
                    "mean_looks": round(rule.exact[worst].mean_looks, 1),
                },
                "characteristic": [
                    {
                        "times_level": round(place / rules.level.value, 3),
                        "density": float(f"{place:.3g}"),
                        "calls_low": round(found.low, 4),
                        "calls_high": round(found.high, 4),
                        "mean_looks": round(found.mean_looks, 1),
                        "to_the_end": round(found.to_the_end, 4),
                    }
                    for place, found in zip(rule.places, rule.exact, strict=True)
                ],
            }
        )
    return told


def clumping_answer(rules: Rules) -> Answer | None:
    """Return Taylor's law by the prior, by own walks and as used."""
    clumping = rules.clumping
    if clumping is None:
        return None
    return {
        "prior": _law(clumping.prior),
        "own": None if clumping.own is None else _law(clumping.own),
        "used": _law(clumping.used),
        "k_at_level": round(clumping.used.taylor.k(rules.level.value), 3),
        "walks": clumping.walks,
        "units": clumping.units,
        "learned": round(clumping.learned, 2),
    }


def _law(law: Law) -> Answer:
    return {
        "a": round(law.a, 2),
        "a_low": round(law.a_low, 2),
        "a_high": round(law.a_high, 2),
        "b": round(law.b, 2),
        "b_low": round(law.b_low, 2),
        "b_high": round(law.b_high, 2),
    }
