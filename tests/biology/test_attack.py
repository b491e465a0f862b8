"""Laws of attack: the refuge, the sharing of time and eggs, and hindrance."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from outpace.biology import attack
from outpace.biology.functional_response import disc_equation

ATTACKS, CLUMP = st.floats(0, 50), st.floats(0.01, 1e4)


@given(ATTACKS, CLUMP, st.floats(1.01, 4))
def test_clumped_attacks_spare_more_hosts_than_random_ones(attacks: float, k: float, more: float) -> None:
    spared = attack.escape(attacks, k)
    assert np.exp(-attacks) * (1 - 1e-9) <= spared <= 1.0
    assert attack.escape(attacks, k * more) <= spared * (1 + 1e-9)
    assert attack.escape(attacks * more, k) <= spared * (1 + 1e-9)


@given(ATTACKS)
def test_very_even_attacks_are_random_ones(attacks: float) -> None:
    assert attack.escape(attacks, np.inf) == pytest.approx(np.exp(-attacks), rel=1e-12)
    assert attack.daily_hazard(attacks, 1e12) == pytest.approx(attacks, rel=1e-9, abs=1e-12)


def test_few_attacks_feel_no_refuge() -> None:
    assert attack.daily_hazard(1e-9, 0.35) == pytest.approx(1e-9, rel=1e-6)


@given(
    st.lists(st.floats(0, 500), min_size=3, max_size=3),
    st.floats(0, 20),
    st.floats(0.001, 5),
    st.floats(0, 0.5),
)
def test_attacks_on_all_hosts_add_up_to_the_disc_equation(
    hosts: list[float], females: float, rate: float, handling: float
) -> None:
    # Source: Holling 1959 (recalled), with hosts weighted by preference.
    liked = np.array([0.2, 0.5, 0.3])
    attacks = attack.mean_attacks(hosts, females, rate, liked, handling, days=1.0)
    weighted = float((liked * hosts).sum())
    total = float((attacks * hosts).sum())
    assert total == pytest.approx(
        float(disc_equation(weighted, females, rate, handling)), rel=1e-9, abs=1e-12
    )


def test_attacks_of_many_members_are_worked_side_by_side() -> None:
    hosts = np.arange(1.0, 13.0).reshape(3, 4)
    females = np.array([0.5, 1.0, 1.5, 2.0])
    together = attack.mean_attacks(hosts, females, 0.5, [0.2, 0.5, 0.3], 0.01)
    for member in range(4):
        alone = attack.mean_attacks(hosts[:, member], females[member], 0.5, [0.2, 0.5, 0.3], 0.01)
        assert together[:, member] == pytest.approx(alone, rel=1e-12)


@given(
    st.lists(st.floats(0, 10), min_size=3, max_size=3), st.lists(st.floats(0, 100), min_size=3, max_size=3)
)
def test_no_more_eggs_are_laid_than_there_are(wanted: list[float], hosts: list[float]) -> None:
    limited = attack.egg_limited(wanted, hosts, eggs=40.0)
    laid = float((limited * hosts).sum())
    asked = float((np.array(wanted) * hosts).sum())
    assert laid == pytest.approx(min(asked, 40.0), rel=1e-9, abs=1e-9)


@given(st.floats(0, 1e4), st.floats(0, 1), st.floats(0.01, 100))
def test_females_hinder_but_never_help_each_other(females: float, exponent: float, reference: float) -> None:
    factor = attack.interference(females, exponent, reference)
    assert 0.0 < factor <= 1.0
    assert attack.interference(females * 2, exponent, reference) <= factor
    if females <= reference or exponent == 0:
        assert factor == 1.0


@given(st.floats(0.1, 1.0), st.floats(0.1, 5.0))
def test_the_exponent_of_interference_comes_back(exponent: float, rate: float) -> None:
    females = np.array([1.0, 2.0, 5.0, 8.0])
    searching = rate * attack.interference(females, exponent)
    assert attack.interference_exponent(searching, females) == pytest.approx(exponent, rel=1e-9)


@given(st.floats(1.05, 20), st.floats(0.001, 5), st.floats(0.1, 50), st.floats(0.2, 4))
def test_an_equilibrium_stays_where_it_is(rise: float, rate: float, k: float, clutch: float) -> None:
    rest = attack.equilibrium(rise, rate, k, clutch)
    assert attack.next_generation(*rest, rise, rate, k, clutch) == pytest.approx(rest, rel=1e-8)


def test_hosts_without_enemies_multiply_and_enemies_without_hosts_are_gone() -> None:
    assert attack.next_generation(10.0, 0.0, 2.0, 0.1) == (20.0, 0.0)
    assert attack.next_generation(0.0, 10.0, 2.0, 0.1) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: attack.escape(-1.0, 0.3), "attacks must not be negative"),
        (lambda: attack.escape(1.0, 0.0), "k must be above zero"),
        (lambda: attack.escape(1.0, float("nan")), "k must be above zero"),
        (lambda: attack.mean_attacks([1.0, 2.0], 1.0, 0.5, [1.0], 0.0), "one share for each stage"),
        (lambda: attack.mean_attacks([1.0], 1.0, 0.5, [1.5], 0.0), "preference must lie from 0 to 1"),
        (lambda: attack.egg_limited(1.0, 1.0, 1.0), "one entry for each stage"),
        (lambda: attack.interference(1.0, -0.1), "exponent must not be negative"),
        (lambda: attack.interference_exponent([0.2, 0.1], [3.0, 3.0]), "two different densities"),
        (lambda: attack.equilibrium(1.0, 0.1), "growth must be above 1"),
    ],
)
def test_impossible_numbers_are_refused_by_name(call: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()  # type: ignore[operator]
