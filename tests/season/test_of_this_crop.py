"""What is read of a book for the week leaves earlier crops where they lie, and the answer is the same."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from outpace.records.book import Book
from outpace.season import outlook, pooling
from outpace.season.ahead import ahead
from outpace.season.case import LONGEST_PAST
from outpace.season.open_book import CROP_CLIMATE_BACK, of_this_crop
from outpace.terms.place import Climate, Farm, House
from outpace.terms.scouting import Count, Mummies, Walk

NOW = datetime(2026, 5, 4, 9, tzinfo=UTC)
FARM = Farm(farm="F", latitude=52.0, longitude=0.0, time_zone="UTC", currency="EUR")
HOUSE = House(farm="F", house="H", crop="sweet pepper", area_m2=200.0, plants=500, planted=date(2026, 3, 1))


def walked(key, days_ago, aphids):
    yield Walk(
        walk=key, farm="F", house="H", time=NOW - timedelta(days=days_ago), unit="leaf", chosen="random"
    )
    for unit in range(1, 13):
        yield Count(walk=key, unit_no=unit, pest="myzus_persicae", aphids=str(aphids * (unit % 3)))
    yield Mummies(walk=key, unit_no=1, colour="tan", closed=2, empty_smooth=0)


def warmth(days_ago):
    return Climate(
        farm="F", house="H", place="canopy", source="logger", time=NOW - timedelta(days=days_ago),
        temperature_degc=19.0 + days_ago % 3,
    )  # fmt: skip


@pytest.fixture
def book(tmp_path, monkeypatch):
    monkeypatch.setenv("OUTPACE_CACHE", str(tmp_path / "kept"))
    with Book.open(tmp_path / "farm.book", create=True, clock=lambda: NOW) as book:
        rows = [
            FARM,
            HOUSE,
            *walked("last year", 360, 9),
            *walked("a", 16, 1),
            *walked("b", 2, 2),
            *(warmth(days + hour / 24) for days in (*range(1, 60), 200, 300) for hour in range(24)),
        ]
        book.record(rows, by="Ana")
        yield book


def told(known):
    outlook._kept.clear()
    pooling._kept.clear()
    return json.dumps(ahead(known, "H"))


def test_a_house_is_told_the_same_without_what_earlier_crops_left(book):
    whole, less = book.snapshot(NOW), of_this_crop(book, at=NOW)
    assert {row.walk for row in less.table(Count)} == {"a", "b"}
    assert {row.walk for row in less.table(Walk)} == {"a", "b", "last year"}
    assert 24 * 58 <= len(less.table(Climate)) < len(whole.table(Climate))
    assert less.head == whole.head
    assert told(less) == told(whole)


def test_counts_of_all_walks_are_read_where_a_planting_was_not_told(book):
    book.record([replace(HOUSE, planted=None)], by="Ana", correct=True)
    assert {row.walk for row in of_this_crop(book, at=NOW).table(Mummies)} == {"a", "b", "last year"}


def test_no_past_is_simulated_of_which_the_warmth_is_left_out():
    assert timedelta(days=LONGEST_PAST + 2) < CROP_CLIMATE_BACK
