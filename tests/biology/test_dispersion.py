"""Laws of clumping: bounds, limits, and estimates that do not depend on order."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import nbinom

from outpace.biology import crowding, dispersion
from outpace.biology import incidence as seen

MEAN, CLUMP = st.floats(1e-3, 500), st.floats(0.02, 1e4)
A, B = st.floats(0.5, 10), st.floats(1.0, 2.0)
COUNTS = st.lists(st.integers(0, 60), min_size=4, max_size=40).filter(lambda counts: sum(counts) > 1)


@given(MEAN, CLUMP)
def test_clumping_leaves_more_units_empty_than_chance(mean: float, k: float) -> None:
    share = dispersion.zero_share(mean, k)
    assert np.exp(-mean) * (1 - 1e-9) <= share < 1.0
    assert share == pytest.approx(nbinom.pmf(0, k, k / (k + mean)), rel=1e-7)


@given(MEAN, A, B)
def test_clumping_from_taylor_gives_back_the_variance(mean: float, a: float, b: float) -> None:
    k = float(dispersion.clumping_from_taylor(mean, a, b))
    variance = float(dispersion.taylor_variance(mean, a, b))
    if np.isinf(k):
        assert variance <= mean * (1 + 1e-12)
    else:
        assert mean + mean**2 / k == pytest.approx(variance, rel=1e-6)


@given(MEAN, A, B)
def test_incidence_is_never_above_chance(mean: float, a: float, b: float) -> None:
    share = seen.incidence(mean, a, b)
    assert 0.0 <= share <= 1 - np.exp(-mean) + 1e-12
    assert seen.incidence(0.0, a, b) == 0.0


@given(st.floats(0.01, 0.99), st.floats(-2, 5), st.floats(0.5, 3))
def test_a_line_of_incidence_comes_back(share: float, intercept: float, slope: float) -> None:
    shares = [0.05, 0.3, 0.8]
    means = seen.mean_from_incidence(shares, intercept, slope)
    assert seen.fit_incidence(means, shares) == pytest.approx((intercept, slope), rel=1e-8, abs=1e-8)
    assert seen.mean_from_incidence(min(share * 1.001, 0.995), intercept, slope) > 0


@given(A, B)
def test_taylors_law_comes_back(a: float, b: float) -> None:
    means = np.array([0.2, 1.0, 7.0, 40.0])
    found = dispersion.fit_taylor(means, dispersion.taylor_variance(means, a, b))
    assert found == pytest.approx((a, b, 1.0), rel=1e-9)


@given(st.floats(0.01, 1e5), st.integers(1, 12))
def test_nodes_average_to_one_and_rise(k: float, nodes: int) -> None:
    multiples = dispersion.gamma_nodes(k, nodes)
    assert multiples.shape == (nodes,)
    assert multiples.mean() == pytest.approx(1.0, abs=1e-9)
    assert (np.diff(multiples) >= -1e-12).all()
    assert (multiples >= 0).all()


def test_nodes_of_many_units_stand_side_by_side() -> None:
    k = np.array([[0.2, 1.0, np.inf], [3.0, 9.0, 0.7]])
    together = dispersion.gamma_nodes(k, 5)
    assert together.shape == (5, 2, 3)
    assert together[:, 0, 0] == pytest.approx(dispersion.gamma_nodes(0.2))
    assert (together[:, 0, 2] == 1.0).all()


@given(COUNTS)
def test_estimates_do_not_depend_on_the_order_of_the_units(counts: list[int]) -> None:
    other = sorted(counts)
    for estimate in (dispersion.moment_k, dispersion.maximum_likelihood_k, crowding.morisita_index):
        assert estimate(counts) == pytest.approx(estimate(other), rel=1e-9)
    assert crowding.patchiness(counts) * np.mean(counts) == pytest.approx(crowding.mean_crowding(counts))


@given(COUNTS)
def test_morisitas_index_lies_between_none_and_the_number_of_units(counts: list[int]) -> None:
    assert 0.0 <= crowding.morisita_index(counts) <= len(counts) * (1 + 1e-12)


@given(COUNTS)
def test_the_likelihood_is_not_higher_anywhere_near_the_estimate(counts: list[int]) -> None:
    # Source: the likelihood itself from scipy.stats, which shares nothing with the score that is solved.
    k = dispersion.maximum_likelihood_k(counts)
    mean = float(np.mean(counts))
    assume(np.isfinite(k) and 1e-3 < k < 1e4)

    def likelihood(value: float) -> float:
        return float(nbinom.logpmf(counts, value, value / (value + mean)).sum())

    best = likelihood(k)
    for factor in (0.5, 0.99, 1.01, 2.0):
        assert likelihood(k * factor) <= best + 1e-7


@given(COUNTS)
def test_one_set_has_its_own_clumping_in_common(counts: list[int]) -> None:
    alone = dispersion.maximum_likelihood_k(counts)
    twice = dispersion.common_k([counts, counts, [0, 0, 0]])
    assert twice == pytest.approx(alone, rel=1e-7)


def test_counts_drawn_with_a_known_clumping_give_it_back() -> None:
    # Source: simulated from scipy's negative binomial with k .8, mean 3; the estimate has an error of about 2 %.
    counts = nbinom.rvs(0.8, 0.8 / 3.8, size=20_000, random_state=4)
    assert dispersion.maximum_likelihood_k(counts) == pytest.approx(0.8, rel=0.06)
    assert dispersion.zero_class_k(counts) == pytest.approx(0.8, rel=0.06)


def test_even_counts_have_no_clumping() -> None:
    for estimate in (dispersion.moment_k, dispersion.maximum_likelihood_k):
        assert estimate([2, 2, 3, 2, 3]) == np.inf
    assert dispersion.zero_class_k([0, 2, 2, 2, 2, 2]) == np.inf


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: dispersion.moment_k([0, 0, 0]), "nothing was counted"),
        (lambda: dispersion.moment_k([3]), "at least two units"),
        (lambda: dispersion.maximum_likelihood_k([0, 1.5, 4]), "whole numbers"),
        (lambda: dispersion.maximum_likelihood_k([0, -1, 4]), "counts must not be negative"),
        (lambda: dispersion.zero_class_k([1, 2, 3]), "no unit is empty"),
        (lambda: dispersion.common_k([[0, 0], [0, 0]]), "nothing was counted"),
        (lambda: dispersion.clumping_from_taylor(0.0, 2.0, 1.5), "mean must be above zero"),
        (lambda: dispersion.fit_taylor([1.0, 1.0, 1.0], [2.0, 2.0, 2.0]), "three sets"),
        (lambda: dispersion.gamma_nodes(1.0, 0), "nodes must be at least 1"),
        (lambda: dispersion.gamma_nodes(-1.0), "k must be above zero"),
        (lambda: crowding.morisita_index([0, 1]), "more than one individual"),
        (lambda: seen.mean_from_incidence(1.0, 3.0, 1.7), "under 1"),
        (lambda: seen.fit_incidence([1.0, 2.0], [0.5, 0.5]), "two sets"),
        (lambda: seen.fit_incidence([1.0, 2.0], [0.5, 1.0]), "under 1"),
    ],
)
def test_impossible_numbers_are_refused_by_name(call: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()  # type: ignore[operator]
