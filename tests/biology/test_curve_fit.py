"""Fits give back what made the data, intervals cover, and another program agrees."""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.api import OLS, add_constant

from outpace.biology import curve_fit
from outpace.biology.curve_shapes import CURVES

DEGREES = np.array([8.0, 11.0, 14.0, 17.0, 20.0, 23.0, 25.0, 27.0, 29.0, 31.0, 32.5])
TRUTH = {
    "linear": (5.0, 110.0),
    "thermal_performance": (5.0, 110.0, 26.3, 34.0),
    "briere1": (1.0e-4, 3.5, 34.0),
    "briere2": (6.0e-5, 4.0, 34.5, 3.0),
    "lactin1": (0.16, 33.0, 6.1),
    "lactin2": (0.012, 35.0, 0.9, -1.06),
    "logan6": (0.04, 0.15, 33.5, 5.5),
    "gaussian": (0.16, 27.0, 9.5),
    "sharpe_schoolfield": (0.18, 6.0e4, 2.5e5, 9.0, 4.5e5, 32.0),
}


def test_every_curve_can_be_fitted() -> None:
    assert set(TRUTH) == set(CURVES)


@pytest.mark.parametrize("curve", TRUTH)
def test_rates_made_by_a_curve_give_its_rates_back(curve: str) -> None:
    rates = CURVES[curve].function(DEGREES, *TRUTH[curve])
    fit = curve_fit.fit_temperature_curve(DEGREES, rates, curve)
    between = np.linspace(9.0, 32.0, 40)
    assert fit.rate(between) == pytest.approx(CURVES[curve].function(between, *TRUTH[curve]), abs=3e-4)
    assert fit.residual_sum < 1e-7
    assert (fit.lowest, fit.highest, fit.n) == (8.0, 32.5, 11)


@pytest.mark.parametrize("curve", ["linear", "briere1", "gaussian", "lactin1", "thermal_performance"])
def test_rates_made_by_a_plain_curve_give_its_parameters_back(curve: str) -> None:
    rates = CURVES[curve].function(DEGREES, *TRUTH[curve])
    fit = curve_fit.fit_temperature_curve(DEGREES, rates, curve)
    assert [estimate.value for estimate in fit.estimates] == pytest.approx(TRUTH[curve], rel=2e-3)
    assert tuple(estimate.name for estimate in fit.estimates) == CURVES[curve].names


def test_a_line_is_fitted_as_another_program_fits_it() -> None:
    # Source: statsmodels' least squares for slope and start; threshold, constant and their errors by the usual
    # linear approximation from its covariance; its AIC lacks the variance as a parameter (2 less).
    degrees = np.array([10.0, 12.5, 15.0, 17.5, 20.0, 22.5, 25.0])
    rates = np.array([0.047, 0.064, 0.093, 0.112, 0.143, 0.163, 0.187])
    other = OLS(rates, add_constant(degrees)).fit()
    start, slope = other.params
    spread = other.cov_params()
    fit = curve_fit.fit_temperature_curve(degrees, rates, "linear")
    threshold, constant = fit.estimates
    assert threshold.value == pytest.approx(-start / slope, rel=1e-6)
    assert constant.value == pytest.approx(1 / slope, rel=1e-6)
    lean = np.array([-1 / slope, start / slope**2])
    assert threshold.standard_error == pytest.approx(np.sqrt(lean @ spread @ lean), rel=1e-4)
    assert constant.standard_error == pytest.approx(np.sqrt(spread[1, 1]) / slope**2, rel=1e-4)
    assert fit.aic == pytest.approx(other.aic + 2, rel=1e-6)
    assert fit.aicc == pytest.approx(fit.aic + 2 * 3 * 4 / 3)


def test_intervals_cover_the_truth_about_as_often_as_they_say() -> None:
    # Source: simulated: 200 trials with known error. 95 % of 200 is 190; 180 to 198 is what chance allows.
    chance = np.random.default_rng(11)
    degrees = np.array([10.0, 12.5, 15.0, 17.5, 20.0, 22.5, 25.0])
    inside = 0
    for _ in range(200):
        rates = (degrees - 5.0) / 110.0 + chance.normal(0, 0.004, degrees.size)
        threshold = curve_fit.fit_temperature_curve(degrees, np.maximum(rates, 0), "linear").estimates[0]
        inside += threshold.low <= 5.0 <= threshold.high
    assert 180 <= inside <= 198


def test_the_curve_that_made_the_data_wins_over_a_line() -> None:
    rates = CURVES["briere1"].function(DEGREES, *TRUTH["briere1"])
    noisy = rates + np.random.default_rng(3).normal(0, 0.001, rates.size)
    fits, _ = curve_fit.fit_curves(DEGREES, noisy)
    order = [fit.curve for fit in fits]
    assert order.index("briere1") < order.index("linear")
    assert order.index("briere1") < order.index("gaussian")
    assert [fit.aic for fit in fits] == sorted(fit.aic for fit in fits)
    assert all(np.isfinite(fit.residual_sum) for fit in fits)


def test_a_small_trial_gets_only_the_curves_it_can_carry() -> None:
    fits, refused = curve_fit.fit_curves([10.0, 15.0, 20.0, 25.0], [0.04, 0.09, 0.14, 0.19])
    assert {fit.curve for fit in fits} <= {"linear", "briere1", "lactin1", "gaussian"}
    assert {fit.curve for fit in fits} | set(refused) == set(CURVES)
    assert next(fit for fit in fits if fit.curve == "gaussian").aicc == np.inf


def test_a_fit_knows_where_it_was_made() -> None:
    fit = curve_fit.fit_temperature_curve([10.0, 15.0, 20.0, 25.0], [0.04, 0.09, 0.14, 0.19], "linear")
    assert list(fit.within_domain([9.9, 10.0, 25.0, 25.1])) == [False, True, True, False]


def test_what_a_trial_does_not_tell_has_no_bounds() -> None:
    # No rate above the optimum: the upper limit of the default curve is then anyone's guess.
    degrees = np.array([8.0, 11.0, 14.0, 17.0, 20.0, 23.0])
    fit = curve_fit.fit_temperature_curve(degrees, (degrees - 5) / 110, "thermal_performance")
    upper = fit.estimates[-1]
    assert upper.low == -np.inf
    assert upper.high == np.inf


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: curve_fit.fit_temperature_curve([10, 20, 25], [0.1, 0.2, 0.3], "spline"),
            "curve must be one of",
        ),
        (lambda: curve_fit.fit_temperature_curve([10, 20], [0.1, 0.2], "linear"), "needs more rates"),
        (
            lambda: curve_fit.fit_temperature_curve([10, 10, 10], [0.1, 0.2, 0.2], "linear"),
            "as many temperatures",
        ),
        (lambda: curve_fit.fit_temperature_curve([10, 20, 25], [0.1, 0.2], "linear"), "rows of one length"),
        (lambda: curve_fit.fit_temperature_curve([10, 20, 25], [0, 0, 0], "linear"), "all rates are 0"),
        (
            lambda: curve_fit.fit_temperature_curve([10, 20, 25], [0.1, -0.2, 0.1], "linear"),
            "must not be negative",
        ),
        (
            lambda: curve_fit.fit_functional_response([5, 10, 20], [1, 2, 30]),
            "more prey was eaten than offered",
        ),
        (lambda: curve_fit.fit_functional_response([5, 5, 5], [1, 2, 3]), "two or more densities"),
        (lambda: curve_fit.fit_functional_response([5, 10, 20], [0, 0, 0]), "no response can be fitted"),
        (lambda: curve_fit.fit_functional_response([5, 10, 20], [5, 10, 20]), "no response can be fitted"),
        (
            lambda: curve_fit.fit_functional_response([5, 10, 20], [1, 2, 3], form="third"),
            "depletion or disc",
        ),
    ],
)
def test_impossible_trials_are_refused_by_name(call: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()  # type: ignore[operator]
