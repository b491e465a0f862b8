from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from outpace.estimation import sampling as sp
from outpace.estimation import stop_table
from outpace.estimation import stopping as stop
from outpace.estimation.precision_tables import green_table, kuno_table

LIMITS = {"least": 10, "most": 60, "error": 0.1}


@given(
    low=st.floats(0.02, 2.0),
    times=st.floats(1.5, 8.0),
    k=st.floats(0.1, 5.0),
    least=st.integers(1, 20),
    more=st.integers(1, 50),
)
@settings(max_examples=40, deadline=None)
def test_a_table_says_what_walds_lines_say_and_ends_at_its_last_look(low, times, k, least, more):
    lines = sp.stop_lines_negative_binomial(low, low * times, k)
    table = stop_table.stop_table(lines, least=least, most=least + more)
    for n in range(least, least + more):
        for total in {0, *range(max(0, table.low[n - least] - 1), table.high[n - least] + 2)}:
            assert table.decide(total, n) == lines.decide(total, n)
    assert table.high[-1] == table.low[-1] + 1
    assert table.decide(10**6, least - 1) == "on"


@pytest.mark.parametrize("mean", [0.05, 0.25, 0.5, 1.0, 3.0])
def test_the_exact_characteristic_is_within_a_point_of_walks_drawn_apart(mean):
    # Source: 60,000 walks of negative binomial counts drawn by numpy and stopped by the table's own numbers alone.
    k = 0.4
    lines = sp.stop_lines_negative_binomial(0.25, 1.0, k)
    table = stop_table.stop_table(lines, least=10, most=60)
    found = stop_table.exact(table, stop.count_chances(mean, k, max(table.high)))
    rng = np.random.default_rng(11)
    totals = rng.negative_binomial(k, k / (k + mean), size=(60_000, 60)).cumsum(axis=1)[:, 9:]
    under, over = totals <= np.array(table.low), totals >= np.array(table.high)
    first = (under | over).argmax(axis=1)
    low = under[np.arange(len(first)), first].mean()
    assert found.low == pytest.approx(low, abs=0.01)
    assert found.low + found.high == pytest.approx(1.0, abs=1e-9)
    assert found.mean_looks == pytest.approx((first + 10).mean(), rel=0.01)


def test_the_characteristic_of_shares_is_that_of_the_binomial_law_at_a_fixed_number():
    # Source: scipy's binomial law; a table that can only end at its last look is a fixed sample.
    from scipy.stats import binom

    table = stop_table.StopTable(30, 30, (5,), (6,), tally=0)
    found = stop_table.exact(table, [0.8, 0.2])
    assert found.low == pytest.approx(binom.cdf(5, 30, 0.2), abs=1e-12)
    assert (found.mean_looks, found.to_the_end) == (30.0, 1.0)


def test_a_walk_that_is_being_made_is_told_what_the_table_says_at_every_look():
    table = stop.count_rule(0.25, 1.0, stop.Taylor(5, 1.5), [1.0], **LIMITS).table
    rng = np.random.default_rng(4)
    for _ in range(40):
        seen = rng.negative_binomial(0.25, 0.25 / (0.25 + rng.uniform(0.02, 3)), size=60).tolist()
        ends = [stop_table.where_it_stands(table, seen[:n]) for n in range(61)]
        assert not any(end.end != "on" for end in ends[:10])
        stopped = next(end for end in ends if end.end != "on")
        assert stopped.looked_at <= 60
        # what comes after the stop changes nothing
        assert stop_table.where_it_stands(table, seen) == stopped
        before = ends[stopped.looked_at - 1]
        if before.clean_more is not None:
            clean = [*seen[: before.looked_at], *[0] * before.clean_more]
            assert stop_table.where_it_stands(table, clean).end == "low"
            assert stop_table.where_it_stands(table, clean[:-1]).end == "on"


def test_a_tally_counts_units_and_not_aphids():
    table = stop_table.StopTable(2, 4, (0, 0, 1), (3, 3, 2), tally=3)
    assert stop_table.where_it_stands(table, [3, 50]).total == 1
    with pytest.raises(ValueError, match="below 0"):
        stop_table.where_it_stands(table, [-1])


def test_the_stated_error_is_kept_where_the_maximum_is_large_enough():
    rule = stop.count_rule(0.5, 2.0, stop.Taylor(5, 1.5), [0.5, 2.0], least=10, most=200, error=0.1)
    assert rule.wrong <= 0.1


def test_more_clumping_than_stated_makes_a_rule_wrong_more_often():
    law = stop.Taylor(5, 1.5)
    rule = stop.count_rule(0.25, 1.0, law, [1.0], **LIMITS)
    top = max(rule.table.high)
    wrong = [
        stop_table.exact(rule.table, stop.count_chances(1.0, law.more_clumped(times).k(1.0), top)).low
        for times in (1.0, 1.5, 2.0)
    ]
    assert wrong == sorted(wrong)


def test_the_best_tally_is_the_one_least_often_wrong():
    law = stop.Taylor(5, 1.5)
    best = stop.best_tally(2.5, 10.0, law, [10.0], **LIMITS)
    others = [stop.tally_rule(2.5, 10.0, law, tally, [10.0], **LIMITS) for tally in stop.TALLIES]
    assert best.wrong == min(rule.wrong for rule in others if rule)
    assert best.table.tally > 0


def test_a_level_of_infested_plants_has_a_rule_of_its_own():
    rule = stop.share_rule(0.05, 0.2, [0.05, 0.2], **LIMITS)
    assert rule.wrong < 0.2
    assert stop_table.where_it_stands(rule.table, [0] * 60).end == "low"


def test_fixed_precision_tables_are_greens_and_kunos_totals_rounded_up():
    # Source: Green 1970 with a 2.5, b 1.5, precision .25: 160 on 10, 80 on 20 (computed).
    table = green_table(stop.Taylor(2.5, 1.5), 0.25, 10, 20)
    assert (table[0], table[10]) == (160, 80)
    assert green_table(stop.Taylor(2.5, 2.0), 0.25, 10, 20) is None
    kuno = kuno_table(1.2, 1.4, 0.25, 5, 50)
    assert kuno[0] is None
    assert kuno[-1] == int(np.ceil(2.2 / (0.0625 - 0.4 / 50)))
