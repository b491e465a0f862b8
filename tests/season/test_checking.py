"""A check as people tell it, and what may be concluded from it at that moment."""

from __future__ import annotations

import dataclasses
from datetime import UTC, date, datetime, timedelta

import pytest

from outpace.errors import OutpaceError
from outpace.season.checking import check_from_words
from outpace.terms.enemies import Lot
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot

NOW = datetime(2026, 4, 24, 12, tzinfo=UTC)
FARM = Farm(farm="example cove", latitude=54, longitude=-3, time_zone="Europe/Paris", currency="EUR")
LOT = Lot(
    lot="B7",
    enemy="aphidius_colemani",
    form="mummies",
    label_counts="units_in_pack",
    labelled_number=500,
    packed=date(2026, 4, 15),
    arrived=datetime(2026, 4, 17, 9, tzinfo=UTC),
)


def known(lot=LOT):
    return Snapshot(as_of=NOW, head="", rows={"farm": (FARM,), "lots": (lot,)})


def told(**words):
    return check_from_words(known(), "b7", **{"looked_at": 50, "on": "2026-04-24T11:00", **words})


def test_a_pot_counted_is_a_row_with_its_days_since_arrival_and_its_exact_range():
    entered = told(emerged=30)
    (row,) = entered.rows
    assert (row.lot, row.kind, row.looked_at, row.positive, row.days) == ("B7", "emergence", 50, 30, 7.0)
    # Source: Clopper-Pearson ends of 30 of 50: 45 to 74 % (computed).
    assert "30 of 50 emerged (exact 95 % range 45 % to 74 %)" in entered.sentence
    assert entered.cautions == ()


def test_day_three_is_neither_pass_nor_reject():
    entered = told(emerged=5, on="2026-04-20T11:00")
    assert "Day 3 of at least 7: neither pass nor reject" in entered.cautions[0]
    assert "count the same pot again" in entered.cautions[0]


def test_a_cool_pot_is_early_on_the_seventh_day_too():
    assert "neither pass nor reject" in " ".join(told(emerged=5, degc=13.0).cautions)
    assert told(emerged=5, degc=23.0).cautions == ()


def test_emergence_and_sexes_told_together_are_two_rows():
    rows = told(emerged=30, females=18).rows
    assert [(row.kind, row.looked_at, row.positive, row.days) for row in rows] == [
        ("emergence", 50, 30, 7.0),
        ("sex", 30, 18, None),
    ]
    assert told(emerged=30, females=8, sexed=20).rows[1].looked_at == 20


def test_ragged_holes_keep_the_pot_closed():
    assert "Keep this pot closed" in told(emerged=30, ragged=4).cautions[0]


def test_a_lot_of_males_is_told_at_once():
    assert "No female" in told(looked_at=20, females=0).cautions[0]


def test_a_live_count_of_mummies_is_no_emergence():
    (row,) = told(alive=12).rows
    assert (row.kind, row.days) == ("live count", None)
    assert "--emerged" in told(alive=12).cautions[0]
    adults = dataclasses.replace(LOT, form="adults", enemy="aphidius_ervi")
    assert check_from_words(known(adults), "B7", looked_at=50, alive=47, on="2026-04-24").cautions == ()


def test_a_closed_jar_is_a_kind_of_its_own():
    assert told(emerged=30, jar=True).rows[0].kind == "jar"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({}, "nothing was counted"),
        ({"emerged": 51}, "51 of 50"),
        ({"looked_at": None, "emerged": 3}, "--looked-at"),
        ({"emerged": 3, "on": "2026-04-16"}, "after this check"),
    ],
)
def test_what_cannot_be_is_refused(words, said):
    with pytest.raises(OutpaceError, match=said):
        told(**words)


def test_days_that_were_told_stand_before_those_of_the_book():
    assert told(emerged=30, days=5.5).rows[0].days == 5.5


def test_a_lot_without_arrival_has_no_days():
    lot = dataclasses.replace(LOT, arrived=None)
    (row,) = check_from_words(known(lot), "B7", looked_at=50, emerged=30, on="2026-04-24").rows
    assert row.days is None


def test_each_kind_has_a_range_that_holds_its_share():
    for positive in range(0, 51, 10):
        assert f"{positive} of 50" in told(emerged=positive).sentence


def test_the_time_is_kept_as_told():
    assert told(emerged=1).rows[0].time == NOW - timedelta(hours=3)


def test_more_days_than_the_lot_has_been_there_are_refused():
    with pytest.raises(OutpaceError, match="day 9 of a lot that came 7 days before"):
        told(emerged=30, days=9)
    assert told(emerged=30, days=8).rows[0].days == 8
