"""Bad input is refused with what, where, what is allowed and a hint, and the book stays as it was."""

from __future__ import annotations

import io
import os
import shutil
import struct
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from tests.records.conftest import OTHER_FARM, RESOLVERS, Clock
from tests.records.rows import FARM, HOUSE

from outpace.errors import ManyErrors, OutpaceError
from outpace.records import package_files
from outpace.records.book import Book
from outpace.records.exchange import import_package
from outpace.terms.enemies import Lot

Refuse = Callable[..., OutpaceError]


@pytest.fixture(scope="module")
def filled(tmp_path_factory) -> Path:
    """A book that holds the other farm with two days of climate, and beside it that package."""
    place = tmp_path_factory.mktemp("filled")
    shutil.copytree(OTHER_FARM, place / "other_farm")
    climate = place / "other_farm" / "climate.csv"
    climate.write_text("\n".join(climate.read_text().splitlines()[:49]) + "\n")
    with Book.open(place / "farm.book", create=True, clock=Clock(), device="here") as book:
        assert import_package(book, place / "other_farm", by="Ema", resolve=RESOLVERS).written
    return place


@pytest.fixture
def other_farm(filled: Path, tmp_path: Path) -> Path:
    return shutil.copytree(filled / "other_farm", tmp_path / "other_farm")


@pytest.fixture
def refuse(filled: Path, other_farm: Path, tmp_path: Path) -> Iterator[Refuse]:
    """Import what a test spoiled into a book that holds the farm, and check that the book did not change."""
    shutil.copy(filled / "farm.book", tmp_path / "filled.book")
    with Book.open(tmp_path / "filled.book", clock=Clock(), device="here") as book:

        def attempt(path=None, **how) -> OutpaceError:
            before = book.head(), book.row_counts(), book.snapshot().rows
            with pytest.raises(OutpaceError) as told:
                import_package(book, path or other_farm, by="Ema", resolve=RESOLVERS, **how)
            assert (book.head(), book.row_counts(), book.snapshot().rows) == before
            assert book.verify() == []
            return told.value

        yield attempt


def edit(file: Path, old: str, new: str) -> None:
    text = file.read_text()
    assert old in text
    file.write_text(text.replace(old, new, 1))


@pytest.mark.parametrize(
    ("name", "old", "new", "where", "what", "allowed", "hint"),
    [
        (
            "counts.csv",
            "winged",
            "wingd",
            "`counts.csv`",
            "unknown column `wingd`",
            "columns: walk, unit_no, pest",
            "did you mean `winged`?",
        ),
        (
            "houses.csv",
            "area_m2",
            "area",
            "`houses.csv`",
            "unknown column `area`",
            "area_m2",
            "did you mean `area_m2`?",
        ),
        (
            "walks.csv",
            "walk,house,time,scout,unit",
            "walk,house,time,unit,unit",
            "`walks.csv`",
            "column `unit` stands twice",
            "each name stands once",
            "",
        ),
        (
            "counts.csv",
            "N-1103,4,MACSEU,A,6",
            "N-1103,4,MACSEU,A,-6",
            "`counts.csv` row 25, column `aphids`",
            "aphids -6",
            "must not be negative",
            "leave the row out",
        ),
        (
            "mummies.csv",
            "N-1117,4,tan,3",
            "N-1117,4,tan,-3",
            "`mummies.csv` row 4, column `closed`",
            "closed -3",
            "must not be negative",
            "leave the cell empty",
        ),
        (
            "houses.csv",
            ",640,",
            ",large,",
            "`houses.csv` row 2, column `area_m2`",
            "area_m2 `large`",
            "must be a number",
            "leave the cell empty",
        ),
        (
            "climate.csv",
            "2026-10-23 02:00,",
            '2026-10-23 02:00,"11,5",60\nNorte,N1,canopy,logger,2026-10-23 02:30,',
            "`climate.csv` row 4, column `temperature_degc`",
            "temperature_degc `11,5`",
            "has a decimal comma",
            "write 11.5",
        ),
        (
            "walks.csv",
            "2026-11-17T08:30",
            "2026-12-17T08:30",
            "`walks.csv` row 5, column `time`",
            "time 2026-12-17 11:30",
            "lies in the future",
            "check day, month and year",
        ),
        (
            "walks.csv",
            "S-1118,Sur",
            "S-1118,Sür",
            "`walks.csv` row 9",
            "house `Sür` does not exist",
            "known: Norte, Sur",
            "did you mean `Sur`?",
        ),
        (
            "houses.csv",
            "Sur,chrysanthemum",
            "Norte,chrysanthemum",
            "`houses.csv` row 3",
            "house Norte stands twice",
            "first in row 2",
            "another name",
        ),
        (
            "houses.csv",
            ",640,",
            ",0,",
            "`houses.csv` row 2, column `area_m2`",
            "area 0 m²",
            "must be above 0",
            "length times width",
        ),
        (
            "climate.csv",
            "2026-10-23 02:00,",
            "2026-10-23 02:00,400,60\nNorte,N1,canopy,logger,2026-10-23 02:30,",
            "`climate.csv` row 4, column `temperature_degc`",
            "temperature 400 °C",
            "above the limit of 60 °C",
            "broken sensor",
        ),
        (
            "climate.csv",
            "2026-10-23 02:00,",
            "2026-10-23 02:00,71.5,60\nNorte,N1,canopy,logger,2026-10-23 02:30,",
            "`climate.csv` row 4, column `temperature_degc`",
            "temperature 71.5 °C",
            "above the limit of 60 °C",
            "Fahrenheit",
        ),
        (
            "counts.csv",
            "N-1110,4,MACSEU,A,4to10",
            "N-1110,4,MACSEU,A,10-Apr",
            "`counts.csv` row 45, column `aphids`",
            "aphids `10-Apr` is a date",
            "must be a whole number or one of 0, 1to3, 4to10",
            "write 4to10",
        ),
        (
            "counts.csv",
            "S-1118,11,Aphis gossypii,,11to30",
            "S-1118,11,Aphis gossypii,,30/11/2026",
            "column `aphids`",
            "is a date",
            "11to30",
            "write 11to30",
        ),
        (
            "counts.csv",
            "N-1103,4,MACSEU,A,6",
            "N-1103,4,Grenfly,A,6",
            "`counts.csv` row 25, column `pest`",
            "`Grenfly` is no species",
            "",
            "outpace facts",
        ),
        (
            "walks.csv",
            "leaf,random",
            "leaf,",
            "`walks.csv` row 2, column `chosen`",
            "is empty",
            "must be filled",
            "",
        ),
        (
            "walks.csv",
            "leaf,random",
            "leaf,any",
            "column `chosen`",
            "chosen `any`",
            "one of random, fixed, hunted",
            "",
        ),
        (
            "houses.csv",
            ",yes,yes,2,leaf",
            ",maybe,yes,2,leaf",
            "column `bees_in`",
            "`maybe`",
            "must be yes or no",
            "",
        ),
        (
            "walks.csv",
            "2026-11-17T08:30",
            "17/11/2026",
            "column `time`",
            "time `17/11/2026`",
            "must be a time like",
            "write year",
        ),
        (
            "walks.csv",
            "2026-11-17T08:30",
            "2026-11-17",
            "column `time`",
            "`2026-11-17`",
            "the time of day",
            "T09:00",
        ),
        (
            "lots.csv",
            "2026-10-27,",
            "27.10.2026,",
            "column `packed`",
            "`27.10.2026`",
            "must be a date like",
            "write year",
        ),
        (
            "checks.csv",
            "emergence,50,41",
            "emergence,50,51",
            "`checks.csv` row 2",
            "positive 51",
            "may not exceed looked_at",
            "",
        ),
        (
            "releases.csv",
            "E-2644",
            "E-2645",
            "`releases.csv` row 2",
            "lot `E-2645`",
            "known: E-2644",
            "did you mean `E-2644`?",
        ),
        (
            "allocations.csv",
            "O-31,1",
            "O-32,1",
            "`allocations.csv` row 2",
            "order line `O-32` line 1",
            "",
            "",
        ),
        (
            "counts.csv",
            "N-1103,4,MACSEU,A",
            "N-1103,4,MACSEU,C",
            "`counts.csv` row 25",
            "zone `C` of house `Norte`",
            "zones: A, B",
            "",
        ),
        (
            "cards.csv",
            ",A,1",
            ",A,1,9",
            "`cards.csv` row 2",
            "7 cells",
            "the header names 6 columns",
            "needs quotes",
        ),
        (
            "cards.csv",
            "Norte,N1,2026-10-20T08:00,",
            "Norte,N1,",
            "`cards.csv` row 2",
            "5 cells",
            "6 columns",
            "as many commas",
        ),
        (
            "farm.csv",
            "America/Santiago",
            "Santiago",
            "column `time_zone`",
            "`Santiago`",
            "must be a time zone",
            "Europe/Lisbon",
        ),
        (
            "packs.csv",
            ",12:00,",
            ",noon,",
            "column `cutoff_time`",
            "`noon`",
            "must be a time of day",
            "14:30",
        ),
        (
            "packs.csv",
            "Tue Fri",
            "Tue Fry",
            "column `delivery_weekday`",
            "`Tue Fry`",
            "one or more of Mon",
            "",
        ),
        ("harvests.csv", ",85,", ",1e999,", "column `amount`", "amount inf", "must be a number", ""),
    ],
)
def test_a_spoiled_cell_is_refused(refuse, other_farm, name, old, new, where, what, allowed, hint):
    edit(other_farm / name, old, new)
    error = refuse()
    assert where in error.where
    assert what in error.what
    assert allowed in error.allowed
    assert hint in error.hint


def test_a_missing_column_is_named(refuse, other_farm):
    (other_farm / "walk_lines.csv").write_text("walk,pest,looked_at\nS-1029,any,20\n")
    error = refuse()
    assert error.line() == (
        "`walk_lines.csv`: column `infested` is missing, needed: walk, pest, looked_at, infested"
    )


def test_all_faults_of_all_tables_are_told_together(refuse, other_farm):
    edit(other_farm / "houses.csv", ",640,", ",0,")
    edit(other_farm / "counts.csv", "N-1103,4,MACSEU,A,6", "N-1103,4,MACSEU,A,-6")
    edit(other_farm / "packs.csv", "12:00", "noon")
    error = refuse()
    assert isinstance(error, ManyErrors)
    assert [e.where.split("`")[1] for e in error.errors] == ["houses.csv", "counts.csv", "packs.csv"]


def test_a_hopeless_file_stops_after_some_errors(refuse, other_farm):
    (other_farm / "cards.csv").write_text("house,card,hung,time\n" + "a\n" * 5000)
    error = refuse()
    assert isinstance(error, ManyErrors)
    assert len(error.errors) == 200
    assert "and 180 more" in error.text()


@pytest.mark.parametrize("text", ["", "\n", " \n\n"])
def test_an_empty_file_is_refused(refuse, other_farm, text):
    (other_farm / "cards.csv").write_text(text)
    error = refuse()
    assert "`cards.csv`" in error.where
    assert error.what in ("is empty", "has no header")


def test_a_folder_without_tables_is_refused(refuse, tmp_path):
    (tmp_path / "empty").mkdir()
    assert "holds no table" in refuse(tmp_path / "empty").what


def test_a_file_of_200_mb_is_refused_before_it_is_read(refuse, other_farm):
    with (other_farm / "cards.csv").open("r+b") as file:
        file.truncate(200_000_000)  # sparse: takes no room on the disk
    error = refuse()
    assert error.line() == "`cards.csv`: is 200 MB, above the limit of 60 MB"


def test_a_stream_longer_than_it_said_is_stopped(refuse, other_farm, monkeypatch):
    monkeypatch.setattr(package_files, "MOST_BYTES_FILE", 10_000)
    original = Path.stat

    def small(self, **how):
        found = original(self, **how)
        return os.stat_result((*found[:6], min(found.st_size, 1000), *found[7:10]))

    monkeypatch.setattr(Path, "stat", small)
    with (other_farm / "climate.csv").open("a") as file:
        file.write("Sur,S1,canopy,logger,2026-11-20 00:00,15.1,78\n" * 400)
    assert "is too large" in refuse().what


def make_zip(path: Path, members: dict[str, bytes], **how) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, **how) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return path


def test_a_zip_bomb_is_refused_by_what_it_says_of_itself(refuse, tmp_path):
    header = b"house,card,hung,time\n"
    bomb = make_zip(tmp_path / "bomb.zip", {"cards.csv": header + b"," * 20_000_000})
    assert bomb.stat().st_size < 100_000
    error = refuse(bomb)
    assert "times its size" in error.what
    assert error.allowed == "at most 100 times"


def test_a_zip_that_lies_about_its_size_is_stopped_while_unpacking(refuse, tmp_path):
    content = b"house,card,hung,time\n" + b"a,b,c,d\n" * 800_000
    bomb = make_zip(tmp_path / "liar.zip", {"cards.csv": content})
    raw = bytearray(bomb.read_bytes())
    true = struct.pack("<I", len(content))
    assert raw.count(true) == 2
    bomb.write_bytes(bytes(raw).replace(true, struct.pack("<I", 1000)))
    # The archive hands out no more bytes than it declared, and those then fail their checksum.
    assert "cannot be unpacked" in refuse(bomb).what


def test_many_small_members_count_together(refuse, tmp_path, monkeypatch):
    monkeypatch.setattr(package_files, "MOST_BYTES_TOTAL", 500_000)
    noise = os.urandom(200_000).hex().encode()
    many = make_zip(tmp_path / "many.zip", {f"climate-{n}.csv": noise for n in range(4)})
    assert "above the limit" in refuse(many).allowed


def test_a_zip_in_a_zip_is_refused(refuse, tmp_path):
    inner = io.BytesIO()
    with zipfile.ZipFile(inner, "w") as archive:
        archive.writestr("walks.csv", "walk\n")
    outer = make_zip(tmp_path / "outer.zip", {"more.zip": inner.getvalue()})
    assert "a zip in the zip" in refuse(outer).what


@pytest.mark.parametrize(
    "name",
    ["../walks.csv", "a/../../walks.csv", "/etc/walks.csv", "..\\walks.csv", "C:/walks.csv", "C:walks.csv"],
)
def test_a_name_that_leads_out_of_the_zip_is_refused(refuse, tmp_path, name):
    bad = make_zip(tmp_path / "bad.zip", {name: b"walk,house,time,unit,chosen\n"})
    error = refuse(bad)
    assert "leads out of the package" in error.what
    assert error.where == "`bad.zip`"


def test_a_descriptor_that_leads_out_of_the_folder_is_refused(refuse, other_farm):
    edit(other_farm / "datapackage.json", '"path": "cards.csv"', '"path": "../cards.csv"')
    assert "leads out of the package" in refuse().what
    edit(other_farm / "datapackage.json", '"path": "../cards.csv"', '"path": "https://example.org/cards.csv"')
    assert "leads out of the package" in refuse().what


def test_a_link_that_leads_out_of_the_folder_is_refused(refuse, other_farm, tmp_path):
    outside = tmp_path / "outside.csv"
    (other_farm / "cards.csv").rename(outside)
    (other_farm / "cards.csv").symlink_to(outside)
    assert "leads out of the folder" in refuse().what


def test_a_link_in_a_zip_is_refused(refuse, tmp_path):
    with zipfile.ZipFile(tmp_path / "link.zip", "w") as archive:
        info = zipfile.ZipInfo("walks.csv")
        info.external_attr = 0o120777 << 16
        archive.writestr(info, "/etc/passwd")
    assert "is a link" in refuse(tmp_path / "link.zip").what


def test_a_pipe_is_not_waited_for(refuse, other_farm):
    (other_farm / "cards.csv").unlink()
    os.mkfifo(other_farm / "cards.csv")
    assert "is no plain file" in refuse().what


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda text: text.encode("utf-16"), "is UTF-16"),
        (lambda text: text.replace("Ema", "Émä", 1).encode("cp1252"), "byte 0xc9"),
        (lambda text: b"PK\x03\x04" + text.encode(), "is a spreadsheet file"),
        (lambda text: text.replace(",", ";").encode(), "unknown column"),
        (lambda text: text.replace("Ema", "E\x00ma", 1).encode(), ""),
        (lambda text: text.replace("Ema", "E\x07ma", 1).encode(), "unprintable"),
        (lambda text: text.replace("Ema", '"Ema', 1).encode(), ""),
        (lambda text: text.replace("Ema", "E" * 30_000, 1).encode(), "larger than"),
    ],
    ids=["utf-16", "cp1252", "xlsx", "semicolons", "nul", "bell", "open quote", "long cell"],
)
def test_a_file_that_is_not_plain_csv_in_utf8_is_refused(refuse, other_farm, spoil, told):
    walks = other_farm / "walks.csv"
    walks.write_bytes(spoil(walks.read_text()))
    error = refuse()
    assert "`walks.csv`" in error.where
    assert told in error.what


def test_a_byte_order_mark_is_no_fault(book, other_farm, resolve):
    farm = other_farm / "farm.csv"
    farm.write_bytes(b"\xef\xbb\xbf" + farm.read_bytes())
    assert import_package(book, other_farm, by="Ema", resolve=resolve).written


def test_a_table_the_book_does_not_have_is_named_with_a_near_one(refuse, other_farm):
    (other_farm / "datapackage.json").unlink()
    (other_farm / "cards.csv").rename(other_farm / "walk.csv")
    error = refuse()
    assert error.what == "`walk.csv` is no table of the book"
    assert error.hint == "did you mean `walks.csv`?"


def test_a_file_that_the_descriptor_does_not_list_is_not_passed_over(refuse, other_farm):
    (other_farm / "bankers.csv").write_text("banker,house,set_out,plants\nb1,Norte,2026-11-02T09:00,4\n")
    assert refuse().line() == "`datapackage.json`: `bankers.csv` is not listed"
    (other_farm / "bankers.csv").unlink()
    (other_farm / "cards.csv").unlink()
    assert refuse().line() == "`datapackage.json`: `cards.csv` is listed and absent"


def test_a_descriptor_that_nests_without_end_is_refused(refuse, other_farm):
    (other_farm / "datapackage.json").write_text("[" * 200_000)
    assert "cannot be read" in refuse().what


def test_the_missing_local_hour_is_refused(book, resolve, tmp_path):
    book.record([FARM, HOUSE], by="Ana")
    # Source: clocks in Madrid went from 02:00 to 03:00 on 29 March 2026 (time zone database).
    (tmp_path / "climate.csv").write_text("house,time,temperature_degc\nT1,2026-03-29T02:30,12\n")
    with pytest.raises(OutpaceError, match="does not exist: the clock was put forward"):
        import_package(book, tmp_path / "climate.csv", by="Ana", resolve=resolve)


def test_the_repeated_local_hour_is_refused_where_the_order_of_rows_cannot_tell(book, resolve, tmp_path):
    book.record([FARM, HOUSE], by="Ana")
    (tmp_path / "climate.csv").write_text(
        "house,time,temperature_degc\nT1,2026-10-25T01:00,12\nT1,2026-10-25T02:00,12\nT1,2026-10-25T03:00,12\n"
    )
    with pytest.raises(OutpaceError, match="came twice that night and stands once"):
        import_package(book, tmp_path / "climate.csv", by="Ana", resolve=resolve)
    (tmp_path / "walks.csv").write_text("walk,house,time,unit,chosen\nw1,T1,2026-10-25T02:10,leaf,random\n")
    with pytest.raises(OutpaceError, match="came twice that night"):
        import_package(book, tmp_path / "walks.csv", by="Ana", resolve=resolve)


def test_a_farm_must_be_named_where_there_are_several(book, resolve, other_farm):
    book.record([FARM, HOUSE], by="Ana")
    import_package(book, other_farm, by="Ema", resolve=resolve)
    with pytest.raises(OutpaceError, match="column `farm` is missing"):
        import_package(book, other_farm / "walks.csv", by="Ema", resolve=resolve)


def test_a_path_that_is_not_there_is_said_so(refuse, tmp_path):
    assert "does not exist" in refuse(tmp_path / "none").what
    (tmp_path / "notes.txt").write_text("x")
    assert "neither a folder, a zip nor CSV" in refuse(tmp_path / "notes.txt").what
    (tmp_path / "bad.zip").write_text("x")
    assert "is no zip" in refuse(tmp_path / "bad.zip").what


def test_a_lot_is_not_packed_after_it_came_or_after_today(book):
    lot = Lot(
        lot="L-1",
        enemy="aphidius_ervi",
        form="adults",
        label_counts="units_in_pack",
        labelled_number=250,
        packed=date(2026, 11, 14),
        arrived=datetime(2026, 11, 10, 11, tzinfo=UTC),
    )
    with pytest.raises(OutpaceError, match="packed 2026-11-14 is more than arrived 2026-11-10"):
        book.record([lot], by="Ana")
    with pytest.raises(OutpaceError, match="packed 2099-01-01, lies in the future"):
        book.record([replace(lot, packed=date(2099, 1, 1), arrived=None)], by="Ana")
    # Where the day begins first it is the 11th already: a day alone does not say where it was written.
    assert book.record([replace(lot, packed=date(2026, 11, 11))], by="Ana").new == 1
