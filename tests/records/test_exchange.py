"""A farm's package goes in, comes out and goes in again, the same."""

from __future__ import annotations

import csv
import dataclasses
import importlib.util
import itertools
import json
import shutil
import zipfile
from datetime import UTC, date, datetime
from pathlib import Path

import frictionless
import pytest
from tests.records.conftest import OTHER_FARM
from tests.records.rows import COUNT, FARM, HOUSE, START, hours

from outpace.errors import OutpaceError
from outpace.records.columns import BOOKKEEPING, table
from outpace.records.exchange import export_package, import_package
from outpace.records.schemas import schema_of
from outpace.terms.enemies import Release
from outpace.terms.place import ActionLevel, Climate, House
from outpace.terms.scouting import Count, Walk
from outpace.terms.tables import TABLES
from outpace.terms.upkeep import Spray


def files_of(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_the_other_farms_logger_file_is_what_its_script_makes():
    place = OTHER_FARM.parent / "other_farm_climate.py"
    spec = importlib.util.spec_from_file_location("other_farm_climate", place)
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    assert (OTHER_FARM / "climate.csv").read_text() == script.climate_csv()


def test_another_farms_package_enters_with_the_values_it_holds(book, resolve):
    done = import_package(book, OTHER_FARM, by="Ema", resolve=resolve)
    assert done.written
    assert done.read["climate"] == 2 * 28 * 24
    assert done.read["counts"] == 100
    known = book.snapshot()
    north = known.table(House)[0]
    assert (north.farm, north.house, north.bees_in, north.planted) == (
        "Vega Inventada",
        "Norte",
        True,
        date(2026, 9, 14),
    )
    assert known.table(ActionLevel)[0].since == date(2026, 10, 1)
    # Source: the clock in Chile stands three hours behind UTC in November (time zone database).
    assert known.table(Walk)[0].time == datetime(2026, 10, 27, 11, 40, tzinfo=UTC)
    assert {row.pest for row in known.table(Count)} == {"any", "aphis_gossypii", "macrosiphum_euphorbiae"}
    assert [row.number for row in known.table(Release)] == [250, 250]
    assert book.verify() == []


def test_the_same_package_twice_changes_nothing(book, resolve):
    first = import_package(book, OTHER_FARM, by="Ema", resolve=resolve)
    head = book.head()
    again = import_package(book, OTHER_FARM, by="Bo", resolve=resolve)
    assert (again.new, again.same) == (0, first.new)
    assert book.head() == head


def test_rows_are_known_from_their_own_time_or_from_when_they_say(book, resolve):
    import_package(book, OTHER_FARM, by="Ema", resolve=resolve)
    known = book.snapshot(datetime(2026, 11, 13, 12, tzinfo=UTC))
    walks = {walk.walk for walk in known.table(Walk)}
    assert "N-1110" in walks
    assert "S-1112" not in walks, "walked on the 12th, but told on the 14th"
    assert {row.walk for row in known.table(Count)} == {"N-1027", "N-1103", "N-1110"}
    assert max(row.time for row in known.table(Climate)) <= known.as_of
    assert "S-1112" in {walk.walk for walk in book.snapshot(datetime(2026, 11, 15, tzinfo=UTC)).table(Walk)}


@pytest.mark.parametrize("history", [True, False])
def test_in_out_and_in_again_is_identical(book, open_book, resolve, tmp_path, history):
    import_package(book, OTHER_FARM, by="Ema", resolve=resolve)
    export_package(book, tmp_path / "first", history=history)
    second = open_book("second")
    import_package(second, tmp_path / "first", by="someone else", resolve=resolve)
    export_package(second, tmp_path / "second", history=history)
    assert files_of(tmp_path / "first") == files_of(tmp_path / "second")
    assert second.snapshot().rows == book.snapshot().rows
    again = import_package(book, tmp_path / "second", by="Ema", resolve=resolve)
    assert again.new == again.corrected == 0
    assert again.written


@pytest.mark.parametrize("history", [True, False])
def test_corrections_and_withdrawals_travel_in_the_package(book, open_book, resolve, tmp_path, history):
    import_package(book, OTHER_FARM, by="Ema", resolve=resolve)
    count = next(row for row in book.snapshot().table(Count) if row.aphids == "6")
    book.record([dataclasses.replace(count, aphids="7")], by="Bo", correct=True)
    book.withdraw("seen", "S-1118", 11, "ants", by="Bo")
    hour = book.snapshot().table(Climate)[5]
    book.record([dataclasses.replace(hour, temperature_degc=1.5)], by="Bo", correct=True)
    export_package(book, tmp_path / "first.zip", history=history)
    second = open_book("second")
    import_package(second, tmp_path / "first.zip", by="x", resolve=resolve)
    export_package(second, tmp_path / "second.zip", history=history)
    assert (tmp_path / "first.zip").read_bytes() == (tmp_path / "second.zip").read_bytes()
    assert second.snapshot().rows == book.snapshot().rows
    assert second.verify() == []


def test_a_package_that_leaves_is_valid_by_frictionless(book, resolve, tmp_path):
    import_package(book, OTHER_FARM, by="Ema", resolve=resolve)
    book.withdraw("seen", "S-1118", 11, "ants", by="Bo")
    export_package(book, tmp_path / "out")
    report = frictionless.validate(str(tmp_path / "out" / "datapackage.json"))
    assert report.flatten(["type", "note"]) == []
    assert len(report.tasks) >= 20


def test_frictionless_finds_what_the_schemas_forbid(book, resolve, tmp_path):
    import_package(book, OTHER_FARM, by="Ema", resolve=resolve)
    export_package(book, tmp_path / "out")
    walks = tmp_path / "out" / "walks.csv"
    text = walks.read_text()
    walks.write_text(text.replace("random", "any", 1).replace("Vega Inventada,Sur", "Vega Inventada,Este", 1))
    report = frictionless.validate(str(tmp_path / "out" / "datapackage.json"))
    assert {kind for (kind,) in report.flatten(["type"])} == {"constraint-error", "foreign-key"}


@pytest.mark.parametrize("name", TABLES)
def test_the_schema_of_every_table_names_its_columns_and_is_one(name):
    schema = schema_of(name)
    assert [field["name"] for field in schema["fields"]] == [*table(name).names, *BOOKKEEPING]
    assert frictionless.Schema.from_descriptor(schema).to_descriptor()["fields"]


def test_tables_enter_alone_where_the_book_knows_the_rest(book, other_farm, resolve):
    import_package(book, OTHER_FARM, by="Ema", resolve=resolve)
    walks, lines = other_farm / "walks.csv", other_farm / "walk_lines.csv"
    walks.write_text("walk,house,time,unit,chosen\nS-1119,Sur,2026-11-19T10:00,leaf,random\n")
    lines.write_text("walk,pest,looked_at,infested\nS-1119,any,20,3\n")
    done = import_package(book, [walks, lines], by="Ema", resolve=resolve)
    assert done.tables == {"walks": 1, "walk_lines": 1}
    assert book.snapshot().table(Walk)[-1].farm == "Vega Inventada"


def test_a_conflict_writes_nothing_until_it_is_confirmed(book, other_farm, resolve):
    import_package(book, OTHER_FARM, by="Ema", resolve=resolve)
    before = book.head(), book.row_counts()
    counts = other_farm / "counts.csv"
    counts.write_text(counts.read_text().replace("N-1103,4,MACSEU,A,6,1,", "N-1103,4,MACSEU,A,8,1,"))
    done = import_package(book, counts, by="Ema", resolve=resolve)
    assert not done.written
    (conflict,) = done.conflicts
    assert conflict.where == "`counts.csv` row 25"
    assert dict(conflict.differs) == {"aphids": ("6", "8")}
    assert (book.head(), book.row_counts()) == before
    assert import_package(book, counts, by="Ema", resolve=resolve, correct=True).corrected == 1
    # The correction is known from now, not from the walk.
    then = book.snapshot(datetime(2026, 11, 18, tzinfo=UTC)).table(Count)
    assert {row.aphids for row in then if (row.walk, row.unit_no) == ("N-1103", 4)} == {"6"}


def test_a_replaces_column_confirms_a_correction_by_itself(book, other_farm, resolve):
    import_package(book, OTHER_FARM, by="Ema", resolve=resolve)
    event = book.history(Count, "N-1103", 4, "macrosiphum_euphorbiae").versions[-1].event
    counts = other_farm / "counts.csv"
    counts.write_text(f"walk,unit_no,pest,zone,aphids,replaces\nN-1103,4,MACSEU,A,8,{event}\n")
    assert import_package(book, counts, by="Ema", resolve=resolve).corrected == 1
    counts.write_text(f"walk,unit_no,pest,zone,aphids,replaces\nN-1103,4,MACSEU,A,9,{event}\n")
    assert import_package(book, counts, by="Ema", resolve=resolve).conflicts, (
        "that version was replaced already"
    )


def test_a_withdrawn_column_takes_a_row_back(book, other_farm, resolve):
    import_package(book, OTHER_FARM, by="Ema", resolve=resolve)
    cards = other_farm / "cards.csv"
    rows = cards.read_text().splitlines()
    cards.write_text("\n".join([f"{rows[0]},withdrawn", f"{rows[1]},yes", f"{rows[2]},"]) + "\n")
    done = import_package(book, cards, by="Ema", resolve=resolve)
    assert (done.withdrawn, done.same) == (1, 1)
    assert book.row_counts()["cards"] == 2


def test_a_name_in_recorded_by_is_who_recorded(book, other_farm, resolve):
    walks = other_farm / "walks.csv"
    rows = [
        f"{line},recorded_by" if at == 0 else f"{line},Tadeo"
        for at, line in enumerate(walks.read_text().splitlines())
    ]
    walks.write_text("\n".join(rows) + "\n")
    import_package(book, other_farm, by="Ema", resolve=resolve)
    assert book.history(Walk, "N-1103").versions[0].by == "Tadeo"


def test_a_zip_with_one_folder_enters_as_the_folder_does(book, open_book, resolve, tmp_path):
    shutil.make_archive(str(tmp_path / "farm"), "zip", OTHER_FARM.parent, "other_farm")
    done = import_package(book, tmp_path / "farm.zip", by="Ema", resolve=resolve)
    second = open_book("second")
    import_package(second, OTHER_FARM, by="Ema", resolve=resolve)
    assert done.written
    assert book.snapshot().rows == second.snapshot().rows


def test_text_that_a_spreadsheet_would_run_leaves_harmless_and_returns(book, open_book, resolve, tmp_path):
    nasty = ["=cmd|' /C calc'!A0", "+1+1", "-2+3", "@SUM(A1)", "'=1", "''", "'quoted'", 'a, "b"\nc', "＝1+1"]
    counts = [
        Count(walk="w1", unit_no=n, pest="any", aphids="1", note=text) for n, text in enumerate(nasty, 2)
    ]
    book.record([*START, *counts], by="=HYPERLINK(1)")
    export_package(book, tmp_path / "out")
    with (tmp_path / "out" / "counts.csv").open(newline="", encoding="utf-8") as file:
        cells = [cell for row in csv.reader(file) for cell in row]
    assert any("cmd" in cell for cell in cells)
    assert not [cell for cell in cells if cell[:1] in set("=+-@\t\r＝＋－＠")]
    second = open_book("second")
    import_package(second, tmp_path / "out", by="x", resolve=resolve)
    assert second.snapshot().table(Count) == book.snapshot().table(Count)
    assert [row.note for row in second.snapshot().table(Count)][1:] == nasty


def test_exporting_again_replaces_an_earlier_package_and_nothing_else(book, resolve, tmp_path):
    import_package(book, OTHER_FARM, by="Ema", resolve=resolve)
    target = tmp_path / "out"
    export_package(book, target)
    (target / "cards.csv").write_text("spoiled")
    export_package(book, target)
    assert "Norte" in (target / "cards.csv").read_text()
    (target / "mine.txt").write_text("keep")
    with pytest.raises(OutpaceError, match=r"holds `mine.txt`"):
        export_package(book, target)
    assert (target / "mine.txt").read_text() == "keep"


def test_many_climate_rows_leave_in_one_file_a_year(book, open_book, resolve, tmp_path, monkeypatch):
    monkeypatch.setattr("outpace.records.export.MOST_CLIMATE_ROWS", 10)
    book.record([FARM, HOUSE, *hours(30, start=datetime(2025, 12, 31, 12, tzinfo=UTC))], by="Ana")
    export_package(book, tmp_path / "out")
    assert {"climate-2025.csv", "climate-2026.csv"} <= set(files_of(tmp_path / "out"))
    second = open_book("second")
    import_package(second, tmp_path / "out", by="x", resolve=resolve)
    assert second.snapshot().table(Climate) == book.snapshot().table(Climate)


def test_a_repeated_local_hour_is_told_apart_by_the_order_of_rows(book, resolve, tmp_path):
    book.record([FARM, HOUSE], by="Ana")
    # Source: clocks in Madrid went back from 03:00 to 02:00 on 25 October 2026 (time zone database).
    times = ["01:00", "01:30", "02:00", "02:30", "02:00", "02:30", "03:00"]
    text = "house,time,temperature_degc\n" + "".join(
        f"T1,2026-10-25T{time},{10 + at}\n" for at, time in enumerate(times)
    )
    (tmp_path / "climate.csv").write_text(text)
    import_package(book, tmp_path / "climate.csv", by="Ana", resolve=resolve)
    rows = book.snapshot().table(Climate)
    assert [row.temperature_degc for row in rows] == [10.0, 11.0, 12.0, 13.0, 14.0, 15.0, 16.0]
    assert {(b.time - a.time).total_seconds() for a, b in itertools.pairwise(rows)} == {1800.0}
    # The same file, newest row first.
    head, *lines = text.splitlines()
    (tmp_path / "climate.csv").write_text("\n".join([head, *reversed(lines)]) + "\n")
    assert import_package(book, tmp_path / "climate.csv", by="Ana", resolve=resolve).same == 7


def test_planned_sprays_may_lie_ahead_and_are_known_now(book, resolve, tmp_path):
    book.record([FARM, HOUSE], by="Ana")
    (tmp_path / "sprays.csv").write_text("spray,house,start,kind\ns1,T1,2026-12-01T07:00,soap\n")
    import_package(book, tmp_path / "sprays.csv", by="Ana", resolve=resolve)
    assert book.snapshot().table(Spray)[0].start == datetime(2026, 12, 1, 6, tzinfo=UTC)


def test_time_as_it_was_written_is_kept_in_the_history(book, resolve, tmp_path):
    book.record([FARM, HOUSE], by="Ana")
    (tmp_path / "walks.csv").write_text("walk,house,time,unit,chosen\nw7,T1,2026-11-19 10:00,leaf,random\n")
    import_package(book, tmp_path / "walks.csv", by="Ana", resolve=resolve)
    import sqlalchemy as sa

    with book.engine.connect() as connection:
        content = connection.execute(
            sa.text("SELECT content FROM events WHERE key = '[\"w7\"]'")
        ).scalar_one()
    told = json.loads(content)
    assert told["row"]["time"] == "2026-11-19T09:00:00Z"
    assert told["written"] == {"time": "2026-11-19 10:00"}


def test_a_descriptor_may_name_files_otherwise_than_their_tables(book, other_farm, resolve, tmp_path):
    (other_farm / "cards.csv").rename(other_farm / "sticky.csv")
    descriptor = json.loads((other_farm / "datapackage.json").read_text())
    for resource in descriptor["resources"]:
        if resource["name"] == "cards":
            resource["path"] = "sticky.csv"
    (other_farm / "datapackage.json").write_text(json.dumps(descriptor))
    assert import_package(book, other_farm, by="Ema", resolve=resolve).read["cards"] == 3


def test_an_empty_book_cannot_be_taken_for_a_full_one(book, tmp_path):
    export_package(book, tmp_path / "out.zip")
    with zipfile.ZipFile(tmp_path / "out.zip") as archive:
        assert archive.namelist() == ["datapackage.json"]


def test_an_erased_name_leaves_empty(book, resolve, tmp_path):
    book.record([*START, COUNT], by="Ana")
    book.erase_person("Ana", by="Bo")
    export_package(book, tmp_path / "out")
    assert b"Ana" not in b"".join(files_of(tmp_path / "out").values())
