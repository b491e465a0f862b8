"""Readings put right: repeated rows, order, gaps, spikes, a sensor that no longer moves."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from tests.intake.logger_files import START, VALUES, Maker, bring, half_hours, pairs, same

from outpace.errors import OutpaceError
from outpace.intake.profile import Profile

# Rows that stand twice, out of order, missing


def test_a_row_that_stands_twice_is_dropped():
    data = Maker().write([*VALUES[:50], *VALUES[40:]])
    rows, report = bring(data)
    assert len(rows) == len(VALUES)
    assert report.repeated == 10


def two_readings() -> bytes:
    time = VALUES[7][0]
    return Maker().write([*VALUES, (time, 19.0)])


def test_two_different_readings_of_one_time_are_asked_about_with_their_rows():
    with pytest.raises(OutpaceError) as told:
        bring(two_readings())
    assert "rows 9 and 122" in told.value.what
    assert "--duplicates first" in told.value.hint


@pytest.mark.parametrize(("rule", "kept"), [("first", VALUES[7][1]), ("last", 19.0), ("drop", None)])
def test_the_answer_settles_different_readings_and_flags_what_is_kept(rule, kept):
    rows, _ = bring(two_readings(), Profile(duplicates=rule))
    found = [row for row in rows if row.time == VALUES[7][0]]
    assert [row.temperature_degc for row in found] == ([] if kept is None else [kept])
    assert all(row.flag == "differs" for row in found)


def test_rows_out_of_order_are_sorted_and_counted():
    mixed = [*VALUES[:10], *VALUES[20:], *VALUES[10:20]]
    rows, report = bring(Maker().write(mixed))
    assert same([(row.time, row.temperature_degc) for row in rows], VALUES)
    assert report.out_of_order == 1


def test_gaps_are_found_and_told_with_their_length():
    _, report = bring(Maker().write([*VALUES[:20], *VALUES[30:]]))
    assert [gap.hours for gap in report.gaps] == [5.5]
    assert any("1 gaps" in line for line in report.lines())


def test_rows_that_cannot_be_read_are_named_and_a_file_full_of_them_is_refused():
    rows, report = bring(Maker(tail=("battery changed,here",)).write(VALUES))
    assert len(rows) == len(VALUES)
    assert list(report.unread.values()) == ["battery changed here"]
    broken = b"time,temp C\n" + b"2026-04-13 10:00,20\n" * 6 + b"gone,20\n" * 5
    with pytest.raises(OutpaceError, match="5 of 11 rows"):
        bring(broken)


def test_readings_of_every_ten_minutes_are_all_kept():
    values = half_hours(START, 300, minutes=10)
    assert same(pairs(Maker().write(values)), values)


# Flags


def hourly(values: list[float]) -> bytes:
    start = datetime(2026, 4, 13, 0, 0, tzinfo=UTC)
    return Maker().write([(start + timedelta(hours=at), value) for at, value in enumerate(values)])


def test_a_spike_is_flagged_and_a_real_rise_is_not():
    rows, _ = bring(hourly([15, 15, 16, 34, 16, 17, 24, 32, 33, 33]))
    assert [row.temperature_degc for row in rows if row.flag == "spike"] == [34]


def test_a_sensor_that_no_longer_moves_is_flagged_after_a_day():
    rows, _ = bring(hourly([15.0, 16.0] * 5 + [17.0] * 40 + [18.0]))
    stuck = [row for row in rows if row.flag == "stuck"]
    assert len(stuck) == 16
    assert {row.temperature_degc for row in stuck} == {17.0}


def test_a_longer_export_flags_the_same_rows_as_a_shorter_one():
    values = [15.0, 16.0] * 5 + [17.0] * 40
    short, _ = bring(hourly(values))
    long, _ = bring(hourly([*values, *[17.0] * 10, 19.0]))
    assert long[: len(short)] == short


def test_an_unlikely_value_is_flagged_and_kept():
    rows, _ = bring(hourly([44, 49, 52, 53, 48, 44]))
    assert [row.flag for row in rows] == [None, None, "unlikely", "unlikely", None, None]
