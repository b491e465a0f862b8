from __future__ import annotations

import numpy as np
import pytest

from outpace.estimation import sampling as sp


def test_the_exact_characteristic_agrees_with_walks_drawn_by_chance():
    lines = sp.stop_lines_negative_binomial(1.0, 4.0, k=0.8)
    rng = np.random.default_rng(1)
    n_walks, most = 20_000, 40
    counts = rng.negative_binomial(0.8, 0.8 / 2.8, size=(n_walks, most))
    totals, n = counts.cumsum(axis=1), np.arange(1, most + 1)
    stop = (totals > lines.upper + lines.slope * n) | (totals < lines.lower + lines.slope * n)
    stop[:, :9] = False
    looks = np.where(stop.any(axis=1), stop.argmax(axis=1) + 1, most)
    at_stop = totals[np.arange(n_walks), looks - 1]
    low = (stop.any(axis=1) & (at_stop < lines.lower + lines.slope * looks)).mean()
    found = sp.characteristic(lines, sp.negative_binomial_chances(2.0, 0.8), least=10, most=most)
    assert found.low == pytest.approx(low, abs=0.015)
    assert found.mean_looked_at == pytest.approx(looks.mean(), abs=0.3)
    assert found.low + found.high + found.undecided == pytest.approx(1.0, abs=1e-9)


def test_the_chance_to_call_it_low_falls_with_density():
    lines = sp.stop_lines_poisson(1.0, 2.0)
    low = [sp.characteristic(lines, sp.poisson_chances(m)).low for m in (0.5, 1.0, 1.4, 2.0, 3.0)]
    assert low == sorted(low, reverse=True)


def test_presence_lines_keep_their_errors():
    lines = sp.stop_lines_presence(0.1, 0.3)
    assert sp.characteristic(lines, sp.presence_chances(0.1)).high <= 0.1
    assert sp.characteristic(lines, sp.presence_chances(0.3)).low <= 0.1


def test_stopping_early_saves_most_far_from_the_two_means_and_names_the_worst():
    lines = sp.stop_lines_presence(0.1, 0.4)
    saved, worst = sp.mean_saving(lines, [0.02, 0.22, 0.8], sp.presence_chances, fixed=40, least=10, most=40)
    assert worst == 0.22
    assert saved[0] > saved[1] < saved[2]
    assert np.all(saved >= 0)


def test_a_higher_mean_must_be_higher():
    with pytest.raises(ValueError, match="low < high"):
        sp.stop_lines_poisson(2.0, 1.0)
