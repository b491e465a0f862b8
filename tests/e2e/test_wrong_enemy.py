"""An enemy that does not accept the aphid: no mummies, never proposed, and every page says why."""

from __future__ import annotations

import html
import re
import time
from datetime import date, timedelta

import pytest
from fastapi.testclient import TestClient
from tests.e2e.command_line import CommandLine, faults
from tests.e2e.invented_houses import (
    HOUSE,
    write_hours,
    write_packs,
    write_place,
    write_release,
    write_walks,
)

from outpace.season.open_book import book_url
from outpace.surfaces.web.app import create_app

FIRST = date(2026, 4, 6)
LAST = FIRST + timedelta(days=28)
KNOWN = ("--as-of", LAST)
# Source: biology as in the facts table host_match: A. colemani does not accept Macrosiphum euphorbiae, evidence `read`.
WRONG, RIGHT, PEST = "Aphidius colemani", "Aphidius ervi", "Macrosiphum euphorbiae"


def day(number):
    return FIRST + timedelta(days=number)


def a_book(folder, offered):
    package = folder / "package"
    write_place(package, FIRST, level=4)
    write_hours(package, FIRST, LAST, 18.0)
    write_walks(
        package,
        PEST,
        [(day(1), 1, 3, 0), (day(8), 2, 6, 0), (day(15), 3, 9, 0), (day(22), 4, 14, 0), (LAST, 5, 20, 0)],
    )
    write_release(package, WRONG, [day(2), day(9), day(16)], 500)
    write_packs(package, offered, FIRST)
    line = CommandLine(folder / "wrong.book")
    line.text("book", "init")
    line.text("book", "import", package)
    return line


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    """Offer the wrong and the right enemy."""
    return a_book(tmp_path_factory.mktemp("both"), [WRONG, RIGHT])


@pytest.fixture(scope="module")
def only_wrong(tmp_path_factory):
    return a_book(tmp_path_factory.mktemp("only"), [WRONG])


def test_no_mummies_are_foreseen(both):
    ahead = both.answer("ahead", HOUSE, *KNOWN)
    closed = [band["mummies_closed"] for pest in ahead["pests"] for band in pest["days"]]
    assert closed
    assert {value for band in closed for value in band.values()} == {0}
    assert ahead["mummies_from"] is None


def test_the_forecast_is_that_of_a_house_with_no_release(both, tmp_path):
    package = tmp_path / "package"
    write_place(package, FIRST, level=4)
    write_hours(package, FIRST, LAST, 18.0)
    write_walks(package, PEST, [(day(1), 1, 3, 0), (LAST, 5, 20, 0)])
    line = CommandLine(tmp_path / "none.book")
    line.text("book", "init")
    line.text("book", "import", package)
    word = line.answer("ahead", HOUSE, *KNOWN)["verdict"]["word"]
    assert both.answer("ahead", HOUSE, *KNOWN)["verdict"]["word"] == word == "Losing"


def test_the_wrong_enemy_is_named_with_its_days(both):
    for words in (("ahead", HOUSE, *KNOWN), ("week", *KNOWN), ("plan", *KNOWN)):
        told = " ".join(both.text(*words).split())
        assert f"{WRONG}, released on Wed 8 Apr, Wed 15 Apr, Wed 22 Apr, does not accept {PEST}" in told
        assert faults(both.answer(*words)) == []


def test_only_the_right_enemy_is_proposed(both):
    plan = both.answer("plan", *KNOWN)
    assert "aphidius_colemani" not in {decision["enemy"] for decision in plan["decisions"]}
    assert {rule["enemy"] for rule in plan["rule_of_thumb"].values()} == {"aphidius_ervi"}
    bought = " ".join(point["text"] for point in plan["frontier"])
    assert RIGHT in bought
    assert WRONG not in bought


def test_with_nothing_else_on_offer_the_plan_says_why_and_what_would_fit(only_wrong):
    plan = only_wrong.answer("plan", *KNOWN)
    assert plan["decisions"] == []
    (held,) = plan["infeasible"]
    assert f"{WRONG}: does not accept {PEST}" in held["why"]
    assert RIGHT in held["why"].split("What accepts the aphid:")[1]
    assert held["today"]
    assert faults(plan) == []


def test_the_page_of_the_house_says_why(both):
    app = create_app(book_url(str(both.book)))
    with TestClient(app, base_url="http://localhost", client=("127.0.0.1", 50000)) as browser:
        for _ in range(120):
            page = browser.get(f"/house/{HOUSE}", params={"as_of": str(LAST)})
            if page.status_code == 200:
                break
            assert page.status_code == 503  # still being worked out
            time.sleep(0.5)
    shown = " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page.text)).split())
    assert f"does not accept {PEST}" in shown
    assert "no mummies will come of it" in shown
