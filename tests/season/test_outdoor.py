"""An imported forecast is outdoor air: it passes through the house before it counts."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from outpace.facts.table import load
from outpace.season.outdoor import Foreseen, follow, foreseen
from outpace.terms.place import Climate, Farm, House
from outpace.terms.tables import Snapshot

FARM = Farm(farm="F", latitude=52.0, longitude=0.0, time_zone="UTC", currency="EUR")
HOUSE = House(farm="F", house="H", crop="cucumber", area_m2=100.0, plants=100)
BEGIN = date(2026, 4, 1)
TODAY = date(2026, 4, 21)
DAYS = 7


def outside_at(hour):
    return 10.0 + 5.0 * np.sin(2 * np.pi * hour / 24) + 3.0 * np.sin(2 * np.pi * hour / (24 * 6.5))


def rows(*, record, ahead_degc, issued=datetime(2026, 4, 21, tzinfo=UTC)):
    start = datetime(2026, 4, 1, tzinfo=UTC)
    found = []
    for hour in range(20 * 24 if record else 0):
        found.append(
            Climate(
                farm="F",
                house="H",
                place="outside",
                source="logger",
                time=start + timedelta(hours=hour),
                temperature_degc=float(outside_at(hour)),
            )
        )
    for hour in range(5 * 24):
        found.append(
            Climate(
                farm="F",
                house="H",
                place="outside",
                source="forecast",
                issued=issued,
                time=start + timedelta(hours=20 * 24 + hour),
                temperature_degc=ahead_degc,
            )
        )
    return found


def snapshot(climate):
    return Snapshot(as_of=datetime(2026, 4, 21, 9, tzinfo=UTC), head="x", rows={"climate": tuple(climate)})


def inside():
    # the truth of this house: half of the outdoor swing on top of 12 °C
    return 12.0 + 0.5 * outside_at(np.arange(20 * 24))


def test_a_forecast_passes_through_the_response_that_both_records_teach():
    known = snapshot(rows(record=True, ahead_degc=20.0))
    said = foreseen(known, load(), FARM, HOUSE, inside(), BEGIN, TODAY, DAYS)
    assert said is not None
    assert said.fitted
    assert said.days == 5
    # by hand: 12 + 0.5 × 20 = 22 °C on every day that the forecast reaches
    assert said.mean[:5] == pytest.approx(22.0, abs=0.1)
    assert np.isnan(said.mean[5:]).all()


def test_without_overlap_the_house_is_warmer_by_a_general_figure_and_the_spread_is_wide():
    known = snapshot(rows(record=False, ahead_degc=14.0))
    said = foreseen(known, load(), FARM, HOUSE, np.full(20 * 24, np.nan), BEGIN, TODAY, DAYS)
    fitted = foreseen(
        snapshot(rows(record=True, ahead_degc=14.0)), load(), FARM, HOUSE, inside(), BEGIN, TODAY, DAYS
    )
    assert said is not None
    assert fitted is not None
    assert not said.fitted
    assert said.mean[0] == pytest.approx(14.0 + load().one("", "inside_excess").value)
    assert said.sd[0] > 1.5 * fitted.sd[0]


def test_the_spread_of_a_forecast_grows_with_its_reach():
    said = foreseen(
        snapshot(rows(record=True, ahead_degc=14.0)), load(), FARM, HOUSE, inside(), BEGIN, TODAY, DAYS
    )
    assert said is not None
    assert (np.diff(said.sd) > 0).all()


def test_the_latest_forecast_speaks():
    old = rows(record=False, ahead_degc=5.0, issued=datetime(2026, 4, 19, tzinfo=UTC))
    new = rows(record=False, ahead_degc=15.0)
    said = foreseen(snapshot(old + new), load(), FARM, HOUSE, np.full(480, np.nan), BEGIN, TODAY, DAYS)
    again = foreseen(snapshot(new + old), load(), FARM, HOUSE, np.full(480, np.nan), BEGIN, TODAY, DAYS)
    assert said is not None
    assert again is not None
    assert said.mean[0] == again.mean[0] == pytest.approx(15.0 + load().one("", "inside_excess").value)


def test_without_a_forecast_nothing_is_foreseen():
    assert foreseen(snapshot([]), load(), FARM, HOUSE, inside(), BEGIN, TODAY, DAYS) is None


def test_members_keep_their_place_when_they_follow_a_forecast():
    rng = np.random.default_rng(1)
    hours = rng.normal(18, 3, (3, 1, 50)) + rng.normal(0, 1, (3, 24, 50))
    said = Foreseen(mean=np.array([20.0, np.nan, 22.0]), sd=np.array([1.0, 1.0, 2.0]), fitted=True)
    after = follow(hours.reshape(72, 50), said).reshape(3, 24, 50)
    means = after.mean(axis=1)
    assert means[0].mean() == pytest.approx(20.0)
    assert means[0].std() == pytest.approx(1.0)
    assert means[2].std() == pytest.approx(2.0)
    assert np.array_equal(after[1], hours[1])
    assert np.array_equal(np.argsort(means[0]), np.argsort(hours[0].mean(axis=0)))
