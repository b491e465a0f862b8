"""Plans tell good lots from bad ones, and their curves behave as chances must."""

from __future__ import annotations

import doctest

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from scipy.stats import binom

import outpace.estimation.acceptance as acceptance
from outpace.estimation.acceptance import (
    LETTERS,
    QUALITY_LIMITS,
    SAMPLE_SIZE,
    AcceptancePlan,
    chance_of_at_least,
    chance_of_at_most,
    code_letter,
    passing_number,
    plan_by_letter,
    smallest_sample,
)


def test_the_examples_of_the_module_give_what_they_show():
    result = doctest.testmod(acceptance)
    assert result.attempted >= 6
    assert result.failed == 0


@given(some.integers(2, 2_000_000), some.integers(2, 2_000_000))
def test_a_larger_lot_never_has_a_smaller_sample(one, other):
    small, large = sorted((one, other))
    for level in LETTERS:
        assert SAMPLE_SIZE[code_letter(small, level)] <= SAMPLE_SIZE[code_letter(large, level)]


@given(some.integers(2, 2_000_000))
def test_a_higher_level_never_looks_at_less(lot):
    sizes = [SAMPLE_SIZE[code_letter(lot, level)] for level in ("I", "II", "III")]
    assert sizes == sorted(sizes)


@pytest.mark.parametrize("letter", SAMPLE_SIZE)
def test_a_looser_limit_never_accepts_a_lower_share(letter):
    shares = []
    for limit in QUALITY_LIMITS:
        try:
            plan = plan_by_letter(letter, limit)
        except ValueError:
            continue
        shares.append(plan.accept / plan.sample)
    assert len(shares) >= 4
    assert shares == sorted(shares)


@given(some.integers(1, 300), some.data())
def test_a_plan_passes_fewer_lots_the_worse_they_are(sample, data):
    plan = AcceptancePlan(sample, data.draw(some.integers(0, sample)))
    curve = plan.chance_accepted(np.linspace(0, 1, 31))
    assert curve[0] == pytest.approx(1)
    assert np.all(np.diff(curve) <= 1e-12)


@given(some.integers(1, 400), some.data(), some.floats(0.01, 0.99))
def test_at_least_and_at_most_share_one_case(looked_at, data, share):
    positive = data.draw(some.integers(0, looked_at))
    both = float(
        chance_of_at_least(positive, looked_at, share) + chance_of_at_most(positive, looked_at, share)
    )
    # Source: closed form, the two tails overlap in the observed count alone.
    assert both == pytest.approx(1 + binom.pmf(positive, looked_at, share), abs=1e-9)


@settings(max_examples=30, deadline=None)
@given(some.floats(0.05, 0.45), some.floats(0.25, 0.5))
def test_the_smallest_sample_keeps_both_promises_and_one_less_does_not(bad, gap):
    good = bad + gap
    found = smallest_sample(good, bad, most=300)
    assert found is not None
    looked_at, fewest = found
    # Source: the binomial sums themselves.
    assert sum(binom.pmf(k, looked_at, bad) for k in range(fewest, looked_at + 1)) <= 0.05 + 1e-9
    assert sum(binom.pmf(k, looked_at, good) for k in range(fewest)) <= 0.05 + 1e-9
    below = looked_at - 1
    for pass_from in range(below + 1):
        bad_passes = sum(binom.pmf(k, below, bad) for k in range(pass_from, below + 1))
        good_fails = sum(binom.pmf(k, below, good) for k in range(pass_from))
        assert bad_passes > 0.05 - 1e-9 or good_fails > 0.05 - 1e-9


def test_a_pair_that_is_too_alike_has_no_sample_in_a_small_lot():
    assert smallest_sample(0.46, 0.45, most=500) is None


@given(some.floats(0.05, 0.95), some.integers(1, 500))
def test_the_passing_number_is_the_first_that_reaches_the_criterion(criterion, looked_at):
    fewest = passing_number(criterion, looked_at)
    assert fewest / looked_at >= criterion - 1e-9
    assert (fewest - 1) / looked_at < criterion


@pytest.mark.parametrize(
    "call",
    [
        lambda: code_letter(1),
        lambda: code_letter(50, "S-4"),
        lambda: plan_by_letter("O", 1.0),
        lambda: plan_by_letter("H", 1.1),
        lambda: plan_by_letter("R", 25.0),
        lambda: chance_of_at_least(5, 4, 0.5),
        lambda: smallest_sample(0.4, 0.6, most=10),
    ],
)
def test_what_the_tables_do_not_hold_is_refused(call):
    with pytest.raises(ValueError, match=r"."):
        call()
