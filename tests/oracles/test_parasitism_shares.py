"""Outside figures for percent parasitism."""

from __future__ import annotations

import math

import pytest

from outpace.estimation.parasitism import corrected_for_times, mummies_at_constant_attack, mummy_ratio
from outpace.surfaces.text.ahead import MOMENT


def test_the_constructed_case_of_stage_times_returns_thirty_per_cent():
    # Source: constructed after Van Driesche 1983 and Russell 1987 (derived): 30 % parasitised, seen for 12 d, others
    # for 6 d -> apparent .461538; a plain ratio of shares would give .2308.
    apparent = 0.3 * 12 / (0.3 * 12 + 0.7 * 6)
    assert apparent == pytest.approx(0.461538, abs=5e-7)
    assert corrected_for_times(apparent, 12, 6) == pytest.approx(0.30, abs=1e-9)
    assert apparent * 6 / 12 == pytest.approx(0.2308, abs=5e-5)


# Source: computed in whole days: attack 10 % a day, 8 d alive after the sting, 6 d as a closed mummy.
@pytest.mark.parametrize(("doubles_in", "mummies"), [(4.6, 0.08), (math.inf, 0.25), (-6.9, 0.45)])
def test_the_mummy_paradox_is_reproduced(doubles_in, mummies):
    growth = math.log(2) / doubles_in
    found = mummies_at_constant_attack(0.1, 8, 6, growth)
    stung = [0.1 * math.exp(-growth * day) for day in range(14)]
    by_days = sum(stung[8:]) / (1 + sum(stung))
    assert by_days == pytest.approx(mummies, abs=5.1e-3)
    assert found == pytest.approx(by_days, abs=6e-3)  # continuous time against whole days


def test_what_is_said_of_a_moments_share_keeps_it_from_being_taken_for_a_generations():
    # Source: Van Driesche 1983, abstract (read): a sample's percentage is a poor measure of what a generation
    # loses; do not sum over samples or take the peak for the whole. One attack shows many shares.
    shares = [mummies_at_constant_attack(0.1, 8, 6, growth) for growth in (0.15, 0.0, -0.1)]
    assert max(shares) > 5 * min(shares)
    assert "generation" in MOMENT
    assert "not added up" in MOMENT


def test_mummies_beside_aphids_are_the_ratio_of_the_times_they_are_there():
    # Source: constructed (derived): p T_m / (p (T_pre + T_m) + (1 - p) T_h) in steady state.
    p, before, mummy, healthy = 0.3, 8.0, 6.0, 20.0
    expected = p * mummy / (p * (before + mummy) + (1 - p) * healthy)
    assert mummy_ratio(p, before, mummy, healthy) == pytest.approx(expected, rel=1e-12)
