from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm
from tests.estimation.houses import FACTS, house, simulate, temperature, walk

from outpace.estimation.assimilation import refit
from outpace.estimation.pooling import (
    Belief,
    Taught,
    books_of,
    draw_believing,
    next_season,
    of_farm_and_crop,
    pooled,
)

BOOKS = Belief(0.0, 0.2)
FARM, CROP = np.array([0.3]), np.array([0.3])


def taught(crop, mean, sd, prior=BOOKS):
    return Taught(crop, prior, Belief(mean, sd))


def test_the_prior_of_a_house_is_that_of_the_three_parts_by_chance():
    # Source: the three parts themselves, drawn a million times and weighed by what two houses say; no matrix algebra.
    others = [taught("pepper", 0.12, 0.1), taught("lettuce", -0.05, 0.15)]
    rng = np.random.default_rng(1)
    n = 1_000_000
    farm = rng.normal(0, np.sqrt(0.3) * 0.2, n)
    of_crop = {name: rng.normal(0, np.sqrt(0.3) * 0.2, n) for name in ("pepper", "lettuce")}
    mine, other, third = (
        farm + of_crop[c] + rng.normal(0, np.sqrt(0.4) * 0.2, n) for c in ("pepper", "pepper", "lettuce")
    )
    weights = np.ones(n)
    for house_, each in ((other, others[0]), (third, others[1])):
        # What a house says has the precision that its posterior adds to its prior.
        variance = 1 / (each.posterior.sd**-2 - 0.2**-2)
        weights *= norm.pdf(each.posterior.mean * each.posterior.sd**-2 * variance, house_, np.sqrt(variance))
    weights /= weights.sum()
    mean = weights @ mine
    found = pooled(BOOKS, "pepper", others, FARM, CROP)
    assert found.mean == pytest.approx(mean, abs=0.002)
    assert found.sd == pytest.approx(np.sqrt(weights @ (mine - mean) ** 2), rel=0.01)


def test_a_house_of_the_same_crop_teaches_more_than_one_of_another():
    same = pooled(BOOKS, "pepper", [taught("pepper", 0.2, 0.1)], FARM, CROP)
    other = pooled(BOOKS, "pepper", [taught("lettuce", 0.2, 0.1)], FARM, CROP)
    assert same.mean > other.mean > 0
    assert same.sd < other.sd < BOOKS.sd


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(["a", "b"]), st.floats(-0.5, 0.5), st.floats(0.02, 0.2)),
        min_size=0,
        max_size=6,
    )
)
def test_other_houses_never_make_a_house_surer_than_it_can_be(houses):
    farm, crop = of_farm_and_crop(FACTS)
    found = pooled(BOOKS, "a", [taught(*each) for each in houses], farm, crop)
    # Its own part stays unknown, however many others were walked.
    own_part = np.sqrt(1 - farm[-1] - crop[-1]) * BOOKS.sd
    assert found.sd >= own_part - 1e-9
    assert (
        abs(found.mean)
        <= max((abs(m) / (1 - min(s, 0.199) ** 2 / 0.2**2) for _, m, s in houses), default=0) + 1e-9
    )


def test_houses_that_said_nothing_leave_the_books():
    assert pooled(BOOKS, "pepper", [], FARM, CROP) == BOOKS
    assert pooled(BOOKS, "pepper", [taught("pepper", 0.0, 0.2)], FARM, CROP) == BOOKS


def test_a_season_later_a_belief_is_wider_and_nearer_the_books():
    belief = Belief(0.3, 0.05)
    after = next_season(belief, BOOKS, 0.7)
    assert 0 < after.mean < belief.mean
    assert belief.sd < after.sd < BOOKS.sd
    assert next_season(belief, BOOKS, 0.0) == BOOKS
    many = belief
    for _ in range(30):
        many = next_season(many, BOOKS, 0.7)
    assert many.mean == pytest.approx(0.0, abs=1e-4)
    assert many.sd == pytest.approx(BOOKS.sd, rel=1e-4)


def test_members_are_drawn_over_what_is_believed():
    model = house()
    believed = draw_believing(FACTS, model, 4000, 1, (), {("myzus_persicae", "growth"): Belief(0.3, 0.05)})
    plain = draw_believing(FACTS, model, 4000, 1)
    growth = believed.get("log_growth", pest=0)
    assert growth.mean() == pytest.approx(0.3, abs=0.005)
    assert growth.std() == pytest.approx(0.05, rel=0.05)
    assert np.array_equal(believed.get("log_attack", pest=0), plain.get("log_attack", pest=0))
    assert books_of(FACTS, "myzus_persicae", "growth").sd == pytest.approx(
        plain.get("log_growth", pest=0).std(), rel=0.05
    )


def test_what_a_neighbour_has_taught_of_growth_helps_a_house_just_planted():
    model = house(enemies=())
    truth = simulate(41, model=model, per_plant=2.0, days=35)
    first = [walk(truth, 0, 41)]
    blind = refit(model, FACTS, temperature(), first, until_day=14, members=512, seed=1)
    right = float(truth.parameters.get("log_growth", pest=0)[truth.member])
    beliefs = {("myzus_persicae", "growth"): Belief(right, 0.05)}
    helped = refit(model, FACTS, temperature(), first, until_day=14, members=512, seed=1, beliefs=beliefs)
    width = [np.ptp(np.log(p.past.quantiles(0)[-1, [0, -1]])) for p in (blind, helped)]
    assert width[1] < width[0]
    # Shown against the books: what the neighbours taught counts as learned.
    assert helped.learned_of("myzus_persicae")["growth"] < 0.4
