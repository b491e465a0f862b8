"""Counts from a person's own table: previewed, refused with reasons, named once, remembered."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import xlsxwriter

import outpace.surfaces.schemas

SCHEMA = json.loads((Path(outpace.surfaces.schemas.__file__).parent / "table.json").read_text("utf-8"))
ROWS = [
    ["Jour vu", "Où", "Pulg.", "Coche"],
    ["2026-11-02", "Long tunnel", "3", "a"],
    ["2026-11-02", "Long tunnel", "0", "b"],
]
NAMED = (
    "--column",
    "Jour vu=date",
    "--column",
    "Où=house",
    "--column",
    "Pulg.=aphids",
    "--date-order",
    "year",
)


def csv_of(path, rows):
    path.write_text("\n".join(",".join(row) for row in rows) + "\n", encoding="utf-8")
    return path


def test_a_table_with_headings_of_its_own_is_asked_about_then_read_and_remembered(farm, tmp_path):
    table = csv_of(tmp_path / "own.csv", ROWS)
    asked = farm("walk", "import", table, "--preview", "--json")
    assert asked.code == 3
    answer = json.loads(asked.out)
    jsonschema.validate(answer, SCHEMA)
    assert answer["ready"] is False
    assert answer["questions"]
    assert farm("walk", "import", table).code == 2
    shown = farm("walk", "import", table, *NAMED, "--preview")
    assert shown.code == 0
    assert max(len(line) for line in shown.out.splitlines()) <= 80
    read = farm("walk", "import", table, *NAMED, "--pest", "green peach aphid")
    assert read.code == 0, read.err
    assert "Columns left out: Coche" in " ".join(read.out.split())
    again = json.loads(farm("walk", "import", table, "--preview", "--json").out)
    assert (again["ready"], again["remembered"]) == (True, True)
    same = json.loads(farm("walk", "import", table, "--pest", "green peach aphid", "--json").out)
    assert (same["new"], same["corrected"]) == (0, 0)


def test_a_workbook_is_read_as_the_same_table(farm, tmp_path):
    with xlsxwriter.Workbook(tmp_path / "own.xlsx") as book:
        sheet = book.add_worksheet()
        for at, row in enumerate(ROWS):
            sheet.write_row(at, 0, row)
    read = farm("walk", "import", tmp_path / "own.xlsx", *NAMED)
    assert read.code == 0, read.err
    assert json.loads(farm("house", "Long tunnel", "--json").out)["houses"][0]["last_walk"].startswith(
        "2026-11-02"
    )


def test_a_row_that_cannot_be_read_refuses_the_whole_table_and_names_it(farm, tmp_path):
    table = csv_of(tmp_path / "own.csv", [*ROWS, ["2026-11-03", "Long tunnel", "lots", ""]])
    refused = farm("walk", "import", table, *NAMED)
    assert refused.code != 0
    assert "row 4" in refused.err
    assert json.loads(farm("house", "Long tunnel", "--json").out)["houses"][0]["last_walk"] is None


def test_a_house_that_is_not_on_the_farm_is_refused_with_those_that_are(farm, tmp_path):
    table = csv_of(tmp_path / "own.csv", [ROWS[0], ["2026-11-02", "Lang tunnel", "3", ""]])
    refused = farm("walk", "import", table, *NAMED)
    assert refused.code == 2
    assert "Long tunnel" in refused.err


def test_a_column_without_a_field_is_refused_with_the_fields(farm, tmp_path):
    table = csv_of(tmp_path / "own.csv", ROWS)
    refused = farm("walk", "import", table, "--column", "Pulg.")
    assert refused.code == 2
    assert "looked_at" in refused.err


def test_a_workbook_of_temperatures_enters_as_its_text_would(farm, tmp_path):
    with xlsxwriter.Workbook(tmp_path / "logger.xlsx") as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["Time", "Temperature (°C)"])
        for hour in range(6):
            sheet.write_row(hour + 1, 0, [f"2026-11-02 0{hour}:00", 10.5 + hour])
    seen = farm(
        "climate", "preview", tmp_path / "logger.xlsx", "--date-order", "year", "--clock", "farm", "--json"
    )
    assert json.loads(seen.out)["rows"] == 6
    entered = farm(
        "climate",
        "import",
        tmp_path / "logger.xlsx",
        "--house",
        "Long tunnel",
        "--date-order",
        "year",
        "--clock",
        "farm",
    )
    assert entered.code == 0, entered.err
    assert "6 rows" in entered.out


def test_a_preview_tells_every_row_and_house_that_the_import_would_refuse(farm, tmp_path):
    wrong = [["2026-11-03", "Long tunnel", "lots", ""], ["2026-11-31", "Long tunnel", "2", ""]]
    table = csv_of(tmp_path / "own.csv", [*ROWS, *wrong])
    shown = farm("walk", "import", table, *NAMED, "--preview")
    assert shown.code == 3
    assert "Mend 2 mistakes" in shown.out
    assert "row 4" in shown.out
    assert "row 5" in shown.out
    told = farm("walk", "import", table, *NAMED, "--preview", "--json")
    answer = json.loads(told.out)
    jsonschema.validate(answer, SCHEMA)
    assert (answer["ready"], len(answer["refused"])) == (False, 2)
    houses = [["2026-11-03", "Nowhere", "2", ""], ["2026-11-04", "Elsewhere", "2", ""]]
    table = csv_of(tmp_path / "other.csv", [*ROWS, *houses])
    answer = json.loads(farm("walk", "import", table, *NAMED, "--preview", "--json").out)
    assert [name in line for name, line in zip(("Nowhere", "Elsewhere"), answer["refused"], strict=True)] == [
        True
    ] * 2
    assert "None" not in farm("walk", "import", table, *NAMED).err
