"""Laws that every degree-day method keeps."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from outpace.biology import degree_days as heat

DAY = st.tuples(st.floats(-20, 45), st.floats(0, 25), st.floats(0, 25))
THRESHOLDS = st.tuples(st.floats(0, 12), st.floats(1, 25))
SINGLE = [heat.single_triangle, heat.single_sine]
DOUBLE = [(heat.double_triangle, heat.single_triangle), (heat.double_sine, heat.single_sine)]


@pytest.mark.parametrize("method", SINGLE)
@given(DAY, THRESHOLDS)
def test_a_day_gives_between_nothing_and_the_span_of_the_thresholds(method, day, thresholds) -> None:  # type: ignore[no-untyped-def]
    low, reach, _ = day
    base, span = thresholds
    for cutoff in heat.CUTOFFS:
        gained = method(low, low + reach, base, base + span, cutoff=cutoff)
        assert 0.0 <= gained <= span + 1e-9
        assert gained <= method(low, low + reach, base, base + span) + 1e-9
    assert method(low, low + reach, base, base + span) <= method(low, low + reach, base) + 1e-9


@pytest.mark.parametrize("method", SINGLE)
@given(DAY, THRESHOLDS, st.floats(0, 5))
def test_a_warmer_day_never_gives_less(method, day, thresholds, more) -> None:  # type: ignore[no-untyped-def]
    low, reach, _ = day
    base, span = thresholds
    gained = method(low, low + reach, base, base + span)
    assert method(low, low + reach + more, base, base + span) >= gained - 1e-9
    assert method(low + more, low + reach + more, base, base + span) >= gained - 1e-9


@pytest.mark.parametrize(("double", "single"), DOUBLE)
@given(DAY, THRESHOLDS)
def test_a_double_method_is_the_mean_of_its_two_halves(double, single, day, thresholds) -> None:  # type: ignore[no-untyped-def]
    low, reach, other = day
    base, span = thresholds
    high = low + max(reach, other)
    halves = [single(least, high, base, base + span) for least in (low, high - other)]
    assert double(low, high, high - other, base, base + span) == pytest.approx(
        float(np.mean(halves)), abs=1e-9
    )


@pytest.mark.parametrize("method", [*SINGLE, heat.simple_average])
@given(DAY, THRESHOLDS, st.floats(-30, 30))
def test_only_differences_of_temperature_count(method, day, thresholds, shift) -> None:  # type: ignore[no-untyped-def]
    low, reach, _ = day
    base, span = thresholds
    here = method(low, low + reach, base, base + span)
    there = method(low + shift, low + reach + shift, base + shift, base + span + shift)
    assert there == pytest.approx(float(here), abs=1e-7)


@given(st.floats(8, 20), st.floats(0, 8))
def test_all_methods_agree_on_a_day_between_the_thresholds(low: float, reach: float) -> None:
    expected = low + reach / 2 - 6
    for method in (heat.simple_average, heat.single_triangle, heat.single_sine):
        assert method(low, low + reach, 6.0, 30.0) == pytest.approx(expected, abs=1e-9)


def test_a_simple_average_stops_at_the_upper_threshold_either_way() -> None:
    assert heat.simple_average(40.0, 50.0, 10.0, 30.0) == 20.0
    assert heat.simple_average(40.0, 50.0, 10.0, 30.0, clip_first=True) == 20.0
    assert heat.simple_average(20.0, 50.0, 10.0, 30.0) == 15.0


def test_days_are_worked_side_by_side() -> None:
    low, high = np.array([2.0, 9.0, 15.0]), np.array([12.0, 31.0, 36.0])
    together = heat.single_sine(low, high, 7.0, 30.0)
    assert list(together) == [
        float(heat.single_sine(a, b, 7.0, 30.0)) for a, b in zip(low, high, strict=True)
    ]


def test_records_add_up_whatever_their_spacing() -> None:
    hours = np.array([5.0, 9.0, 20.0, 33.0] * 6)
    halves = np.repeat(hours, 2)
    for cutoff in heat.CUTOFFS:
        once = heat.from_records(hours, 7.0, 30.0, cutoff=cutoff).sum()
        assert heat.from_records(halves, 7.0, 30.0, cutoff=cutoff, hours=0.5).sum() == pytest.approx(once)
    # by hand: (0 + 2 + 13 + 23) / 4 = 9.5; vertical drops the 23, intermediate takes 20 in its place
    assert heat.from_records(hours, 7.0, 30.0).sum() == pytest.approx(9.5)
    assert heat.from_records(hours, 7.0, 30.0, cutoff="vertical").sum() == pytest.approx(3.75)
    assert heat.from_records(hours, 7.0, 30.0, cutoff="intermediate").sum() == pytest.approx(8.75)


def test_impossible_days_are_refused() -> None:
    with pytest.raises(ValueError, match="a minimum lies above its maximum"):
        heat.single_sine(20.0, 10.0, 5.0)
    with pytest.raises(ValueError, match="a minimum lies above its maximum"):
        heat.double_sine(5.0, 10.0, 11.0, 5.0)
    with pytest.raises(ValueError, match="upper_threshold must be above"):
        heat.single_triangle(5.0, 10.0, 30.0, 30.0)
    with pytest.raises(ValueError, match="maximum must be finite"):
        heat.simple_average(5.0, float("nan"), 5.0)
    for call in (heat.single_sine, heat.single_triangle):
        with pytest.raises(ValueError, match="horizontal, intermediate, vertical"):
            call(5.0, 10.0, 5.0, cutoff="diagonal")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="horizontal, intermediate, vertical"):
        heat.from_records([5.0], 5.0, cutoff="diagonal")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="hours must be above zero"):
        heat.from_records([5.0], 5.0, hours=0.0)
