"""Standing orders: a rhythm ordered ahead, changed until each cut-off, fixed after it."""

from __future__ import annotations

import dataclasses
import json
from datetime import UTC, date, datetime, timedelta
from importlib.resources import files
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from tests.season.tunnels import WASP, a_farm, a_pack

from outpace.errors import OutpaceError
from outpace.season.orders_ahead import change_from_words, cutoff_of, open_lines, standing_from_words
from outpace.season.orders_open import open_orders
from outpace.season.released import on_the_way
from outpace.terms.enemies import Allocation, OrderLine
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

HOUSE = "tunnel 1"


def ordered(snapshot: Snapshot, **told) -> list:
    return standing_from_words(snapshot, HOUSE, **{"enemy": WASP, "packs": 2, "deliveries": 3, **told}).rows


def with_rows(snapshot: Snapshot, rows, at: datetime | None = None) -> Snapshot:
    """Return the book with these rows in the place of those of the same key."""
    orders = {(row.order, row.line): row for row in snapshot.table(OrderLine)}
    parts = {(row.order, row.line, row.house, row.release_date): row for row in snapshot.table(Allocation)}
    for row in rows:
        if isinstance(row, OrderLine):
            orders[row.order, row.line] = row
        else:
            parts[row.order, row.line, row.house, row.release_date] = row
    return dataclasses.replace(
        snapshot,
        head=f"{snapshot.head} {len(orders)} {at}",
        as_of=at or snapshot.as_of,
        rows={**snapshot.rows, "orders": tuple(orders.values()), "allocations": tuple(parts.values())},
    )


@pytest.fixture(scope="module")
def book() -> Snapshot:
    return a_farm(1)


def days_of(rows) -> list[date]:
    return [row.delivery_date for row in rows if isinstance(row, OrderLine)]


@pytest.mark.parametrize(
    ("every", "days"),
    [
        # Source: the calendar. Monday 4 May 2026; orders close on Thursdays, parcels come on a Wednesday at least five
        # days later.
        (7, ["2026-05-13", "2026-05-20", "2026-05-27"]),
        (14, ["2026-05-13", "2026-05-27", "2026-06-10"]),
    ],
)
def test_a_standing_order_comes_on_the_suppliers_days(book, every, days):
    rows = ordered(book, every_d=every)
    assert [str(day) for day in days_of(rows)] == days
    assert {row.packs for row in rows if isinstance(row, OrderLine)} == {2}
    assert {row.number for row in rows if isinstance(row, Allocation)} == {1000}


@given(
    every=st.integers(1, 40),
    deliveries=st.integers(1, 8),
    weekdays=st.sets(st.sampled_from(["Mon", "Tue", "Wed", "Thu", "Fri"]), min_size=1),
    lead=st.integers(0, 9),
    closed=st.sets(st.integers(0, 120), max_size=4),
)
def test_no_delivery_breaks_the_suppliers_rules_or_the_rhythm(every, deliveries, weekdays, lead, closed):
    shut = {date(2026, 5, 4) + timedelta(days=day) for day in closed}
    pack = a_pack(
        delivery_weekday=" ".join(sorted(weekdays)), lead_d=lead, no_delivery=" ".join(map(str, sorted(shut)))
    )
    snapshot = a_farm(1)
    snapshot = dataclasses.replace(snapshot, rows={**snapshot.rows, "packs": (pack,)})
    rows = ordered(snapshot, every_d=every, deliveries=deliveries)
    days = days_of(rows)
    assert len(days) == deliveries
    assert not shut & set(days)
    assert {day.strftime("%a") for day in days} <= weekdays
    assert all((after - before).days >= every - 2 for before, after in pairwise(days))
    there = snapshot.table(Farm)[0]
    for row in rows:
        if isinstance(row, OrderLine):
            cutoff = cutoff_of(snapshot, there, row)
            assert cutoff is not None
            assert row.delivery_date - cutoff.date() >= timedelta(days=max(lead, 1))


def test_a_delivery_can_be_changed_until_its_cut_off_and_is_fixed_after_it(book):
    rows = ordered(book)
    first = rows[0]
    before = with_rows(book, rows, datetime(2026, 5, 7, 9, 59, tzinfo=UTC))  # Thursday 11:59 in Brussels
    more, part = change_from_words(before, first.order, packs=3).rows
    assert (more.packs, more.status, part.number) == (3, "placed", 1500)
    after = with_rows(book, rows, datetime(2026, 5, 7, 10, 1, tzinfo=UTC))  # 12:01
    with pytest.raises(OutpaceError, match="fixed"):
        change_from_words(after, first.order, packs=0)
    assert change_from_words(after, rows[2].order, packs=0).rows[0].status == "cancelled"


def test_what_is_cancelled_is_no_longer_on_its_way(book):
    rows = ordered(book)
    there, house = book.table(Farm)[0], book.table(House)[0]
    full = with_rows(book, rows)
    assert [item.number for item in on_the_way(full, there, house)] == [1000, 1000, 1000]
    less = with_rows(full, change_from_words(full, rows[2].order, packs=0).rows)
    assert [item.release_date for item in on_the_way(less, there, house)] == [
        date(2026, 5, 13),
        date(2026, 5, 27),
    ]
    assert len(open_lines(less, there)) == 2


def test_ordering_the_same_twice_and_asking_for_what_is_not_sold_is_refused(book):
    full = with_rows(book, ordered(book))
    with pytest.raises(OutpaceError, match="ordered already"):
        ordered(full)
    with pytest.raises(OutpaceError, match="no such pack"):
        ordered(book, enemy="aphidius_ervi")
    two = dataclasses.replace(book, rows={**book.rows, "packs": (a_pack(), a_pack(pack_size=250))})
    with pytest.raises(OutpaceError, match="which one") as told:
        ordered(two)
    assert "500" in str(told.value.allowed)
    assert ordered(two, pack_size=250)[0].pack_size == 250
    with pytest.raises(OutpaceError, match="0"):
        ordered(book, packs=0)


def test_open_orders_tell_what_leaving_the_next_delivery_out_would_do(book):
    answer = open_orders(with_rows(book, ordered(book)))
    schema = json.loads(files("outpace.surfaces.schemas").joinpath("openorders.json").read_text("utf-8"))
    assert [error.message for error in Draft202012Validator(schema).iter_errors(answer)] == []
    tried = [item["without"] for row in answer["orders"] for item in row["houses"]]
    assert tried[0] is not None
    assert tried[1:] == [None, None]
    # Law: on the same luck fewer wasps never serve a house better, but for the luck of whole animals.
    assert tried[0]["chance_without"] >= tried[0]["chance_with"] - 0.02
