"""The refit is as sure as it may be, no more: a small calibration by simulation; the full one is a benchmark."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.multitest import multipletests

from benchmarks import calibration, own_houses, ranks

TRUTHS = 15


@pytest.fixture(scope="module")
def lines():
    """Ranks of truths among refits of few members, told by all designs of walks in turn."""
    return [calibration.one(seed, members=256) for seed in range(500, 500 + TRUTHS)]


def test_few_truths_do_not_tell_the_refit_from_a_calibrated_one(lines):
    told = np.array([line["ranks"] for line in lines])
    assert told.shape == (TRUTHS, len(calibration.QUANTITIES))
    ends = ranks.envelope(TRUTHS, tries=400)
    inside = [ranks.stays_inside(told[:, q], ends) for q in range(told.shape[1])]
    # Each of ten envelopes holds with 99 in 100; a few members more or less may break one.
    assert sum(inside) >= len(inside) - 1
    cover = ((told >= 5) & (told < 95)).mean()
    assert 0.8 <= cover <= 0.97


def test_ranks_of_a_right_filter_are_uniform_and_of_one_a_fifth_too_narrow_are_not():
    # Source: the normal law in closed form; truth and draws from one normal distribution.
    rng = np.random.default_rng(1)
    right, narrow = [], []
    for _ in range(500):
        middle = rng.normal()
        truth, draws = middle + rng.normal(), middle + rng.standard_normal(ranks.DRAWS)
        right.append(ranks.rank_of(truth, draws, rng))
        narrow.append(ranks.rank_of(truth, ranks.narrowed(draws), rng))
    ends = ranks.envelope(500, tries=500)
    assert ranks.chance_if_uniform(np.array(right)) > ranks.LEVEL
    assert ranks.stays_inside(np.array(right), ends)
    assert ranks.chance_if_uniform(np.array(narrow)) < ranks.LEVEL / 10
    assert not ranks.stays_inside(np.array(narrow), ends)


def test_ties_are_broken_by_chance():
    rng = np.random.default_rng(2)
    found = [ranks.rank_of(0.0, np.zeros(ranks.DRAWS), rng) for _ in range(4000)]
    assert (min(found), max(found)) == (0, ranks.DRAWS)
    assert ranks.chance_if_uniform(np.array(found)) > ranks.LEVEL


def test_holm_rejects_what_another_program_rejects():
    # Source: statsmodels, multipletests with method "holm".
    rng = np.random.default_rng(3)
    for _ in range(20):
        chances = rng.random(10) ** 3
        expected = multipletests(chances, alpha=0.05, method="holm")[0]
        assert np.array_equal(ranks.holm(chances, level=0.05), expected)


def test_the_envelope_holds_as_often_as_it_says():
    ends = ranks.envelope(100, tries=1000, seed=4)
    rng = np.random.default_rng(5)
    held = [ranks.stays_inside(rng.integers(0, ranks.DRAWS + 1, 100), ends) for _ in range(1000)]
    # 99 in 100; five standard errors of a thousand tries, twice, since the envelope is itself by simulation.
    assert np.mean(held) > 0.965
    assert stats.binom.cdf(sum(held), 1000, 0.975) > 1e-6


def test_walks_of_a_design_say_what_they_are_told_to():
    told = {}
    for design in own_houses.DESIGNS:
        told[design.name] = [
            walk for seed in (7, 8, 9) for walk in own_houses.walks(own_houses.drawn(design, seed, 0), seed)
        ]
    assert {len(walks) for name, walks in told.items() if name != "one line"} == {12}
    assert all(np.array_equal(walk.low, walk.high) for walk in told["counts"])
    assert any(np.isinf(walk.high).any() for walk in told["classes"])
    assert {int(z) for walk in told["two zones"] for z in walk.zone} == {0, 1}
    # Mummies are told only from the day on which their absence would count.
    assert not told["counts"][0].mummies
    assert told["counts"][-1].mummies
