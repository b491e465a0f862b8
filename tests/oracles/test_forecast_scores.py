"""Outside figures for forecast scores: closed forms, hand sums, and another program."""

from __future__ import annotations

import numpy as np
import pytest
import scoringrules as sr
from scipy.stats import nbinom

from outpace.estimation import scoring


def test_the_normal_score_has_its_closed_form_values():
    # Source: (sqrt 2 - 1)/sqrt pi at the mean; closed form at one s.d. (computed).
    assert float(scoring.crps_normal(0, 1, 0)) == pytest.approx(0.2336949773, abs=1e-10)
    assert float(scoring.crps_normal(0, 1, 1)) == pytest.approx(0.6024413576, abs=1e-10)


def test_count_laws_have_the_summed_values():
    # Source: brute sum, scoringrules 0.10 agrees (computed).
    assert scoring.crps_poisson(3, 2) == pytest.approx(0.5417440078, abs=1e-10)
    # n = 2, p = .25: mean n (1 - p) / p = 6.
    assert scoring.crps_negative_binomial(6.0, 2.0, 5) == pytest.approx(1.0385201235, abs=1e-10)


def test_plain_and_fair_differ_as_stated():
    # Source: properscoring and scoringrules (computed): .5 plain, .3 fair.
    assert float(scoring.crps_ensemble([1, 2, 3, 4, 5], 2.5)) == pytest.approx(0.5, abs=1e-12)
    assert float(scoring.crps_ensemble([1, 2, 3, 4, 5], 2.5, fair=True)) == pytest.approx(0.3, abs=1e-12)


def test_brier_interval_and_weighted_interval_scores_are_those_by_hand():
    # Source: by hand: (0.7 - 1)^2; 1 + 10 x 1; see Bracher et al. 2021 for the weights.
    assert float(scoring.brier(0.7, 1)) == pytest.approx(0.09, abs=1e-12)
    assert float(scoring.interval_score(0, 1, 2, alpha=0.2)) == pytest.approx(11.0, abs=1e-12)
    score = scoring.weighted_interval_score(3, [1, 2], [6, 4], 5, [0.1, 0.5])
    assert float(score) == pytest.approx(1.1, abs=1e-12)


def test_another_program_gives_the_same_scores_to_nine_digits():
    # Source: scoringrules, other authors.
    rng = np.random.default_rng(11)
    members = rng.gamma(0.8, 3.0, size=(200, 51))
    truth = rng.gamma(0.8, 3.0, size=200)
    close = {"abs": 1e-9, "rel": 1e-9}
    plain = sr.crps_ensemble(truth, members, estimator="nrg")
    fair = sr.crps_ensemble(truth, members, estimator="fair")
    assert scoring.crps_ensemble(members, truth) == pytest.approx(plain, **close)
    assert scoring.crps_ensemble(members, truth, fair=True) == pytest.approx(fair, **close)
    mean, sd = rng.normal(size=200), rng.gamma(2.0, 1.0, size=200)
    assert scoring.crps_normal(mean, sd, truth) == pytest.approx(sr.crps_normal(truth, mean, sd), **close)
    assert scoring.log_score_normal(mean, sd, truth) == pytest.approx(
        sr.logs_normal(truth, mean, sd), **close
    )
    chance, happened = rng.random(200), rng.integers(0, 2, 200)
    assert scoring.brier(chance, happened) == pytest.approx(sr.brier_score(happened, chance), **close)
    low, high = np.quantile(members, [0.05, 0.95], axis=1)
    ours = scoring.interval_score(low, high, truth, 0.1)
    assert ours == pytest.approx(sr.interval_score(truth, low, high, 0.1), **close)
    inner = np.quantile(members, [0.25, 0.75], axis=1)
    median = np.median(members, axis=1)
    lows, highs, alphas = np.array([low, inner[0]]), np.array([high, inner[1]]), np.array([0.1, 0.5])
    ours = scoring.weighted_interval_score(median, lows, highs, truth, alphas)
    theirs = sr.weighted_interval_score(truth, median, lows.T, highs.T, alphas)
    assert ours == pytest.approx(theirs, **close)


@pytest.mark.parametrize(("mean", "k", "count"), [(0.4, 0.3, 0), (12.0, 0.7, 40), (3.0, 5.0, 2)])
def test_count_laws_match_another_program(mean, k, count):
    # Source: scoringrules, other authors.
    p = k / (k + mean)
    assert scoring.crps_negative_binomial(mean, k, count) == pytest.approx(
        float(sr.crps_negbinom(count, k, p)), abs=1e-9
    )
    assert scoring.crps_poisson(mean, count) == pytest.approx(float(sr.crps_poisson(count, mean)), abs=1e-9)
    # scoringrules gives infinity here where k is no whole number, so the law of scipy is the witness.
    assert float(scoring.log_score_negative_binomial(mean, k, count)) == pytest.approx(
        -nbinom.logpmf(count, k, p), abs=1e-9
    )
