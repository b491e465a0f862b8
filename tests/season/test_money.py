"""What enemies cost: every sum adds up, and a missing price is never nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.season.kept_farm import FARM, HOUSE, LINE, LONG, LOT, NOW, OTHER, SOUTH, SPRAY, walk

from outpace.errors import OutpaceError
from outpace.season.money import level, money
from outpace.terms.enemies import Banker
from outpace.terms.tables import TABLE_OF, Snapshot


def known(*rows):
    tables = {}
    for row in (FARM, HOUSE, OTHER, *rows):
        tables.setdefault(TABLE_OF[type(row)], []).append(row)
    return Snapshot(as_of=NOW, head="0", rows={name: tuple(found) for name, found in tables.items()})


def answer(*rows, first="2026-01-01", last="2026-06-01"):
    return money(known(*rows), first, last)


def test_houses_share_a_line_as_its_lot_was_released_and_all_sums_agree():
    found = answer(LINE, LOT, SOUTH, LONG)
    # By hand: 2 packs of 24.00 and 9.50 freight; 400 of 1,000 to the south house of 200 m2, 600 to 300 m2.
    assert found["goods"] == pytest.approx(57.5)
    by_house = {row["house"]: row["goods"] for row in found["houses"]}
    assert by_house == pytest.approx({"south": 23.0, "long": 34.5})
    assert sum(by_house.values()) + found["no_house"] == pytest.approx(found["goods"])
    assert sum(bill["total"] for bill in found["invoices"]) == pytest.approx(found["goods"])
    assert found["per_m2"] == pytest.approx(57.5 / 500)


def test_what_went_nowhere_belongs_to_no_house():
    assert answer(LINE)["no_house"] == pytest.approx(57.5)


def test_a_lot_without_an_order_is_no_gift():
    told = " ".join(answer(replace(LOT, order=None, line=None), SOUTH)["cautions"])
    assert "1 lot came without an order in the book" in told
    assert "L-2201" in told
    assert not any("without an order" in text for text in answer(LINE, LOT, SOUTH)["cautions"])
    before = answer(replace(LOT, order=None, line=None), SOUTH, last="2026-04-06")
    assert not any("without an order" in text for text in before["cautions"])


def test_a_missing_price_is_listed_and_named_in_the_sentence():
    found = answer(replace(LINE, unit_price=None))
    assert [row["order"] for row in found["unpriced"]] == ["o1"]
    assert "enter 1 missing price" in found["sentence"]


def test_only_what_was_delivered_in_the_span_counts_and_nothing_that_was_cancelled():
    assert answer(LINE, last="2026-04-06")["goods"] == 0
    assert answer(replace(LINE, status="cancelled"))["goods"] == 0


def test_hours_are_told_apart_from_hours_that_are_reckoned_by_area():
    rows = walk("w1", SOUTH.time, ["0"])
    found = {row["house"]: row for row in answer(*rows, SOUTH, LOT)["hours"]}
    assert found["south"]["told"] == pytest.approx(20 / 60)
    assert found["south"]["reckoned"] > 0
    assert found["long"]["hours"] == 0


def test_a_spray_counts_its_hours_and_unknown_hours_are_said():
    banker = Banker(banker="b1", farm=FARM.farm, house="south", set_out=SPRAY.start, plants=6)
    timed = answer(SPRAY)
    assert [row["told"] for row in timed["hours"] if row["house"] == "south"] == [1.0]
    assert not any("unknown" in text for text in timed["cautions"])
    told = " ".join(answer(replace(SPRAY, end=None), banker)["cautions"])
    assert "1 spray has neither an end nor minutes" in told
    assert "6 banker plants were set out without minutes" in told
    own = answer(replace(SPRAY, end=None, minutes=90.0), replace(banker, minutes=30.0))
    assert [row["told"] for row in own["hours"] if row["house"] == "south"] == [2.0]
    assert not any("unknown" in text for text in own["cautions"])


def test_the_growers_own_minutes_of_a_release_stand_before_those_by_area():
    by_area = {row["house"]: row for row in answer(SOUTH, LONG, LOT)["hours"]}
    own = {row["house"]: row for row in answer(replace(SOUTH, minutes=45.0), LONG, LOT)["hours"]}
    assert by_area["south"]["reckoned"] > 0
    assert (own["south"]["told"], own["south"]["reckoned"]) == (0.75, 0)
    assert own["long"] == by_area["long"]


def test_acting_pays_from_the_number_of_the_worked_example():
    # Source: extension teaching page of North Carolina State, worked example (read): control 20 an acre, value 500 an
    # acre, 800 insects cost 10 %: 320 insects an acre. With four fifths prevented: 400 (computed).
    assert level(cost=20, value=500, loss=0.1, aphids=800)["injury_level"] == pytest.approx(320)
    assert level(cost=20, value=500, loss=0.1, aphids=800, prevented=0.8)["injury_level"] == pytest.approx(
        400
    )


def test_the_level_to_act_at_lies_below_where_help_takes_days():
    found = level(cost=20, value=500, loss=0.1, aphids=800, growth_per_d=0.1, delay_d=7)
    assert found["acting_level"] < found["injury_level"]


@pytest.mark.parametrize("wrong", [{"cost": 0}, {"aphids": 0}, {"loss": 0}, {"prevented": 1.2}])
def test_a_figure_that_cannot_be_is_refused(wrong):
    told = {"cost": 20.0, "value": 500.0, "loss": 0.1, "aphids": 800.0, **wrong}
    with pytest.raises(OutpaceError):
        level(**told)
