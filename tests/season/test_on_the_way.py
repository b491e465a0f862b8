"""What is ordered counts until it came, what came short counts as it came, and own checks move what is expected."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as some

from outpace.facts.table import load
from outpace.season.released import let_go, on_the_way
from outpace.terms.enemies import Allocation, Check, Lot, OrderLine, Release
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

NOW = datetime(2026, 4, 24, 12, tzinfo=UTC)
FARM = Farm(farm="example cove", latitude=54, longitude=-3, time_zone="UTC", currency="EUR")
SOUTH = House(farm="example cove", house="south", crop="sweet_pepper", area_m2=400, plants=900)
LINE = OrderLine(
    order="o1",
    line=1,
    farm="example cove",
    supplier="Invented Supply Two",
    enemy="aphidius_colemani",
    form="mummies",
    packs=2,
    pack_size=250,
    delivery_date=date(2026, 4, 23),
    status="placed",
)
SHARE = Allocation(
    order="o1", line=1, farm="example cove", house="south", release_date=date(2026, 4, 23), number=400
)


def came(number, lot="B7"):
    return Lot(
        lot=lot,
        order="o1",
        line=1,
        enemy="aphidius_colemani",
        form="mummies",
        label_counts="units_in_pack",
        labelled_number=number,
        arrived=datetime(2026, 4, 16, 9, tzinfo=UTC),
    )


def release(number):
    return Release(
        release=f"r{number}",
        farm="example cove",
        house="south",
        time=datetime(2026, 4, 16, 18, tzinfo=UTC),
        lot="B7",
        number=number,
    )


def look(positive, days):
    return Check(lot="B7", time=NOW, kind="emergence", looked_at=100, positive=positive, days=days, degc=22.0)


def known(**rows):
    rows = {"farm": (FARM,), "houses": (SOUTH,), "orders": (LINE,), "allocations": (SHARE,), **rows}
    return Snapshot(as_of=NOW, head="", rows={name: tuple(each) for name, each in rows.items()})


def coming(**rows):
    return [item.number for item in on_the_way(known(**rows), FARM, SOUTH)]


def let(**rows):
    return let_go(
        known(**rows),
        load(),
        FARM,
        SOUTH,
        enemies=("aphidius_colemani",),
        zones=("whole house",),
        shares=(1.0,),
        day_of=lambda when: (getattr(when, "date", lambda: when)() - date(2026, 4, 1)).days,
        today=23,
        members=256,
        seed=3,
    )


@pytest.mark.parametrize(("number", "left"), [(500, 400), (250, 200), (600, 400)])
def test_a_short_parcel_is_shared_out_as_it_was_ordered(number, left):
    assert coming() == [400]
    assert coming(lots=[came(number)]) == [left]


def test_a_parcel_in_two_lots_is_whole_again():
    assert coming(lots=[came(300), came(200, "B8")]) == [400]


@given(some.integers(0, 700), some.integers(0, 400))
def test_released_and_to_come_are_never_more_than_came(number, let_number):
    left = sum(coming(lots=[came(number)], releases=[release(let_number)]))
    assert left >= 0
    assert left + min(let_number, 400 * min(number / 500, 1)) <= 400 * min(number / 500, 1) + 0.5


@pytest.mark.parametrize(
    ("checks", "note"),
    [
        ([], "emergence not checked"),
        ([look(12, 3.0)], "emergence looked at before the check had ended"),
        ([look(12, 3.0), look(70, 8.0)], "70 of 100 emerged in the check"),
    ],
)
def test_the_note_of_a_release_tells_a_check_only_when_it_has_ended(checks, note):
    assert let(lots=[came(500)], releases=[release(400)], checks=checks).told[0]["note"] == note


def test_a_poor_own_lot_lowers_what_is_expected_of_the_next():
    other = came(500, "B6")
    poor = Check(lot="B6", time=NOW, kind="emergence", looked_at=100, positive=20, days=8.0, degc=22.0)
    rows = {"lots": [came(500), other], "releases": [release(400)]}
    (before,), (after,) = let(**rows).releases, let(**rows, checks=[poor]).releases
    assert after.emergence.mean() < before.emergence.mean() - 0.02
