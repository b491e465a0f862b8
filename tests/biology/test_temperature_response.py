"""Laws that every response curve keeps, whatever its parameters."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from outpace.biology import enzyme_response
from outpace.biology import temperature_curves as curves
from outpace.biology import temperature_response as rules

DEGREES = st.floats(-30.0, 70.0)
ALL = {
    "linear": lambda t: rules.linear(t, 6.0, 100.0),
    "thermal_performance": lambda t: rules.thermal_performance(t, 6.0, 100.0, 28.0, 35.0),
    "briere1": lambda t: curves.briere1(t, 1e-4, 4.0, 35.0),
    "briere2": lambda t: curves.briere2(t, 1e-4, -4.0, 35.0, 3.3),
    "lactin1": lambda t: curves.lactin1(t, 0.16, 31.4, 6.0),
    "lactin2": lambda t: curves.lactin2(t, 0.009, 35.3, 0.2, -1.05),
    "logan6": lambda t: curves.logan6(t, 0.04, 0.15, 31.4, 5.8),
    "gaussian": lambda t: curves.gaussian(t, 0.15, 26.0, 10.0),
    "sharpe_schoolfield": lambda t: enzyme_response.sharpe_schoolfield(t, 0.2, 5e4, 2e5, 8.0, 4e5, 33.0),
}


@pytest.mark.parametrize("name", ALL)
def test_no_curve_goes_below_zero_or_overflows(name: str) -> None:
    rate = ALL[name](np.linspace(-60.0, 400.0, 2000))
    assert np.isfinite(rate).all()
    assert (rate >= 0.0).all()


@pytest.mark.parametrize("name", ALL)
def test_a_rate_does_not_depend_on_the_temperatures_beside_it(name: str) -> None:
    degrees = np.array([[-5.0, 12.0], [22.0, 41.0]])
    together = ALL[name](degrees)
    assert together.shape == degrees.shape
    assert [float(ALL[name](one)) for one in degrees.ravel()] == list(together.ravel())


@pytest.mark.parametrize(
    "name", [name for name in ALL if name not in ("linear", "gaussian", "sharpe_schoolfield")]
)
def test_curves_with_an_upper_limit_are_nothing_above_it(name: str) -> None:
    assert ALL[name]([36.0, 45.0, 90.0]) == pytest.approx([0.0, 0.0, 0.0], abs=0.0)


@pytest.mark.parametrize("name", ["lactin1", "lactin2", "logan6"])
def test_a_missing_temperature_is_refused_not_grown_through(name: str) -> None:
    with pytest.raises(ValueError, match="temperature must be finite"):
        ALL[name]([20.0, float("nan")])


@given(DEGREES, st.floats(-5, 15), st.floats(5, 15), st.floats(1, 12), st.floats(20, 500))
def test_default_curve_follows_the_line_to_its_peak_and_ends_at_the_limit(
    degrees: float, low: float, rise: float, fall: float, constant: float
) -> None:
    best, top = low + rise, low + rise + fall
    rate = rules.thermal_performance(degrees, low, constant, best, top)
    peak = rise / constant
    assert 0.0 <= rate <= peak * (1 + 1e-12)
    if degrees <= best:
        assert rate == pytest.approx(float(rules.linear(degrees, low, constant)), abs=1e-15)
    if degrees >= top or degrees <= low:
        assert rate == 0.0
    at_peak, beside = rules.thermal_performance([best, np.nextafter(best, 99)], low, constant, best, top)
    assert beside == pytest.approx(at_peak, rel=1e-9)


@given(DEGREES, st.floats(0.1, 10))
def test_twice_the_heat_needed_is_half_the_rate(degrees: float, factor: float) -> None:
    once = rules.thermal_performance(degrees, 5.0, 120.0, 26.0, 34.0)
    more = rules.thermal_performance(degrees, 5.0, 120.0 * factor, 26.0, 34.0)
    assert more * factor == pytest.approx(float(once), rel=1e-12, abs=1e-15)


def test_each_member_has_its_own_parameters() -> None:
    hours = np.array([10.0, 20.0, 31.0])[:, None]
    low, constant = np.array([4.0, 6.0]), np.array([130.0, 100.0])
    best, top = np.array([25.0, 28.0]), np.array([32.5, 35.0])
    together = rules.thermal_performance(hours, low, constant, best, top)
    assert together.shape == (3, 2)
    for member in range(2):
        alone = rules.thermal_performance(
            hours[:, 0], low[member], constant[member], best[member], top[member]
        )
        assert together[:, member] == pytest.approx(alone, abs=0.0)


def test_a_mean_temperature_is_no_stand_in_for_its_hours() -> None:
    # Below the threshold half the day: the hours still give heat, the mean at the threshold gives none.
    hours = np.repeat([2.0, 10.0], 12)
    assert rules.linear(hours, 6.0, 100.0).mean() == pytest.approx(0.02)
    assert rules.linear(hours.mean(), 6.0, 100.0) == 0.0


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: rules.linear(20.0, 6.0, 0.0), "thermal_constant must be above zero"),
        (lambda: rules.thermal_performance(20.0, 26.0, 100.0, 26.0, 34.0), "must rise in this order"),
        (lambda: rules.thermal_performance(20.0, 6.0, 100.0, 26.0, 26.0), "must rise in this order"),
        (lambda: curves.briere1(20.0, 1e-4, 35.0, 35.0), "lower must be below upper"),
        (lambda: curves.briere2(20.0, 1e-4, 5.0, 35.0, 0.0), "root must be above zero"),
        (lambda: curves.logan6(20.0, -1.0, 0.15, 31.0, 5.0), "scale must be above zero"),
        (lambda: curves.lactin1(20.0, 0.5, 31.0, 2.0), "no upper limit"),
        (lambda: curves.gaussian(20.0, 0.1, 25.0, 0.0), "spread must be above zero"),
        (
            lambda: enzyme_response.sharpe_schoolfield(20.0, 0.2, 5e4, 2e5, 33.0, 4e5, 33.0),
            "cold_half must be below",
        ),
        (lambda: enzyme_response.sharpe_schoolfield(-300.0, 0.2, 5e4, 2e5, 8.0, 4e5, 33.0), "absolute zero"),
        (lambda: rules.threshold_and_constant(-0.1, 0.0), "slope must be above zero"),
    ],
)
def test_impossible_parameters_are_refused_by_name(call: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()  # type: ignore[operator]
