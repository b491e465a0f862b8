"""The two nights a year when clocks change, in logger files."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.logger_files import LATER, MADRID, Maker, Values, half_hours

from outpace.errors import OutpaceError
from outpace.intake.climate_file import preview, read
from outpace.intake.clock import check_clock, offset_seconds, resolve
from outpace.intake.profile import Profile
from outpace.intake.written_time import read_written

# Source: the rule of the European Union since 1996 (recalled): clocks go forward at 01:00 UTC on the last Sunday
# of March and back at 01:00 UTC on the last Sunday of October; in 2026 these are the 29th and the 25th.
SPRING = datetime(2026, 3, 28, 12, 0, tzinfo=UTC)
AUTUMN = datetime(2026, 10, 24, 12, 0, tzinfo=UTC)


def bring(data: bytes, clock: str | None = None):
    return read(data, farm="F", house="H", time_zone="Europe/Madrid", answers=Profile(clock=clock), now=LATER)


def times(data: bytes, clock: str | None = None) -> list[datetime]:
    return [row.time for row in bring(data, clock)[0]]


@pytest.mark.parametrize("minutes", [5, 10, 30, 60])
@pytest.mark.parametrize(("start", "hours"), [(SPRING, 23), (AUTUMN, 25)])
def test_a_logger_on_the_wall_clock_is_read_through_the_night_of_the_change(start, hours, minutes):
    values = half_hours(start, 40 * 60 // minutes, minutes=minutes)
    assert times(Maker().write(values)) == [time for time, _ in values]
    changed = (start + timedelta(days=1)).astimezone(MADRID).date()
    rows, _ = bring(Maker().write(values))
    of_that_day = [row for row in rows if row.time.astimezone(MADRID).date() == changed]
    readings = (start + timedelta(hours=40) - of_that_day[0].time) / timedelta(minutes=minutes)
    assert len(of_that_day) == min(hours * 60 // minutes, readings)


def test_the_day_of_the_change_has_23_and_25_hours():
    for first, hours in ((datetime(2026, 3, 28, 23), 23), (datetime(2026, 10, 24, 22), 25)):
        values = half_hours(first.replace(tzinfo=UTC), hours * 2)
        rows, report = bring(Maker().write(values))
        assert len({row.time for row in rows}) == hours * 2
        assert {row.time.astimezone(MADRID).date() for row in rows} == {first.date() + timedelta(days=1)}
        assert report.gaps == []


def test_newest_first_files_are_told_apart_by_row_order_too():
    values = half_hours(AUTUMN, 60)
    assert times(Maker(newest_first=True).write(values)) == [time for time, _ in values]


def test_a_repeated_row_within_the_double_hour_does_not_move_the_rest():
    values = half_hours(AUTUMN, 60)
    at = next(i for i, (time, _) in enumerate(values) if time == datetime(2026, 10, 25, 0, 30, tzinfo=UTC))
    doubled = [*values[: at + 1], values[at], *values[at + 1 :]]
    rows, report = bring(Maker().write(doubled))
    assert [row.time for row in rows] == [time for time, _ in values]
    assert report.repeated == 1


def winter_time(values: Values) -> bytes:
    return Maker(zone=ZoneInfo("Etc/GMT-1")).write(values)


def test_a_row_in_the_hour_that_was_skipped_is_asked_about():
    with pytest.raises(OutpaceError) as told:
        bring(winter_time(half_hours(SPRING, 60)))
    assert "did not exist in Europe/Madrid" in told.value.what
    assert "--clock winter" in told.value.hint
    seen = preview(winter_time(half_hours(SPRING, 60)), time_zone="Europe/Madrid", now=LATER)
    assert [question.code for question in seen.questions] == ["clock"]


def test_a_logger_that_keeps_winter_time_is_read_once_that_is_told():
    for start in (SPRING, AUTUMN, datetime(2026, 7, 1, tzinfo=UTC)):
        values = half_hours(start, 60)
        assert times(winter_time(values), "winter") == [time for time, _ in values]


def test_rows_of_the_skipped_hour_can_be_moved_forward_with_a_note():
    data = b"time,temp C\n2026-03-29 01:00,10\n2026-03-29 02:30,11\n2026-03-29 04:00,12\n"
    rows, report = bring(data, "farm")
    assert rows[1].time == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)
    assert any("moved forward" in note for note in report.notes)


def test_an_offset_that_was_told_is_used_all_year():
    data = b"time,temp C\n2026-03-29 02:30,11\n2026-07-01 12:00,12\n"
    assert times(data, "+02:00") == [
        datetime(2026, 3, 29, 0, 30, tzinfo=UTC),
        datetime(2026, 7, 1, 10, 0, tzinfo=UTC),
    ]


def test_a_double_hour_that_stands_once_is_told_as_a_caution():
    data = b"time,temp C\n" + b"".join(
        f"2026-10-25 {hour:02}:00,{10 + hour % 3}\n".encode() for hour in range(6)
    )
    _, report = bring(data)
    assert any("stands once" in note for note in report.notes)


def test_a_zone_abbreviation_in_the_cell_tells_the_two_hours_apart():
    written = read_written(["2026-10-25 02:30 CET", "2026-10-25 02:30 CEST"])
    found = resolve(written, order="day", zone=MADRID).seconds
    assert found[0] is not None
    assert found[1] == found[0] - 3600


@given(
    st.sampled_from(
        ["Europe/Madrid", "America/New_York", "Australia/Lord_Howe", "Pacific/Chatham", "Asia/Kolkata"]
    ),
    st.dates(date(2020, 1, 1), date(2029, 12, 1)),
    st.sampled_from([10, 15, 30]),
)
def test_wall_clock_rows_in_order_give_back_their_moments_in_any_zone(name, day, minutes):
    zone = ZoneInfo(name)
    first = datetime(day.year, day.month, day.day, tzinfo=UTC)
    wanted = [first + timedelta(minutes=minutes * at) for at in range(72 * 60 // minutes)]
    cells = [f"{time.astimezone(zone):%Y-%m-%d %H:%M}" for time in wanted]
    found = resolve(read_written(cells), order="day", zone=zone).seconds
    assert found == [int(time.timestamp()) for time in wanted]


@pytest.mark.parametrize("text", ["summer", "+99x", "Madrid", ""])
def test_a_clock_that_is_none_is_refused_with_the_choices(text):
    with pytest.raises(OutpaceError) as told:
        check_clock(text)
    assert "farm, winter, utc" in told.value.allowed


@pytest.mark.parametrize(
    ("text", "seconds"), [("Z", 0), ("GMT", 0), ("+02:00", 7200), ("-0330", -12600), ("UTC+5", 18000)]
)
def test_offsets_are_read_as_they_are_written(text, seconds):
    assert offset_seconds(text) == seconds


@pytest.mark.parametrize(
    ("cell", "hour"),
    [
        ("12:05 AM", 0),
        ("12:05 PM", 12),
        ("1:05 pm", 13),
        ("11:05 p. m.", 23),
        ("13:05 PM", 13),
        ("24:00", 24),
    ],
)
def test_halves_of_the_day_are_understood(cell, hour):
    (written,) = read_written([f"2026-04-13 {cell}"])
    assert written is not None
    assert written.seconds // 3600 == hour


@pytest.mark.parametrize("cell", ["25:00", "10:75", "24:30", "noon"])
def test_a_time_of_day_that_does_not_exist_is_no_time(cell):
    assert read_written([f"2026-04-13 {cell}"]) == [None]


@pytest.mark.parametrize("month", ["abril", "Apr", "APRIL", "avr.", "apr"])
def test_a_month_is_known_by_name_in_several_languages(month):
    rows = times(f"time,temp C\n13 {month} 2026 10:00,20\n13 {month} 2026 11:00,21\n".encode())
    assert rows[0] == datetime(2026, 4, 13, 8, 0, tzinfo=UTC)
