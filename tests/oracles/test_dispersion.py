"""Clumping, incidence and Taylor's law against published counts and against other programs."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import gamma, nbinom, poisson
from statsmodels.discrete.discrete_model import NegativeBinomial

from outpace.biology.crowding import mean_crowding, morisita_index
from outpace.biology.dispersion import (
    clumping_from_taylor,
    common_k,
    fit_taylor,
    gamma_nodes,
    maximum_likelihood_k,
    moment_k,
    taylor_variance,
    zero_class_k,
    zero_share,
)
from outpace.biology.incidence import fit_incidence, incidence, mean_from_incidence

DATA = Path(__file__).parent / "data"

# Source: Bliss and Fisher 1953, red mites on 150 apple leaves: leaves with 0, 1, ... 7 mites. Evidence: recalled;
# the printed k comes out again.
MITES = np.repeat(np.arange(8), [70, 38, 17, 10, 9, 3, 2, 1])

# Source: Bliss and Fisher 1953, table 3, after Beall 1940: corn borers on 120 hills under each of four treatments,
# number of borers: hills. From an open data collection under the MIT licence. Evidence: read.
BORERS = [
    {
        0: 19,
        1: 12,
        2: 18,
        3: 18,
        4: 11,
        5: 12,
        6: 7,
        7: 8,
        8: 4,
        9: 4,
        10: 1,
        12: 1,
        13: 1,
        15: 1,
        17: 1,
        19: 1,
        26: 1,
    },
    {0: 24, 1: 16, 2: 16, 3: 18, 4: 15, 5: 9, 6: 6, 7: 5, 8: 3, 9: 4, 10: 3, 12: 1},
    {0: 43, 1: 35, 2: 17, 3: 11, 4: 5, 5: 4, 6: 1, 7: 2, 8: 2},
    {0: 47, 1: 23, 2: 27, 3: 9, 4: 7, 5: 3, 6: 1, 7: 1, 10: 1, 11: 1},
]
HILLS = [np.repeat(list(row), list(row.values())) for row in BORERS]

# Source: Perry, Winder, Holland and Alston 1999, Ecology Letters 2: 106-113: Sitobion avenae at 63 points of a
# 9 × 7 grid in wheat. From an open data collection under the MIT licence. Evidence: read.
GRID = [0, 0, 3, 7, 9, 1, 14, 5, 0, 16, 0, 2, 0, 6, 2, 1, 0, 8, 0, 52, 16, 9, 1, 3, 6, 0, 1, 9, 3, 0, 4, 0]
GRID += [
    8,
    27,
    14,
    20,
    2,
    0,
    0,
    0,
    0,
    102,
    6,
    3,
    5,
    0,
    16,
    21,
    6,
    6,
    8,
    9,
    3,
    0,
    71,
    1,
    4,
    1,
    18,
    2,
    0,
    23,
    0,
]

# Source: Beall 1940, beet webworms on 1300 plots: plots with 0, 1, ... 9. Open data collection, MIT. Evidence: read.
WEBWORMS = np.repeat(np.arange(10), [711, 329, 146, 71, 29, 9, 2, 2, 0, 1])


def traps() -> list[np.ndarray]:
    """Return counts of 63 traps on six dates."""
    with (DATA / "arthropod_traps.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.reader(file) if not row[0].startswith("#")]
    return [np.array([int(count) for count in row[1:]]) for row in rows[1:]]


def test_three_estimates_of_the_clumping_of_mites() -> None:
    # Source: Bliss and Fisher 1953 print 1.0246 by maximum likelihood (recalled); the others derived.
    assert MITES.mean() == pytest.approx(1.146667, abs=5e-7)
    assert MITES.var(ddof=1) == pytest.approx(2.273647, abs=5e-7)
    assert maximum_likelihood_k(MITES) == pytest.approx(1.024592, abs=5e-7)
    assert moment_k(MITES) == pytest.approx(1.166697, abs=5e-7)
    assert zero_class_k(MITES) == pytest.approx(0.992306, abs=5e-7)


def test_expected_leaves_with_each_number_of_mites() -> None:
    # Source: Bliss and Fisher 1953 (recalled) and derived; the last class holds all above 6.
    k = maximum_likelihood_k(MITES)
    share = nbinom.pmf(np.arange(7), k, k / (k + MITES.mean()))
    expected = [69.49, 37.60, 20.10, 10.70, 5.69, 3.02, 1.60]
    assert 150 * share == pytest.approx(expected, abs=0.006)
    assert 150 * zero_share(MITES.mean(), k) == pytest.approx(69.49, abs=0.006)


def test_clumping_of_corn_borers_under_four_treatments() -> None:
    # Source: Bliss and Fisher 1953 print 1.532, 1.764, 1.333, 1.190 (read), found with the means of their day: within
    # 4 %. Modern maximum likelihood, by two other programs: 1.5029, 1.7605, 1.3331, 1.1535.
    assert [hills.mean() for hills in HILLS] == pytest.approx(
        [4.033333, 3.166667, 1.483333, 1.508333], abs=5e-7
    )
    found = [maximum_likelihood_k(hills) for hills in HILLS]
    assert found == pytest.approx([1.532, 1.764, 1.333, 1.190], rel=0.04)
    assert found == pytest.approx([1.5029, 1.7605, 1.3331, 1.1535], abs=6e-5)


def test_common_clumping_of_corn_borers() -> None:
    # Source: two other programs agree on 1.47145 with one mean a treatment. Evidence: derived.
    assert common_k(HILLS) == pytest.approx(1.47145, abs=5e-6)


def test_clumping_of_webworms_equals_another_programs() -> None:
    # Source: statsmodels' negative-binomial regression with nothing but a mean. (The printed likelihoods of these
    # plots belong to a model with blocks and treatments, which is not ours.)
    other = NegativeBinomial(WEBWORMS, np.ones(WEBWORMS.size)).fit(disp=0, maxiter=500, gtol=1e-9)
    assert maximum_likelihood_k(WEBWORMS) == pytest.approx(1 / other.params[-1], rel=1e-5)


def test_aphids_on_a_grid_in_wheat() -> None:
    # Source: derived from the counts of Perry et al. 1999 by another program.
    counts = np.array(GRID)
    assert (counts.size, counts.sum(), (counts == 0).sum()) == (63, 554, 18)
    assert counts.mean() == pytest.approx(8.793651, abs=5e-7)
    assert counts.var(ddof=1) == pytest.approx(286.36, abs=0.005)
    assert maximum_likelihood_k(counts) == pytest.approx(0.392650, abs=1.5e-6)
    assert morisita_index(counts) == pytest.approx(4.538866, abs=5e-7)
    assert mean_crowding(counts) == pytest.approx(40.35805, abs=5e-6)


def test_taylors_law_over_six_dates_of_traps() -> None:
    # Source: derived from the counts of Holland et al. 1999 by another program: ln a 1.276592, b 1.171002, R² .83887.
    dates = traps()
    a, b, explained = fit_taylor([date.mean() for date in dates], [date.var(ddof=1) for date in dates])
    assert a == pytest.approx(3.584405, abs=5e-6)
    assert b == pytest.approx(1.171002, abs=5e-7)
    assert explained == pytest.approx(0.83887, abs=5e-6)


def test_clumping_on_six_dates_of_traps() -> None:
    # Source: derived from the same counts by another program, whose search stops within 1e-4 of the maximum (at the
    # fourth date the likelihood is higher at 2.91397).
    found = [maximum_likelihood_k(date) for date in traps()]
    assert found == pytest.approx([4.7647, 3.6752, 3.3080, 2.9137, 1.6258, 6.3660], rel=1e-4)


@pytest.mark.parametrize(
    ("mean", "k", "share", "units"),
    [(0.05, 0.5, 0.95346, 63), (0.1, 0.5, 0.91287, 33), (0.1, 1.0, 0.90909, 32)],
)
def test_units_to_look_at_before_an_infested_one_is_found(
    mean: float, k: float, share: float, units: int
) -> None:
    # Source: (1 + m / k)^-k and its power 95 % short of one; derived.
    assert zero_share(mean, k) == pytest.approx(share, abs=5e-6)
    assert int(np.ceil(np.log(0.05) / np.log(zero_share(mean, k)))) == units


def test_incidence_at_three_means() -> None:
    # Source: Wilson and Room 1983 with a 2.5, b 1.5 (recalled); figures derived. At .1 the formula alone would say
    # .1061, more than the .0952 of chance: the variance it assumes is below the mean.
    assert incidence([1.0, 5.0], 2.5, 1.5) == pytest.approx([0.457116, 0.846594], abs=5e-7)
    bare = 1 - np.exp(-0.1 * np.log(2.5 * 0.1**0.5) / (2.5 * 0.1**0.5 - 1))
    assert bare == pytest.approx(0.1061, abs=5e-5)
    assert incidence(0.1, 2.5, 1.5) == pytest.approx(1 - np.exp(-0.1), abs=1e-12)


def test_incidence_of_cotton_aphids_on_glasshouse_cucumber() -> None:
    # Source: Kang et al. 2012, abstract (read): shares of leaves with more than five aphids of .15 and .96 stand for
    # 1.2 and 222.8 a leaf. The line through both ends derived.
    intercept, slope = fit_incidence([1.2, 222.8], [0.15, 0.96])
    assert (intercept, slope) == pytest.approx((3.361, 1.749), abs=5e-4)
    assert mean_from_incidence([0.15, 0.96], intercept, slope) == pytest.approx([1.2, 222.8], rel=1e-9)


@pytest.mark.parametrize("k", [0.08, 0.35, 1.0, 4.5, 60.0])
def test_gamma_nodes_are_the_means_of_equal_slices(k: float) -> None:
    # Source: quadrature over slices of scipy.stats.gamma; no incomplete gamma of shape k + 1. Evidence: derived.
    spread = gamma(a=k, scale=1 / k)
    # The mean over a slice is the integral of the quantile function over it.
    expected = [
        5 * quad(spread.ppf, low, high, epsabs=1e-12, epsrel=1e-10, limit=300)[0]
        for low, high in ((0, 0.2), (0.2, 0.4), (0.4, 0.6), (0.6, 0.8), (0.8, 1))
    ]
    assert gamma_nodes(k) == pytest.approx(expected, rel=1e-6, abs=1e-9)
    assert gamma_nodes(k).mean() == pytest.approx(1.0, abs=1e-12)


def test_taylors_law_sets_the_variance_of_the_counts_it_clumps() -> None:
    # Source: variance of the negative binomial, m + m²/k, from scipy.stats. Evidence: derived.
    for mean in (0.7, 3.0, 40.0):
        k = float(clumping_from_taylor(mean, 2.5, 1.5))
        assert nbinom.var(k, k / (k + mean)) == pytest.approx(
            float(taylor_variance(mean, 2.5, 1.5)), rel=1e-9
        )


def test_counts_by_chance_are_called_random() -> None:
    # Source: Poisson shares from scipy.stats, rounded to whole leaves; their variance does not exceed the mean.
    leaves = np.round(1000 * poisson.pmf(np.arange(7), 1.2)).astype(int)
    counts = np.repeat(np.arange(7), leaves)
    assert maximum_likelihood_k(counts) > 100
    assert zero_share(1.2, np.inf) == pytest.approx(poisson.pmf(0, 1.2), rel=1e-12)
