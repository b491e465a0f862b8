from __future__ import annotations

import numpy as np
import pytest

from outpace.estimation.parasitism import (
    cannot_tell,
    corrected_for_times,
    hyperparasitism,
    mummies_at_constant_attack,
    mummy_ratio,
    visible_parasitism,
)


def test_a_growing_colony_shows_fewer_mummies_than_a_falling_one_at_the_same_attack():
    shares = [mummies_at_constant_attack(0.1, 8, 6, growth) for growth in (0.2, 0.1, 0.0, -0.1)]
    assert shares == sorted(shares)


def test_the_share_of_mummies_under_growth_is_that_of_a_colony_followed_day_by_day():
    # Source: a colony stepped through time in small steps, apart from the closed form.
    attack, before, as_mummy, growth, step = 0.1, 8.0, 6.0, 0.12, 0.01
    times = np.arange(0.0, 60.0, step) + step / 2
    stung_at = attack * np.exp(-growth * times) * step  # healthy now is 1; those stung so long ago
    stung = stung_at[times < before].sum()
    mummies = stung_at[(times >= before) & (times < before + as_mummy)].sum()
    expected = mummies / (1 + stung + mummies)
    assert mummies_at_constant_attack(attack, before, as_mummy, growth) == pytest.approx(expected, rel=1e-4)


def test_the_correction_under_growth_returns_the_share_that_made_the_colony():
    # Source: ages of a colony that grows, summed in small steps.
    true, growth, step = 0.3, 0.15, 0.001
    ages = np.arange(0, 12, step) + step / 2
    weight = np.exp(-growth * ages)
    seen, healthy = true * weight.sum(), (1 - true) * weight[ages < 6].sum()
    assert corrected_for_times(seen / (seen + healthy), 12, 6, growth) == pytest.approx(true, rel=1e-5)


def test_the_ratio_of_mummies_without_growth_is_the_ratio_of_days():
    expected = 0.3 * 6 / (0.3 * (8 + 6) + 0.7 * 20)
    assert mummy_ratio(0.3, 8, 6, 20) == pytest.approx(expected, rel=1e-12)


def test_no_aphid_and_no_mummy_says_nothing():
    found = visible_parasitism(0, 0)
    assert (found.low, found.high) == (0.0, 1.0)


def test_jagged_holes_of_black_mummies_are_not_called_hyperparasitoids():
    assert hyperparasitism(15, 0, "black").read == 0
    assert "cannot tell" in hyperparasitism(15, 0, "black").message
    assert hyperparasitism(6, 14, "tan").share == pytest.approx(0.3)


def test_none_of_twenty_still_allows_seventeen_per_cent():
    # Source: exact 95 % interval, computed.
    assert "17 %" in hyperparasitism(0, 20, "tan").message


def test_a_sample_that_cannot_tell_says_why():
    assert "yet" in cannot_tell(leaves_removed_limit=0.2, before_first_mummies=True, only_hunted=False)
    assert "hunted" in cannot_tell(leaves_removed_limit=0.2, before_first_mummies=False, only_hunted=True)
    assert "leaves" in cannot_tell(
        leaves_removed_limit=0.2, before_first_mummies=False, only_hunted=False, leaves_removed_share=0.3
    )
    assert cannot_tell(leaves_removed_limit=0.2, before_first_mummies=False, only_hunted=False) is None


def test_impossible_shares_are_refused():
    with pytest.raises(ValueError, match="between 0 and 1"):
        corrected_for_times(1.2, 12, 6)
