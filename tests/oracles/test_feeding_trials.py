"""Functional responses against their own implicit equations and against fits to a published feeding trial."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import binom

from outpace.biology.curve_fit import fit_functional_response
from outpace.biology.functional_response import disc_equation, prey_eaten

# Source: Vonesh and Bolker 2005, Ecology 86: 1580-1591, tadpoles of a reed frog offered and killed in 16 tanks.
# The 16 pairs are entered again from a course's copy (read); no file of another project is part of this one.
OFFERED = [5, 5, 10, 10, 15, 15, 20, 20, 30, 30, 50, 50, 75, 75, 100, 100]
KILLED = [1, 2, 5, 6, 10, 9, 7, 10, 11, 15, 5, 21, 32, 18, 25, 35]


def test_disc_and_random_predator_equations_at_three_densities() -> None:
    # Source: Holling 1959; Rogers 1972 (recalled); figures for a 1, h .05, T 1 derived.
    prey = [10.0, 20.0, 50.0]
    assert disc_equation(prey, 1.0, 1.0, 0.05) == pytest.approx([6.666667, 10.0, 14.285714], abs=5e-7)
    assert prey_eaten(prey, 1.0, 1.0, 0.05) == pytest.approx([5.223299, 8.657134, 13.632855], abs=5e-7)


@pytest.mark.parametrize("prey", [1e-6, 0.3, 40.0, 5e4])
@pytest.mark.parametrize(("attack", "handling"), [(0.3, 0.02), (8.0, 0.4), (1e-5, 0.01), (50.0, 1e-6)])
def test_prey_eaten_solves_the_random_predator_equation(prey: float, attack: float, handling: float) -> None:
    # Source: Rogers 1972, the implicit equation itself, solved by bisection (recalled).
    # Shares no code and no algebra with the closed form under test.
    predators, days = 2.0, 7.0

    def gap(eaten: float) -> float:
        return eaten + prey * np.expm1(min(-attack * (predators * days - handling * eaten), 500.0))

    expected = brentq(gap, 0.0, prey, xtol=1e-300, rtol=1e-14)
    assert prey_eaten(prey, predators, attack, handling, days) == pytest.approx(expected, rel=1e-9)


def test_disc_equation_fitted_to_the_reed_frog_trial() -> None:
    # Source: the textbook prints a .526, h .0166 (recalled, and found again); six digits and the likelihood are
    # from an independent fit. Evidence: derived.
    fit = fit_functional_response(OFFERED, KILLED, form="disc")
    assert fit.attack_rate.value == pytest.approx(0.525894, abs=2e-6)
    assert fit.handling_time.value == pytest.approx(0.016603, abs=2e-6)
    assert fit.negative_log_likelihood == pytest.approx(46.7214, abs=5e-5)
    assert fit.attack_rate.low < 0.526 < fit.attack_rate.high
    assert fit.n == 16


def test_depletion_fitted_to_the_reed_frog_trial_is_at_the_top_of_its_likelihood() -> None:
    # Source: binomial likelihood from scipy.stats with eaten prey from bisection; no step away gains.
    fit = fit_functional_response(OFFERED, KILLED, form="depletion")

    def surprise(attack: float, handling: float) -> float:
        total = 0.0
        for offered, killed in zip(OFFERED, KILLED, strict=True):
            eaten = brentq(
                lambda n, o=offered: n + o * np.expm1(-attack * (1 - handling * n)), 0.0, offered, xtol=1e-13
            )
            total -= float(binom.logpmf(killed, offered, eaten / offered))
        return total

    best = surprise(fit.attack_rate.value, fit.handling_time.value)
    assert best == pytest.approx(fit.negative_log_likelihood, abs=1e-7)
    for attack, handling in [(1.01, 1), (0.99, 1), (1, 1.01), (1, 0.99), (1.01, 1.01), (0.99, 0.99)]:
        assert surprise(fit.attack_rate.value * attack, fit.handling_time.value * handling) > best


def test_a_trial_of_a_known_predator_gives_its_parameters_back() -> None:
    # Source: simulated. The trial has the design and the fitted parameters of a published one on Gammarus pulex
    # (7 densities × 16, 40 h, a 1.477597, h .142687; those figures derived from data under another licence, which
    # are not carried here), so the truth is known and the fit must find it within three standard errors.
    days = 40 / 24
    offered = np.repeat([2, 4, 8, 16, 32, 64, 128], 16)
    eaten = prey_eaten(offered.astype(float), 1.0, 1.477597, 0.142687, days)
    killed = np.random.default_rng(20).binomial(offered, eaten / offered)
    fit = fit_functional_response(offered, killed, form="depletion", days=days)
    assert abs(fit.attack_rate.value - 1.477597) < 3 * fit.attack_rate.standard_error
    assert abs(fit.handling_time.value - 0.142687) < 3 * fit.handling_time.standard_error
    assert fit.attack_rate.low < fit.attack_rate.value < fit.attack_rate.high
    wrong = fit_functional_response(offered, killed, form="disc", days=days)
    assert fit.aic < wrong.aic


def test_whole_trials_without_chance_give_the_parameters_back_exactly() -> None:
    # Source: law of the estimator: counts equal to their expectation are fitted by the truth. Evidence: derived.
    offered = np.array([4.0, 8.0, 16.0, 32.0, 64.0, 128.0])
    eaten = prey_eaten(offered, 1.0, 1.4, 0.12, 1.5)
    fit = fit_functional_response(offered, eaten, form="depletion", days=1.5)
    assert fit.attack_rate.value == pytest.approx(1.4, rel=1e-5)
    assert fit.handling_time.value == pytest.approx(0.12, rel=1e-5)
