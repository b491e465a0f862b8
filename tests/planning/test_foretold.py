"""What few members tell of schedules, where the search begins, and the chance that other members must show."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from tests.planning.houses import a_house, a_pack, offers_of

from outpace.planning.candidate_house import most_above, upper_bound
from outpace.planning.foretold import SOFT, Foretold, soft_quantile
from outpace.planning.guide import Guide
from outpace.planning.places import places_of
from outpace.planning.relaxed import STEPS, Effects, relaxed_schedules
from outpace.planning.trials import Aim, Seen, Trials


def test_a_soft_quantile_of_one_number_is_where_the_logistic_curve_has_the_share():
    # Closed form: 1 / (1 + exp((q - x) / s)) = share.
    for x, share in ((0.0, 0.5), (1.3, 0.15), (-2.0, 0.8)):
        expected = x - SOFT * math.log(share / (1 - share))
        assert soft_quantile(np.full(40, x), share) == pytest.approx(expected, abs=1e-5)


def test_a_soft_quantile_moves_with_all_members_alike():
    logs = np.random.default_rng(3).normal(size=64)
    assert soft_quantile(logs + 0.7, 0.2) == pytest.approx(soft_quantile(logs, 0.2) + 0.7, abs=1e-5)


def test_as_many_may_be_above_as_the_upper_bound_allows_and_not_one_more():
    for members, risk in ((64, 0.2), (512, 0.1), (4096, 0.15)):
        most = most_above(risk, members)
        for above, allowed in ((most, True), (most + 1, False)):
            peaks = np.where(np.arange(members) < above, 2.0, 0.5)
            assert (upper_bound(Seen(peaks, peaks * 0)) <= risk) == allowed
    assert most_above(0.01, 16) == 0


def test_what_few_members_tell_lies_near_what_all_that_judge_show():
    house, judge = a_house(members=64), a_house(members=1024, seed=99)
    both = [offers_of(one, [a_pack(size=100)], days=(2, 9)) for one in (house, judge)]
    few, all_ = (
        Trials(one, places_of(offers), 2, (one.members,))
        for one, offers in zip((house, judge), both, strict=True)
    )
    told = Foretold(few, Aim("chance", 0.15))
    told.aim_at(told.aim, all_)
    for known in ((0, 0), (4, 0), (8, 4)):
        told.know(known)
    others = [one for one in itertools.product((0, 2, 5, 7), (0, 1, 3, 6)) if one not in told.known]
    true = np.array([all_.see_all(one).gap(told.aim) for one in others])
    off = np.array([told.tell(one).gap for one in others]) - true
    # A tenth of log density is a tenth more aphids; 1,024 members are off by half as much themselves.
    assert np.abs(off).mean() < 0.1
    alone = np.array([few.see(one).gap(told.aim) for one in others]) - true
    assert np.abs(off).mean() < np.abs(alone).mean() / 2


def test_beside_a_plan_the_plan_itself_and_what_one_group_shows_are_told_as_they_are():
    house = a_house(members=96)
    places = places_of(offers_of(house, [a_pack(size=100)], days=(2, 9)))
    whole, parted = (Trials(house, places, 2, groups) for groups in ((96,), (32, 64)))
    known = parted.look((400, 0))
    assert parted.beside((400, 0), known) == pytest.approx((known.chance, known.days_above))
    there = whole.look((800, 100))
    assert whole.beside((800, 100), whole.look((400, 0))) == pytest.approx((there.chance, there.days_above))


@pytest.mark.parametrize("seed", range(6))
def test_the_relaxed_programme_is_the_cheapest_sum_of_effects_that_is_enough(seed):
    rng = np.random.default_rng(seed)
    packs = [a_pack(size=100, price=float(rng.integers(5, 40)), freight=float(rng.integers(0, 30)))]
    house = a_house(members=16)
    places = places_of(offers_of(house, packs, days=(2, 9, 16)), levels=(50, 100, 200))
    guide = Guide(places)
    # Effects in whole steps of what is needed, so that nothing is rounded.
    alone = tuple(np.concatenate([[0.0], np.sort(rng.integers(1, STEPS, 3))]) / STEPS * 2.0 for _ in places)
    found = Effects(alone, 2.0)
    (chosen,) = relaxed_schedules(guide, found, (1.0,))
    enough = [
        guide.cost(one) for one in itertools.product(range(4), repeat=3) if found.of(one) >= 2.0 - 1e-9
    ]  # fmt: skip
    assert found.of(chosen) >= 2.0 - 1e-9
    assert guide.cost(chosen) == pytest.approx(min(enough))
