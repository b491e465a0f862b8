"""Laws of passage through a stage, at constant and at changing temperature."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from outpace.biology import passage

MEAN, SHAPE = st.floats(0.5, 60), st.floats(0.3, 300)


@given(MEAN, SHAPE)
def test_passage_rises_from_none_to_all(mean: float, shape: float) -> None:
    share = passage.passage_cdf(np.linspace(-1, 60 * mean, 400), mean, shape)
    assert share[0] == 0.0
    assert share[-1] == pytest.approx(1.0, abs=1e-6)
    assert (np.diff(share) >= -1e-12).all()


@given(MEAN, SHAPE, st.floats(0.001, 0.999))
def test_a_quantile_is_the_inverse_of_the_passage(mean: float, shape: float, share: float) -> None:
    day = passage.passage_quantile(share, mean, shape)
    assert passage.passage_cdf(day, mean, shape) == pytest.approx(share, abs=1e-9)


@given(MEAN, SHAPE, st.floats(0.01, 0.99), st.floats(0.1, 10))
def test_half_the_speed_takes_twice_as_long(mean: float, shape: float, share: float, factor: float) -> None:
    once = passage.passage_quantile(share, mean, shape)
    assert passage.passage_quantile(share, mean * factor, shape) == pytest.approx(
        float(once) * factor, rel=1e-9
    )


def test_a_stage_of_many_compartments_takes_nearly_the_same_for_all() -> None:
    early, late = passage.passage_quantile([0.05, 0.95], 10.0, 1e5)
    assert late - early < 0.15
    assert (early + late) / 2 == pytest.approx(10.0, abs=0.01)


def test_the_share_that_leaves_at_once_is_the_one_asked_for() -> None:
    assert passage.passage_quantile(0.0, 10.0, 4.0) == 0.0


@given(st.floats(0.5, 50), st.floats(0.02, 2))
def test_a_chain_has_the_spread_it_was_built_for(mean: float, cv: float) -> None:
    stages = int(passage.erlang_stages(mean, mean * cv))
    assert stages >= 1
    if cv < 0.3:
        assert 1 / np.sqrt(stages) == pytest.approx(cv, rel=0.06)


def test_stages_that_follow_each_other_add_means_and_variances() -> None:
    mean, sd = passage.stages_in_a_row([[3.0, 1.0], [4.0, 1.0]], [[0.3, 0.0], [0.4, 2.0]])
    assert mean == pytest.approx([7.0, 2.0])
    assert sd == pytest.approx([0.5, 2.0])


@given(st.floats(0.01, 1.0), st.floats(0.05, 1.5))
def test_at_constant_temperature_the_time_is_age_over_rate(rate: float, age: float) -> None:
    hours = int(24 * age / rate) + 2
    assert passage.time_to_age(np.full(hours, rate), age) == pytest.approx(age / rate, rel=1e-9)


def test_cold_days_are_waited_out_and_an_unfinished_record_says_never() -> None:
    rate = np.concatenate([np.full(24, 0.25), np.zeros(72), np.full(24, 0.25)])
    assert passage.time_to_age(rate, 0.25) == pytest.approx(1.0)
    assert passage.time_to_age(rate, 0.375) == pytest.approx(4.5)
    assert passage.time_to_age(rate, 0.51) == np.inf
    assert passage.time_to_age(rate, 0.0) == 0.0


def test_each_member_has_its_own_hours_and_goal() -> None:
    rate = np.stack([np.full(480, 0.1), np.full(480, 0.2)], axis=1)
    assert passage.time_to_age(rate, 1.0) == pytest.approx([10.0, 5.0])
    assert passage.time_to_age(rate, [0.5, 1.0]) == pytest.approx([5.0, 5.0])
    assert passage.time_to_age(rate[:, 0], [0.5, 1.0]) == pytest.approx([5.0, 10.0])
    assert passage.physiological_age(rate).shape == (481, 2)
    assert passage.time_to_age(np.full(96, 0.1), 0.15, hours=6.0) == pytest.approx(1.5)


@given(st.floats(0.5, 60), st.integers(1, 80))
def test_the_steps_asked_for_keep_an_explicit_chain_stable(mean: float, stages: int) -> None:
    # Source: an explicit step that moves more than a whole compartment swings between signs; the chain of 25 over
    # 12 days at one step a day moves 2.08 of one.
    steps = int(passage.steps_needed(mean, stages, share=1.0))
    moved = stages / mean / steps
    assert moved <= 1.0 + 1e-6
    chain = np.zeros(stages)
    chain[0] = 1.0
    for _ in range(50):
        out = chain * min(moved, 1.0)
        chain = chain - out + np.concatenate([[0.0], out[:-1]])
        assert (chain >= -1e-12).all()
    assert pytest.approx(2.08, abs=0.005) == 25 / 12.0
    assert int(passage.steps_needed(12.0, 25, share=1.0)) == 3


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: passage.passage_cdf(5.0, 0.0, 4.0), "mean must be above zero"),
        (lambda: passage.passage_cdf(5.0, 3.0, -1.0), "shape must be above zero"),
        (lambda: passage.passage_quantile(1.0, 3.0, 4.0), "from 0 to under 1"),
        (lambda: passage.erlang_stages(3.0, 0.0), "sd must be above zero"),
        (lambda: passage.time_to_age([-0.1], 1.0), "rate must not be negative"),
        (lambda: passage.time_to_age(np.ones((2, 2, 2)), 1.0), "one or two axes"),
        (lambda: passage.steps_needed(3.0, 4, share=1.5), "unstable"),
        (lambda: passage.stages_in_a_row([-1.0], [0.1]), "means must not be negative"),
    ],
)
def test_impossible_numbers_are_refused_by_name(call: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()  # type: ignore[operator]


def test_the_modules_behind_quick_answers_load_no_scipy() -> None:
    program = (
        "import sys\n"
        "import outpace.biology.temperature_response, outpace.biology.passage, outpace.biology.life_table\n"
        "import outpace.biology.growth, outpace.biology.degree_days\n"
        "sys.exit('scipy' in sys.modules)\n"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
