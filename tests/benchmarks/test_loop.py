"""The closed loop: policies that meet the same luck, what they buy, and the comparison at equal spend."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from benchmarks.loop import calendars
from benchmarks.loop.curves import Table, at_spend, can_be_held, compare, frontier, in_hindsight, tables_of
from benchmarks.loop.deciding import Setting, outpace_policy
from benchmarks.loop.market import MIDDLE, Bought, Prices, bought, number_of, packs_at
from benchmarks.loop.playing import play, share_failed
from benchmarks.loop.policies import FINALISTS, policies
from benchmarks.loop.results import Line, append, line_of, read
from benchmarks.loop.tuning import best_within, candidates, going_on
from benchmarks.skill.seeds import SETS, seasons_of
from benchmarks.virtual_house.house import VirtualHouse
from benchmarks.virtual_house.season import LONGEST_D, Parcel, Plan, season
from benchmarks.virtual_house.truth import draw_truth

from outpace.facts.table import load

QUICK = Setting(
    risk=0.35, loss=1.0, opening=20, members=64, horizon_d=28, deliveries=2, tried=6, searched_on=32
)
TO_D = 26  # the quick loop decides after four walks


@pytest.fixture(scope="module")
def facts():
    return load()


def early(policy):
    return lambda known: policy(known) if known.day <= TO_D else Plan()


def test_who_buys_nothing_has_the_season_of_a_house_left_alone():
    played = season(31, frozenset(), calendars.nothing)
    alone = VirtualHouse(draw_truth(31), LONGEST_D + 35 + 1)
    for _ in range(len(played.mean_by_day) - 1):
        alone.step()
    assert np.array_equal(played.mean_by_day, alone.mean_by_day)
    assert play(31, frozenset(), calendars.nothing).bought == Bought(0.0, 0)


@pytest.mark.parametrize(
    "name", ["trade, preventive", "trade, curative", "trade, both", "constant weekly", "threshold"]
)
def test_a_higher_rate_never_orders_fewer_insects(facts, name):
    known = season(33, frozenset(), calendars.nothing).known
    assert known[-1].found
    orders = [[make(facts)(each) for each in known] for make in policies()[name].values()]
    same_rule = (
        orders[:-1] if name == "threshold" else orders
    )  # the last of them waits for five times as many
    for fewer, more in itertools.pairwise(same_rule):
        for a, b in zip(fewer, more, strict=True):
            assert sum(number for _, number in a.parcels) <= sum(number for _, number in b.parcels)
    assert any(plan.parcels for plan in orders[0])


def test_seasons_under_two_policies_share_weather_habit_level_and_the_first_walk(facts):
    one = season(34, frozenset(), calendars.nothing)
    other = season(34, frozenset(), calendars.constant(1.0))
    assert one.known[0].habit == other.known[0].habit
    assert one.known[0].level == other.known[0].level
    assert one.known[0].walks[0].aphids.tolist() == other.known[0].walks[0].aphids.tolist()
    shared = min(len(one.known[-1].logger), len(other.known[-1].logger))
    assert np.array_equal(one.known[-1].logger[:shared], other.known[-1].logger[:shared], equal_nan=True)
    first = other.known[0].parcels[0].planned
    assert np.array_equal(one.mean_by_day[: first + 1], other.mean_by_day[: first + 1])
    assert not np.array_equal(one.mean_by_day[: first + 20], other.mean_by_day[: first + 20])


def test_the_nth_parcel_has_the_same_luck_whoever_ordered_it():
    wrongs = frozenset({"bad_parcels"})
    plans = ((3, 500), (10, 500), (17, 500)), ((3, 200), (10, 300), (17, 400))
    came = []
    for parcels in plans:
        played = season(35, wrongs, lambda known, p=parcels: Plan(p) if not known.parcels else Plan())
        came.append([(each.came, each.checked) for each in played.known[-1].parcels])
    assert came[0] == came[1]


def test_a_season_that_failed_is_over_and_what_was_to_come_is_not_paid():
    parcels = [Parcel(5, 8, 100, "aphidius_ervi"), Parcel(5, 15, 100, "aphidius_ervi")]
    assert bought(parcels, 50.0, until_d=15) == Bought(2.0, 1)
    assert bought(parcels, 50.0, until_d=16) == Bought(4.0, 2)
    failed = play(31, frozenset(), calendars.nothing)
    assert failed.failed
    assert failed.failed_d is not None
    assert failed.walks <= failed.failed_d / 7 + 1


def test_packs_are_whole_and_a_cost_is_the_sum_of_its_parts():
    assert [packs_at(rate) for rate in (0.0, 0.05, 0.051, 0.15, 1.0)] == [0, 1, 2, 3, 20]
    assert number_of(20, 100.0) == 100
    assert number_of(0, 100.0) == 0
    prices = Prices("", insect=0.1, parcel=0.02, release=0.03, walk=0.01)
    assert Bought(2.0, 3).cost(prices, walks=4) == pytest.approx(0.2 + 0.06 + 0.09 + 0.04)


def test_a_front_loaded_calendar_fades_to_its_floor():
    front = calendars.Front(40, 0.5, 5, floor=5)
    assert front.packs == (40, 20, 10, 5, 5)
    assert set(FINALISTS) <= set(candidates())


def test_the_race_drops_what_is_beaten_at_no_higher_cost_and_keeps_what_is_best_within_a_budget():
    stood = {
        "cheap": (0.8, 0.09, 16),
        "good": (0.4, 0.3, 16),
        "beaten": (0.6, 0.32, 16),
        "best": (0.35, 0.9, 16),
    }
    assert going_on(stood) == ["cheap", "good", "best"]
    best = best_within(stood, 1)
    assert best[0.10] == ["cheap"]
    assert best[0.35] == ["good"]
    assert best[1.00] == ["best"]


def test_the_loop_has_seeds_that_no_other_set_uses():
    seeds = {which: {seed for seed, _ in seasons_of(which, 700)} for which in SETS}
    assert not seeds["closed-loop"] & (seeds["development"] | seeds["held-back"])


def test_results_are_read_as_they_were_written_and_a_cut_line_is_passed_over(tmp_path):
    path = tmp_path / "loop.csv"
    line = Line(
        7,
        frozenset({"type_iii", "no_refuge"}),
        "trade, both",
        "0.5 then 1",
        31,
        Bought(1.25, 2),
        4,
        4,
        0.1,
        0.2,
    )
    append(path, line)
    append(path, replace(line, seed=8, failed_d=None))
    path.write_text(path.read_text() + "9,type_iii,trade")
    assert read([path]) == [line, replace(line, seed=8, failed_d=None)]


def lines(seed, costs, failed, policy="outpace"):
    return [
        Line(
            seed, frozenset(), policy, str(i), 30 if f else None, Bought(c / MIDDLE.insect, 0), 5, 5, 0.1, 0.1
        )
        for i, (c, f) in enumerate(zip(costs, failed, strict=True))
    ]


def test_only_seasons_played_under_every_policy_are_compared():
    there = [
        *lines(1, [0.0, 1.0], [True, False]),
        *lines(1, [0.5], [True], "threshold"),
        *lines(2, [0.0, 1.0], [True, True]),
    ]
    found = tables_of(there)
    assert found["outpace"].seeds.tolist() == [1] == found["threshold"].seeds.tolist()
    assert can_be_held(found).tolist() == [True]


def test_the_frontier_is_what_a_mix_of_levels_reaches():
    # Source: the lower convex hull of four points, by hand; a level above the line between two others is no use.
    x, y = frontier(np.array([0.0, 1.0, 2.0, 4.0, 3.0]), np.array([1.0, 0.7, 0.2, 0.1, 0.3]))
    assert x.tolist() == [0.0, 2.0, 4.0]
    assert y.tolist() == [1.0, 0.2, 0.1]


def table(failed, cost):
    failed = np.array(failed)
    return Table(
        "", ("0", "1"), np.arange(len(failed)), failed, np.broadcast_to(np.array(cost, float), failed.shape)
    )


def test_hindsight_buys_the_cheapest_level_that_holds_each_season():
    # Source: by hand. Four seasons: held for 1 by one policy or 2 by the other, for 3, for 6, by none.
    failed = {"a": [[False], [True], [True], [True]], "b": [[False], [False], [False], [True]]}
    cost = {"a": [[1.0], [9.0], [9.0], [9.0]], "b": [[2.0], [3.0], [6.0], [9.0]]}
    tables = {
        name: Table(name, ("0",), np.arange(4), np.array(failed[name]), np.array(cost[name]))
        for name in ("a", "b")
    }
    assert in_hindsight(tables, np.array([0.0, 0.25, 1.0, 2.5, 9.0])) == pytest.approx(
        [1, 0.75, 0.5, 0.25, 0.25]
    )


def test_equal_policies_have_a_ratio_of_one_and_the_better_one_a_ratio_below():
    rng = np.random.default_rng(2)
    luck = rng.random(400)
    worse = table(np.stack([luck < 0.9, luck < 0.6], axis=1), [0.0, 1.0])
    better = table(np.stack([luck < 0.9, luck < 0.3], axis=1), [0.0, 1.0])
    same = compare([worse], [worse], np.array([0.5, 1.0]))
    assert [(each.ratio, each.low, each.high) for each in same] == [(1.0, 1.0, 1.0)] * 2
    (half,) = compare([better], [worse], np.array([1.0]))
    assert half.ratio == pytest.approx(0.5, abs=0.05)
    assert half.low < half.ratio < half.high < 1
    # Source: on the line between (0, 0.9) and (1, 0.6), at a half: 0.75.
    assert at_spend([worse], np.array([0.5]))[0] == pytest.approx((worse.failed.mean(axis=0)).mean())


def test_an_enemy_that_the_facts_refuse_is_not_bought(facts):
    chosen = next(
        seed
        for seed in range(1_000, 1_400)
        if (truth := draw_truth(seed, frozenset({"wrong_enemy"}))).enemy == "aphidius_colemani"
        and truth.named == "aulacorthum_solani"
    )
    played = play(chosen, frozenset({"wrong_enemy"}), early(outpace_policy(facts, QUICK)))
    assert played.bought.insects_per_m2 == 0
    assert played.failed
    assert (
        play(chosen, frozenset({"wrong_enemy"}), calendars.preventive(facts, 0.5)).bought.insects_per_m2 > 0
    )


def test_forty_seasons_in_the_loop_fail_less_than_left_alone_and_cost_less_than_a_weekly_rate(facts):
    seasons = seasons_of("development", 40)
    own = [play(seed, wrongs, early(outpace_policy(facts, QUICK))) for seed, wrongs in seasons]
    alone = [play(seed, wrongs, calendars.nothing) for seed, wrongs in seasons]
    assert share_failed(own) < 0.85 * share_failed(alone)
    weekly = Bought(4 * 0.5, 4).cost(MIDDLE, walks=0)
    assert np.mean([each.bought.cost(MIDDLE, walks=0) for each in own]) < weekly
    kept = [line_of(each, wrongs, "outpace", "quick") for each, (_, wrongs) in zip(own, seasons, strict=True)]
    assert max(line.decisions for line in kept) >= 5
