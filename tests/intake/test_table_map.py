"""Counts from tables that people keep, CSV and workbook."""

from __future__ import annotations

import io
import zipfile
from datetime import UTC, date, datetime

import pytest
import xlsxwriter

from outpace.errors import ManyErrors, OutpaceError
from outpace.intake.table_map import TableMap, fingerprint, preview_table, read_counts
from outpace.terms.scouting import Count, Mummies, Walk, WalkLine

KNOWN = {"green peach aphid": "myzus_persicae", "myzus persicae": "myzus_persicae", "unknown": "unknown"}


def species(name: str) -> str:
    if name.casefold() not in KNOWN:
        raise OutpaceError(f"no aphid called {name!r}", allowed="near: green peach aphid", hint="check it")
    return KNOWN[name.casefold()]


def bring(data: bytes, told: TableMap | None = None, **more):
    return read_counts(data, told, farm="F", time_zone="Europe/Madrid", species=species, **more)


PLANTS = (
    b"Date,Tunnel,Plant,Species,Aphids,Mummies,Weather\n"
    b"13/04/2026,T1,3,green peach aphid,12,2,fine\n"
    b"13/04/2026,T1,4,green peach aphid,0,0,fine\n"
    b"13/04/2026,T2,1,green peach aphid,4to10,,fine\n"
    b"13/04/2026,T2,2,,,,\n"
)


def test_a_row_a_plant_becomes_walks_with_counts():
    rows = bring(PLANTS)
    walks = [row for row in rows if isinstance(row, Walk)]
    counts = [row for row in rows if isinstance(row, Count)]
    mummies = [row for row in rows if isinstance(row, Mummies)]
    assert [(walk.house, walk.looked_at) for walk in walks] == [("T1", 2), ("T2", 1)]
    assert [(one.plant, one.aphids, one.pest) for one in counts] == [
        ("3", "12", "myzus_persicae"),
        ("4", "0", "myzus_persicae"),
        ("1", "4to10", "myzus_persicae"),
    ]
    assert [one.closed for one in mummies] == [2, 0]


def test_a_column_that_means_nothing_to_the_book_is_left_out_by_name():
    assert preview_table(PLANTS).left_out == ("Weather",)


def test_a_row_a_walk_becomes_one_line_walks():
    head = b"fecha;invernadero;revisadas;infestadas;pulgones;momias\n"
    data = head + b"13.04.2026;Norte;30;0;;\n20.04.2026;Norte;30;4;60;3\n"
    rows = bring(data)
    lines = [row for row in rows if isinstance(row, WalkLine)]
    assert [
        (one.pest, one.looked_at, one.infested, one.aphids_about, one.mummies_about) for one in lines
    ] == [
        ("any", 30, 0, None, None),
        ("unknown", 30, 4, 60, 3),
    ]


def test_own_column_names_are_told_once_and_come_back_from_json():
    data = b"when,where,how many\n2026-04-13,T1,5\n"
    seen = preview_table(data)
    assert {question.code for question in seen.questions} == {"column:date", "column:aphids"}
    told = TableMap({"when": "date", "where": "house", "how many": "aphids"})
    again = TableMap.from_json(told.to_json())
    assert again == told
    assert [row.house for row in bring(data, again) if isinstance(row, Walk)] == ["T1"]
    assert fingerprint(["When", " where", "HOW MANY"]) == seen.fingerprint


def test_a_file_twice_gives_the_same_rows():
    assert bring(PLANTS) == bring(PLANTS)


def test_the_order_of_day_and_month_is_asked_where_nothing_tells_it():
    data = b"date,house,aphids\n03/04/2026,T1,5\n"
    with pytest.raises(OutpaceError) as told:
        bring(data)
    assert "--date-order day" in told.value.hint
    rows = bring(data, TableMap({}, date_order="month"))
    assert rows[0].time.date() == date(2026, 3, 4)


def test_a_day_without_a_time_is_noon_of_the_farm():
    rows = bring(b"date,house,aphids\n2026-07-03,T1,5\n")
    assert rows[0].time.astimezone(UTC) == datetime(2026, 7, 3, 10, 0, tzinfo=UTC)


def test_every_row_that_cannot_be_read_is_told_with_its_reason_and_nothing_is_read():
    data = (
        b"date,house,species,aphids\n"
        b"2026-04-13,T1,green peach aphid,-3\n"
        b"2026-04-13,T1,green peach aphid,lots\n"
        b"2026-04-13,T1,dragonfly,4\n"
        b"yesterday,T1,green peach aphid,4\n"
        b"2026-04-13,,green peach aphid,4\n"
        b"2026-04-13,T1,green peach aphid,4-Oct\n"
    )
    with pytest.raises(ManyErrors) as told:
        bring(data)
    text = told.value.text()
    assert [f"row {number}" in text for number in range(2, 8)] == [True] * 6
    assert "dragonfly" in text
    assert any("turned into a date" in error.hint for error in told.value.errors)


@pytest.mark.parametrize("cells", ["20,25", "0,0", "20,", "20,-1", "20,2.5"])
def test_a_walk_whose_numbers_cannot_be_is_refused(cells):
    with pytest.raises(OutpaceError):
        bring(f"date,house,looked at,infested\n2026-04-13,T1,{cells}\n".encode())


def test_a_told_column_or_field_that_does_not_exist_is_refused():
    for wrong in ({"colour": "date"}, {"Date": "colour"}):
        with pytest.raises(OutpaceError) as told:
            preview_table(PLANTS, TableMap(wrong))
        assert told.value.allowed


def test_two_aphids_on_a_plant_are_one_unit_and_two_leaves_of_a_plant_are_two():
    data = (
        b"date,house,plant,species,aphids\n"
        b"2026-04-13,T1,7,green peach aphid,4\n"
        b"2026-04-13,T1,7,unknown,2\n"
        b"2026-04-13,T1,7,green peach aphid,6\n"
    )
    counts = [row for row in bring(data) if isinstance(row, Count)]
    assert [one.unit_no for one in counts] == [1, 1, 2]


def workbook(rows: list[list[object]]) -> bytes:
    file = io.BytesIO()
    with xlsxwriter.Workbook(file, {"default_date_format": "yyyy-mm-dd", "remove_timezone": True}) as book:
        sheet = book.add_worksheet("counts")
        for at, row in enumerate(rows):
            for column, value in enumerate(row):
                sheet.write(at + 2, column, value)
    return file.getvalue()


def test_a_workbook_gives_the_same_rows_as_the_csv_of_it():
    rows: list[list[object]] = [["Date", "Tunnel", "Plant", "Species", "Aphids", "Mummies", "Weather"]]
    day = datetime(2026, 4, 13)
    rows += [
        [day, "T1", 3, "green peach aphid", 12, 2, "fine"],
        [day, "T1", 4, "green peach aphid", 0, 0, "fine"],
        [day, "T2", 1, "green peach aphid", "4to10", "", "fine"],
        [day, "T2", 2, "", "", "", ""],
    ]
    assert bring(workbook(rows)) == bring(PLANTS)


def test_a_class_that_a_workbook_turned_into_a_date_is_refused_with_the_way_out():
    with pytest.raises(OutpaceError) as told:
        bring(workbook([["date", "house", "aphids"], [datetime(2026, 4, 13), "T1", datetime(2026, 10, 4)]]))
    assert "format the column as text" in told.value.hint


def test_a_workbook_that_unpacks_without_end_is_refused():
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"\0" * 150_000_000)
    with pytest.raises(OutpaceError) as told:
        bring(file.getvalue())
    assert "unpacks to 150 MB" in told.value.what


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"one\n", "no table"),
        (b"date,house,aphids\n", "no table"),
        (b"date,date,aphids\n2026-04-13,2,3\n", "two columns are called 'date'"),
        (b"PK\x03\x04 broken", "damaged"),
        (bytes(range(256)) * 20, "no text"),
    ],
)
def test_what_is_no_table_is_refused_in_words(data, said):
    with pytest.raises(OutpaceError) as told:
        bring(data)
    assert said in told.value.what
    assert told.value.hint
