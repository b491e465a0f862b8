"""Temperatures by command: looked at, asked about, imported once, used for a lag."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import xlsxwriter

import outpace.surfaces.schemas
from outpace.season.lag_temperature import from_release

SCHEMAS = Path(outpace.surfaces.schemas.__file__).parent
LAG = ("lag", "--enemy", "Aphidius colemani", "--pest", "MYZUPE")


@pytest.fixture
def logger(tmp_path):
    """Write a file as loggers do: preamble, semicolons, decimal comma, day first, every third hour."""

    def write(heading="Temp °C", name="logger.csv", first=20, degrees=lambda hour: 12 + hour / 2):
        lines = ["Logger: unit 7", f'"Time";"{heading}";"RH %"']
        for day in range(first, first + 3):
            for hour in range(0, 24, 3):
                value = f"{degrees(hour):.1f}".replace(".", ",")
                lines.append(f'"{day:02}.11.2025 {hour:02}:00";"{value}";"70"')
        path = tmp_path / name
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return path

    return write


def test_a_preview_shows_what_would_be_recorded_and_writes_nothing(farm, logger):
    said = farm("climate", "preview", logger())
    assert said.code == 0
    assert said.out.startswith("Ready to import: 24 readings of 3 days.")
    assert "Fri 21 Nov" not in said.out  # 20 November 2025 is a Thursday, and first rows are of that day
    assert "Thu 20 Nov, 03:00" in said.out
    assert "13.5 °C" in said.out
    assert [line for line in said.out.splitlines() if len(line) > 80] == []
    assert "0 rows" not in farm("climate", "import", logger(), "--house", "Long tunnel").out


def test_the_preview_satisfies_its_schema_open_question_or_not(farm, logger):
    schema = json.loads((SCHEMAS / "climate.json").read_text(encoding="utf-8"))
    for path, ready in ((logger(), True), (logger("Temp", "other.csv"), False)):
        answer = json.loads(farm("climate", "preview", path, "--json").out)
        jsonschema.validate(answer, schema)
        assert answer["ready"] is ready


def test_a_workbook_is_told_as_one_and_not_by_marks_it_does_not_have(farm, tmp_path):
    path = tmp_path / "logger.xlsx"
    rows = [("Time", "Temp °C")] + [(f"2025-11-20 {hour:02}:00", 12.5 + hour) for hour in range(0, 24, 3)]
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        for number, row in enumerate(rows):
            sheet.write_row(number, 0, row)
    said = " ".join(farm("climate", "preview", path).out.split())
    assert "Ready to import: 8 readings of 1 day." in said
    assert "workbook, read from its first sheet that holds a table" in said
    for wrong in ("written in", "parted by", "utf-8", "semicolon", "decimal mark"):
        assert wrong not in said
    answer = json.loads(farm("climate", "preview", path, "--json").out)
    jsonschema.validate(answer, json.loads((SCHEMAS / "climate.json").read_text(encoding="utf-8")))
    assert answer["dialect"]["kind"] == "workbook"


def test_the_way_a_text_file_was_written_is_told(farm, logger):
    said = " ".join(farm("climate", "preview", logger()).out.split())
    for part in ("written in utf-8", "columns parted by semicolon", "decimal mark comma"):
        assert part in said


def test_an_open_question_refuses_the_import_and_its_answer_is_kept(farm, logger):
    path = logger("Temp")
    said = farm("climate", "import", path, "--house", "Long tunnel")
    assert said.code == 2
    assert "--temperature-unit degc" in said.err
    assert farm("climate", "import", path, "--house", "Long tunnel", "--temperature-unit", "degc").code == 0
    later = logger("Temp", "later.csv", first=23)
    assert farm("climate", "import", later, "--house", "Long tunnel").code == 0


def test_the_same_file_twice_changes_nothing(farm, logger):
    assert "24 rows new" in farm("climate", "import", logger(), "--house", "Long tunnel").out
    assert "0 rows new, 24 known already" in farm("climate", "import", logger(), "--house", "Long tunnel").out


def test_a_lag_from_a_file_and_from_the_house_it_was_imported_to_agree(farm, logger):
    farm("climate", "import", logger(), "--house", "Long tunnel")
    told = ("--release", "2025-11-20", "--json")
    by_file = json.loads(farm(*LAG, *told, "--climate", logger()).out)
    by_house = json.loads(farm(*LAG, *told, "--house", "Long tunnel").out)
    assert by_file["next_brood"] == by_house["next_brood"]
    # Source: the file's own rule, 12 + hour/2 °C every third hour from 0 to 21; straight lines between.
    known = np.interp(np.arange(24), np.arange(0, 24, 3), 12 + np.arange(0, 24, 3) / 2, period=24)
    assert by_file["temperature"]["mean_degc"] == pytest.approx(known.mean(), abs=0.1)


def test_a_file_without_days_near_the_release_is_refused(farm, logger):
    said = farm(*LAG, "--release", "2026-04-20", "--climate", logger())
    assert said.code == 1
    assert "no temperature near 2026-04-20" in said.err


def test_a_house_without_readings_is_refused_with_two_ways_out(farm):
    said = farm(*LAG, "--release", "2026-04-20", "--house", "Long tunnel")
    assert said.code == 1
    assert "climate import" in said.err
    assert "--temperature" in said.err


def test_hours_before_the_release_stand_for_the_days_to_come():
    # Source: closed form, one day repeated; the release comes after the record.
    day = 15 + 5 * np.sin(np.arange(24) / 24 * 2 * np.pi)
    hours = np.concatenate([np.tile(day, 2), np.full(24, np.nan)])
    known, days = from_release(hours, 2)
    assert days == 0
    assert np.allclose(known, day)


def test_short_gaps_are_bridged_and_long_ones_take_the_mean_of_their_hour():
    day = np.arange(24.0)
    hours = np.tile(day, 3)
    hours[30:33] = np.nan
    hours[50:62] = np.nan
    known, days = from_release(hours, 0)
    assert days == 3
    assert np.allclose(known, np.tile(day, 3))


def test_nothing_known_is_nothing_returned():
    assert from_release(np.full(48, np.nan), 1) == (None, 0)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "empty"),
        (b"\x00\x01\x02" * 500, "`bad.csv`"),
        (b"time,temperature degC\n2025-11-20 10:00,20\n2025-11-20 11:00,400\n", "400"),
        (b"name,age\nIda,3\n", "`bad.csv`"),
        (
            f"time,temperature degC\n{date(2099, 1, 1)} 10:00,20\n{date(2099, 1, 1)} 11:00,20\n".encode(),
            "future",
        ),
    ],
)
def test_a_file_that_no_house_can_have_is_refused_and_nothing_written(farm, tmp_path, content, told):
    path = tmp_path / "bad.csv"
    path.write_bytes(content)
    head = farm("book", "heads", "--json").out
    said = farm("climate", "import", path, "--house", "Long tunnel")
    assert said.code in (1, 2)
    assert told in said.err
    assert "Traceback" not in said.err
    assert farm("book", "heads", "--json").out == head


def test_a_typed_day_becomes_its_hours_in_the_unit_that_was_typed(farm):
    typed = ("climate", "typed", "Long tunnel", "--min", "50F", "--max", "24", "--on", "2025-11-20")
    said = farm(*typed)
    assert said.code == 0
    assert said.out.startswith("Long tunnel, 2025-11-20: 10 to 24 °C.")
    assert "24 rows new" in said.out
    assert "0 rows new, 24 known already" in farm(*typed).out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--min", "24", "--max", "10", "--on", "2025-11-20"), "minimum 24 °C above maximum 10 °C"),
        (("--min", "10", "--max", "400", "--on", "2025-11-20"), "400"),
        (("--min", "10", "--max", "20", "--on", "2099-11-20"), "ahead"),
        (("--min", "cold", "--max", "20", "--on", "2025-11-20"), "`--min`"),
    ],
)
def test_a_typed_day_that_cannot_have_been_is_refused(farm, words, told):
    said = farm("climate", "typed", "Long tunnel", *words)
    assert said.code in (1, 2)
    assert told in said.err
