"""Sprays by command: what is left out holds the house, and nothing told is lost."""

from __future__ import annotations

import json

import pytest
from tests.surfaces.text.test_schemas import validator

FULL = (
    *("--start", "2026-11-20T18:00", "--end", "18:40", "--kind", "sulphur", "--product", "invented sulphur"),
    *(
        "--registration",
        "R-1",
        "--active",
        "sulphur",
        "--group",
        "M2",
        "--reentry-h",
        "12",
        "--harvest-days",
        "3",
    ),
    *(
        "--bees-out-until",
        "2026-11-21T19:00",
        "--residue-days",
        "7",
        "--residue",
        "0.3",
        "--kill-enemies",
        "0.8",
    ),
    *("--kill-aphids", "0", "--zone", "east", "--crop", "sweet_pepper", "--bbch", "65", "--rate", "2"),
    *("--rate-unit", "g/l", "--amount", "1.5", "--area", "120", "--wind", "none", "--reason", "mildew"),
    *("--operator", "Ida", "--licence", "L-9"),
)


def answered(say, *words):
    told = json.loads(say(*words, "--json").out)
    name = told["schema"].split(".")[1].split("/")[0]
    assert [error.message for error in validator(name).iter_errors(told)] == []
    return told


def test_every_column_that_people_know_can_be_told(farm):
    assert answered(farm, "spray", "add", "Long tunnel", *FULL)["tables"] == {"sprays": 1}
    (spray,) = answered(farm, "spray", "show", "Long tunnel")["sprays"]
    assert [name for name, value in spray["record"].items() if value is None] == []
    assert spray["record_lacks"] == []
    assert spray["lacks"] == []
    assert spray["zone"] == "east"
    assert spray["clocks"]["picking"]["until"] == "2026-11-23T18:40:00+00:00"


def test_an_undeclared_spray_warns_at_entry_and_leaves_no_clock_at_zero(farm):
    assert farm("house", "Long tunnel", "--bees", "yes").code == 0
    said = " ".join(farm("spray", "add", "Long tunnel").out.split())
    for words in (
        "keep out, 4 of its 4 clocks cannot start",
        "do not pick, read the label",
        "no release here",
        "hive closed or out, until when?",
        "leaf feed, disinfectant and fogger are sprays too",
    ):
        assert words in said
    (house,) = answered(farm, "spray", "show", "Long tunnel")["houses"]
    assert {house[clock]["state"] for clock in ("reentry", "picking", "bees", "release")} == {"unknown"}


def test_a_house_without_bees_is_not_asked_for_its_hive(farm):
    assert farm("house", "Long tunnel", "--bees", "no").code == 0
    assert "hive" not in farm("spray", "add", "Long tunnel", "--kind", "soap").out


def test_a_spray_is_completed_by_its_key_and_the_rest_stays(farm):
    farm("spray", "add", "Long tunnel", "--start", "2026-11-20T18:00", "--product", "invented soap")
    (before,) = answered(farm, "spray", "show")["sprays"]
    assert farm("spray", "add", "Long tunnel", "--spray", before["spray"], "--end", "18:30").code == 0
    (after,) = answered(farm, "spray", "show")["sprays"]
    assert after["spray"] == before["spray"]
    assert (after["record"]["product"], after["end"]) == ("invented soap", "2026-11-20T18:30+00:00")
    assert "when it ended" not in after["lacks"]


def test_the_same_spray_told_twice_is_one_and_told_otherwise_is_a_conflict(farm):
    farm("spray", "add", "Long tunnel", *FULL)
    assert "1 known already" in farm("spray", "add", "Long tunnel", *FULL).out
    other = [word if word != "12" else "24" for word in FULL]
    assert farm("spray", "add", "Long tunnel", *other).code == 3
    assert farm("spray", "add", "Long tunnel", *other, "--correct").code == 0
    (spray,) = answered(farm, "spray", "show")["sprays"]
    assert spray["record"]["reentry_h"] == 24


def test_the_text_names_each_clock_the_airing_and_the_key(farm):
    farm("spray", "add", "Long tunnel", "--start", "2026-11-20T18:00")
    out = farm("spray", "show", "Long tunnel").out
    assert all(len(line) <= 80 for line in out.splitlines())
    for words in ("people", "picking", "bees", "releases", "airing:", "key long-tunnel-"):
        assert words in out
    farm("spray", "add", "Long tunnel", *FULL)
    assert "recalled" in farm("spray", "show", "--sources").out


def test_a_house_without_sprays_is_reminded_what_counts_as_one(farm):
    said = " ".join(farm("spray", "show").out.split())
    assert "No spray is written down." in said
    assert "leaf feed, disinfectant and fogger are sprays too" in said


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("spray", "add", "Long tunnel", "--reentry-h", "-1"), "must be at least 0"),
        (("spray", "add", "Long tunnel", "--residue", "1.5"), "must be at most 1"),
        (
            ("spray", "add", "Long tunnel", "--start", "2026-11-20T18:00", "--end", "2026-11-20T17:00"),
            "before it began",
        ),
        (("spray", "add", "Long tunel"), "Long tunnel"),
        (("spray", "add", "Long tunnel", "--spray", "s9"), "none is written down"),
        (("spray", "add", "Long tunnel", "--kind", "perfume"), "perfume"),
        (("spray", "show", "--sign", "sign.pdf"), "none was named"),
        (("spray", "show", "Long tunnel", "--sign", "sign.pdf"), "no spray holds people"),
    ],
)
def test_a_mistake_is_told_and_nothing_is_written(farm, words, told, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    before = {path.name for path in tmp_path.iterdir()}
    said = farm(*words)
    assert said.code in (1, 2)
    assert told in said.err
    assert "Traceback" not in said.err
    assert {path.name for path in tmp_path.iterdir()} == before
    assert json.loads(farm("spray", "show", "--json").out)["sprays"] == []


def test_sheet_and_sign_are_printed_beside_the_answer(farm, tmp_path):
    farm("spray", "add", "Long tunnel")
    sheet, sign = tmp_path / "sheet.pdf", tmp_path / "sign.pdf"
    said = farm("spray", "show", "Long tunnel", "--posting", sheet, "--sign", sign)
    assert said.code == 0
    assert sheet.read_bytes().startswith(b"%PDF")
    assert sign.read_bytes().startswith(b"%PDF")
    assert "posting sheet:" in said.err
