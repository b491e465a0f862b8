from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from outpace.estimation.intervals import clopper_pearson, true_share, upper_limit, wilson


@given(n=st.integers(1, 200), data=st.data())
def test_both_intervals_hold_the_share_and_stay_within_zero_and_one(n, data):
    k = data.draw(st.integers(0, n))
    for interval in (clopper_pearson(k, n), wilson(k, n)):
        assert 0.0 <= interval.low <= k / n <= interval.high <= 1.0


@pytest.mark.parametrize("share", [0.05, 0.3, 0.7])
def test_the_exact_interval_never_covers_less_than_it_says(share):
    n = 30
    # Source: the binomial law itself, summed over all outcomes.
    covered = sum(
        binom.pmf(k, n, share)
        for k in range(n + 1)
        if clopper_pearson(k, n).low <= share <= clopper_pearson(k, n).high
    )
    assert covered >= 0.95


def test_nothing_looked_at_says_nothing():
    assert clopper_pearson(0, 0) == (0.0, 1.0)
    assert wilson(0, 0) == (0.0, 1.0)
    assert upper_limit(0, 0) == 1.0


@pytest.mark.parametrize("bad", [(-1, 10), (11, 10)])
def test_a_part_beyond_the_whole_is_refused(bad):
    with pytest.raises(ValueError, match="cannot be below 0"):
        clopper_pearson(*bad)


def test_a_perfect_look_leaves_the_share_as_it_is():
    assert true_share(0.3, 1.0, 1.0) == pytest.approx(0.3)
    assert true_share(0.0, 0.9, 0.9) == 0.0
    with pytest.raises(ValueError, match="chance"):
        true_share(0.3, 0.5, 0.5)


def test_more_looks_narrow_the_interval():
    widths = [np.ptp(clopper_pearson(n // 2, n)) for n in (10, 40, 160)]
    assert widths[0] > widths[1] > widths[2]
