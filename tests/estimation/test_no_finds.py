from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from outpace.estimation.beta_range import beta_of_range
from outpace.estimation.no_finds import (
    CleanWalk,
    Detection,
    counts_as,
    fresh_plants,
    plant_detection,
    what_it_proves,
    whole_plant_detection,
)
from outpace.estimation.sample_size import chance_missed, plants_to_look_at

SURE = Detection(np.ones(1), "a perfect look")


@given(lot=st.integers(20, 400), share=st.floats(0.02, 0.5), seen=st.floats(0.6, 1.0))
@settings(max_examples=60, deadline=None)
def test_the_number_is_the_least_that_does(lot, share, seen):
    n = plants_to_look_at(share, lot=lot, sensitivity=seen)
    infested = int(np.floor(lot * share + 1e-9))
    if n is None:
        assert infested == 0 or chance_missed(infested, lot, lot, seen) > 0.05
    else:
        assert chance_missed(infested, lot, n, seen) <= 0.05 + 1e-12
        assert n == 1 or chance_missed(infested, lot, n - 1, seen) > 0.05 - 1e-12


def test_a_small_house_needs_fewer_plants_than_one_without_end():
    assert plants_to_look_at(0.05, lot=200) < plants_to_look_at(0.05)


def test_the_limit_of_a_large_house_is_that_of_one_without_end():
    large = what_it_proves([CleanWalk(59)], SURE, lot=200_000).below_share
    assert large == pytest.approx(what_it_proves([CleanWalk(59)], SURE).below_share, abs=2e-4)


def test_the_more_plants_it_names_do_halve_the_limit():
    eye = plant_detection(0.7, 0.5, 0.85)
    first = what_it_proves([CleanWalk(59)], eye)
    more = first.more_plants_to_halve
    both = what_it_proves([CleanWalk(59), CleanWalk(more)], eye).below_share
    one_less = what_it_proves([CleanWalk(59), CleanWalk(more - 1)], eye).below_share
    assert both <= first.below_share / 2 < one_less


def test_a_doubtful_eye_leaves_a_higher_limit_than_its_mean():
    eye = plant_detection(0.7, 0.5, 0.85)
    fixed = Detection(np.array([0.7]), "fixed")
    walks = [CleanWalk(59)]
    assert what_it_proves(walks, eye).below_share > what_it_proves(walks, fixed).below_share


def test_plants_that_stand_together_prove_less():
    walks = [CleanWalk(59)]
    loose = what_it_proves(walks, SURE).below_share
    assert what_it_proves(walks, SURE, correlation=0.05).below_share > 1.5 * loose


def test_an_old_clean_walk_counts_less_and_at_last_nothing():
    new = CleanWalk(20)
    limits = [
        what_it_proves([new, CleanWalk(60, still_holds=chance)], SURE).below_share
        for chance in (1.0, 0.9, 0.5, 0.0)
    ]
    assert limits == sorted(limits)
    assert limits[-1] == pytest.approx(what_it_proves([new], SURE).below_share)


def test_no_walk_proves_nothing():
    assert what_it_proves([], SURE).below_share == 1.0
    assert what_it_proves([CleanWalk(0)], SURE, lot=100).below_share == 1.0


def test_looking_at_every_plant_of_a_small_house_leaves_less_than_one_plant():
    proved = what_it_proves([CleanWalk(100)], SURE, lot=100)
    assert proved.below_share == pytest.approx(0.01)
    assert proved.more_plants_to_halve is None


def test_repeated_looks_at_the_same_plants_do_not_multiply():
    looked = [(0.0, ["a", "b", "c"]), (7.0, ["a", "b", "c"])]
    assert fresh_plants(looked) == [(0.0, 0), (7.0, 3)]


def test_leaves_of_a_plant_see_it_less_than_the_whole_plant_and_clumps_less_than_loose_aphids():
    whole = plant_detection(0.85, 0.6, 0.98, aphids=5)
    leaf = plant_detection(0.85, 0.6, 0.98, aphids=5, share_looked_at=0.05)
    clump = plant_detection(0.85, 0.6, 0.98, aphids=5, share_looked_at=0.05, together=1.0)
    assert whole.mean > 0.95
    assert whole.mean > leaf.mean > clump.mean
    assert clump.mean == pytest.approx(0.05, abs=0.003)


def test_the_beta_law_has_the_mean_and_nearly_the_range():
    eye = plant_detection(0.7, 0.5, 0.85)
    assert eye.mean == pytest.approx(0.7, abs=1e-3)
    assert (eye.low, eye.high) == pytest.approx((0.5, 0.85), abs=0.03)
    with pytest.raises(ValueError, match="low < mean < high"):
        beta_of_range(0.7, 0.8, 0.9)


def test_more_plants_looked_at_than_there_are_is_refused():
    with pytest.raises(ValueError, match="more plants"):
        what_it_proves([CleanWalk(101)], SURE, lot=100)


def test_what_could_have_grown_or_flown_in_since_weakens_an_earlier_walk():
    new, lot = CleanWalk(20), 1000
    alone = what_it_proves([new], SURE, lot=lot).below_share
    both = what_it_proves([new, CleanWalk(60)], SURE, lot=lot).below_share
    grown = [
        what_it_proves([new, CleanWalk(60, grown=times)], SURE, lot=lot).below_share
        for times in (1, 2, 8, 1e6)
    ]
    came = [
        what_it_proves([new, CleanWalk(60, arrivals=n)], SURE, lot=lot).below_share for n in (0, 5, 40, 900)
    ]
    for limits in (grown, came):
        assert limits == sorted(limits)
        assert limits[0] == pytest.approx(both)
        assert limits[-1] == pytest.approx(alone)


def test_newcomers_that_are_few_among_the_plants_looked_for_undo_little():
    # One plant newly infested of the hundred that were looked for: the earlier walk still counts nearly in full.
    lot = 2000
    fresh = what_it_proves([CleanWalk(10), CleanWalk(59)], SURE, lot=lot).below_share
    aged = what_it_proves([CleanWalk(10), CleanWalk(59, arrivals=1.0)], SURE, lot=lot).below_share
    assert fresh <= aged < fresh + 0.002


def test_the_limit_with_newcomers_is_that_of_houses_drawn_by_chance():
    # Source: 40,000 houses drawn apart: so many plants infested now, some of them newly, a walk then, a walk now.
    rng = np.random.default_rng(8)
    lot, infested, mean_came, then, now = 300, 24, 4.0, 50, 30
    came = np.minimum(rng.poisson(mean_came, 40_000), infested)
    missed = (rng.hypergeometric(infested - came, lot - infested + came, then) == 0) & (
        rng.hypergeometric(infested, lot - infested, now, size=40_000) == 0
    )
    walks = [CleanWalk(then, arrivals=mean_came), CleanWalk(now)]
    proved = what_it_proves(walks, SURE, lot=lot, confidence=1 - missed.mean())
    assert proved.below_share * lot == pytest.approx(infested, abs=1.01)


@given(n=st.integers(1, 300), share=st.floats(0.01, 0.5), rho=st.floats(0.001, 0.2), more=st.integers(0, 500))
@settings(max_examples=40, deadline=None)
def test_plants_that_are_alike_count_for_fewer_until_all_were_looked_at(n, share, rho, more):
    alone = counts_as(n, share, rho)
    assert 1 <= alone <= n
    assert alone <= counts_as(n, share, rho, lot=n + more) <= n
    assert counts_as(n, share, rho, lot=n) == n


def test_a_plant_with_more_aphids_is_seen_more_surely():
    told = {"a_few": 4, "groups_power": 0.5, "source": "practice"}
    means = [whole_plant_detection(0.7, 0.45, 0.88, aphids=n, **told).mean for n in (1, 4, 5, 50)]
    assert means == sorted(means)
    assert means[1] == pytest.approx(0.7, abs=1e-3)
    # 1 - (1 - d)^n with every aphid by itself: n times as many chances to be seen
    alone = whole_plant_detection(0.7, 0.45, 0.88, aphids=8, a_few=4, groups_power=1.0, source="practice")
    once = whole_plant_detection(0.7, 0.45, 0.88, aphids=4, a_few=4, groups_power=1.0, source="practice")
    assert alone.chances == pytest.approx(1 - (1 - once.chances) ** 2)


def test_finding_nothing_never_claims_that_nothing_is_there():
    proved = what_it_proves([CleanWalk(10_000)], SURE)
    assert proved.below_share > 0
