from __future__ import annotations

import numpy as np
import pytest
from tests.estimation.houses import FACTS, LEAVES, house, temperature

from outpace.estimation.bands import HOUSE, Bands
from outpace.estimation.verdict import (
    HOLDING,
    LOSING,
    UNCLEAR,
    HotSpot,
    Level,
    binding,
    chances,
    horizon,
    judge,
    next_broods,
)
from outpace.simulation.model import Release
from outpace.simulation.parameters import draw

MODEL = house()
PARAMETERS = draw(FACTS, MODEL, 100, 1)
LEVEL = Level(0, "leaf", 1.0)


def ahead(rates, start=0.5, days=28):
    """Bands of members that each grow at one rate; per plant, so that the level is per leaf."""
    grid = np.arange(days + 1.0)[:, None]
    per_leaf = np.asarray(start) * np.exp(np.asarray(rates) * grid)
    per_plant = np.tile((per_leaf * LEAVES)[:, None, None, :], (1, 1, 2, 1))
    nothing = np.zeros_like(per_plant)
    return Bands(MODEL, 40, per_plant, nothing, nothing, PARAMETERS)


def shares(falling, total=100):
    """Members of which so many fall and the others grow."""
    return np.where(np.arange(total) < falling, -0.05, 0.1)


@pytest.mark.parametrize(
    ("falling", "word"),
    [(100, HOLDING), (80, HOLDING), (79, UNCLEAR), (21, UNCLEAR), (20, LOSING), (0, LOSING)],
)
def test_the_words_change_at_four_in_five_and_one_in_five(falling, word):
    assert judge(ahead(shares(falling)), LEVEL).word == word


def test_above_the_level_but_likely_to_end_well_is_holding_with_the_day_it_comes_below():
    verdict = judge(ahead(np.full(100, -0.1), start=3.0), LEVEL)
    assert verdict.word == HOLDING
    assert verdict.above_now
    # 3 e^(-0.1 d) = 1 at d = 10.99
    assert verdict.above_until == 40 + 11
    assert verdict.stays_below == 0.0


def test_below_now_needs_both_chances():
    """A mean that passes the level for a week and comes back ends well, but does not stay below."""
    bands = ahead(np.full(100, -0.1))
    bands.aphids[8:12] = 2.0 * LEAVES
    verdict = judge(bands, LEVEL)
    assert (verdict.ends_well, verdict.stays_below) == (1.0, 0.0)
    assert verdict.word == UNCLEAR


def test_under_the_level_and_growing_does_not_end_well():
    live = 0.2 * np.exp(0.05 * np.arange(22.0))[:, None]
    assert live.max() < 1.0
    assert chances(live, 1.0) == (1.0, 0.0)


def test_growth_far_under_the_level_is_not_held_against_it():
    live = 0.001 * np.exp(0.1 * np.arange(22.0))[:, None]
    assert chances(live, 1.0) == (1.0, 1.0)


def test_a_tagged_hot_spot_overrides_a_good_mean():
    good = ahead(np.full(100, -0.1))
    hot = HotSpot(pest=0, zone=0, aphids=30.0, day=38.0)
    verdict = judge(good, LEVEL, hot_spots=[hot])
    assert verdict.word == UNCLEAR
    assert "tagged spot" in verdict.remarks[0]
    cool = HotSpot(pest=0, zone=0, aphids=0.5, day=38.0)
    assert judge(good, LEVEL, hot_spots=[cool]).word == HOLDING


def test_a_virus_sensitive_crop_is_told_that_numbers_are_not_all():
    verdict = judge(ahead(np.full(100, -0.1)), LEVEL, virus_sensitive=True)
    assert verdict.remarks == ("Numbers holding; virus risk not judged",)
    losing = judge(ahead(np.full(100, 0.1)), LEVEL, virus_sensitive=True)
    assert losing.remarks == ("virus risk not judged",)


def test_the_worst_verdict_binds_the_house():
    good, bad, worse = (judge(ahead(shares(n)), LEVEL) for n in (95, 40, 5))
    assert binding([good, bad, worse]) is worse
    assert binding([good, bad]) is bad


def test_a_level_told_as_a_share_of_plants_is_judged_as_one():
    bands = ahead(np.full(100, -0.02), start=0.02)
    live = bands.live(0, HOUSE, "share_infested")
    assert np.all((live > 0) & (live < 1))
    assert judge(bands, Level(0, "share_infested", 0.95)).word == HOLDING


def test_a_forecast_shorter_than_the_horizon_is_refused():
    with pytest.raises(ValueError, match="at least as long"):
        judge(ahead(shares(50), days=10), LEVEL, horizon_d=21)


def test_the_horizon_is_three_weeks_where_no_brood_is_on_its_way():
    heat = temperature(days=90)
    assert horizon(MODEL, PARAMETERS, heat, today=20, pest=0) == 21
    wrong = house("macrosiphum_euphorbiae")
    parameters = draw(FACTS, wrong, 100, 1)
    released = [Release(19.5, 0, 0, 1000.0)]
    assert horizon(wrong, parameters, heat, today=20, pest=0, releases=released) == 21


def test_the_horizon_reaches_a_week_beyond_the_next_own_brood_in_the_cold():
    heat = temperature(mean=12.0, days=120)
    released = [Release(19.5, 0, 0, 1000.0)]
    found = horizon(MODEL, PARAMETERS, heat, today=20, pest=0, releases=released)
    brood = next_broods(MODEL, PARAMETERS, heat, today=20, pest=0, releases=released)[0]
    assert found == brood - 20 + 7
    assert found > 28
    # Practice range for a release of mummies at 14 to 17 °C: next brood after 15 to 30 days.
    mild = temperature(mean=15.5, days=120, swing=2.0)
    brood = next_broods(MODEL, PARAMETERS, mild, today=20, pest=0, releases=released)[0]
    assert 15 <= brood - 19 <= 30


def test_after_a_brood_has_flown_the_next_generation_is_waited_for():
    heat = temperature(days=120)
    released = [Release(0.5, 0, 0, 1000.0)]
    days = [
        next_broods(MODEL, PARAMETERS, heat, today=today, pest=0, releases=released)[0]
        for today in range(0, 60, 5)
    ]
    assert all(day > today for day, today in zip(days, range(0, 60, 5), strict=True))
    assert days == sorted(days)
