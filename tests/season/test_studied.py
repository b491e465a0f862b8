"""Answers say where the warmth of a house leaves that at which their figures were studied."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.season.tunnels import a_farm

from outpace.facts.table import load
from outpace.season.ahead import ahead
from outpace.season.course import course
from outpace.season.edges import edges
from outpace.season.enemies import enemies
from outpace.season.lag import lag
from outpace.season.plan import plan
from outpace.season.studied import DEVELOPMENT, FIGURES, domain, domain_cautions, outside

FACTS = load()


def test_a_domain_is_where_rows_are_and_where_development_was_timed():
    # Source: Zamani et al. 2007, abstract (read): tested from 5 to 35 °C.
    assert domain(FACTS, "aphidius_colemani", DEVELOPMENT) == (5.0, 35.0)
    # Source: rows of eggs at 15, 20 and 25 °C (derived from two studies).
    assert domain(FACTS, "aphidius_colemani", "eggs") == (15.0, 25.0)
    # In the cold survival does not change, so only its warm end is an end.
    assert domain(FACTS, "aphidius_colemani", "immature_survival") == (-np.inf, 34.0)


@pytest.mark.parametrize("key", [item.key for item in FACTS.species.values()])
def test_every_species_has_a_domain_of_development_that_holds_a_mild_house(key):
    low, high = domain(FACTS, key, DEVELOPMENT)
    assert low <= 18.0 <= 22.0 <= high


def test_a_caution_names_species_quantity_domain_and_by_how_much():
    hours = np.concatenate([np.full(60, 20.0), np.full(40, 11.0)])
    line = domain_cautions(FACTS, ["myzus_persicae"], hours)[0]
    assert "Myzus persicae, development known from 15 to 30 °C" in line
    assert "40 % of the hours colder, down to 11 °C, 4 °C beyond" in line
    assert "also young borne" in line


def test_both_sides_are_told_and_few_hours_are_not():
    hours = np.concatenate([np.full(60, 20.0), np.full(20, 8.0), np.full(20, 38.0)])
    line = domain_cautions(FACTS, ["aphis_gossypii"], hours)[0]
    assert "colder, down to 8 °C" in line
    assert "warmer, up to 38 °C" in line
    assert domain_cautions(FACTS, ["aphis_gossypii"], np.append(np.full(99, 20.0), 8.0)) == []


def test_only_the_figures_an_answer_used_are_told():
    assert domain_cautions(FACTS, ["aphidius_colemani"], np.full(9, 12.0), [DEVELOPMENT]) == []
    assert "eggs" in domain_cautions(FACTS, ["aphidius_colemani"], np.full(9, 12.0))[0]


@given(
    st.lists(st.floats(-10, 45), min_size=1, max_size=40),
    st.sampled_from(["myzus_persicae", "aphidius_ervi", "adalia_bipunctata"]),
)
def test_a_figure_is_outside_exactly_when_some_hour_is(degrees, key):
    kind = FACTS.species[key].kind
    for item in outside(FACTS, [key], np.array(degrees)):
        beyond = [t for t in degrees if (t < item.low if item.side == "colder" else t > item.high)]
        assert item.share == pytest.approx(len(beyond) / len(degrees))
        assert 0 <= item.beyond <= max(max(item.low - t, t - item.high) for t in beyond) + 1e-9
    told = {(item.quantity, item.side) for item in outside(FACTS, [key], np.array(degrees))}
    for quantity in (DEVELOPMENT, *FIGURES[kind]):
        ends = domain(FACTS, key, quantity)
        if ends is not None:
            assert ((quantity, "colder") in told) == (min(degrees) < ends[0])
            assert ((quantity, "warmer") in told) == (max(degrees) > ends[1])


def test_the_farms_own_trial_moves_the_domain():
    row = FACTS.one("any_aphid", "development_studied_from")
    own = FACTS.with_own([replace(row, species="myzus_persicae", value=6.0)])
    assert domain(own, "myzus_persicae", DEVELOPMENT) == (6.0, 30.0)


@pytest.mark.parametrize(("degrees", "said"), [(14.0, True), (20.0, False)])
def test_lag_says_so(degrees, said):
    answer = lag(
        "aphidius_colemani", "myzus_persicae", date(2026, 4, 20), temperature=degrees, crop="sweet_pepper"
    )
    assert any("leaves what was studied" in line for line in answer["cautions"]) is said
    assert not any("eggs known" in line for line in answer["cautions"])


@pytest.fixture(scope="module")
def cold_tunnel():
    """A tunnel without heating in a cool spring, walked yesterday."""
    cold = {"heating_setpoint_degc": None, "vent_setpoint_degc": 15.0}
    known = a_farm(1)
    houses = tuple(replace(house, **cold) for house in known.rows["houses"])
    return replace(known, head="a cold tunnel", rows={**known.rows, "houses": houses})


def test_ahead_and_the_plan_say_so(cold_tunnel):
    answers = ((ahead(cold_tunnel, "tunnel 1"), ""), (plan(cold_tunnel), "tunnel 1: "))
    for answer, place in answers:
        told = [line for line in answer["cautions"] if "leaves what was studied" in line]
        assert len(told) == 1
        assert told[0].startswith(f"{place}Weaker, because warmth leaves what was studied: ")
        assert "colder, down to" in told[0]
        assert "°C beyond" in told[0]


def test_what_is_chosen_by_a_forecast_says_so_too(cold_tunnel):
    answers = (
        (course(cold_tunnel, "tunnel 1"), ""),
        (edges(cold_tunnel, "tunnel 1"), "tunnel 1: "),
        (enemies(cold_tunnel, "tunnel 1"), "tunnel 1: "),
    )
    for answer, place in answers:
        told = [line for line in answer["cautions"] if "leaves what was studied" in line]
        assert len(told) == 1
        assert told[0].startswith(f"{place}Weaker, because warmth leaves what was studied: ")
