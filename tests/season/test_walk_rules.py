"""Stop rules are drawn for strong clumping, and say how wrong they are under stronger still."""

from __future__ import annotations

import numpy as np
import pytest

from outpace.biology.dispersion import clumping_from_taylor
from outpace.estimation.clumping import Sample
from outpace.estimation.stopping import Taylor, count_rule, wrong_under
from outpace.facts.table import load
from outpace.season.sampled import clumping_on
from outpace.season.walk_rules import TALLY_TIMES, rules_of_means

FACTS = load()
LIMITS = {"least": 10, "most": 60, "error": 0.1}


def walked(number: int, a: float = 6.0, b: float = 1.35) -> list[Sample]:
    """Walks of sixty plants, clumped by one law."""
    rng = np.random.default_rng(5)
    found = []
    for mean in np.geomspace(0.5, 10.0, number):
        k = float(clumping_from_taylor(mean, a, b))
        counts = rng.negative_binomial(k, k / (k + mean), size=60).astype(float)
        found.append(Sample(counts, counts))
    return found


@pytest.mark.parametrize("acting", [0.4, 2.0, 8.0])
@pytest.mark.parametrize("number", [0, 3])
def test_a_rule_states_an_error_that_holds_from_the_expected_to_strong_clumping(acting, number):
    clumping = clumping_on(FACTS, walked(number) if number else [])
    rule = rules_of_means(FACTS, clumping, acting / 4, acting, (), LIMITS)[0]
    for chance in (0.5, 0.8, 0.95):
        assert wrong_under(rule, clumping.likely.law_at(acting / 2, chance)) <= rule.wrong + 1e-12
    # Lines drawn for the middle alone are wrong more often where aphids are clumped as strongly as is still likely.
    strong = clumping.likely.law_at(acting / 2, 0.95)
    middle = count_rule(acting / 4, acting, clumping.used.taylor, (), **LIMITS)
    assert wrong_under(middle, strong) >= wrong_under(rule, strong)


def test_a_rule_that_only_asks_for_more_than_so_many_waits_until_clumping_is_known():
    assert len(rules_of_means(FACTS, clumping_on(FACTS, []), 0.5, 2.0, (), LIMITS)) == 1
    known = rules_of_means(FACTS, clumping_on(FACTS, walked(60)), 0.5, 2.0, (), LIMITS)
    assert len(known) == 2
    assert known[1].table.tally is not None
    assert known[1].wrong <= TALLY_TIMES * LIMITS["error"]


def test_the_error_under_a_law_is_that_of_walks_drawn_from_it():
    # Source: 40,000 walks of negative binomial counts drawn by numpy and stopped by the table's own numbers alone.
    rule = rules_of_means(FACTS, clumping_on(FACTS, []), 0.5, 2.0, (), LIMITS)[0]
    law = Taylor(12.0, 1.4)
    rng = np.random.default_rng(3)
    wrong = []
    for mean, called_low in ((0.5, False), (2.0, True)):
        k = law.k(mean)
        totals = rng.negative_binomial(k, k / (k + mean), size=(40_000, 60)).cumsum(axis=1)[:, 9:]
        under, over = totals <= np.array(rule.table.low), totals >= np.array(rule.table.high)
        first = (under | over).argmax(axis=1)
        low = under[np.arange(len(first)), first].mean()
        wrong.append(low if called_low else 1 - low)
    assert wrong_under(rule, law) == pytest.approx(max(wrong), abs=0.01)
