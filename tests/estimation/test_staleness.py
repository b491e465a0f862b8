from __future__ import annotations

import pytest
from tests.estimation.houses import FACTS, house, temperature

from outpace.estimation.staleness import days_until_grown, staleness
from outpace.simulation.parameters import draw

MODEL = house()
PARAMETERS = draw(FACTS, MODEL, 64, 1)


def stale(days, mean):
    heat = temperature(mean=mean, swing=0.0)
    return staleness(MODEL, PARAMETERS, heat, last_walk=5.4, today=5.4 + days, pest=0)


# Source: four-fold growth takes about 7 days at 15 °C and 4 at 25 °C (derived from r of Myzus persicae).
@pytest.mark.parametrize(("mean", "fine", "warned"), [(15.0, 5, 9), (25.0, 3, 5)])
def test_the_warning_follows_heat_and_not_days_alone(mean, fine, warned):
    assert not stale(fine, mean).warn
    assert stale(warned, mean).warn


def test_past_ten_days_there_is_no_verdict_whatever_the_temperature():
    assert not stale(10, 8.0).closed
    cold = stale(10.5, 8.0)
    assert cold.closed
    assert cold.warn
    assert "no verdict" in cold.message


def test_a_fresh_walk_has_no_message():
    assert stale(1, 15.0).message == ""
    assert stale(0, 15.0).times_grown == 1.0


def test_a_walk_ahead_of_today_is_refused():
    with pytest.raises(ValueError, match="ahead"):
        staleness(MODEL, PARAMETERS, temperature(), last_walk=9.0, today=8.0, pest=0)


def test_a_walk_of_before_the_temperatures_is_stale_and_no_error():
    heat = temperature(mean=15.0, swing=0.0)
    old = staleness(MODEL, PARAMETERS, heat, last_walk=-52.0, today=9.0, pest=0)
    assert old.days == 61.0
    assert old.closed
    assert old.times_grown == staleness(MODEL, PARAMETERS, heat, last_walk=0.0, today=9.0, pest=0).times_grown


def test_what_a_clean_walk_shows_holds_for_longer_in_the_cold():
    cold, warm = (
        days_until_grown(MODEL, PARAMETERS, temperature(mean=mean, swing=0.0), from_day=3, pest=0)
        for mean in (15.0, 25.0)
    )
    assert 6 <= cold <= 9
    assert 3 <= warm <= 5
