from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from outpace.biology.dispersion import clumping_from_taylor
from outpace.estimation.clumping import Prior, Sample, clumping_of, crowding_line
from outpace.estimation.double_counts import DoubleCount, compare, eyes

PRIOR = Prior(5, 2, 12, 1.5, 1.2, 1.8)


def walks(a, b, number, units=20, seed=0):
    rng = np.random.default_rng(seed)
    found = []
    for mean in np.geomspace(0.4, 12, number):
        k = float(clumping_from_taylor(mean, a, b))
        counts = rng.negative_binomial(k, k / (k + mean), size=units).astype(float)
        found.append(Sample(counts, counts))
    return found


def test_without_own_walks_the_prior_is_used_and_nothing_is_learned():
    found = clumping_of(PRIOR, [])
    assert found.own is None
    assert found.used == found.prior
    assert found.learned == pytest.approx(1.0)


def test_own_walks_move_the_law_to_where_they_come_from():
    found = clumping_of(PRIOR, walks(9.0, 1.35, 40))
    assert found.used.a_low < 9.0 < found.used.a_high
    assert found.used.b_low < 1.35 < found.used.b_high
    assert found.own.a > found.prior.a
    assert found.learned < 0.4


def test_few_walks_move_it_little_and_no_own_law_is_shown():
    found = clumping_of(PRIOR, walks(9.0, 1.35, 2))
    assert found.own is None
    assert 0.5 < found.learned < 1.0


def test_walks_without_finds_say_nothing_of_clumping():
    nothing = Sample(np.zeros(30), np.zeros(30))
    assert clumping_of(PRIOR, [nothing] * 5).used == clumping_of(PRIOR, []).used


def test_classes_teach_nearly_as_much_as_counts():
    counted = walks(5.0, 1.5, 12)
    edges = [(0, 0), (1, 3), (4, 10), (11, 30), (31, 100), (101, np.inf)]
    classed = []
    for sample in counted:
        ends = np.array([next(e for e in edges if e[0] <= count <= e[1]) for count in sample.low])
        classed.append(Sample(ends[:, 0], ends[:, 1]))
    exact, rough = clumping_of(PRIOR, counted), clumping_of(PRIOR, classed)
    assert np.log(rough.used.a) == pytest.approx(np.log(exact.used.a), abs=0.5)
    assert rough.learned < 0.7


def test_the_crowding_line_needs_three_walks_of_different_means():
    assert crowding_line(walks(5.0, 1.5, 2)) is None
    alpha, beta = crowding_line(walks(5.0, 1.5, 30, units=200))
    assert beta > 1
    assert np.isfinite(alpha)


def test_double_counts_find_how_much_each_scout_sees():
    # Source: two scouts of .8 and .5 drawn independently over 600 infested plants.
    rng = np.random.default_rng(2)
    first, second = rng.random(600) < 0.8, rng.random(600) < 0.5
    double = DoubleCount("Ana", "Bo", int((first & second).sum()), int((first & ~second).sum()),
                         int((~first & second).sum()))  # fmt: skip
    found = eyes((0.7, 0.45, 0.88), [double])
    assert found["Ana"].mean == pytest.approx(0.8, abs=0.05)
    assert found["Bo"].mean == pytest.approx(0.5, abs=0.05)
    assert found["Ana"].ends[0] < 0.8 < found["Ana"].ends[1]


def test_without_double_counts_nothing_is_learned_of_a_scout():
    assert eyes((0.7, 0.45, 0.88), []) == {}
    nothing = eyes((0.7, 0.45, 0.88), [compare("Ana", "Bo", {"1": (False, False), "2": (True, None)})])
    assert nothing["Ana"].mean == pytest.approx(0.7)
    assert nothing["Ana"].plants == 0


@pytest.mark.parametrize("mean", [0.2, 1.0, 8.0])
@pytest.mark.parametrize("chance", [0.2, 0.5, 0.8, 0.95])
def test_before_own_walks_the_likely_variance_has_the_quantiles_of_two_normal_laws(mean, chance):
    # Source: closed form. log a and b are normal and apart by the prior, so log (a m^b) is normal.
    sd = np.hypot(np.log(12 / 2), (1.8 - 1.2) * np.log(mean)) / (2 * norm.ppf(0.95))
    expected = np.log(5) + 1.5 * np.log(mean) + norm.ppf(chance) * sd
    law = clumping_of(PRIOR, []).likely.law_at(mean, chance)
    centre = np.log(12 * 2) / 2 - np.log(5)  # the prior's range is not even about its middle
    assert abs(centre) < 0.05
    assert np.log(law.a) + law.b * np.log(mean) == pytest.approx(expected, abs=0.06)


def test_own_walks_leave_less_room_between_the_even_and_the_clumped():
    def room(found):
        return found.likely.law_at(2.0, 0.95).a / found.likely.law_at(2.0, 0.05).a

    assert room(clumping_of(PRIOR, walks(9.0, 1.35, 40))) < 0.5 * room(clumping_of(PRIOR, []))
