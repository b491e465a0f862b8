"""Temperature: gaps, typed days, the hours ahead."""

from __future__ import annotations

import numpy as np
import pytest
from tests.simulation.houses import FACTS

from outpace.simulation.climate import (
    AHEAD,
    BETWEEN,
    FROM_OTHER_DAYS,
    RECORDED,
    Course,
    Swings,
    fill_gaps,
    fit_inside,
    fit_swings,
    from_daily,
    hourly_ahead,
    prior_from_place,
    prior_swings,
)


def logged(days, sd=2.0, correlation=0.7, level=20.0, seed=0, shape=5.0):
    """An invented record: AR(1) days under a sine."""
    luck = np.random.default_rng(seed)
    strays, now = [], 0.0
    for _ in range(days):
        now = correlation * now + luck.normal(0.0, sd * np.sqrt(1.0 - correlation**2))
        strays.append(now)
    hours = np.arange(24 * days)
    return level + np.repeat(strays, 24) + shape * np.sin(2 * np.pi * (hours - 9) / 24)


def test_short_gaps_are_bridged_and_long_ones_take_the_shape_of_other_days():
    whole = logged(10, sd=0.0)
    holed = whole.copy()
    holed[50:52] = np.nan
    holed[100:140] = np.nan
    filled, flags = fill_gaps(holed)
    assert (flags[50:52] == BETWEEN).all()
    assert (flags[100:140] == FROM_OTHER_DAYS).all()
    assert (np.delete(flags, [*range(50, 52), *range(100, 140)]) == RECORDED).all()
    assert filled[100:140] == pytest.approx(whole[100:140], abs=0.3)
    known = np.isfinite(holed)
    assert np.array_equal(filled[known], whole[known])


def test_gaps_at_both_ends_are_filled():
    holed = logged(6)
    holed[:30] = np.nan
    holed[-20:] = np.nan
    filled, flags = fill_gaps(holed)
    assert np.isfinite(filled).all()
    assert (flags[:30] == FROM_OTHER_DAYS).all()


@pytest.mark.parametrize("record", [np.full(48, np.nan), np.zeros(25)])
def test_an_empty_or_broken_record_is_refused(record):
    with pytest.raises(ValueError):
        fill_gaps(record)


def test_typed_days_meet_their_minimum_and_maximum():
    low, high = np.array([8.0, 12.0, 10.0]), np.array([20.0, 27.0, 24.0])
    days = from_daily(low, high).reshape(3, 24)
    assert days.max(axis=1) == pytest.approx(high)
    assert days.min(axis=1) == pytest.approx(low)
    with pytest.raises(ValueError, match="above its maximum"):
        from_daily([20.0], [10.0])
    with pytest.raises(ValueError, match="one length"):
        from_daily([1.0, 2.0], [3.0])


def test_swings_are_fitted_to_a_long_record_and_stay_prior_for_a_short_one():
    prior = prior_swings(FACTS)
    fitted = fit_swings(logged(400, sd=1.0, correlation=0.6, seed=3), prior)
    assert fitted.fitted
    assert fitted.sd == pytest.approx(1.0, rel=0.2)
    assert fitted.correlation == pytest.approx(0.6, abs=0.1)
    assert fit_swings(logged(10), prior) is prior


def test_members_ahead_keep_the_record_and_spread_with_time():
    record = logged(40)
    ahead = hourly_ahead(FACTS, record, 21, 400, seed=5)
    assert ahead.hours.shape == ((40 + 21) * 24, 400)
    assert np.array_equal(ahead.hours[: 40 * 24], np.repeat(record[:, None], 400, axis=1))
    assert (ahead.flags[40 * 24 :] == AHEAD).all()
    daily = ahead.hours.reshape(-1, 24, 400).mean(axis=1)
    spread = daily.std(axis=1)
    assert spread[40] < spread[60]
    assert spread[60] == pytest.approx(ahead.swings.sd, rel=0.35)


def test_the_three_week_error_is_that_of_slow_swings_not_of_hourly_noise():
    # Source: the mean of n days of AR(1) with correlation c has s.d. about sd √((1+c)/(1−c)/n), a closed form; so have
    # the 21 days ahead, and the last 14 that set the level. Hourly noise would give an error several times smaller.
    ahead = hourly_ahead(FACTS, logged(200, sd=2.0, correlation=0.75, seed=2), 21, 4000, seed=1)
    daily = ahead.hours[200 * 24 :].reshape(21, 24, 4000).mean(axis=1)
    c = ahead.swings.correlation
    days, level = (ahead.swings.sd * np.sqrt((1 + c) / (1 - c) / n) for n in (21, 14))
    as_hourly_noise = ahead.swings.sd / np.sqrt(21 * 24)
    assert 0.8 * days < daily.mean(axis=0).std() < 1.1 * np.hypot(days, level)
    assert daily.mean(axis=0).std() > 4 * as_hourly_noise


def test_one_seed_strays_alike_in_every_house_of_a_site():
    warm, cool = (
        hourly_ahead(FACTS, logged(30, level=level, seed=1), 14, 50, seed=7) for level in (24.0, 16.0)
    )
    strays = [house.hours[30 * 24 :].reshape(14, 24, 50).mean(axis=1) for house in (warm, cool)]
    assert np.corrcoef(strays[0][-1], strays[1][-1])[0, 1] > 0.99


def test_without_a_logger_place_and_set_points_give_a_wide_prior():
    spring = prior_from_place(FACTS, 50.0, 90, 60, heating_setpoint=16.0, vent_setpoint=24.0)
    assert (spring.mean - spring.range / 2 >= 16.0 - 1e-9).all()
    summer = prior_from_place(FACTS, 50.0, 190, 60)
    assert summer.mean.mean() > prior_from_place(FACTS, 50.0, 10, 60).mean.mean() + 8
    south = prior_from_place(FACTS, -50.0, 190, 60)
    assert south.mean.mean() < summer.mean.mean() - 8
    ahead = hourly_ahead(FACTS, np.full(24 * 10, np.nan), 50, 500, seed=2, course=spring)
    assert ahead.course_from == "place and season"
    assert not ahead.swings.fitted
    assert ahead.hours.reshape(60, 24, 500).mean(axis=1).std(axis=1).min() > 2.5
    with pytest.raises(ValueError, match="nothing was recorded"):
        hourly_ahead(FACTS, np.full(240, np.nan), 5, 10, seed=1)
    with pytest.raises(ValueError, match="latitude"):
        prior_from_place(FACTS, 95.0, 1, 10)


def test_the_change_of_season_moves_the_days_ahead():
    course = Course(mean=np.linspace(10.0, 22.0, 61), range=np.full(61, 8.0))
    flat = hourly_ahead(FACTS, logged(40, seed=4), 21, 200, seed=3)
    rising = hourly_ahead(FACTS, logged(40, seed=4), 21, 200, seed=3, course=course)
    gained = (rising.hours - flat.hours)[-24:].mean()
    assert 3.0 < gained < 8.0


def test_an_unmeasured_canopy_widens_the_past_too():
    ahead = hourly_ahead(FACTS, logged(20), 7, 300, seed=3, canopy_measured=False)
    assert ahead.hours[0].std() == pytest.approx(2.0 / 1.645, rel=0.2)


def test_outdoor_air_passes_through_the_house_before_it_is_used():
    luck = np.random.default_rng(4)
    outside = logged(30, sd=3.0, level=10.0, seed=6)
    inside = (
        0.5 * outside + 14.0 + np.resize(np.linspace(0.0, 2.0, 24), 30 * 24) + luck.normal(0, 0.3, 30 * 24)
    )
    house = fit_inside(outside, inside)
    assert house.slope == pytest.approx(0.5, abs=0.05)
    assert house.predict(outside) == pytest.approx(inside, abs=1.5)
    assert house.sd == pytest.approx(0.3, rel=0.2)
    assert fit_inside(outside[: 24 * 3], inside[: 24 * 3]) is None


def test_swings_of_the_facts_are_marked_as_prior():
    assert prior_swings(FACTS) == Swings(
        sd=FACTS.one("", "temperature_anomaly_sd").value,
        correlation=FACTS.one("", "temperature_anomaly_correlation").value,
        fitted=False,
    )
