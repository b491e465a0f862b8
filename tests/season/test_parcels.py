"""Orders that are placed become rows once, before their cut-off, and provisional ones never."""

from __future__ import annotations

import copy
import json
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from outpace.errors import OutpaceError
from outpace.season.parcels import placed_orders
from outpace.terms.enemies import Allocation, OrderLine
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot

ANSWER = json.loads(
    (Path(__file__).parents[1] / "surfaces" / "answers" / "order.json").read_text(encoding="utf-8")
)
FARM = Farm(farm="example cove", latitude=54, longitude=-3, time_zone="Europe/Paris", currency="EUR")
BEFORE = datetime(2026, 4, 20, 18, tzinfo=UTC)


def known(*orders):
    return Snapshot(as_of=BEFORE, head="", rows={"farm": (FARM,), "orders": tuple(orders)})


def test_a_placed_order_holds_its_packs_and_who_gets_them():
    line, share = placed_orders(known(), ANSWER, now=BEFORE)
    assert isinstance(line, OrderLine)
    assert (line.packs, line.pack_size, line.status, line.freight) == (2, 250, "placed", 15.0)
    assert line.placed == BEFORE
    assert isinstance(share, Allocation)
    assert (share.order, share.line) == (line.order, line.line)
    assert (share.house, share.number, share.release_date) == ("south", 500, date(2026, 4, 23))


def test_the_same_order_is_placed_once():
    lines = [row for row in placed_orders(known(), ANSWER, now=BEFORE) if isinstance(row, OrderLine)]
    with pytest.raises(OutpaceError, match="already"):
        placed_orders(known(*lines), ANSWER, now=BEFORE)


def test_nothing_is_placed_after_its_cut_off():
    with pytest.raises(OutpaceError, match="cut-off"):
        placed_orders(known(), ANSWER, now=datetime(2026, 4, 21, 12, 1, tzinfo=UTC))


def test_a_cut_off_without_an_offset_is_by_the_clock_of_the_farm():
    answer = copy.deepcopy(ANSWER)
    answer["orders"][0]["cutoff"] = "2026-04-21T12:00"  # 10:00 UTC in Paris in April
    assert placed_orders(known(), answer, now=datetime(2026, 4, 21, 9, 59, tzinfo=UTC))
    with pytest.raises(OutpaceError, match="cut-off"):
        placed_orders(known(), answer, now=datetime(2026, 4, 21, 10, 1, tzinfo=UTC))


def test_provisional_orders_are_not_placed():
    answer = copy.deepcopy(ANSWER)
    answer["orders"][0]["provisional"] = True
    with pytest.raises(OutpaceError, match="no order is due"):
        placed_orders(known(), answer, now=BEFORE)
