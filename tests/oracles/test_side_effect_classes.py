"""Efficacy formulas and side-effect classes against figures from outside."""

from __future__ import annotations

import doctest

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from outpace.estimation import efficacy
from outpace.estimation.efficacy import (
    abbott,
    efficacy_range,
    henderson_tilton,
    persistence_class,
    schneider_orelli,
    side_effect_class,
    sun_shepard,
    total_effect,
)
from outpace.facts.table import load

FACTS = load()


def test_abbott_gives_the_correct_efficacy_of_his_own_example():
    # Source: Abbott 1925, inputs and the naive figure of 48 % (read in the paper's text); the check is 50 % dead, the
    # treated 98 %. The correct 96 % is derived: of 50 living in the check, 2 live where it was treated.
    assert abbott(treated_after=2, control_after=50) == pytest.approx(0.960)
    naive = 0.98 - 0.50
    assert abbott(2, 50) == pytest.approx(2 * naive)


def test_henderson_and_tilton_correct_for_unlike_beginnings():
    # Source: Henderson and Tilton 1955 (formula recalled); treated 200 to 20, check 180 to 240: derived by hand.
    told = henderson_tilton(treated_before=200, treated_after=20, control_before=180, control_after=240)
    assert told == pytest.approx(0.925)


def test_schneider_orelli_is_abbott_written_in_deaths():
    # Source: Schneider-Orelli 1947 (formula recalled); 80 % and 20 % dead give 75 % (derived).
    assert schneider_orelli(0.80, 0.20) == pytest.approx(0.750)
    assert abbott(treated_after=1 - 0.80, control_after=1 - 0.20) == pytest.approx(0.750)


def test_deaths_of_an_aphid_trial_are_corrected_by_those_of_its_check():
    # Source: Martin 1940, in Finney: Aphis rumicis under Derris, 49, 45, 44, 52, 47 insects a dose, 49, 44, 38, 15, 4
    # dead, 1 of 48 in the check (read; single figures entered again). Corrected shares derived.
    offered, dead = (49, 45, 44, 52, 47), (49, 44, 38, 15, 4)
    corrected = [schneider_orelli(d / n, 1 / 48) for d, n in zip(dead, offered, strict=True)]
    assert corrected == pytest.approx([1.0, 0.977305, 0.860735, 0.273322, 0.065641], abs=5e-7)


def test_sun_and_shepard_agree_with_henderson_and_tilton():
    # Source: Sun and Shepard 1947 (formula recalled); a fall of 90 % beside a rise of 33.333 % (derived) is the same
    # case as 200 to 20 beside 180 to 240.
    assert sun_shepard(0.90, 0.33333333) == pytest.approx(0.925, abs=1e-6)


def test_total_effect_counts_the_lost_young_too():
    # Source: the working group's formula (recalled), 100 - (100 - 40) x 0.5 = 70 (derived).
    assert total_effect(0.40, 0.50) == pytest.approx(0.70)


# Source: IOBC laboratory classes <30, 30-79, 80-99, >99 % (recalled, sure). What lies in a gap has a rule of ours: it
# belongs to the worse class.
@pytest.mark.parametrize(
    ("loss", "word"),
    [
        (0.0, "1"),
        (0.299, "1"),
        (0.30, "2"),
        (0.79, "2"),
        (0.795, "3"),
        (0.80, "3"),
        (0.99, "3"),
        (0.991, "4"),
        (1.0, "4"),
    ],
)
def test_a_laboratory_class_ends_where_it_was_published_to_end(loss, word):
    assert side_effect_class(FACTS, loss, "laboratory").word == word


# Source: IOBC semi-field and field classes <25, 25-50, 51-75, >75 % (recalled, sure; several pages for growers were
# read with <25, 25-50, 50-75, >75). The gap from 50 to 51 belongs to the worse class, by our rule.
@pytest.mark.parametrize(
    ("loss", "word"),
    [
        (0.249, "1"),
        (0.25, "2"),
        (0.50, "2"),
        (0.505, "3"),
        (0.51, "3"),
        (0.75, "3"),
        (0.751, "4"),
        (1.0, "4"),
    ],
)
def test_a_field_class_ends_where_it_was_published_to_end(loss, word):
    assert side_effect_class(FACTS, loss, "field").word == word


# Source: classes of persistence <5, 5-15, 16-30, >30 d (recalled, fairly sure); gaps by our rule.
@pytest.mark.parametrize(
    ("days", "word"),
    [(0, "A"), (4.9, "A"), (5, "B"), (15, "B"), (15.5, "C"), (16, "C"), (30, "C"), (30.1, "D"), (90, "D")],
)
def test_a_class_of_persistence_ends_where_it_was_published_to_end(days, word):
    assert persistence_class(FACTS, days).word == word


def test_every_class_limit_is_recalled_and_says_so():
    rows = (*side_effect_class(FACTS, 0.5, "field").facts, *persistence_class(FACTS, 9).facts)
    assert {row.evidence for row in rows} == {"recalled"}


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_greater_loss_is_never_in_a_lower_class(first, second):
    low, high = sorted((first, second))
    for scale in efficacy.SCALES:
        assert int(side_effect_class(FACTS, low, scale).word) <= int(
            side_effect_class(FACTS, high, scale).word
        )


counted = st.floats(0.01, 1e4)


@settings(max_examples=200)
@given(counted, counted, counted, counted)
def test_the_formulas_agree_wherever_their_cases_meet(before, after, control_before, control_after):
    ours = henderson_tilton(
        treated_before=before, treated_after=after, control_before=control_before, control_after=control_after
    )
    assert sun_shepard(1 - after / before, control_after / control_before - 1) == pytest.approx(
        ours, abs=1e-6, rel=1e-6
    )
    alike = henderson_tilton(
        treated_before=control_before,
        treated_after=after,
        control_before=control_before,
        control_after=control_after,
    )
    assert abbott(after, control_after) == pytest.approx(alike, rel=1e-9)


def test_an_untreated_part_without_aphids_compares_nothing():
    with pytest.raises(ValueError, match="nothing to compare"):
        abbott(3, 0)
    with pytest.raises(ValueError, match="nothing to compare"):
        henderson_tilton(treated_before=3, treated_after=1, control_before=0, control_after=5)
    with pytest.raises(ValueError, match="nothing to compare"):
        schneider_orelli(1.0, 1.0)
    with pytest.raises(ValueError, match="above -1"):
        sun_shepard(0.5, -1.0)


def test_the_range_holds_the_estimate_narrows_with_looks_and_never_takes_none_found_for_none_left():
    case = {"treated_before": 8.0, "treated_after": 1.0, "control_before": 8.0, "control_after": 10.0}
    few = efficacy_range(**case, looked_at=(20,) * 4, taylor_a=5, taylor_b=1.5)
    many = efficacy_range(**case, looked_at=(200,) * 4, taylor_a=5, taylor_b=1.5)
    assert few[0] < many[0] < henderson_tilton(**case) < many[1] < few[1]
    none = efficacy_range(**{**case, "treated_after": 0.0}, looked_at=(20,) * 4, taylor_a=5, taylor_b=1.5)
    assert none[0] < none[1] < 1


def test_the_examples_of_the_docstrings_are_true():
    told = doctest.testmod(efficacy)
    assert told.attempted > 5
    assert told.failed == 0
