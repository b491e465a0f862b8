from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.estimation.houses import FACTS, house, temperature

from outpace.estimation.mummy_dates import absence_counts_from, first_possible, stage_times
from outpace.estimation.parasitism import clopper_pearson, mummies_at_constant_attack
from outpace.estimation.total_parasitism import (
    against_the_trend,
    attack_behind,
    clustered_share,
    effective_number,
    parasitised_at,
    total_parasitism,
)
from outpace.simulation.model import Release
from outpace.simulation.parameters import draw


@given(
    attack=st.floats(0.001, 0.5),
    before=st.floats(2, 25),
    mummy=st.floats(2, 25),
    growth=st.floats(-0.2, 0.3),
)
@settings(max_examples=80, deadline=None)
def test_the_attack_behind_a_share_is_the_one_that_made_it(attack, before, mummy, growth):
    visible = mummies_at_constant_attack(attack, before, mummy, growth)
    assert float(attack_behind(visible, before, mummy, growth)) == pytest.approx(attack, rel=1e-6)


def colony(attack, growth, before=8, mummy=6, days=400):
    """A colony followed day by day: healthy, stung by the day of the sting, mummies by age; nothing closed-form."""
    # Source: a count of cohorts in whole small steps, apart from the formulas under test.
    step = 0.02
    ages = np.arange(0, before + mummy, step) + step / 2
    stung = attack * np.exp(-growth * ages) * step
    living, mummies = stung[ages < before].sum(), stung[ages >= before].sum()
    return 1.0, living, mummies


@pytest.mark.parametrize(("doubles_in", "shown"), [(4.6, 0.08), (math.inf, 0.25), (-6.9, 0.45)])
def test_the_mummy_paradox_one_attack_behind_three_shares_of_mummies(doubles_in, shown):
    # Source: computed; attack 10 % a day, 8 d alive after it, 6 d as a mummy: 8, 25 and 45 % mummies.
    growth = math.log(2) / doubles_in
    healthy, living, mummies = colony(0.1, growth)
    whole = healthy + living + mummies
    assert mummies / whole == pytest.approx(shown, abs=0.0055)
    animals = 2000
    closed, live = animals * mummies / whole / 40, animals * (1 - mummies / whole) / 40
    found = total_parasitism(
        np.full(40, closed),
        np.full(40, live),
        days_before=np.full(800, 8.0),
        days_mummy=np.full(800, 6.0),
        growth=np.full(800, growth),
        alike=0.0,
    )
    assert found.attack.share == pytest.approx(0.1, rel=0.03)
    assert found.attack.low < 0.1 < found.attack.high
    assert found.parasitised.share == pytest.approx((living + mummies) / whole, abs=0.01)


def test_three_samples_of_one_attack_do_not_differ_once_corrected_though_what_one_sees_does():
    times = {"days_before": np.full(800, 8.0), "days_mummy": np.full(800, 6.0), "alike": 0.0}
    seen, corrected = [], []
    for doubles_in in (4.6, math.inf, -6.9):
        growth = math.log(2) / doubles_in
        healthy, living, mummies = colony(0.1, growth)
        share = mummies / (healthy + living + mummies)
        closed, live = np.full(20, 10 * share), np.full(20, 10 * (1 - share))
        seen.append(clustered_share(closed, live, 0.0))
        corrected.append(total_parasitism(closed, live, growth=np.full(800, growth), **times).attack)
    assert seen[0].high < seen[1].low < seen[1].high < seen[2].low
    assert max(share.low for share in corrected) < min(share.high for share in corrected)


def test_more_mummies_than_any_attack_could_show_are_no_error():
    assert attack_behind(0.9, 8, 6, 0.1) == math.inf
    assert parasitised_at(math.inf, 8, 6, 0.1) == 1.0


def test_animals_of_one_plant_count_for_fewer_and_loose_ones_for_themselves():
    assert effective_number([0, 0, 0], [20, 20, 20], alike=0.0) == 60
    assert effective_number([0, 0, 0], [20, 20, 20], alike=0.1) == pytest.approx(60 / 2.9)
    spread = effective_number([2] * 10, [18] * 10, alike=0.1)
    heaped = effective_number([20, 0, 0, 0, 0, 0, 0, 0, 0, 0], [0] + [20] * 9, alike=0.1)
    assert heaped < 15 < spread
    assert spread == 200
    assert effective_number([], [], alike=0.1) == 0


def test_loose_animals_have_the_plain_exact_interval():
    found = clustered_share([5], [45], alike=0.0)
    assert (found.low, found.high) == pytest.approx(clopper_pearson(5, 50))
    nothing = clustered_share([], [], alike=0.1)
    assert (nothing.low, nothing.high) == (0.0, 1.0)


def test_the_interval_covers_the_share_where_plants_differ():
    # Source: 400 walks drawn apart: 15 plants, each with its own share about .2 (beta, correlation .2).
    rng = np.random.default_rng(6)
    inside, plain = 0, 0
    for _ in range(400):
        animals = 1 + rng.poisson(12, 15)
        shares = rng.beta(0.2 * 4, 0.8 * 4, 15)
        closed = rng.binomial(animals, shares)
        found = clustered_share(closed, animals - closed, alike=0.2)
        inside += found.low <= 0.2 <= found.high
        low, high = clopper_pearson(int(closed.sum()), int(animals.sum()))
        plain += low <= 0.2 <= high
    assert inside / 400 > 0.9
    assert plain / 400 < 0.8


def test_stages_last_as_long_as_the_facts_say_and_longer_in_the_cold():
    model = house()
    parameters = draw(FACTS, model, 200, 1)
    before, after = stage_times(parameters, 0, 0, np.full(240, 21.0))
    cold = stage_times(parameters, 0, 0, np.full(240, 12.0))
    # Source: egg to adult 14 d at 21 °C, mummies half-way to two-thirds (seller; practice).
    assert np.median(before + after) == pytest.approx(14, abs=3)
    assert 0.45 < np.median(before / (before + after)) < 0.75
    assert np.all(cold[0] > before)


def test_mummies_can_be_there_before_their_absence_counts_but_never_before_the_release():
    model = house()
    parameters = draw(FACTS, model, 200, 1)
    heat, releases = temperature(mean=18.0, swing=0.0, days=120), [Release(3.5, 0, 0, 500.0)]
    first = first_possible(parameters, heat, releases)[0]
    assert 3.5 < first < absence_counts_from(model, FACTS, parameters, heat, releases)[0]


def test_the_trend_is_told_in_words():
    assert "hides" in against_the_trend(0.1)
    assert "heaps up" in against_the_trend(-0.1)
    assert "still" in against_the_trend(0.0)
