"""From a harvest code back to all behind it, and from a lot or a spray on to the harvests."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest
from tests.season import kept_farm
from tests.season.kept_farm import NOW, at, keep

from outpace.errors import OutpaceError
from outpace.records.book import Book
from outpace.season.trace import trace


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    place = tmp_path_factory.mktemp("trace") / "kept.book"
    with Book.open(place, create=True, device="here", clock=lambda: NOW) as opened:
        yield keep(opened)


@pytest.fixture(scope="module")
def harvest(book):
    return trace(book, "k-20")


def of(answer, kind):
    return [entry for entry in answer["entries"] if entry["kind"] == kind]


def test_a_harvest_code_leads_to_every_walk_spray_release_lot_and_decision_of_its_crop(harvest):
    assert [entry["key"] for entry in of(harvest, "walk")] == ["walk w1", "walk w2"]
    assert [entry["key"] for entry in of(harvest, "spray")] == ["spray s2", "spray s1"]
    assert [entry["key"] for entry in of(harvest, "release")] == ["release r1"]
    assert [entry["key"] for entry in of(harvest, "decision")] == ["decision d1"]
    assert [entry["key"] for entry in of(harvest, "plants in")] == ["batch b1"]
    (lot,) = harvest["lots"]
    assert (lot["lot"], lot["houses"], lot["invoice"]) == ("L-2201", ["long", "south"], "inv-7")
    assert "40 of 50 emerged after 7 d" in lot["what"]
    assert "number list 12" in lot["what"]


def test_what_was_done_before_the_crop_was_planted_is_not_behind_its_harvest(harvest):
    assert "walk w0" not in [entry["key"] for entry in harvest["entries"]]
    assert harvest["houses"][0]["since"].startswith("2026-02-01")


def test_a_harvest_that_did_not_wait_for_a_spray_says_so(harvest):
    bare, sulphur = of(harvest, "spray")
    assert "was picked Wed 20 May, 10:00, before its wait ended Fri 22 May, 19:00" in sulphur["minds"][0]
    assert "cannot be shown" in bare["minds"][0]


def test_zeros_and_classes_are_told_as_they_were_counted(harvest):
    found, clean = of(harvest, "walk")
    assert "2 with live aphids: Myzus persicae on 2, 7 to 13 counted" in found["what"]
    assert "no live aphid found" in clean["what"]


def test_corrections_and_withdrawals_stand_with_who_when_why_and_the_old_value(harvest):
    corrected = next(change for change in harvest["corrections"] if not change["withdrawn"])
    assert corrected["columns"] == [{"column": "number", "old": 400, "new": 350}]
    assert (corrected["by"], corrected["why"]) == ("Rui", "counted the cards")
    withdrawn = next(change for change in harvest["corrections"] if change["withdrawn"])
    assert (withdrawn["key"], withdrawn["why"]) == ("release r3", "never let go")
    assert "number 50" in withdrawn["text"]
    assert of(harvest, "release")[0]["corrections"] == 1


def test_a_lot_leads_on_to_its_houses_and_their_harvests(book):
    answer = trace(book, "L-2201")
    assert [house["house"] for house in answer["houses"]] == ["long", "south"]
    assert [row["code"] for row in answer["harvests"]] == ["K-20"]
    assert {entry["kind"] for entry in answer["entries"]} == {"release", "harvest"}


@pytest.mark.parametrize("code", ["o1", "INV-7", "s1", "r1", "w1", "b1"])
def test_every_other_code_leads_to_the_harvest_after_it(book, code):
    assert [row["code"] for row in trace(book, code)["harvests"]] == ["K-20"]


def test_back_from_each_harvest_and_on_from_each_lot_meet(book, harvest):
    for lot in harvest["lots"]:
        assert "K-20" in [row["code"] for row in trace(book, lot["lot"])["harvests"]]


def test_a_lot_tells_its_packing_and_its_arrival_in_words(harvest):
    (lot,) = [lot for lot in harvest["lots"] if lot["lot"] == "L-2201"]
    assert "packed Sun 5 Apr 2026; arrived Tue 7 Apr 2026" in lot["what"]


def test_an_unknown_code_names_some_that_are_near(book):
    with pytest.raises(OutpaceError, match=re.escape("K-21")) as caught:
        trace(book, "K-21")
    assert "K-20" in caught.value.allowed


def test_a_house_planted_anew_keeps_the_day_of_its_earlier_crop(tmp_path):
    with Book.open(tmp_path / "again.book", create=True, device="here", clock=lambda: NOW) as book:
        keep(book)
        book.record([replace(kept_farm.HOUSE, planted=date(2026, 5, 25))], by="Ida", correct=True)
        assert trace(book, "K-20")["houses"][0]["since"].startswith("2026-02-01")


def test_as_of_an_earlier_day_the_correction_is_not_known_yet(book):
    answer = trace(book, "K-20", as_of="2026-05-29")
    assert answer["corrections"] == []
    assert "400 Aphidius" in of(answer, "release")[0]["what"]
    assert at(4, 8).date().isoformat() in [entry["time"][:10] for entry in of(answer, "release")]
