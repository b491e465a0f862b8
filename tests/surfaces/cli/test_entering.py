"""What people type becomes rows of the book, once, and mistakes leave it as it was."""

from __future__ import annotations

import json

import pytest

LINE = "Long tunnel: 20 looked at, 4 with green peach aphid, about 60, 3 mummies"


def head(say):
    return json.loads(say("book", "heads", "--json").out)["head"]


def test_a_farm_without_its_place_is_refused_and_no_row_is_made(say):
    said = say("farm", "Kelp Lane", "--currency", "GBP")
    assert said.code == 2
    assert "--place" in said.err
    assert "--time-zone" in said.err
    assert json.loads(say("farm", "--json").out)["farms"] == []


def test_a_house_is_reckoned_from_rows_length_and_spacing(farm):
    words = (
        "--crop",
        "cucumber",
        "--length",
        "131.2336 ft",
        "--width",
        "8",
        "--rows",
        "8",
        "--spacing",
        "50",
    )
    assert farm("house", "B", *words).code == 0
    (house,) = json.loads(farm("house", "B", "--json").out)["houses"]
    # Source: 131.2336 ft = 40.00 m; 8 rows of one plant at each end and one every 50 cm: 8 × (40/0.5 + 1).
    assert house["area_m2"] == pytest.approx(320, abs=0.01)
    assert house["plants"] == 648


def test_units_of_the_farm_hold_for_its_houses(farm):
    assert farm("farm", "Kelp Lane", "--area-unit", "ft2", "--temperature-unit", "degf").code == 0
    assert (
        farm("house", "B", "--crop", "lettuce", "--area", "1000", "--plants", "9", "--heating", "50").code
        == 0
    )
    (house,) = json.loads(farm("house", "B", "--json").out)["houses"]
    # Source: international foot of 0.3048 m; 50 °F = 10 °C.
    assert house["area_m2"] == pytest.approx(92.90304)
    assert house["heating_setpoint_degc"] == pytest.approx(10)


def test_changing_one_thing_of_a_house_leaves_the_rest(farm):
    assert farm("house", "long TUNNEL", "--level", "2", "--per", "leaf").code == 0
    houses = json.loads(farm("house", "--json").out)["houses"]
    assert len(houses) == 1
    assert (houses[0]["plants"], houses[0]["action_level"]) == (520, 2)


def test_a_walk_told_twice_is_one_walk(farm):
    first = farm("walk", LINE, "--on", "2026-11-20")
    assert first.code == 0
    assert first.out.startswith("Long tunnel, 2026-11-20 12:00: 20 plants looked at, 4 with Myzus persicae")
    before = head(farm)
    assert "2 known already" in farm("walk", LINE, "--on", "2026-11-20").out
    assert head(farm) == before


def test_a_walk_told_otherwise_is_a_conflict_until_corrected(farm):
    farm("walk", LINE, "--on", "2026-11-20")
    before = head(farm)
    other = LINE.replace("4 with", "5 with")
    said = farm("walk", other, "--on", "2026-11-20")
    assert said.code == 3
    assert "with aphids is 4, offered 5" in " ".join(said.out.split())
    assert head(farm) == before
    assert farm("walk", other, "--on", "2026-11-20", "--correct").code == 0
    assert head(farm) != before


def test_naming_the_aphid_afterwards_withdraws_the_unknown_one(farm):
    unnamed = LINE.replace("green peach aphid", "greenfly")
    assert "no wasp is promised" in " ".join(farm("walk", unnamed, "--on", "2026-11-20").out.split())
    assert farm("walk", LINE, "--on", "2026-11-20").code == 1
    assert farm("walk", LINE, "--on", "2026-11-20", "--correct").code == 0
    assert "known already" in farm("walk", LINE, "--on", "2026-11-20").out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("walk", "Long tunel: 20 looked at, none"), "Long tunnel"),
        (("walk", "20 looked at, none"), "in which house"),
        (("walk", "Long tunnel: 20 looked at, 21 with greenfly"), "21"),
        (("walk", "Long tunnel: 20 looked at, -4 with greenfly"), "negative"),
        (("walk", LINE, "--on", "2099-01-01"), "future"),
        (("walk", LINE, "--on", "2026-03-29T01:30"), "skipped this hour"),
        (("walk", LINE, "--on", "2026-10-25T01:30"), "twice"),
        (("walk", LINE.replace("green peach aphid", "pinkfly"), "--on", "2026-11-20"), "Myzus persicae"),
        (("house", "C", "--crop", "lettuce", "--area", "0", "--plants", "3"), "above 0"),
        (("house", "C", "--crop", "lettuce", "--area", "10"), "--plants"),
        (("house", "C\x1b[2J", "--crop", "lettuce", "--area", "9", "--plants", "3"), "is no name"),
        (("house", "Long tunnel", "--heating", "400"), "400"),
        (("house", "Long tunnel", "--rows", "8"), "--spacing"),
        (("release", "Long tunnel", "--lot", "L9", "--number", "5"), "no lot called 'L9'"),
        (("release", "Long tunnel", "--number", "5"), "--enemy"),
        (("arrival", "L1", "--enemy", "MYZUPE", "--form", "adults", "--number", "5"), "no enemy called"),
        (("house", "--farm", "Kelp Lan"), "Kelp Lane"),
        (("house", "--as-of", "2199-01-01"), "future"),
        (("farm", "Other", "--place", "91,0", "--time-zone", "Europe/London", "--currency", "GBP"), "91"),
        (
            ("farm", "Other", "--place", "here", "--time-zone", "Europe/London", "--currency", "GBP"),
            "--place",
        ),
        (("farm", "Kelp Lane", "--time-zone", "Europe/Lndon"), "Europe/London"),
    ],
)
def test_a_mistake_is_told_and_leaves_the_book_as_it_was(farm, words, told):
    before = head(farm)
    said = farm(*words)
    assert said.code in (1, 2)
    assert told in said.err
    assert "Traceback" not in said.err
    assert head(farm) == before


def test_a_release_without_a_lot_brings_one_and_one_from_a_lot_does_not(farm):
    arrived = ("arrival", "L1", "--enemy", "Aphidius colemani", "--form", "mummies", "--number", "500")
    assert farm(*arrived, "--label-counts", "units_in_pack", "--on", "2026-11-20T09:00").code == 0
    said = farm("release", "Long tunnel", "--lot", "l1", "--number", "600", "--on", "2026-11-20", "--json")
    answer = json.loads(said.out)
    assert answer["tables"] == {"releases": 1}
    assert "600 were released from lot L1, whose labels say 500" in answer["cautions"][0]
    words = ("--enemy", "Aphidius ervi", "--form", "adults", "--number", "100", "--on", "2026-11-21")
    answer = json.loads(farm("release", "Long tunnel", *words, "--json").out)
    assert answer["tables"] == {"lots": 1, "releases": 1}
    assert "--label-counts" in answer["cautions"][0]


def test_a_day_before_the_entry_does_not_know_it(farm):
    said = farm("house", "--as-of", "2020-01-01")
    assert said.code == 1
    assert "no farm yet" in said.err
