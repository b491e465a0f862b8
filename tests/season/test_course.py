"""Courses open to a house: what each costs and brings, when it pays, and that unknown figures act as danger."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from scipy.stats import nbinom
from tests.planning.houses import a_house
from tests.season.tunnels import a_farm

import outpace.surfaces.schemas
from outpace.errors import OutpaceError
from outpace.planning.course import fate, share_on_worst
from outpace.season.considered import Figures
from outpace.season.course import course
from outpace.season.worth import worth_from_words, worth_of
from outpace.simulation.model import Spray
from outpace.surfaces.text.course import render
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot

WHOLE = Figures(
    kill_pest_share=0.9,
    kill_enemy_share=0.95,
    residual_enemy_share=0.5,
    residual_d=7.0,
    reentry_h=24.0,
    harvest_interval_d=3.0,
    money=40.0,
)
PLAIN = a_farm(1, area_m2=200.0, level=0.5, infested=20)
FARM = replace(
    PLAIN, rows={**PLAIN.rows, "farm": (replace(PLAIN.table(Farm)[0], labour_per_h=12.0),)}, head="wage"
)


@pytest.fixture(scope="module")
def told():
    return course(FARM, "tunnel 1", spray=WHOLE, spots=WHOLE, value=12.0, loss=0.05, clearing=50.0)


@pytest.fixture(scope="module")
def bare():
    return course(FARM, "tunnel 1", spray=Figures(kill_pest_share=0.99, kill_enemy_share=1.0))


def rows(answer):
    return {row["course"]: row for row in answer["courses"]}


def test_both_answers_satisfy_the_schema(told, bare):
    schema = json.loads((Path(outpace.surfaces.schemas.__file__).parent / "course.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    for answer in (told, bare):
        assert [error.message for error in jsonschema.Draft202012Validator(schema).iter_errors(answer)] == []


def test_expected_cost_is_money_and_the_loss_of_the_days_above(told):
    # by hand: 0.05 a m², day and aphid on 200 m²; the crop of 12 a m² is the most that can be lost
    for row in told["courses"]:
        assert row["expected_cost"] == pytest.approx(row["money"] + row["loss"], abs=0.02)
        assert row["loss"] <= min(0.05 * 200 * row["unit_days"]["mean"], 12.0 * 200) + 0.02
    assert rows(told)["remove"]["money"] == 12.0 * 200 + 50.0


def test_the_best_course_has_the_least_expected_cost_of_those_that_may_be_chosen(told):
    costs = {row["course"]: row["expected_cost"] for row in told["courses"] if row["possible"]}
    # A tie may cost more than the least by luck alone; without ties the chosen one is the least itself.
    if told["ties"]:
        assert min(costs, key=costs.get) in (told["best"], *told["ties"])
    else:
        assert costs[told["best"]] == min(costs.values())


def test_break_even_is_money_over_what_is_spared(told):
    row = rows(told)["by hand"]
    spared = row["against_waiting"]["unit_days_spared"]
    assert spared > 0
    assert row["against_waiting"]["break_even_loss_per_unit_m2_d"] == pytest.approx(
        row["money"] / spared / 200, rel=0.01
    )


def test_an_entered_residue_names_the_day_of_the_next_release(told):
    # by hand: the work ends on 4 May at 23:59, seven days on is 11 May; the Wednesdays are 6, 13, 20 May
    spray = rows(told)["spray"]
    assert spray["waits"]["release"]["until"].startswith("2026-05-11T23:59")
    assert spray["waits"]["pick"]["until"].startswith("2026-05-07T23:59")
    assert rows(told)["spray, then release"]["buys"][0]["delivery_date"] >= "2026-05-13"


def test_a_label_that_was_not_read_is_never_chosen_and_names_no_day(bare):
    spray = rows(bare)["spray"]
    assert {clock["until"] for clock in spray["waits"].values() if clock} == {None}
    assert not rows(bare)["spray, then release"]["possible"]
    assert bare["best"] not in ("spray", "treat spots", "remove")
    assert any("label is not entered" in line for line in bare["cautions"])
    assert spray["money"] is None
    assert "not told" in render(bare)


def test_without_a_walk_nothing_is_weighed():
    held = {name: found for name, found in FARM.rows.items() if name not in ("walks", "walk_lines")}
    answer = course(Snapshot(as_of=FARM.as_of, head="no walk", rows=held), "tunnel 1")
    assert answer["courses"] == []
    assert answer["sentence"].startswith("Walk tunnel 1")


def test_a_share_above_one_is_refused():
    with pytest.raises(OutpaceError, match="kill pest share"):
        course(FARM, "tunnel 1", spray=replace(WHOLE, kill_pest_share=90.0))


def test_a_spray_that_kills_all_enemies_destroys_all_that_search():
    house = a_house(members=64)
    females = fate(house, [1.0], sprays=[Spray(day=0.5, kill_enemy=1.0)]).searching
    assert females.max() == 0


def test_days_above_count_by_how_far_above():
    # The law: half the limit and double the unit of the level, same crop. At limit L the sum over days of
    # max(0, N/L - 1) L equals that of max(0, N - L), so it falls with L and never below that of a limit twice as high.
    low, high = a_house(members=64, limit_per_plant=0.05), a_house(members=64, limit_per_plant=0.1)
    one, two = fate(low, [0.05]).unit_days, fate(high, [0.1]).unit_days
    assert (one >= two - 1e-9).all()
    assert (one - two <= 0.05 * 28 + 1e-9).all()


def test_the_worst_plants_carry_what_the_negative_binomial_says():
    # Source: scipy's negative binomial, drawn; mean so large that counts follow the gamma that mixes them.
    k, part = 0.4, 0.1
    counts = np.sort(nbinom.rvs(k, k / (k + 400.0), size=200_000, random_state=5))[::-1]
    drawn = counts[: int(part * len(counts))].sum() / counts.sum()
    assert share_on_worst(part, k)[0] == pytest.approx(drawn, abs=0.01)
    assert share_on_worst(1.0, k)[0] == 1.0


def test_what_a_crop_is_worth_is_kept_for_it_and_others_keep_the_farms():
    entered = worth_from_words(FARM, value=9.0, loss=0.02)
    own = worth_from_words(FARM, crop="sweet pepper", loss=0.07)
    held = Snapshot(as_of=FARM.as_of, head="w", rows={**FARM.rows, "own_facts": (*entered.rows, *own.rows)})
    [farm] = held.table(Farm)
    assert (worth_of(held, farm, "sweet_pepper").value, worth_of(held, farm, "sweet_pepper").loss) == (
        9.0,
        0.07,
    )
    assert worth_of(held, farm, "lettuce").loss == 0.02
    with pytest.raises(OutpaceError, match="grows"):
        worth_from_words(FARM, crop="lettuce", loss=1.0)
