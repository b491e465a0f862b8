"""How many to set aside, when to count them, and how long a parcel keeps."""

from __future__ import annotations

import doctest
import itertools
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

import outpace.planning.arrival as planning
from outpace.facts.table import load
from outpace.planning import check_days
from outpace.planning.arrival import (
    criteria,
    days_left,
    heat_so_far,
    passing_table,
    sample_for,
    sample_of,
    storage_views,
)
from outpace.planning.check_days import check_ends

FACTS = load()
COLEMANI = "aphidius_colemani"
DAY = date(2026, 4, 17)


def house(degc, members=1, days=45):
    return np.full((days * 24, members), float(degc))


def test_the_examples_of_the_module_give_what_they_show():
    results = [doctest.testmod(module) for module in (planning, check_days)]
    assert sum(result.attempted for result in results) >= 4
    assert all(result.failed == 0 for result in results)


@pytest.mark.parametrize("degc", [21.0, 23.0, 25.0, 30.0])
def test_a_warm_house_takes_the_days_of_the_guideline(degc):
    # Source: 7 days for A. colemani, 12 for A. abdominalis (van Lenteren et al. 2003, ch. 19, read).
    assert check_ends(FACTS, COLEMANI, DAY, house(degc)).likely == DAY + timedelta(days=7)
    assert check_ends(FACTS, "aphelinus_abdominalis", DAY, house(degc)).likely == DAY + timedelta(days=12)


@settings(max_examples=40)
@given(some.floats(4.0, 35.0), some.floats(0.0, 10.0))
def test_a_cooler_house_never_ends_a_check_sooner(degc, less):
    warm = check_ends(FACTS, COLEMANI, DAY, house(degc)).likely or date.max
    cool = check_ends(FACTS, COLEMANI, DAY, house(degc - less)).likely or date.max
    assert cool >= warm


@pytest.mark.parametrize("degc", [10.0, 14.0, 18.0])
def test_a_check_in_the_cool_takes_the_same_heat(degc):
    lower = FACTS.one(COLEMANI, "lower_threshold").value
    # Source: closed form, 7 d × (21 - threshold) degree-days at the constant warmth of the house.
    days = int(np.ceil(7 * (21 - lower) / (degc - lower) - 1e-9))
    assert check_ends(FACTS, COLEMANI, DAY, house(degc)).likely == DAY + timedelta(days=days)


def test_a_house_too_cold_ends_no_check():
    assert check_ends(FACTS, COLEMANI, DAY, house(2.0)).likely is None


def test_members_that_differ_give_an_earliest_and_a_latest_day():
    hours = np.hstack([house(degc) for degc in (12.0, 14.0, 16.0, 18.0, 20.0)])
    ends = check_ends(FACTS, COLEMANI, DAY, hours)
    assert ends.earliest < ends.likely < ends.latest


def test_heat_is_counted_above_the_threshold_alone():
    lower = FACTS.one(COLEMANI, "lower_threshold").value
    assert heat_so_far(FACTS, COLEMANI, house(lower - 5, days=3)) == 0
    assert heat_so_far(FACTS, COLEMANI, house(lower + 10, days=3)) == pytest.approx(30)
    assert heat_so_far(FACTS, COLEMANI, house(20, days=0)) == 0


@given(some.integers(20, 1000), some.floats(0.05, 0.95))
def test_a_larger_pot_says_more_and_takes_longer(size, share):
    small, large = sample_of(FACTS, COLEMANI, size, share), sample_of(FACTS, COLEMANI, 2 * size, share)
    assert small.ends.low <= round(share * size) / size <= small.ends.high
    assert large.ends.high - large.ends.low < small.ends.high - small.ends.low
    assert large.minutes > small.minutes


@pytest.mark.parametrize("question", ["disaster", "guideline", "claim", "figure"])
def test_no_question_takes_more_than_the_lot_or_fewer_than_a_usual_pot(question):
    assert sample_for(FACTS, COLEMANI, question, 0.8, 0) is None
    for units in (5, 19, 60, 500, 5000):
        take = sample_for(FACTS, COLEMANI, question, 0.8, units)
        assert take is None or min(20, units) <= take <= units


def test_a_figure_to_ten_points_is_as_narrow_as_it_says():
    size = sample_for(FACTS, COLEMANI, "figure", 0.8, 500)
    low, high = sample_of(FACTS, COLEMANI, size, 0.8).ends
    assert high - low <= 0.2
    assert 50 < size < 100


def test_a_question_about_a_guideline_that_nobody_has_seen_is_not_answered():
    # Source: no guideline for A. matricariae was in the pages seen.
    assert criteria(FACTS, "aphidius_matricariae") == ()
    assert sample_for(FACTS, "aphidius_matricariae", "guideline", 0.8, 500) is None
    assert passing_table(FACTS, "aphidius_matricariae", 50, 0.8) == ()


@given(some.integers(1, 600))
def test_better_lots_reach_the_guideline_more_often(looked_at):
    rows = passing_table(FACTS, COLEMANI, looked_at, 0.8)
    assert [share for _, share, _ in rows] == sorted((share for _, share, _ in rows), reverse=True)
    chances = [chance for _, _, chance in rows]
    assert all(above >= below - 1e-9 for above, below in itertools.pairwise(chances))


def test_what_users_check_stands_before_what_producers_check():
    first, *_ = criteria(FACTS, COLEMANI)
    assert first.quantity == "guideline_emergence"


@pytest.mark.parametrize("enemy", [key for key, item in FACTS.species.items() if item.kind == "enemy"])
def test_every_enemy_has_views_on_storage_and_each_names_who_holds_it(enemy):
    views = storage_views(FACTS, enemy)
    assert len(views) >= 3
    assert all(row.strain or row.evidence == "practice" for row in views)


def test_life_is_over_the_day_after_its_last():
    assert days_left(3, DAY, DAY + timedelta(days=3)) == 0
    assert days_left(3, DAY, DAY + timedelta(days=4)) == -1
