"""A parcel from the door to its claim, as typed."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

import outpace.surfaces.schemas

SCHEMA = json.loads((Path(outpace.surfaces.schemas.__file__).parent / "arrival.json").read_text("utf-8"))
CAME = (
    *("--enemy", "Aphidius colemani", "--form", "mummies", "--number", "500"),
    *("--label-counts", "units_in_pack", "--packed", "2026-11-09", "--on", "2026-11-10T09:00"),
)


@pytest.fixture
def parcel(farm):
    """Return the command line of a farm to which lot L1 has come."""
    assert farm("arrival", "L1", *CAME).code == 0
    return farm


def lot(say):
    answer = json.loads(say("arrival", "show", "L1", "--json").out)
    jsonschema.Draft202012Validator(SCHEMA).validate(answer)
    return answer["lots"][0]


def test_the_short_form_and_the_long_one_record_the_same(parcel):
    assert "known already" in parcel("arrival", "record", "L1", *CAME).out
    assert "known already" in parcel("arrival", *CAME, "L1").out


def test_the_door_says_first_how_to_open_a_parcel(farm):
    told = " ".join(farm("arrival", "L1", *CAME).out.split())
    assert "Open it in moving air" in told
    assert "outpace arrival show 'L1'" in told


def test_a_check_typed_on_day_three_decides_nothing_and_on_day_eight_it_does(parcel):
    before = lot(parcel)["worth"]["females"]
    words = ("arrival", "check", "L1", "--looked-at", "100", "--mean", "22")
    told = parcel(*words, "--emerged", "12", "--on", "2026-11-13T09:00")
    assert told.code == 0
    assert "neither pass nor reject" in " ".join(told.out.split())
    assert lot(parcel)["worth"]["females"] == before
    assert parcel(*words, "--emerged", "31", "--on", "2026-11-18T09:00").code == 0
    after = lot(parcel)
    assert (after["worth"]["positive"], after["worth"]["looked_at"]) == (31, 100)
    assert after["claim"]["step"] == 2


def test_a_release_leaves_a_balance(parcel):
    assert parcel("release", "Long tunnel", "--lot", "L1", "--number", "320", "--on", "2026-11-11").code == 0
    assert lot(parcel)["balance"]["left"] == 180


def test_the_page_of_a_lot_tells_the_plan_by_letters_when_asked(parcel):
    told = " ".join(parcel("arrival", "show", "l1", "--aql", "1.0").out.split())
    # Source: ISO 2859-1, letter H, limit 1.0 %: 50, accept 1, reject 2 (recalled, sure).
    assert "look at 50, accept up to 1 bad, reject from 2" in told


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("arrival", "show", "L2"), "no lot called 'L2'"),
        (("arrival", "show", "L1", "--aql", "3"), "acceptance quality limit"),
        (("arrival", "check", "L1"), "nothing was counted"),
        (("arrival", "check", "L1", "--looked-at", "5", "--emerged", "6"), "6 of 5"),
        (("arrival", "check", "L1", "--looked-at", "5", "--emerged", "-1"), "--emerged"),
        (("arrival", "show", "--question", "beauty"), "--question"),
        (("arrival", "L9"), "--enemy"),
    ],
)
def test_a_mistake_is_told_in_words(parcel, words, told):
    said = parcel(*words)
    assert said.code == 2
    assert told in said.err
    assert "Traceback" not in said.err


def test_a_farm_without_parcels_is_told_to_do_nothing(farm):
    assert farm("arrival", "show").out.startswith("Do nothing on ")
