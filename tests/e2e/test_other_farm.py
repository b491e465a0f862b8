"""The whole job by command on a data package of another farm, which the demo does not share."""

from __future__ import annotations

import pytest
from tests.e2e.command_line import OTHER_FARM, faults

KNOWN = ("--as-of", "2026-11-19")
LAG = ("lag", "--enemy", "Aphidius ervi", "--pest", "MACSEU", "--release", "2026-11-20", "--house", "Norte")
COMMANDS = {
    "week": ("week", *KNOWN),
    "ahead, a house with two zones": ("ahead", "Norte", *KNOWN),
    "ahead, a house without a release": ("ahead", "sur", *KNOWN),
    "plan": ("plan", *KNOWN),
    "order": ("order", *KNOWN),
    "lag from a house": LAG,
    "farm": ("farm",),
    "house": ("house",),
}


@pytest.mark.parametrize("name", COMMANDS)
def test_an_answer_on_real_input_satisfies_the_schema_that_it_names(other_farm, name):
    assert faults(other_farm.answer(*COMMANDS[name])) == []


@pytest.mark.parametrize("name", COMMANDS)
def test_a_text_keeps_to_80_columns_and_shows_no_slip_of_the_program(other_farm, name):
    lines = other_farm.text(*COMMANDS[name]).splitlines()
    assert [line for line in lines if len(line) > 80] == []
    slips = ("None", "nan", "np.", "float64", "_", "{", "}")
    words = [word for line in lines for word in line.split()]
    known = {"unknown_aphid"}
    assert [word for word in words if word not in known and any(slip in word for slip in slips)] == []


@pytest.mark.parametrize("name", ["week", "plan", "order"])
def test_the_first_sentence_says_a_day_and_a_number(other_farm, name):
    first = " ".join(other_farm.text(*COMMANDS[name]).split("\n\n")[0].split())
    assert first.endswith(".")
    assert any(day in first for day in ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"))
    assert any(mark.isdigit() for mark in first)


def test_importing_the_package_again_changes_nothing(other_farm):
    before = other_farm.head()
    said = other_farm.run("book", "import", OTHER_FARM)
    assert said.code == 0
    assert "0 rows new" in said.out
    assert other_farm.head() == before


def test_week_ahead_and_plan_tell_one_story_of_each_house(other_farm):
    week, plan = (other_farm.answer(*COMMANDS[name]) for name in ("week", "plan"))
    assert {row["house"] for row in week["houses"]} == {"Norte", "Sur"}
    assert set(plan["chance_ever_above"]) == {"Norte", "Sur"}
    for row in week["houses"]:
        told = other_farm.answer("ahead", row["house"], *KNOWN)
        assert row["verdict"] == told["verdict"]["word"]
        assert row["ends_well"] == told["verdict"]["ends_well"]


def test_an_earlier_day_knows_only_what_was_known_then(other_farm):
    early = other_farm.answer("ahead", "Norte", "--as-of", "2026-11-11")
    late = other_farm.answer("ahead", "Norte", "--as-of", "2026-11-18")
    assert max(walk["date"] for walk in early["walks"]) == "2026-11-10"
    assert max(walk["date"] for walk in late["walks"]) == "2026-11-17"
    assert early["as_of"].startswith("2026-11-11")
    assert early["data_age_d"] == 1


def test_a_walk_told_late_is_not_known_on_the_day_it_was_made(other_farm):
    # The walk of 12 November in Sur was written down on the 14th.
    before = other_farm.answer("ahead", "sur", "--as-of", "2026-11-13")
    after = other_farm.answer("ahead", "sur", "--as-of", "2026-11-15")
    assert max(walk["date"] for walk in before["walks"]) == "2026-11-05"
    assert max(walk["date"] for walk in after["walks"]) == "2026-11-12"


def test_a_release_is_told_with_its_zone_and_its_check(other_farm):
    text = " ".join(other_farm.text("ahead", "Norte", *KNOWN).split())
    assert "Fri 30 Oct: 250 Aphidius ervi, mummies in zone A;" in text
    assert "Fri 30 Oct: 250 Aphidius ervi, mummies in zone B;" in text


def test_no_finds_speak_once_the_last_walk_found_none(other_farm):
    refused = other_farm.run("nofinds", "Sur", *KNOWN)
    assert refused.code == 1
    assert "the last walk must have found none" in refused.err
