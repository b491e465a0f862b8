"""Laws of growth: from life tables, from stages and from matrices."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from outpace.biology import growth, life_table, stage_matrix

ROWS = st.integers(2, 12).flatmap(
    lambda n: st.tuples(
        st.lists(st.floats(0.2, 4), min_size=n, max_size=n),
        st.lists(st.floats(0.05, 1), min_size=n, max_size=n),
        st.lists(st.floats(0, 20), min_size=n, max_size=n),
    )
)


@given(ROWS)
def test_the_rate_of_increase_solves_its_equation(rows: tuple[list[float], list[float], list[float]]) -> None:
    steps, alive, born = rows
    born[-1] += 0.01
    age = np.cumsum(steps)
    rate = life_table.intrinsic_rate(age, alive, born)
    # A relative step of the rate of 1e-9 is more than the solver's own error.
    assert (np.exp(-rate * age) * alive * np.array(born)).sum() == pytest.approx(1.0, rel=1e-8, abs=1e-8)


@given(ROWS, st.floats(0.1, 10))
def test_another_unit_of_time_only_changes_the_unit(
    rows: tuple[list[float], list[float], list[float]], factor: float
) -> None:
    steps, alive, born = rows
    born[0] += 0.01
    age = np.cumsum(steps)
    once = life_table.intrinsic_rate(age, alive, born)
    assert life_table.intrinsic_rate(age * factor, alive, born) * factor == pytest.approx(
        once, rel=1e-7, abs=1e-9
    )


def test_a_population_that_just_replaces_itself_stands_still() -> None:
    assert life_table.intrinsic_rate([5.0, 10.0], [0.5, 0.25], [1.0, 2.0]) == pytest.approx(0.0, abs=1e-12)
    assert life_table.generation_time([5.0, 10.0], [0.5, 0.25], [1.0, 2.0]) == pytest.approx(7.5)


def test_one_age_of_birth_gives_the_logarithm() -> None:
    assert life_table.intrinsic_rate([8.0], [0.5], [40.0]) == pytest.approx(np.log(20.0) / 8.0, rel=1e-12)
    assert life_table.generation_time([8.0], [0.5], [40.0]) == pytest.approx(8.0)


def test_fewer_daughters_than_mothers_decline() -> None:
    assert life_table.intrinsic_rate([5.0, 10.0], [0.5, 0.25], [0.4, 0.4]) < 0


STAGES = st.tuples(
    st.floats(1, 20),
    st.floats(1, 60),
    st.floats(1, 40),
    st.floats(1, 10),
    st.floats(0.05, 8),
    st.floats(0.2, 1),
)


@given(STAGES, st.floats(1.01, 1.5))
def test_growth_rises_with_births_and_survival_and_falls_with_delay(
    stages: tuple[float, float, float, float, float, float], more: float
) -> None:
    young, young_shape, adult, adult_shape, births, alive = stages
    common = {"shapes": [young_shape, adult_shape], "survival": [alive, 1.0]}
    rate = life_table.growth_of_gamma_stages([young, adult], births=[0, births], **common)
    assert life_table.growth_of_gamma_stages([young, adult], births=[0, births * more], **common) > rate
    less = {**common, "survival": [alive / more, 1.0]}
    assert life_table.growth_of_gamma_stages([young, adult], births=[0, births], **less) < rate
    later = life_table.growth_of_gamma_stages([young * more, adult], births=[0, births], **common)
    assert (later < rate) == (rate > 0) or abs(rate) < 1e-6


@given(STAGES)
def test_a_population_grows_if_and_only_if_a_newborn_more_than_replaces_herself(
    stages: tuple[float, float, float, float, float, float],
) -> None:
    young, young_shape, adult, adult_shape, births, alive = stages
    row = ([young, adult], [young_shape, adult_shape], [0.0, births], [alive, 1.0])
    daughters = life_table.reproduction_of_gamma_stages(*row)
    assert daughters == pytest.approx(births * adult * alive, rel=1e-9)
    rate = life_table.growth_of_gamma_stages(*row)
    if abs(daughters - 1) > 1e-6:
        assert (rate > 0) == (daughters > 1)


@given(STAGES)
def test_growth_and_structure_hold_together(stages: tuple[float, float, float, float, float, float]) -> None:
    # What is born in a unit of time is the rate of increase times all that live, plus what dies: here nothing but
    # the adults that reach their end, and nymphs lost on the way.
    young, young_shape, adult, adult_shape, births, alive = stages
    row = ([young, adult], [young_shape, adult_shape])
    rate = life_table.growth_of_gamma_stages(*row, [0.0, births], [alive, 1.0])
    structure = life_table.structure_of_gamma_stages(rate, *row, [alive, 1.0])
    assert structure.sum() == pytest.approx(1.0)
    assert (structure > 0).all()
    # Adults stand to newborn a day as the discounted adult life of a newborn.
    share = life_table.reproduction_of_gamma_stages(*row, [0.0, 1.0], [alive, 1.0], mortality=max(rate, 0.0))
    if rate > 0:
        assert share * births == pytest.approx(1.0, rel=1e-6)


def test_many_members_are_worked_side_by_side() -> None:
    means = np.array([[7.0, 8.0, 9.0], [10.0, 12.0, 14.0]])
    births = np.array([[0.0, 0.0, 0.0], [4.0, 3.0, 2.0]])
    shapes = np.array([[20], [1]])
    together = life_table.growth_of_gamma_stages(means, shapes, births, survival=0.9)
    assert together.shape == (3,)
    for member in range(3):
        alone = life_table.growth_of_gamma_stages(means[:, member], [20, 1], births[:, member], survival=0.9)
        assert together[member] == pytest.approx(float(alone), rel=1e-12)


def test_a_stage_cut_in_two_grows_as_before() -> None:
    whole = life_table.growth_of_gamma_stages([8.0, 12.0], [24, 2], [0.0, 3.0], [0.81, 1.0])
    cut = life_table.growth_of_gamma_stages(
        [4.0, 4.0, 6.0, 6.0], [12, 12, 1, 1], [0, 0, 3.0, 3.0], [0.9, 0.9, 1, 1]
    )
    assert cut == pytest.approx(float(whole), rel=1e-12)


def test_what_happens_after_the_last_birth_does_not_matter_to_growth() -> None:
    without = life_table.growth_of_gamma_stages([8.0, 12.0], [24, 2], [0.0, 0.01])
    old = life_table.growth_of_gamma_stages([8.0, 12.0, 400.0], [24, 2, 1], [0.0, 0.01, 0.0])
    assert old == pytest.approx(float(without), rel=1e-9)
    assert old < -1 / 400


def test_a_steady_loss_is_taken_off_the_rate() -> None:
    rate = life_table.growth_of_gamma_stages([8.0, 12.0], [24, 2], [0.0, 3.0])
    lossy = life_table.growth_of_gamma_stages([8.0, 12.0], [24, 2], [0.0, 3.0], mortality=0.07)
    assert lossy == pytest.approx(float(rate) - 0.07, rel=1e-10)


def test_a_matrix_grows_as_its_population_does() -> None:
    matrix = np.array([[0.1, 1.2, 2.0], [0.5, 0.2, 0.0], [0.0, 0.4, 0.6]])
    numbers = np.ones(3)
    for _ in range(300):
        before = numbers.sum()
        numbers = matrix @ numbers
        factor = numbers.sum() / before
        numbers = numbers / numbers.sum()
    assert stage_matrix.matrix_growth(matrix) == pytest.approx(factor, rel=1e-12)
    assert stage_matrix.matrix_structure(matrix) == pytest.approx(numbers, abs=1e-12)
    assert stage_matrix.cycle_length(matrix) == 1


@given(st.floats(0.01, 0.9), st.floats(0.02, 0.6))
def test_time_gained_is_the_time_to_grow_back(kill: float, rate: float) -> None:
    assert (1 - kill) * np.exp(rate * growth.time_gained(kill, rate)) == pytest.approx(1.0)


def test_no_growth_never_doubles() -> None:
    assert list(growth.doubling_time([0.0, -0.1])) == [np.inf, np.inf]
    assert growth.doubling_time(np.log(2)) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: life_table.net_reproduction([1.0], [1.0, 2.0]), "rows of one length"),
        (lambda: life_table.net_reproduction([1.2], [1.0]), "survival must lie from 0 to 1"),
        (lambda: life_table.intrinsic_rate([2.0, 1.0], [1, 1], [1, 1]), "ages must rise"),
        (lambda: life_table.intrinsic_rate([1.0, 2.0, 3.0], [1, 1], [1, 1]), "rows of one length"),
        (lambda: life_table.intrinsic_rate([1.0, 2.0], [1, 1], [0, 0]), "nothing is ever born"),
        (lambda: life_table.growth_of_gamma_stages([1.0, 2.0], 1.0, 0.0), "nothing is ever born"),
        (
            lambda: life_table.growth_of_gamma_stages([1.0, 2.0], 1.0, [0, 1], [0.0, 1.0]),
            "nothing is ever born",
        ),
        (lambda: life_table.growth_of_gamma_stages(1.0, 1.0, 1.0), "a row of stages"),
        (lambda: life_table.growth_with_delay(1.0, -0.1, 2.0), "mortality must not be negative"),
        (lambda: stage_matrix.matrix_growth([[1.0, 2.0]]), "must be square"),
        (lambda: stage_matrix.matrix_growth([[-1.0]]), "must not be negative"),
        (lambda: growth.time_gained(1.0, 0.2), "nothing would be left"),
        (lambda: growth.rate_from_early_births(0.0, 8.0), "births must be above zero"),
    ],
)
def test_impossible_numbers_are_refused_by_name(call: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()  # type: ignore[operator]
