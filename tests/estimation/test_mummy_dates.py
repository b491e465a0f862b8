from __future__ import annotations

import numpy as np
import pytest
from tests.estimation.houses import FACTS, house, temperature

from outpace.estimation.mummy_dates import absence_counts_from, without_early_zeros
from outpace.estimation.observations import LineSeen, WalkBuilder
from outpace.simulation.model import Release
from outpace.simulation.parameters import draw

MODEL = house()
PARAMETERS = draw(FACTS, MODEL, 200, 1)


def from_day(mean, *, form="mummies", day=0.5):
    heat = temperature(mean=mean, swing=0.0, days=120)
    return absence_counts_from(MODEL, FACTS, PARAMETERS, heat, [Release(day, 0, 0, 500.0, form)])[0]


# Sting to first mummy takes 6 days at 25 °C, 11 at 16 and 20 at 10 (practice); emergence from the parcel,
# finding hosts and the spread of the facts come on top.
@pytest.mark.parametrize(("mean", "least", "most"), [(25.0, 8, 16), (16.0, 14, 25), (10.0, 25, 50)])
def test_the_day_follows_heat(mean, least, most):
    assert least <= from_day(mean) <= most


def test_released_adults_show_sooner_than_mummies():
    assert from_day(16.0, form="adults") < from_day(16.0)


def test_a_later_release_does_not_push_the_day_of_the_first_one_back():
    heat = temperature(days=120)
    first = Release(0.5, 0, 0, 500.0)
    one = absence_counts_from(MODEL, FACTS, PARAMETERS, heat, [first])
    both = absence_counts_from(MODEL, FACTS, PARAMETERS, heat, [Release(14.5, 0, 0, 500.0), first])
    assert one == both


def test_an_enemy_that_does_not_accept_the_pest_has_no_day():
    wrong = house("macrosiphum_euphorbiae")
    parameters = draw(FACTS, wrong, 50, 1)
    assert absence_counts_from(wrong, FACTS, parameters, temperature(), [Release(0.5, 0, 0, 500.0)]) == {}


def told(day, closed):
    builder = WalkBuilder(day, "leaf", "random", 1, ((0,),))
    for number in closed:
        builder.add({0: (1.0, 1.0)}, mummies={0: (float(number), np.nan)})
    return builder.seen()


def test_zeros_before_the_day_become_not_written_down_and_later_ones_stay():
    early, late = (without_early_zeros(told(day, [0, 0, 0]), {0: 20.0}, {0: (0,)}) for day in (10.0, 21.0))
    assert np.isnan(early.mummies[0].closed).all()
    assert np.all(late.mummies[0].closed == 0)


def test_a_mummy_seen_early_keeps_the_zeros_beside_it():
    seen = without_early_zeros(told(10.0, [0, 2, 0]), {0: 20.0}, {0: (0,)})
    assert seen.mummies[0].closed.tolist() == [0.0, 2.0, 0.0]


def test_a_line_without_mummies_before_the_day_says_nothing_of_them():
    line = LineSeen(10.0, 0, 20, 4, 60.0, mummies_about=0)
    assert without_early_zeros(line, {0: 20.0}, {0: (0,)}).mummies_about is None
    assert without_early_zeros(line, {0: 9.0}, {0: (0,)}).mummies_about == 0
    some = LineSeen(10.0, 0, 20, 4, 60.0, mummies_about=2)
    assert without_early_zeros(some, {0: 20.0}, {0: (0,)}).mummies_about == 2
