"""The resampling of members against the exact filter of a linear normal model."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import logsumexp
from statsmodels.datasets import nile

from outpace.estimation.members import systematic, weights_of

SEEN, STEP = 15099.0, 1469.1  # variances of the local level model of the Nile flow
FIRST = (1120.0, 15099.0)


def kalman(flow, first=FIRST):
    """Return log likelihood and filtered levels by the textbook recursion."""
    level, variance = first
    total, levels = 0.0, []
    for y in flow:
        spread = variance + SEEN
        total += -0.5 * (np.log(2 * np.pi * spread) + (y - level) ** 2 / spread)
        gain = variance / spread
        level, variance = level + gain * (y - level), variance * (1 - gain)
        levels.append(level)
        variance += STEP
    return total, np.array(levels)


def members_filter(flow, members, seed, first=FIRST):
    """Return the same from members that are weighed, resampled and moved."""
    rng = np.random.default_rng(seed)
    level = first[0] + first[1] ** 0.5 * rng.standard_normal(members)
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


def test_the_exact_filter_is_the_textbooks_level_model():
    # Source: Durbin and Koopman on the Nile (recalled; statsmodels and filterpy agree): filtered 1120, 1140.9278,
    # 1072.7985 with variances 15099, 7899.736, 5781.470, the first observation taken as the level.
    flow = nile.load_pandas().data["volume"].to_numpy(dtype=float)
    level, variance = flow[0], SEEN
    levels, variances = [level], [variance]
    for y in flow[1:3]:
        variance += STEP
        gain = variance / (variance + SEEN)
        level, variance = level + gain * (y - level), variance * (1 - gain)
        levels.append(level)
        variances.append(variance)
    assert levels == pytest.approx([1120, 1140.9278, 1072.7985], abs=5.1e-5)
    assert variances == pytest.approx([15099, 7899.736, 5781.470], abs=5.1e-4)


def test_another_program_gives_the_printed_likelihood_of_a_diffuse_beginning():
    # Source: print -632.54 (recalled); statsmodels' own constant of a diffuse start differs by half log 2 pi.
    from statsmodels.tsa.statespace.structural import UnobservedComponents

    flow = nile.load_pandas().data["volume"].to_numpy(dtype=float)
    other = UnobservedComponents(flow, "local level", use_exact_diffuse=True)
    theirs = float(other.loglike([SEEN, STEP]))
    level, variance, total = flow[0], SEEN, 0.0
    for y in flow[1:]:
        variance += STEP
        spread = variance + SEEN
        total += -0.5 * (np.log(2 * np.pi * spread) + (y - level) ** 2 / spread)
        gain = variance / spread
        level, variance = level + gain * (y - level), variance * (1 - gain)
    assert total == pytest.approx(-632.54, abs=0.006)
    assert theirs - total == pytest.approx(-0.5 * np.log(2 * np.pi), abs=2e-3)


def test_members_meet_the_nile_with_a_first_flow_that_tells_all():
    flow = nile.load_pandas().data["volume"].to_numpy(dtype=float)
    # Nothing is known before the first flow, so it alone gives the level, with its own variance; then a step.
    first = (flow[0], SEEN + STEP)
    exact, levels = kalman(flow[1:], first)
    # Source: Durbin and Koopman, the Nile by the local level model (recalled as -632.54). Recomputed with two other
    # programs: -632.5442 where the first level is only wide, -633.4646 with ½ ln 2π more where it is diffuse; and
    # filtered 1140.9278 and 1072.7985 in the second and third year.
    assert exact == pytest.approx(-632.544, abs=2e-3)
    assert exact == pytest.approx(-633.4646 + 0.5 * np.log(2 * np.pi), abs=1e-4)
    assert levels[:2] == pytest.approx([1140.9278, 1072.7985], abs=5e-5)
    found, found_levels = members_filter(flow[1:], 20_000, seed=2, first=first)
    assert found == pytest.approx(exact, abs=0.3)
    assert found_levels == pytest.approx(levels, abs=8.0)
