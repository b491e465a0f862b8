"""A house that was not walked for twelve days: no verdict and no forecast, but its tasks and its orders."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from tests.e2e.command_line import CommandLine, faults, write_table
from tests.e2e.invented_houses import (
    HOUSE,
    SUPPLIER,
    write_hours,
    write_packs,
    write_place,
    write_walks,
)

FIRST = date(2026, 4, 6)
WALKED = FIRST + timedelta(days=14)
NOW = WALKED + timedelta(days=12)
DELIVERY = NOW + timedelta(days=2)
KNOWN = ("--as-of", NOW)


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    folder = tmp_path_factory.mktemp("unwalked")
    package = folder / "package"
    write_place(package, FIRST, level=3)
    write_hours(package, FIRST, NOW, 17.0)
    write_walks(
        package,
        "Myzus persicae",
        [(FIRST + timedelta(days=1), 2, 5, 0), (FIRST + timedelta(days=8), 3, 8, 0), (WALKED, 3, 10, 0)],
    )
    write_packs(package, ["Aphidius colemani"], FIRST)
    line = {"order": "O-1", "line": 1}
    placed = f"{NOW - timedelta(days=4)}T09:00"
    write_table(
        package,
        "orders",
        [
            {
                **line,
                "placed": placed,
                "supplier": SUPPLIER,
                "enemy": "Aphidius colemani",
                "form": "mummies",
                "packs": 1,
                "pack_size": 250,
                "delivery_date": DELIVERY,
                "status": "placed",
            }
        ],
    )
    write_table(package, "allocations", [{**line, "house": HOUSE, "release_date": DELIVERY, "number": 250}])
    line = CommandLine(folder / "unwalked.book")
    line.text("book", "init")
    line.text("book", "import", package)
    return line


def test_there_is_neither_verdict_nor_forecast(book):
    ahead = book.answer("ahead", HOUSE, *KNOWN)
    assert ahead["data_age_d"] == 12
    assert ahead["verdict"]["word"] is None
    assert ahead["verdict"]["ends_well"] is None
    assert ahead["pests"] == []
    assert faults(ahead) == []
    assert "No verdict: the last walk is 12 days old" in " ".join(book.text("ahead", HOUSE, *KNOWN).split())


def test_its_tasks_still_show(book):
    (row,) = book.answer("week", *KNOWN)["houses"]
    kinds = {task["kind"]: task for task in row["tasks"]}
    assert {"walk", "arrival", "release"} <= set(kinds)
    assert kinds["walk"]["day"] == str(NOW)
    assert kinds["walk"]["what"] == "Look at 10 plants"
    assert kinds["release"]["day"] == str(DELIVERY)
    assert row["sentence"].startswith("Look at 10 plants in Glen tunnel on")
    assert faults(book.answer("week", *KNOWN)) == []


def test_what_to_order_still_shows_as_a_scenario(book):
    plan, order = book.answer("plan", *KNOWN), book.answer("order", *KNOWN)
    assert any("scenario, not from your counts" in said for said in plan["scenario"])
    told = [line for one in order["orders"] for line in one["lines"]] + order["waiting"]
    assert told
    assert faults(plan) == []
    assert faults(order) == []


def test_ten_plants_open_the_forecast_again(book, tmp_path):
    copy = tmp_path / "copy.book"
    book.text("backup", copy)
    again = CommandLine(copy)
    write_walks(tmp_path, "Myzus persicae", [(NOW, 1, 3, 0)], looked_at=10)
    again.text("book", "import", tmp_path / "walks.csv", tmp_path / "walk_lines.csv")
    ahead = again.answer("ahead", HOUSE, *KNOWN)
    assert ahead["data_age_d"] == 0
    assert ahead["verdict"]["word"] in ("Holding", "Unclear", "Losing")
    assert ahead["pests"]
