"""The sheet of one house by itself: the last plan of the day stands on it until something is decided."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from outpace.language import Manner, mannered
from outpace.records.book import Book
from outpace.season import outlook, pooling
from outpace.season import week as asked
from outpace.season.ahead import ahead
from outpace.season.open_book import of_this_crop, snapshot
from outpace.season.plan_of_day import keep_plan, standing_plan
from outpace.season.week import week_of_houses, week_with_houses
from outpace.season.week_part import part_of
from outpace.terms.enemies import Pack
from outpace.terms.place import Climate, Farm, House
from outpace.terms.scouting import Walk, WalkLine
from outpace.terms.upkeep import Harvest

NOW = datetime(2026, 5, 4, 9, tzinfo=UTC)
FARM = Farm(farm="F", latitude=52.0, longitude=0.0, time_zone="UTC", currency="EUR", labour_per_h=15.0)
HOUSE = House(farm="F", house="H", crop="sweet pepper", area_m2=200.0, plants=500, planted=date(2026, 3, 1))
OTHER = replace(HOUSE, house="O", area_m2=300.0)
PACK = Pack(
    supplier="S", enemy="aphidius_colemani", form="mummies", pack_size=250, price=30.0, label_counts="units_in_pack",
    cutoff_weekday="Mon", cutoff_time="12:00", delivery_weekday="Wed", lead_d=2,
)  # fmt: skip
PLAN = {"as_of": NOW.isoformat(), "decisions": [{"cutoff": "2026-05-04T12:00+00:00"}]}


def walk(key, house, days_ago, infested):
    when = NOW - timedelta(days=days_ago)
    yield Walk(walk=key, farm="F", house=house, time=when, unit="plant", chosen="random", looked_at=20)
    yield WalkLine(
        walk=key, pest="myzus_persicae", looked_at=20, infested=infested, aphids_about=8 * infested
    )


class Clock:
    def __init__(self):
        self.now = NOW

    def __call__(self):
        return self.now


@pytest.fixture
def book(tmp_path, monkeypatch):
    monkeypatch.setenv("OUTPACE_CACHE", str(tmp_path / "kept"))
    clock = Clock()
    with Book.open(tmp_path / "farm.book", create=True, clock=clock) as book:
        rows = [
            FARM,
            HOUSE,
            OTHER,
            PACK,
            *walk("a", "H", 10, 2),
            *walk("b", "H", 3, 4),
            *walk("c", "O", 2, 2),
        ]
        book.record(rows, by="Ana", recorded=NOW - timedelta(hours=20))
        yield book


def later(book, minutes):
    book.clock.now = NOW + timedelta(minutes=minutes)
    return book


def standing(book):
    known = snapshot(book)
    return standing_plan(
        known, FARM, book.head(), lambda head, after: book.entered_since(head, after=after, until=known.as_of)
    )


def kept(book):
    keep_plan(PLAN, snapshot(book), FARM, book.head())


@pytest.mark.parametrize(
    "row",
    [
        next(walk("e", "H", 0, 5)),
        Climate(farm="F", house="H", place="canopy", source="logger", time=NOW, temperature_degc=19.0),
        Harvest(harvest="h", farm="F", house="H", time=NOW, lot_code="K"),
    ],
    ids=["walk", "temperature", "harvest"],
)
def test_a_plan_stands_while_it_is_only_seen_and_picked_and_it_is_told_that_it_is_older(book, row):
    kept(book)
    assert standing(later(book, 1)) == (PLAN, False)
    assert book.record([row], by="Ana").new == 1
    assert standing(later(book, 2)) == (PLAN, True)


@pytest.mark.parametrize(
    "row",
    [
        replace(PACK, price=40.0, form="adults"),
        replace(FARM, risk=0.3),
        replace(OTHER, area_m2=400.0),
    ],
    ids=["price", "risk", "house"],
)
def test_what_is_decided_ends_a_plan(book, row):
    kept(book)
    later(book, 1).record([row], by="Ana", correct=True)
    assert standing(later(book, 2)) is None


def test_what_was_said_to_be_known_before_the_plan_but_came_after_it_ends_it_too(book):
    kept(book)
    price = replace(PACK, pack_size=500)
    later(book, 5).record([price], by="Ana", recorded=NOW - timedelta(hours=1))
    assert standing(later(book, 6)) is None


def test_a_plan_ends_with_its_cut_off_with_its_day_and_in_another_language(book):
    kept(book)
    assert standing(later(book, 179)) is not None
    with mannered(Manner(language="es")):
        assert standing(book) is None
    assert standing(later(book, 180)) is None
    keep_plan({**PLAN, "decisions": []}, snapshot(book), FARM, book.head())
    assert standing(later(book, 14 * 60)) is not None
    assert standing(later(book, 16 * 60)) is None


def test_a_plan_of_another_book_with_a_farm_of_the_same_name_is_not_taken(book, tmp_path):
    kept(book)
    with Book.open(tmp_path / "another.book", create=True, clock=lambda: NOW) as another:
        another.record([FARM, HOUSE], by="Ben")
        assert standing(another) is None
    assert standing(book) is not None


def anew():
    outlook._kept.clear()
    pooling._kept.clear()


def alone(book, name="H"):
    anew()
    known = of_this_crop(book)
    return week_of_houses(
        known,
        [name],
        head=book.head(),
        since=lambda head, after: book.entered_since(head, after=after, until=known.as_of),
    )


def test_a_house_by_itself_is_told_as_the_week_of_all_tells_it_and_no_other_is_looked_ahead_in(
    book, monkeypatch
):
    anew()
    week, houses = week_with_houses(of_this_crop(book), head=book.head())
    looked = []
    with monkeypatch.context() as watched:
        watched.setattr(
            asked, "ahead", lambda known, name, **how: looked.append(name) or ahead(known, name, **how)
        )
        watched.setattr(asked, "plan_of", lambda *args, **how: pytest.fail("the plan is worked out"))
        by_itself, told = alone(book, "h")
        assert looked == ["H"]
        assert by_itself == part_of(week, houses, ["H"])
        assert told == {"H": houses["H"]}

        # A walk moves the forecast of its house; the plan of the day stands, and it is said of what moment it is.
        later(book, 20).record([*walk("e", "H", 0, 12)], by="Ana")
        after, told = alone(book)
    assert after["plan_of"] == told["H"]["plan_of"] == week["as_of"]
    assert told["H"]["pests"] != houses["H"]["pests"]
    orders = [
        [task for task in each["tasks"] if task["kind"] == "order"] for each in (houses["H"], told["H"])
    ]
    assert orders[0] == orders[1]
    assert after["orders_due"] == week["orders_due"]

    # What the farm accepts is decided anew: so is the plan.
    later(book, 30).record([replace(FARM, risk=0.3)], by="Ana", correct=True)
    again, told = alone(book)
    anew()
    week, houses = week_with_houses(of_this_crop(book), head=book.head())
    assert "plan_of" not in again
    assert (again, told["H"]) == (part_of(week, houses, ["H"]), houses["H"])


def test_what_is_looked_at_by_itself_lies_where_the_week_looks_for_it(book, monkeypatch):
    anew()
    house = ahead(snapshot(book), "H")
    anew()
    refits = []
    work = outlook.refit
    monkeypatch.setattr(
        outlook, "refit", lambda *args, **how: refits.append(how["members"]) or work(*args, **how)
    )
    found = ahead(of_this_crop(book), "H")
    assert refits == []
    assert found == house
