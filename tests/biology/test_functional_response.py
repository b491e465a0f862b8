"""Laws of functional responses: bounds, limits and what they have in common."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from outpace.biology import functional_response as eat

PREY, ENEMIES = st.floats(0, 1e6), st.floats(0, 100)
ATTACK, HANDLING, DAYS = st.floats(1e-6, 100), st.floats(0, 10), st.floats(0, 60)


@given(PREY, ENEMIES, ATTACK, HANDLING, DAYS)
def test_prey_eaten_is_never_above_the_prey_or_the_disc_equation(
    prey: float, enemies: float, attack: float, handling: float, days: float
) -> None:
    eaten = eat.prey_eaten(prey, enemies, attack, handling, days)
    assert 0.0 <= eaten <= prey
    assert eaten <= eat.disc_equation(prey, enemies, attack, handling, days) * (1 + 1e-9) + 1e-12
    assert 0.0 <= eat.sigmoid_prey_eaten(prey, enemies, attack, handling, days) <= prey


@given(PREY, ATTACK, st.floats(1e-3, 10), DAYS)
def test_prey_eaten_takes_no_more_time_than_there_is(
    prey: float, attack: float, handling: float, days: float
) -> None:
    for response in (eat.prey_eaten, eat.disc_equation, eat.sigmoid_response, eat.sigmoid_prey_eaten):
        assert response(prey, 1.0, attack, handling, days) * handling <= days * (1 + 1e-9) + 1e-12


@given(st.floats(0.01, 1e4), st.floats(1.001, 3), ATTACK, HANDLING)
def test_more_prey_or_more_time_never_means_less_eaten(
    prey: float, more: float, attack: float, handling: float
) -> None:
    once = eat.prey_eaten(prey, 1.0, attack, handling, 1.0)
    assert eat.prey_eaten(prey * more, 1.0, attack, handling, 1.0) >= once * (1 - 1e-9)
    assert eat.prey_eaten(prey, 1.0, attack, handling, more) >= once * (1 - 1e-9)


def test_prey_eaten_nears_the_disc_equation_when_few_are_eaten() -> None:
    # Source: Holling 1959, disc equation; the limit of no depletion (recalled).
    prey = np.array([0.01, 1.0, 200.0])
    few = eat.prey_eaten(prey, 1e-9, 0.5, 0.05)
    assert few == pytest.approx(eat.disc_equation(prey, 1e-9, 0.5, 0.05), rel=1e-8)


def test_prey_eaten_without_handling_is_random_search() -> None:
    # Source: Nicholson and Bailey 1935 (recalled).
    assert eat.prey_eaten(40.0, 3.0, 0.2, 0.0, 2.0) == pytest.approx(40.0 * (1 - np.exp(-1.2)), rel=1e-12)
    assert eat.prey_eaten(40.0, 3.0, 0.2, 1e-12, 2.0) == pytest.approx(40.0 * (1 - np.exp(-1.2)), rel=1e-9)


def test_two_periods_of_search_without_handling_are_one_long_period() -> None:
    left = 50.0 - eat.prey_eaten(50.0, 2.0, 0.3, 0.0, 1.0)
    left -= eat.prey_eaten(left, 2.0, 0.3, 0.0, 1.5)
    assert left == pytest.approx(50.0 - eat.prey_eaten(50.0, 2.0, 0.3, 0.0, 2.5), rel=1e-12)


def test_no_prey_no_enemy_or_no_time_is_nothing_eaten() -> None:
    for response in (eat.prey_eaten, eat.disc_equation, eat.sigmoid_response, eat.sigmoid_prey_eaten):
        assert response(0.0, 1.0, 0.5, 0.05) == 0.0
        assert response(10.0, 0.0, 0.5, 0.05) == pytest.approx(0.0, abs=1e-12)
        assert response(10.0, 1.0, 0.5, 0.05, 0.0) == pytest.approx(0.0, abs=1e-12)


def test_the_share_eaten_rises_at_first_only_in_the_sigmoid_form() -> None:
    prey = np.array([1.0, 2.0, 4.0])
    sigmoid = eat.sigmoid_response(prey, 1.0, 0.01, 0.05) / prey
    assert (np.diff(sigmoid) > 0).all()
    disc = eat.disc_equation(prey, 1.0, 0.5, 0.05) / prey
    assert (np.diff(disc) < 0).all()


def test_a_saturated_sigmoid_is_the_disc_equation() -> None:
    # Source: a = b N / (1 + c N) tends to b / c; Hassell and others 1977 (recalled).
    sigmoid = eat.sigmoid_response(50.0, 1.0, 0.5e6, 0.05, saturation=1e6)
    assert sigmoid == pytest.approx(eat.disc_equation(50.0, 1.0, 0.5, 0.05), rel=1e-6)


def test_kinds_of_prey_share_the_time_of_the_enemy() -> None:
    one = eat.multispecies_attacks([30.0], 2.0, [0.4], [0.03], days=1.5)
    assert one[0] == pytest.approx(eat.disc_equation(30.0, 2.0, 0.4, 0.03, 1.5), rel=1e-12)
    alike = eat.multispecies_attacks([10.0, 20.0], 2.0, [0.4, 0.4], [0.03, 0.03], days=1.5)
    assert alike.sum() == pytest.approx(one[0], rel=1e-12)
    assert alike[1] == pytest.approx(2 * alike[0])
    many = eat.multispecies_attacks(np.full((2, 3), 10.0), [1.0, 2.0, 3.0], [0.4, 0.4], [0.03, 0.03])
    assert many.shape == (2, 3)
    assert many[0] == pytest.approx(many[0, 0] * np.array([1.0, 2.0, 3.0]))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: eat.disc_equation(-1.0, 1.0, 0.5, 0.05), "prey must not be negative"),
        (lambda: eat.prey_eaten(1.0, 1.0, 0.0, 0.05), "attack rate must be above zero"),
        (lambda: eat.prey_eaten(1.0, 1.0, 0.5, -0.1), "handling_time must not be negative"),
        (lambda: eat.prey_eaten(float("nan"), 1.0, 0.5, 0.1), "prey must be finite"),
        (lambda: eat.sigmoid_prey_eaten(1.0, 1.0, 0.0, 0.1), "attack_slope must be above zero"),
        (lambda: eat.multispecies_attacks([1.0, 2.0], 1.0, [0.5], [0.1]), "one entry for each kind"),
    ],
)
def test_impossible_numbers_are_refused_by_name(call: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()  # type: ignore[operator]
