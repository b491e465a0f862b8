"""What if: a forecast with one thing otherwise stands beside today's, and nothing else about it has changed."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import jsonschema
import pytest
from tests.season.tunnels import NOW, SUPPLIER, WASP, a_farm

import outpace.surfaces.schemas
from outpace.errors import OutpaceError
from outpace.season.ahead import ahead
from outpace.season.considered import Figures
from outpace.season.what_if import SHOWN_D, Changes, what_if
from outpace.terms.enemies import Allocation, OrderLine
from outpace.terms.place import House

TODAY = NOW.date()
PLAIN = a_farm(1, area_m2=200.0, level=0.5, infested=12)
HOUSE = PLAIN.table(House)[0]
ORDERED = replace(
    PLAIN,
    head="ordered",
    rows={
        **PLAIN.rows,
        "orders": (
            OrderLine(
                order="O-1", line=1, farm=HOUSE.farm, supplier=SUPPLIER, enemy=WASP, form="mummies", packs=12,
                pack_size=500, delivery_date=TODAY + timedelta(days=2), status="placed",
            ),
        ),
        "allocations": (
            Allocation(
                order="O-1", line=1, farm=HOUSE.farm, house=HOUSE.house, number=6000,
                release_date=TODAY + timedelta(days=2),
            ),
        ),
    },
)  # fmt: skip


def asked(snapshot=PLAIN, **changes):
    return what_if(snapshot, HOUSE.house, Changes(**changes))


def both(answer):
    pest = answer["pests"][0]
    return pest["now"], pest["then"]


def ever(answer):
    return tuple(side["chance_ever_above"] for side in both(answer))


def test_an_answer_satisfies_its_schema():
    schema = json.loads((Path(outpace.surfaces.schemas.__file__).parent / "whatif.json").read_text())
    told = asked(warmer=2.0, enemy=WASP, number=1000, spray=Figures(kill_pest_share=0.5))
    assert [error.message for error in jsonschema.Draft202012Validator(schema).iter_errors(told)] == []


def test_with_nothing_otherwise_it_is_the_forecast_of_the_house():
    told = asked()
    now, then = both(told)
    assert now == then
    assert told["changed"] == []
    shown = ahead(PLAIN, HOUSE.house)
    assert now["chance_ever_above"] == shown["pests"][0]["chance_ever_above"]
    assert now["ends_well"] == shown["verdict"]["ends_well"]
    assert [day["aphids"] for day in now["days"]] == [day["aphids"] for day in shown["pests"][0]["days"]]


def test_what_stands_today_is_the_same_whatever_is_otherwise():
    now, then = both(asked(warmer=5.0, enemy=WASP, number=5000))
    assert now["days"][0] == then["days"][0]


def test_aphids_without_enemies_grow_faster_in_a_little_more_warmth():
    # Source: the development line itself: below its optimum the green peach aphid is quicker the warmer it is.
    colder, warmer = both(asked(warmer=-3.0))[1], both(asked(warmer=3.0))[1]
    now = both(asked())[0]
    week = [side["days"][7]["aphids"]["q50"] for side in (colder, now, warmer)]
    assert week == sorted(week)
    assert week[0] < week[2]


def test_without_what_is_ordered_the_house_is_passed_sooner_and_twice_as_much_never_harms_it():
    now, none = ever(asked(ORDERED, times=0.0))
    assert none > now
    assert ever(asked(ORDERED, times=2.0))[1] <= now
    # With nothing let go it is the same house as if nothing had been ordered.
    assert none == pytest.approx(ever(asked())[0], abs=0.02)


def test_what_comes_later_helps_less():
    now, later = ever(asked(ORDERED, later_d=14))
    assert now < later <= ever(asked(ORDERED, times=0.0))[1] + 0.02


def test_enemies_let_go_beside_it_act_as_those_that_were_ordered():
    _, then = ever(asked(enemy=WASP, number=6000, on=TODAY + timedelta(days=2)))
    assert then == pytest.approx(ever(asked(ORDERED))[0], abs=0.05)


def test_a_spray_that_kills_all_and_leaves_nothing_holds_the_house():
    told = asked(spray=Figures(kill_pest_share=1.0, kill_enemy_share=0.0, residual_enemy_share=0.0))
    assert both(told)[1]["days"][7]["aphids"]["q50"] < 0.01 * both(told)[0]["days"][7]["aphids"]["q50"]
    assert any("label comes first" in line for line in told["cautions"])


def test_more_or_later_of_nothing_says_that_it_changes_nothing():
    told = asked(times=2.0)
    assert ever(told)[0] == ever(told)[1]
    assert any("Nothing is on its way" in line for line in told["cautions"])


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"warmer": 30.0}, "warmer"),
        ({"times": -1.0}, "times"),
        ({"later_d": 60}, "later"),
        ({"number": 0, "enemy": WASP}, "number"),
        ({"number": 10, "enemy": "aphidius_nemo"}, "enemy"),
        ({"number": 10}, "enemy"),
        ({"number": 10, "enemy": WASP, "on": date(2020, 1, 1)}, "on"),
        ({"number": 10, "enemy": WASP, "on": TODAY + timedelta(days=SHOWN_D + 1)}, "on"),
    ],
)
def test_what_cannot_be_asked_is_refused_by_name(changes, where):
    with pytest.raises(OutpaceError) as refused:
        asked(**changes)
    assert refused.value.where == where


def test_a_house_that_was_not_walked_lately_is_walked_first():
    stale = replace(PLAIN, as_of=NOW + timedelta(days=14), head="stale")
    told = asked(stale, warmer=2.0)
    assert told["pests"] == []
    assert told["sentence"].startswith("Walk tunnel 1")
