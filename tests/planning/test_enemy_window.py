"""What the coming weeks and the house say of an enemy: cold days, short days, floor, residues, mixtures."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from outpace.facts.table import load
from outpace.planning.candidates import rank
from outpace.planning.enemy_window import (
    LATER,
    NOT,
    NOW,
    PART,
    UNKNOWN,
    Standing,
    Window,
    fits_several,
    matched,
    mixtures,
    window,
)

FACTS = load()
MILD = Window(np.full(28, 19.0), np.full(28, 16.0), np.full(28, 24.0), np.full(28, 15.5))
PLAIN = Standing()
EVERY = [key for key, item in FACTS.species.items() if item.kind == "enemy"]


def match(enemy, pests=("myzus_persicae",), ahead=MILD, house=PLAIN):
    [found] = rank(FACTS, [enemy], pests, mean_temperature=18, hottest=24)
    return matched(FACTS, found, ahead, house, pests)


def every(pests, ahead=MILD, house=PLAIN):
    ranked = rank(FACTS, EVERY, pests, mean_temperature=18, hottest=24)
    return [matched(FACTS, item, ahead, house, pests) for item in ranked]


def test_a_wasp_fits_now_where_days_are_mild():
    assert match("aphidius_colemani").state == NOW


def test_below_twelve_degrees_by_day_a_wasp_waits_for_the_first_three_mild_days():
    # by hand: sixteen days at 9 °C by day, then 14 °C: the first of three mild days on end is day 16
    cold = replace(MILD, light=np.where(np.arange(28) < 16, 9.0, 14.0))
    found = match("aphidius_colemani", ahead=cold)
    assert (found.state, found.in_d) == (LATER, 16)
    assert any("searches little" in text for text in found.against)
    never = match("aphidius_colemani", ahead=replace(MILD, light=np.full(28, 9.0)))
    assert (never.state, never.in_d) == (LATER, None)


def test_short_days_let_a_midge_eat_but_not_breed_on():
    short = match("aphidoletes_aphidimyza", ahead=replace(MILD, daylight=np.full(28, 10.0)))
    assert short.state == PART
    assert any("go to rest" in text for text in short.against)
    assert match("aphidoletes_aphidimyza", house=Standing(floor="soil")).state == NOW


@pytest.mark.parametrize("floor", [None, "concrete", "fabric", "mulch"])
def test_a_floor_that_is_hard_or_not_told_speaks_against_a_midge(floor):
    assert any(
        "soil" in text for text in match("aphidoletes_aphidimyza", house=Standing(floor=floor)).against
    )


def test_an_unknown_residue_names_no_day_and_a_known_one_its_day():
    found = match("aphidius_colemani", house=Standing(held="soap: not entered", free_in_d=None))
    assert (found.state, found.in_d) == (LATER, None)
    assert "soap: not entered" in found.against
    known = match("aphidius_colemani", house=Standing(held="until Monday", free_in_d=5))
    assert (known.state, known.in_d) == (LATER, 5)


def test_the_wrong_enemy_does_not_fit_whatever_the_weather():
    assert match("aphidius_colemani", pests=("macrosiphum_euphorbiae",)).state == NOT


def test_ragged_holes_make_a_wasp_fit_in_part_and_speak_for_a_predator():
    house = Standing(use="curative", ragged_share=0.5)
    assert match("aphidius_colemani", house=house).state in (NOW, PART)
    [found] = rank(
        FACTS, ["aphidius_colemani"], ["myzus_persicae"], mean_temperature=18, hottest=24, ragged_share=0.5
    )
    assert matched(FACTS, found, MILD, house, ["myzus_persicae"]).state == PART
    assert any(
        "hyperparasitoids do not take it" in text for text in match("chrysoperla_carnea", house=house).for_it
    )


def test_where_nothing_was_found_predators_starve():
    found = match("chrysoperla_carnea", house=Standing(use="preventive"))
    assert found.state == PART
    assert any("starves" in text for text in found.against)


def test_two_aphids_that_no_one_takes_alone_are_given_a_mixture():
    # Source: host match, facts/host_match.csv: colemani takes Myzus and not Macrosiphum, ervi the other way round.
    pests = ("myzus_persicae", "macrosiphum_euphorbiae")
    wasps = [item for item in every(pests) if FACTS.species[item.enemy].guild == "wasp"]
    [pair] = [
        pair for pair in mixtures(FACTS, wasps, pests, "light") if any("together" in w for w in pair.why)
    ]
    taken = {
        pest
        for enemy in pair.enemies
        for pest in pests
        if FACTS.one(enemy, "host_match", other_species=pest).value == 2
    }
    assert taken == set(pests)


def test_a_curative_house_is_offered_the_usual_pair():
    pairs = mixtures(
        FACTS, every(("myzus_persicae",), house=Standing(use="curative")), ("myzus_persicae",), "curative"
    )
    guilds = [{FACTS.species[enemy].guild for enemy in pair.enemies} for pair in pairs]
    assert {"wasp", "midge"} in guilds


def test_an_aphid_without_a_name_is_promised_nothing_and_offered_both_kinds():
    pests = ("unknown_aphid",)
    found = every(pests)
    assert {item.state for item in found} == {UNKNOWN}
    [pair] = mixtures(FACTS, found, pests, "light")
    small, large = pair.enemies
    assert FACTS.one(small, "host_match", other_species="aphis_gossypii").value == 2
    assert FACTS.one(large, "host_match", other_species="macrosiphum_euphorbiae").value == 2
    assert fits_several(FACTS)[0][1] == fits_several(FACTS)[0][2]


def test_the_light_hours_are_those_of_the_almanac():
    # Source: by hand; at the equator the sun is up from six to six, give or take minutes: twelve hours at 20 °C.
    hours = np.where(np.abs(np.arange(24) + 0.5 - 12) < 6, 20.0, 4.0)
    found = window(np.tile(hours, 7)[:, None], 0.0, 80)
    assert found.light == pytest.approx(20.0, abs=1.5)
    assert found.night == pytest.approx(4.0, abs=1.5)
    assert found.daylight == pytest.approx(12.1, abs=0.1)
