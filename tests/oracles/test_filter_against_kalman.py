"""The resampling of members against the exact filter of a linear normal model."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import logsumexp
from statsmodels.datasets import nile

from outpace.estimation.members import systematic, weights_of

SEEN, STEP = 15099.0, 1469.1  # variances of the local level model of the Nile flow
FIRST = (1120.0, 15099.0)


def kalman(flow):
    """Return log likelihood and filtered levels by the textbook recursion."""
    level, variance = FIRST
    total, levels = 0.0, []
    for y in flow:
        spread = variance + SEEN
        total += -0.5 * (np.log(2 * np.pi * spread) + (y - level) ** 2 / spread)
        gain = variance / spread
        level, variance = level + gain * (y - level), variance * (1 - gain)
        levels.append(level)
        variance += STEP
    return total, np.array(levels)


def members_filter(flow, members, seed):
    """Return the same from members that are weighed, resampled and moved."""
    rng = np.random.default_rng(seed)
    level = FIRST[0] + FIRST[1] ** 0.5 * rng.standard_normal(members)
    total, levels = 0.0, []
    for y in flow:
        log = -0.5 * (np.log(2 * np.pi * SEEN) + (y - level) ** 2 / SEEN)
        total += logsumexp(log) - np.log(members)
        weights = weights_of(log)
        levels.append(weights @ level)
        level = level[systematic(weights, members, rng.random())] + STEP**0.5 * rng.standard_normal(members)
    return total, np.array(levels)


def test_members_meet_the_exact_filter_of_the_nile():
    flow = nile.load_pandas().data["volume"].to_numpy(dtype=float)
    exact, levels = kalman(flow)
    # Source: computed with another program: exact -638.3959; particles with 20 000 members -638.480.
    assert exact == pytest.approx(-638.3959, abs=5e-5)
    found, found_levels = members_filter(flow, 20_000, seed=1)
    assert found == pytest.approx(exact, abs=0.3)
    assert found_levels == pytest.approx(levels, abs=8.0)
