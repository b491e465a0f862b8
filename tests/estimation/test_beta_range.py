"""Beta and gamma laws are those of the statistics library, asked of its special functions, which load sooner."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some
from scipy import stats

from outpace.estimation.beta_range import beta_of_range
from outpace.estimation.intervals import clopper_pearson, upper_limit
from outpace.estimation.lot_quality import Beta
from outpace.planning.course import share_on_worst

EXACT = 1e-12

sizes = some.floats(0.05, 3000.0)
shares = some.floats(0.0, 1.0)


# Source: scipy.stats, whose distributions are written by others and share no code with the doors tested here.
@given(sizes, sizes, shares, some.floats(-0.5, 1.5))
def test_the_law_of_a_lot_is_the_beta_law_also_outside_of_its_range(a, b, chance, share):
    told, law = Beta(a, b), stats.beta(a, b)
    assert told.quantile(chance) == pytest.approx(law.ppf(chance), rel=EXACT, abs=1e-300)
    assert told.below(share) == pytest.approx(law.cdf(share), rel=EXACT, abs=1e-300)


@given(some.integers(0, 80), some.integers(0, 80), some.floats(0.5, 0.999))
def test_exact_limits_are_quantiles_of_the_beta_law(positive, others, confidence):
    looked_at = positive + others
    if looked_at == 0:
        return
    tail = (1 - confidence) / 2
    low, high = clopper_pearson(positive, looked_at, confidence)
    if positive:
        assert low == pytest.approx(stats.beta.ppf(tail, positive, others + 1), rel=EXACT)
    if others:
        assert high == pytest.approx(stats.beta.ppf(1 - tail, positive + 1, others), rel=EXACT)
        limit = stats.beta.ppf(confidence, positive + 1, others)
        assert upper_limit(positive, looked_at, confidence) == pytest.approx(limit, rel=EXACT)


def test_a_detection_told_by_its_range_has_that_mean_and_nearly_that_range():
    a, b = beta_of_range(0.7, 0.5, 0.85)
    assert a / (a + b) == pytest.approx(0.7)
    assert stats.beta.ppf([0.05, 0.95], a, b) == pytest.approx([0.5, 0.85], abs=0.02)


@given(shares, some.floats(0.01, 1e4))
def test_the_worst_plants_carry_what_the_gamma_law_says(part, clumping):
    most = np.clip(stats.gamma.sf(stats.gamma.isf(part, clumping), clumping + 1.0), part, 1.0)
    assert share_on_worst(part, [clumping]) == pytest.approx([most], rel=EXACT)
