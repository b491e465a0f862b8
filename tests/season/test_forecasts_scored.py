"""Past forecasts against later walks: kept ones, and those made anew with the future left out."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import jsonschema
import numpy as np
import pytest

import outpace.surfaces.schemas
from outpace.season.forecasts_scored import review
from outpace.season.kept_forecasts import KEPT_D, keep_forecasts
from outpace.season.left_out import BY_TIME, OF_WALK, left_out
from outpace.terms.enemies import Allocation, OrderLine
from outpace.terms.place import Climate, Farm, House, Zone
from outpace.terms.scouting import Walk, WalkLine
from outpace.terms.tables import TABLES, Snapshot
from outpace.terms.upkeep import Forecast, OwnFact, Permit

ZONE = ZoneInfo("Europe/Brussels")
FIRST = datetime(2026, 4, 1, 9, tzinfo=UTC)
SEEN = (12, 20, 31, 60, 90)
SCHEMA = json.loads(
    (Path(outpace.surfaces.schemas.__file__).parent / "review.json").read_text(encoding="utf-8")
)


def book(walks=5, *, later=1.0, more=()):
    """Return a house walked weekly, as known a day after its last walk; ``later`` multiplies what the last ones saw."""
    farm = Farm(farm="Low Meadow", latitude=51, longitude=4, time_zone="Europe/Brussels", currency="EUR")
    house = House(
        farm=farm.farm,
        house="tunnel",
        crop="sweet_pepper",
        area_m2=120.0,
        plants=300,
        leaves_per_plant=40.0,
        heating_setpoint_degc=16.0,
        vent_setpoint_degc=22.0,
        action_level=2.0,
        action_unit="leaf",
    )
    rounds = [
        Walk(
            walk=f"w{n}",
            farm=farm.farm,
            house=house.house,
            time=FIRST + timedelta(days=7 * n),
            unit="leaf",
            chosen="random",
            looked_at=60,
        )
        for n in range(walks)
    ]
    lines = [
        WalkLine(
            walk=walk.walk,
            pest="myzus_persicae",
            looked_at=60,
            infested=6 + 2 * n,
            aphids_about=round(SEEN[n] * (later if n > 2 else 1.0)),
        )
        for n, walk in enumerate(rounds)
    ]
    rows = {"farm": (farm,), "houses": (house,), "walks": tuple(rounds), "walk_lines": tuple(lines)}
    for name, extra in dict(more).items():
        rows[name] = tuple(extra)
    now = rounds[-1].time + timedelta(days=1) if rounds else FIRST
    return Snapshot(as_of=now, head=f"{walks} {later} {sorted(dict(more))}", rows=rows)


@pytest.fixture(scope="module")
def replayed():
    return review(book(), replay=True, members=64)


def test_a_replay_pairs_each_forecast_with_the_walks_of_the_next_24_days(replayed):
    made = [(case["made"], case["days_ahead"]) for case in replayed["cases"]]
    assert made == [
        ("2026-04-08", 7),
        ("2026-04-08", 14),
        ("2026-04-08", 21),
        ("2026-04-15", 7),
        ("2026-04-15", 14),
        ("2026-04-22", 7),
    ]


def test_the_answer_fits_its_schema_and_adds_up(replayed):
    jsonschema.Draft202012Validator(SCHEMA).validate(replayed)
    assert sum(replayed["pit_tenths"]) == len(replayed["cases"])
    for row in replayed["by_days_ahead"]:
        here = [case for case in replayed["cases"] if case["days_ahead"] == row["days_ahead"]]
        assert row["in_90"] == sum(case["in_90"] for case in here)
        assert row["crps_log"] == pytest.approx(np.mean([case["crps_log"] for case in here]), rel=1e-3)


def test_a_replay_does_not_know_what_came_later(replayed):
    other = review(book(later=30.0), replay=True, members=64)
    bands = ("made", "for_date", "q05", "q25", "q50", "q75", "q95")
    for one, two in zip(replayed["cases"], other["cases"], strict=True):
        if one["made"] < "2026-04-22":
            assert [one[key] for key in bands] == [two[key] for key in bands]
    assert [case["seen"] for case in replayed["cases"]] != [case["seen"] for case in other["cases"]]


def test_few_walks_are_too_few_for_the_naive_forecasts(replayed):
    assert all(naive["crps_log"] is None for row in replayed["by_days_ahead"] for naive in row["naive"])


def test_a_forecast_that_was_kept_is_scored_by_a_later_walk_as_it_was_made():
    early = book(3)
    kept = keep_forecasts(early)
    assert len(kept.rows) == 2 * len(KEPT_D)
    answer = review(book(4, more={"forecasts": kept.rows}))
    (case,) = answer["cases"]
    # The forecast was made a day after the third walk; the fourth comes six days later, between two kept days.
    assert case["days_ahead"] == 6
    four, seven = (
        next(
            r
            for r in kept.rows
            if r.quantity == "seen_per_leaf" and (r.for_date - r.made.date()).days == days
        )
        for days in (4, 7)
    )
    # Source: the straight line on log(1 + x), two thirds of the way from day 4 to day 7.
    expected = np.expm1(np.log1p(four.q50) / 3 + 2 * np.log1p(seven.q50) / 3)
    assert case["q50"] == pytest.approx(expected, rel=0.01)
    assert case["seen"] == pytest.approx(1.0)


def test_keeping_the_same_forecast_twice_on_one_day_changes_nothing():
    early = book(3)
    kept = keep_forecasts(early).rows
    again = replace(
        early, as_of=early.as_of + timedelta(hours=3), rows={**early.rows, "forecasts": tuple(kept)}
    )
    assert keep_forecasts(again).rows == []


def test_without_a_find_or_after_a_stale_walk_nothing_is_kept():
    early = book(3)
    assert keep_forecasts(replace(early, as_of=early.as_of + timedelta(days=20), head="stale")).rows == []
    clean = tuple(replace(line, infested=0, aphids_about=0) for line in early.rows["walk_lines"])
    assert keep_forecasts(replace(early, head="clean", rows={**early.rows, "walk_lines": clean})).rows == []


def test_without_a_pair_the_review_says_what_to_do():
    answer = review(book(2))
    assert answer["cases"] == []
    assert "outpace week --keep" in answer["sentence"]


def test_rows_of_later_are_left_out_by_when_their_matter_happened():
    line = OrderLine(
        order="o1",
        line=1,
        farm="Low Meadow",
        placed=FIRST + timedelta(days=10),
        supplier="Harbour Insects",
        enemy="aphidius_colemani",
        form="mummies",
        packs=1,
        pack_size=500,
        delivery_date=date(2026, 4, 20),
        status="placed",
    )
    part = Allocation(
        order="o1", line=1, farm="Low Meadow", house="tunnel", release_date=date(2026, 4, 20), number=500
    )
    warmth = [
        Climate(
            farm="Low Meadow",
            house="tunnel",
            source=source,
            issued=issued,
            time=FIRST + timedelta(days=9),
            temperature_degc=18.0,
        )
        for source, issued in (("logger", None), ("forecast", FIRST + timedelta(days=1)))
    ]
    whole = book(more={"orders": [line], "allocations": [part], "climate": warmth})
    early = left_out(whole, FIRST + timedelta(days=8), ZONE)
    assert [walk.walk for walk in early.table(Walk)] == ["w0", "w1"]
    assert {each.walk for each in early.table(WalkLine)} == {"w0", "w1"}
    assert early.table(OrderLine) == early.table(Allocation) == ()
    # A forecast of the weather was known from its issue; a reading from its hour.
    assert [each.source for each in early.table(Climate)] == ["forecast"]
    late = left_out(whole, FIRST + timedelta(days=11), ZONE)
    assert len(late.table(OrderLine)) == len(late.table(Allocation)) == 1
    assert early.head != late.head != whole.head


def test_every_table_is_left_out_by_time_or_has_none():
    # A new table must be placed here, or its rows would tell a replay the future.
    timeless = {Farm, House, Zone, Permit}
    by_hand = {Climate, OrderLine, Allocation, OwnFact}
    assert set(TABLES.values()) == set(BY_TIME) | set(OF_WALK) | timeless | by_hand
    assert Forecast in BY_TIME
