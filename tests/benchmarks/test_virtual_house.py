"""The virtual houses that forecasts are scored on: independent, repeatable, and with the life they claim."""

from __future__ import annotations

import ast
from dataclasses import replace
from pathlib import Path

import benchmarks.virtual_house
import numpy as np
import pytest
from benchmarks.skill.naive import past_errors
from benchmarks.skill.seeds import SETS, seasons_of
from benchmarks.virtual_house.house import LetGo, Treatment, VirtualHouse
from benchmarks.virtual_house.season import Plan, season
from benchmarks.virtual_house.truth import WRONGS, draw_truth

FOLDER = Path(benchmarks.virtual_house.__file__).parent
STEADY = {
    "mean": 20.0,
    "drift": 0.0,
    "stray_sd": 1e-6,
    "half_range": 0.0,
    "floor": 0.0,
    "vent": 40.0,
    "gradient": 0.0,
    "predators": 0.0,
    "crowd_at": 1e6,
    "winged_at": 1e5,
}


def run(truth, days, let_go=(), treatments=()):
    house = VirtualHouse(truth, days + 1)
    for day in range(days):
        house.step(
            [each for each in let_go if each.day == day], [each for each in treatments if each.day == day]
        )
    return house


@pytest.fixture(scope="module")
def truth():
    return replace(draw_truth(7), **STEADY)


def test_the_virtual_house_shares_no_code_with_the_product():
    for path in FOLDER.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            names += [each.name for each in node.names] if isinstance(node, ast.Import) else []
            assert not [name for name in names if name.split(".")[0] == "outpace"], path.name


def test_the_same_seed_gives_the_same_season_and_another_another():
    one, same, other = (season(seed, frozenset()) for seed in (21, 21, 22))
    assert np.array_equal(one.mean_by_day, same.mean_by_day)
    assert [each.aphids.tolist() for each in one.known[-1].walks] == [
        each.aphids.tolist() for each in same.known[-1].walks
    ]
    assert not np.array_equal(one.mean_by_day[:20], other.mean_by_day[:20])


def test_few_aphids_without_enemies_grow_by_a_steady_share(truth):
    logs = np.log(run(replace(truth, immigrants=0.0, founders=0.5), 36).mean_by_day)
    first, second = (logs[26] - logs[16]) / 10, (logs[36] - logs[26]) / 10
    assert second == pytest.approx(first, abs=0.03)
    # Source: rates of increase of these aphids at 20 °C in trials, 0.15 to 0.43 a day (abstracts read); wide.
    assert 0.1 < second < 0.45


def test_nobody_comes_from_nothing_and_nobody_is_lost_without_a_death(truth):
    still = replace(
        truth, births=0.0, nymph_death=0.0, adult_death=0.0, immigrants=0.0, winged_leave=0.0, founders=0.5
    )
    house = run(still, 10)
    # Only age takes adults here, 0.0008 age² a day: after ten days of adult life a quarter at most.
    assert house.mean_by_day[0] >= house.mean_by_day[-1] > 0.75 * house.mean_by_day[0]


def test_a_wasp_that_does_not_accept_the_aphid_changes_nothing_and_one_that_does_much(truth):
    wasps = [LetGo(day, 2 * truth.area_m2, 0.8) for day in (5, 12)]
    alone = run(truth, 40)
    unfit = run(replace(truth, accepts=0.0), 40, wasps)
    fit = run(replace(truth, accepts=0.95), 40, wasps)
    assert unfit.closed_by_plant.sum() == 0
    assert 0.5 * alone.per_plant < unfit.per_plant < 2 * alone.per_plant
    assert fit.closed_by_plant.sum() > 0
    assert fit.per_plant < 0.6 * unfit.per_plant


def test_a_spray_takes_its_share_of_what_it_reaches(truth):
    still = replace(truth, births=0.0, founders=0.6)
    before = run(still, 6)
    after = run(still, 6, treatments=[Treatment(5, 0.9, 0.9, 0.0, 0.0)])
    # Reach is 8 in 10 of the plants' leaves on average, so 9 in 10 of that.
    assert after.per_plant == pytest.approx((1 - 0.9 * 0.8) * before.per_plant, rel=0.2)


def test_a_policy_is_asked_after_each_walk_and_its_parcels_come():
    asked = []

    def policy(known):
        asked.append(known.day)
        return Plan(parcels=((3, 100),)) if len(asked) == 1 else Plan()

    played = season(23, frozenset(), policy)
    assert asked == [known.day for known in played.known]
    assert [parcel.came for parcel in played.known[-1].parcels] == [asked[0] + 3]


def test_what_was_known_after_a_walk_holds_nothing_of_later():
    played = season(21, frozenset())
    for known in played.known:
        assert max(walk.day for walk in known.walks) == known.day
        assert len(known.logger) == known.day * 24
        assert all(parcel.came is None or parcel.came <= known.day for parcel in known.parcels)


def test_development_and_held_back_seeds_are_apart_and_every_wrong_is_played():
    drawn = {which: seasons_of(which, 320) for which in SETS}
    seeds = [{seed for seed, _ in each} for each in drawn.values()]
    assert not seeds[0] & seeds[1]
    for each in drawn.values():
        assert set().union(*(wrongs for _, wrongs in each)) == set(WRONGS)


def test_naive_errors_are_truth_less_point_on_the_log():
    row = {"written": 3.0, "written_before": 1.0, "gap_d": 7, "ahead": {"7": {"true": 15.0}}}
    errors = past_errors([row])
    # Source: log 16 less log 4, and less log 4 grown on by log 4 less log 2.
    assert errors[("no change", 7)] == pytest.approx([np.log(4)])
    assert errors[("last growth", 7)] == pytest.approx([np.log(2)])
