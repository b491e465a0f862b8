from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import gamma, nbinom, poisson

from outpace.estimation.likelihood import (
    PlantMemory,
    Standing,
    line_log_likelihood,
    log_chance,
    walk_log_likelihood,
)
from outpace.estimation.observations import LineSeen, MummiesSeen, WalkSeen
from outpace.estimation.plant_shares import split_clumping

MEANS = np.array([0.05, 0.5, 2.0, 8.0, 40.0])


def standing(aphids=MEANS, closed=None, units=20_000.0, detection=1.0):
    n = len(aphids)
    stock = np.zeros(n) if closed is None else np.asarray(closed)
    return Standing(
        aphids=np.tile(aphids, (1, 2, 1)),
        closed=np.tile(stock, (1, 2, 1)),
        empty=np.zeros((1, 2, n)),
        units=np.array([units, units]),
        taylor_a=np.full((1, n), 5.0),
        taylor_b=np.full((1, n), 1.5),
        log_clumping=np.zeros((1, n)),
        detection=np.full(n, detection),
    )


def seen(low, high=None, *, chosen="random", plants=None, mummies=(), day=0.0):
    low = np.atleast_2d(np.asarray(low, dtype=float))
    units = low.shape[1]
    return WalkSeen(
        day,
        "leaf",
        chosen,
        np.zeros(units, dtype=np.int64),
        np.arange(units) if plants is None else np.asarray(plants),
        low,
        low if high is None else np.atleast_2d(np.asarray(high, dtype=float)),
        mummies,
    )


def score(walk, at, memory=None):
    parts, _ = walk_log_likelihood(walk, at, (0,), memory or PlantMemory())
    return sum(parts.values(), np.zeros(at.detection.shape))


@pytest.mark.parametrize(("mean", "k"), [(0.1, 0.2), (3.0, 0.7), (60.0, 5.0)])
def test_chances_of_counts_and_classes_are_those_of_the_law(mean, k):
    # Source: the negative binomial of scipy, other authors.
    p = k / (k + mean)
    for x in (0, 1, 7):
        assert np.exp(log_chance(x, x, mean, k)) == pytest.approx(nbinom.pmf(x, k, p), rel=1e-9)
    for low, high in ((1, 3), (4, 10), (31, 100)):
        expected = nbinom.cdf(high, k, p) - nbinom.cdf(low - 1, k, p)
        assert np.exp(log_chance(low, high, mean, k)) == pytest.approx(expected, rel=1e-7, abs=1e-15)
    assert np.exp(log_chance(101, np.inf, mean, k)) == pytest.approx(
        nbinom.sf(100, k, p), rel=1e-7, abs=1e-15
    )
    assert log_chance(0, np.inf, mean, k) == 0.0


def test_the_classes_of_the_form_cover_all_counts_once():
    ends = [(0, 0), (1, 3), (4, 10), (11, 30), (31, 100), (101, np.inf)]
    total = sum(np.exp(log_chance(low, high, 9.0, 0.6)) for low, high in ends)
    assert total == pytest.approx(1.0, abs=1e-12)


def test_clumping_between_and_within_plants_gives_the_whole():
    k = np.array([0.05, 0.4, 3.0, 100.0])
    between, within = split_clumping(k)
    assert (1 + 1 / between) * (1 + 1 / within) - 1 == pytest.approx(1 / k, rel=1e-9)


def test_the_effect_of_a_plant_is_averaged_out_as_by_an_integral():
    # Source: numerical integration over the gamma share of the plant.
    at = standing(np.array([4.0]))
    k = at.k(0, at.aphids[0, 0])
    between, within = (float(each[0]) for each in split_clumping(k))
    counts = [3, 9]

    def given(share: float) -> float:
        chances = [nbinom.pmf(x, within, within / (within + 4.0 * share)) for x in counts]
        return float(np.prod(chances) * gamma.pdf(share, between, scale=1 / between))

    expected = quad(given, 0, 40, limit=200)[0]
    found = np.exp(score(seen(counts, plants=[1, 1]), at))[0]
    assert found == pytest.approx(expected, rel=0.01)


def test_two_leaves_of_one_plant_say_less_than_leaves_of_two():
    same = score(seen([6] * 10, plants=[0] * 10), standing())
    apart = score(seen([6] * 10), standing())
    assert np.ptp(apart) > np.ptp(same)


def test_the_likeliest_mean_is_near_the_mean_of_many_units():
    grid = np.geomspace(0.2, 50, 300)
    rng = np.random.default_rng(1)
    k = standing(np.array([5.0])).k(0, np.array([5.0]))[0]
    counts = rng.poisson(rng.gamma(k, 5.0 / k, 400))
    best = grid[np.argmax(score(seen(counts), standing(grid)))]
    assert best == pytest.approx(counts.mean(), rel=0.15)


def test_a_scout_who_misses_some_makes_the_same_count_mean_more():
    grid = np.geomspace(0.2, 50, 400)
    counts = [0, 0, 4, 9, 1, 0, 17, 2] * 8
    sure = grid[np.argmax(score(seen(counts), standing(grid)))]
    poor = grid[np.argmax(score(seen(counts), standing(grid, detection=0.5)))]
    assert poor == pytest.approx(2 * sure, rel=0.25)


def test_what_was_not_looked_at_says_nothing():
    assert np.all(score(seen([0, 0], [np.inf, np.inf]), standing()) == 0.0)


def test_exact_counts_say_more_than_their_classes_and_classes_more_than_presence():
    counts = np.array([0, 2, 8, 0, 5, 0, 1, 20])
    classes = [(0, 0), (1, 3), (4, 10), (0, 0), (4, 10), (0, 0), (1, 3), (11, 30)]
    low, high = np.array(classes).T
    present = np.where(counts > 0, np.inf, 0.0)
    spreads = [
        np.ptp(score(seen(counts), standing())),
        np.ptp(score(seen(low, high), standing())),
        np.ptp(score(seen(np.minimum(counts, 1), present), standing())),
    ]
    assert spreads[0] > spreads[1] > spreads[2] > 0


def test_hunted_units_only_say_that_a_place_as_bad_exists():
    many = score(seen([30, 50, 40], chosen="hunted"), standing())
    assert many == pytest.approx(score(seen([50], chosen="hunted"), standing()))
    assert np.all(np.diff(many) >= 0)  # never an upper bound
    assert many[-1] == pytest.approx(0.0, abs=1e-6)
    assert np.all(score(seen([0, 0, 0], chosen="hunted"), standing()) == 0.0)


def test_zero_mummies_tell_only_where_mummies_could_be():
    none = (MummiesSeen((0,), np.zeros(20), np.full(20, np.nan)),)
    blind = seen(np.zeros(20), np.full(20, np.inf), mummies=none)
    same = np.full(3, 2.0)
    found = score(blind, standing(same, closed=[0.0, 0.0, 0.5]))
    assert found[0] == pytest.approx(0.0, abs=1e-6)
    assert found[1] == pytest.approx(0.0, abs=1e-6)
    assert found[2] < -1.0


def test_mummies_not_written_down_are_not_zero():
    unread = (MummiesSeen((0,), np.full(4, np.nan), np.full(4, np.nan)),)
    counts = [1, 0, 2, 0]
    plain = score(seen(counts), standing(closed=np.ones(5)))
    assert score(seen(counts, mummies=unread), standing(closed=np.ones(5))) == pytest.approx(plain)


def test_a_fixed_plant_that_was_bad_before_surprises_less_when_bad_again():
    at = standing(np.array([2.0]))
    _, memory = walk_log_likelihood(seen([40], chosen="fixed", plants=[7]), at, (0,), PlantMemory())
    again = seen([40], chosen="fixed", plants=[7], day=7.0)
    assert score(again, at, memory) > score(again, at)
    other = seen([40], chosen="fixed", plants=[8], day=7.0)
    assert score(other, at, memory) == pytest.approx(score(other, at))


def test_a_line_is_the_binomial_law_of_clean_units():
    at = standing()
    k = at.k(0, at.aphids[0, 0])
    clean = (1 + MEANS / k) ** -k
    expected = 3 * np.log(1 - clean) + 17 * np.log(clean)
    found = line_log_likelihood(LineSeen(0.0, 0, 20, 3), at, (0,))
    assert np.maximum(expected, -700) == pytest.approx(found, rel=1e-9)


def test_a_total_told_as_about_sharpens_a_line_without_deciding_it():
    grid = np.geomspace(0.1, 60, 400)

    def width(line):
        weight = np.exp(line_log_likelihood(line, standing(grid), (0,)))
        weight /= weight.sum()
        mean = (weight * np.log(grid)).sum()
        return np.sqrt((weight * (np.log(grid) - mean) ** 2).sum())

    without = width(LineSeen(0.0, 0, 20, 4))
    with_total = width(LineSeen(0.0, 0, 20, 4, aphids_about=60))
    assert 0.3 < with_total < without


def test_mummies_of_a_line_are_weighed_against_the_stock():
    stock = np.array([0.01, 0.15, 3.0])
    at = standing(np.full(3, 2.0), closed=stock)
    found = line_log_likelihood(LineSeen(0.0, 0, 20, 4, mummies_about=3), at, (0,))
    assert np.argmax(found) == 1


def test_counts_that_are_not_clumped_follow_chance():
    # Source: at k = 200, the most the model takes, the law is within a per cent of Poisson.
    assert np.exp(log_chance(2, 2, 1.0, 200.0)) == pytest.approx(poisson.pmf(2, 1.0), rel=0.01)
