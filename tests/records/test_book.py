"""The book keeps what it is told, once, and says what was known when."""

from __future__ import annotations

import dataclasses
from datetime import UTC, date, datetime, timedelta

import pytest
import sqlalchemy as sa
from tests.records.rows import COUNT, FARM, HOUSE, START, WALK, hours

from outpace.errors import ManyErrors, OutpaceError
from outpace.records.book import Book
from outpace.records.store import default_book_url
from outpace.terms.enemies import Lot, Pack, Release
from outpace.terms.place import ActionLevel, Climate, Farm, House, Zone
from outpace.terms.scouting import Count, Walk, WalkLine

NOVEMBER_4 = datetime(2026, 11, 4, tzinfo=UTC)


def test_what_is_recorded_comes_back_as_it_was(book):
    book.record(START, by="Ana")
    known = book.snapshot()
    assert known.table(Farm) == (FARM,)
    assert known.table(House) == (HOUSE,)
    assert known.table(Walk) == (WALK,)
    assert known.table(Count) == (COUNT,)


def test_dates_booleans_and_a_renamed_column_keep_their_types(book):
    pack = Pack(
        supplier="S",
        enemy="aphidius_ervi",
        form="mummies",
        pack_size=250,
        valid_from=date(2026, 9, 1),
        label_counts="unknown",
        price=30.0,
        cutoff_weekday="Mon",
        delivery_weekday="Tue Fri",
    )
    level = ActionLevel(farm="F", house="T1", pest="any", unit="leaf", level=0.5, since=date(2026, 10, 1))
    zone = Zone(farm="F", house="T1", zone="A", door=False)
    book.record([*START, pack, level, zone], by="Ana")
    known = book.snapshot()
    assert known.table(Pack) == (pack,)
    assert known.table(ActionLevel) == (level,)
    assert known.table(Zone)[0].door is False


def test_the_same_rows_again_change_nothing(book):
    first = book.record(START, by="Ana")
    head = book.head()
    again = book.record(START, by="Bo")
    assert (first.new, again.new, again.same) == (4, 0, 4)
    assert book.head() == head


def test_a_known_key_with_other_content_is_a_conflict_and_nothing_is_written(book):
    book.record(START, by="Ana")
    before = book.head(), book.row_counts()
    other = dataclasses.replace(COUNT, aphids="3")
    fresh = Count(walk="w1", unit_no=2, pest="any", aphids="1")
    done = book.record([other, fresh], by="Bo")
    assert not done.written
    assert [dict(conflict.differs) for conflict in done.conflicts] == [{"aphids": ("0", "3")}]
    assert "aphids is 0, offered 3" in done.conflicts[0].text()
    assert (book.head(), book.row_counts()) == before


def test_a_correction_is_kept_beside_what_it_corrects(book):
    book.record(START, by="Ana", recorded=datetime(2026, 11, 3, 10, tzinfo=UTC))
    other = dataclasses.replace(COUNT, aphids="3")
    done = book.record([other], by="Bo", correct=True, why="misread")
    assert done.corrected == 1
    assert book.snapshot().table(Count) == (other,)
    assert book.snapshot(NOVEMBER_4).table(Count) == (COUNT,)
    versions = book.history(Count, "w1", 1, "any").versions
    assert [(v.row.aphids, v.by, v.why) for v in versions] == [("0", "Ana", None), ("3", "Bo", "misread")]


def test_a_correction_is_never_known_before_what_it_corrects(book):
    book.record(START, by="Ana", recorded=datetime(2026, 11, 10, tzinfo=UTC))
    second = dataclasses.replace(COUNT, aphids="3")
    book.record([second], by="Bo", correct=True, recorded=datetime(2026, 11, 5, tzinfo=UTC))
    assert book.snapshot(datetime(2026, 11, 6, tzinfo=UTC)).table(Count) == ()
    assert book.snapshot(datetime(2026, 11, 11, tzinfo=UTC)).table(Count) == (second,)


def test_a_snapshot_speaks_from_what_was_known_not_from_what_had_happened(book):
    book.record(START, by="Ana", recorded=datetime(2026, 11, 6, tzinfo=UTC))
    assert book.snapshot(NOVEMBER_4).table(Walk) == ()
    assert book.snapshot(datetime(2026, 11, 7, tzinfo=UTC)).table(Walk) == (WALK,)


def test_one_head_means_the_same_rows(book):
    book.record([FARM, HOUSE, WALK], by="Ana", recorded=datetime(2026, 11, 1, tzinfo=UTC))
    book.record([COUNT], by="Ana", recorded=datetime(2026, 11, 3, tzinfo=UTC))
    # An entry told late to have been known early: its place in the chain and in time differ.
    late = Count(walk="w1", unit_no=2, pest="any", aphids="1")
    book.record([late], by="Ana", recorded=datetime(2026, 11, 2, tzinfo=UTC))
    book.record(hours(30), by="Ana", recorded=datetime(2026, 11, 5, tzinfo=UTC))
    moments = [datetime(2026, 10, 31, tzinfo=UTC) + timedelta(hours=12 * step) for step in range(14)]
    rows_of: dict[str, object] = {}
    for moment in moments:
        known = book.snapshot(moment)
        assert rows_of.setdefault(known.head, known.rows) == known.rows
    assert len(rows_of) == 5
    assert book.snapshot(datetime(2026, 11, 19, tzinfo=UTC)).head == book.head() == book.snapshot().head


def test_rows_are_sorted_by_key_with_empty_cells_first(book):
    counts = [Count(walk="w1", unit_no=n, pest="any", aphids="1") for n in (10, 2, 9)]
    book.record([*START, *counts], by="Ana")
    assert [row.unit_no for row in book.snapshot().table(Count)] == [1, 2, 9, 10]
    book.record([*hours(2, sensor="s1"), *hours(2)], by="Ana")
    assert [row.sensor for row in book.snapshot().table(Climate)] == [None, None, "s1", "s1"]


def test_a_withdrawn_row_is_gone_now_and_still_there_then(book):
    book.record(START, by="Ana", recorded=datetime(2026, 11, 3, 10, tzinfo=UTC))
    assert book.withdraw(Count, "w1", 1, "any", by="Bo", why="wrong walk").withdrawn == 1
    assert book.snapshot().table(Count) == ()
    assert book.snapshot(NOVEMBER_4).table(Count) == (COUNT,)
    assert book.verify() == []


def test_a_withdrawn_row_does_not_come_back_unasked(book):
    book.record(START, by="Ana")
    book.withdraw(Count, "w1", 1, "any", by="Bo")
    again = book.record([COUNT], by="Ana")
    assert [dict(conflict.differs) for conflict in again.conflicts] == [{"withdrawn": ("yes", "no")}]
    assert book.record([COUNT], by="Ana", correct=True).corrected == 1
    assert book.snapshot().table(Count) == (COUNT,)


def test_a_row_that_others_name_cannot_be_withdrawn(book):
    book.record([*START, *hours(3)], by="Ana")
    before = book.head()
    with pytest.raises(OutpaceError, match="still name it"):
        book.withdraw(House, "F", "T1", by="Bo")
    with pytest.raises(OutpaceError, match="`counts` still name it"):
        book.withdraw(Walk, "w1", by="Bo")
    assert book.head() == before


def test_withdrawing_what_is_not_there_is_an_error(book):
    with pytest.raises(OutpaceError, match="does not exist"):
        book.withdraw(Walk, "w9", by="Bo")


def test_rows_that_lean_on_nothing_are_refused_with_a_near_name(book):
    book.record(START, by="Ana")
    before = book.head(), book.row_counts()
    with pytest.raises(OutpaceError) as told:
        book.record([dataclasses.replace(WALK, walk="w2", house="TI")], by="Ana")
    assert told.value.what == "house `TI` does not exist"
    assert told.value.allowed == "known: T1"
    assert told.value.hint == "did you mean `T1`?"
    release = Release(release="r1", farm="F", house="T1", time=WALK.time, lot="L1", number=10)
    with pytest.raises(OutpaceError, match="lot `L1` does not exist, there is no lot yet"):
        book.record([release], by="Ana")
    assert (book.head(), book.row_counts()) == before


def test_rows_may_lean_on_rows_that_come_with_them(book):
    lot = Lot(
        lot="L1", enemy="aphidius_ervi", form="mummies", label_counts="units_in_pack", labelled_number=250
    )
    release = Release(release="r1", farm="F", house="T1", time=WALK.time, lot="L1", number=10)
    assert book.record([release, lot, COUNT, WALK, HOUSE, FARM], by="Ana").new == 6


def test_a_zone_must_be_listed_where_the_house_lists_its_zones(book):
    book.record(START, by="Ana")
    counts = [
        dataclasses.replace(COUNT, unit_no=2, zone="A"),
        dataclasses.replace(COUNT, unit_no=3, zone="X"),
    ]
    assert book.record(counts[:1], by="Ana").new == 1
    book.record([Zone(farm="F", house="T1", zone="A"), Zone(farm="F", house="T1", zone="B")], by="Ana")
    with pytest.raises(OutpaceError, match="zone `X` of house `T1` does not exist, zones: A, B"):
        book.record(counts[1:], by="Ana")


def test_all_faults_of_a_batch_are_told_together_and_nothing_is_written(book):
    book.record(START, by="Ana")
    before = book.head(), book.row_counts()
    bad = [
        dataclasses.replace(HOUSE, house="T2", area_m2=0.0),
        Count(walk="w1", unit_no=2, pest="any", aphids="-3"),
        dataclasses.replace(WALK, walk="w2", time=datetime(2026, 12, 24, tzinfo=UTC)),
        WalkLine(walk="w1", pest="any", looked_at=5, infested=9),
    ]
    with pytest.raises(ManyErrors) as told:
        book.record([*bad, Count(walk="w1", unit_no=3, pest="any", aphids="1")], by="Ana")
    lines = [error.line() for error in told.value.errors]
    assert len(lines) == 4
    assert "area 0 m², must be above 0" in lines[0]
    assert "aphids -3, must not be negative" in lines[1]
    assert "lies in the future" in lines[2]
    assert "infested 9 is more than looked_at 5" in lines[3]
    assert (book.head(), book.row_counts()) == before


@pytest.mark.parametrize(
    ("text", "behind"),
    [("10-Apr", "4to10"), ("Apr-10", "4to10"), ("04.10.2026", "4to10"), ("3/1/2026", "1to3")],
)
def test_a_class_that_became_a_date_is_named(book, text, behind):
    book.record(START, by="Ana")
    with pytest.raises(OutpaceError, match="is a date") as told:
        book.record([Count(walk="w1", unit_no=2, pest="any", aphids=text)], by="Ana")
    assert told.value.hint.endswith(f"write {behind}")


def test_a_date_that_became_a_number_is_not_taken_for_aphids(book):
    book.record(START, by="Ana")
    # Source: the day number of 10 April 2026 counted from 30 December 1899, as spreadsheets store dates.
    serial = (date(2026, 4, 10) - date(1899, 12, 30)).days
    with pytest.raises(OutpaceError, match="above the limit") as told:
        book.record([Count(walk="w1", unit_no=2, pest="any", aphids=str(serial))], by="Ana")
    assert "4to10" in told.value.hint


def test_two_houses_that_differ_in_capitals_only_are_refused(book):
    book.record(START, by="Ana")
    with pytest.raises(OutpaceError, match="two houses of one name"):
        book.record([dataclasses.replace(HOUSE, house="t1")], by="Ana")


def test_an_entry_by_nobody_is_refused(book):
    with pytest.raises(OutpaceError, match="nobody is named"):
        book.record(START, by=" ")


def test_a_name_can_be_erased_and_every_chain_stays_valid(book):
    book.record(START, by="Ana")
    head = book.head()
    assert book.erase_person("Ana", by="Bo", why="asked for it") == 1
    assert book.snapshot().table(Walk)[0].scout == "(erased)"
    assert book.history(Walk, "w1").versions[0].by == "(erased)"
    assert book.verify() == []
    assert book.head() != head, "the erasure itself is an event"
    with book.engine.connect() as connection:
        text = str(connection.execute(sa.text("SELECT * FROM events")).all())
    assert "Ana" not in text
    assert book.record([WALK], by="Bo").same == 1, "an old file brings no erased name back"


def test_climate_since_leaves_older_hours_out(book):
    book.record([*START, *hours(48)], by="Ana")
    since = datetime(2026, 10, 2, tzinfo=UTC)
    found = book.snapshot(climate_since=since).table(Climate)
    assert (len(found), found[0].time) == (24, since)


def test_a_book_is_made_only_when_asked(tmp_path):
    with pytest.raises(OutpaceError, match="there is no book"):
        Book.open(tmp_path / "none.book")
    assert not (tmp_path / "none.book").exists()


def test_a_file_that_is_no_book_is_refused_and_left_alone(tmp_path):
    place = tmp_path / "walks.csv"
    place.write_text("walk,farm\n" * 100)
    with pytest.raises(OutpaceError, match="is not a book"):
        Book.open(place, create=True)
    assert place.read_text() == "walk,farm\n" * 100
    with pytest.raises(OutpaceError, match="is a folder"):
        Book.open(tmp_path, create=True)


def test_the_default_book_is_what_the_setting_names_else_in_the_data_folder(monkeypatch):
    monkeypatch.setenv("OUTPACE_BOOK", "postgresql://host/farm")
    assert default_book_url() == "postgresql://host/farm"
    monkeypatch.delenv("OUTPACE_BOOK")
    monkeypatch.setenv("XDG_DATA_HOME", "/data")
    monkeypatch.setattr("sys.platform", "linux")
    assert default_book_url() == "/data/outpace/farm.book"
