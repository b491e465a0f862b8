from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import kstest

from outpace.estimation.scoring import (
    covered,
    crps_ensemble,
    crps_negative_binomial,
    crps_normal,
    crps_poisson,
    log_score_ensemble,
    log_score_normal,
    randomised_pit,
)


def test_the_score_of_a_large_ensemble_nears_that_of_its_law():
    members = np.random.default_rng(1).normal(3.0, 2.0, 200_000)
    # Source: the closed form of the normal law, a different computation.
    assert crps_ensemble(members, 4.5) == pytest.approx(float(crps_normal(3.0, 2.0, 4.5)), abs=0.01)
    assert log_score_ensemble(members, 4.5) == pytest.approx(float(log_score_normal(3.0, 2.0, 4.5)), abs=0.02)


def test_the_fair_score_of_small_ensembles_has_the_mean_of_the_law():
    rng = np.random.default_rng(2)
    members = rng.normal(size=(40_000, 4))
    fair = crps_ensemble(members, np.full(40_000, 0.7), fair=True).mean()
    assert fair == pytest.approx(float(crps_normal(0.0, 1.0, 0.7)), abs=0.01)


def test_a_true_forecast_scores_better_than_a_biased_or_a_narrow_one():
    rng = np.random.default_rng(3)
    truth = rng.normal(size=20_000)
    good = crps_normal(0.0, 1.0, truth).mean()
    assert good < crps_normal(0.5, 1.0, truth).mean()
    assert good < crps_normal(0.0, 0.6, truth).mean()
    assert good < crps_normal(0.0, 1.6, truth).mean()


def test_a_negative_binomial_nears_a_poisson_when_not_clumped():
    assert crps_negative_binomial(3.0, 1e7, 2) == pytest.approx(crps_poisson(3.0, 2), abs=1e-5)


def test_the_pit_of_well_made_counts_is_even_and_that_of_narrow_ones_is_not():
    rng = np.random.default_rng(4)
    rate = rng.gamma(2.0, 2.0, size=10_000)
    members = rng.poisson(rate[:, None], size=(10_000, 99))
    truth = rng.poisson(rate)
    assert kstest(randomised_pit(members, truth, seed=5), "uniform").pvalue > 0.01
    narrow = rate[:, None] + 0.5 * (members - rate[:, None])
    assert kstest(randomised_pit(narrow, truth, seed=5), "uniform").pvalue < 1e-6


def test_a_ninety_per_cent_band_of_a_true_forecast_covers_nine_in_ten():
    rng = np.random.default_rng(6)
    members = rng.normal(size=(4_000, 400))
    assert covered(members, rng.normal(size=4_000), 0.9).mean() == pytest.approx(0.9, abs=0.015)


def test_an_ensemble_without_spread_has_no_density():
    with pytest.raises(ValueError, match="same"):
        log_score_ensemble([2.0, 2.0, 2.0], 2.0)
