"""Typed days and times: read in the farm's time, refused where they mean nothing or two things."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from outpace.errors import OutpaceError
from outpace.season.moments import day, end_of, moment, time_zone

PARIS = ZoneInfo("Europe/Paris")
NOW = datetime(2026, 4, 20, 8, 30, 15, 77, tzinfo=UTC)


def at(text, now=NOW):
    return moment(text, PARIS, where="`--on`", now=now)


def test_a_day_means_its_noon_and_today_before_noon_means_now():
    assert at("2026-04-18").isoformat() == "2026-04-18T12:00:00+02:00"
    # 08:30 UTC is 10:30 in Paris in April: noon is still to come.
    assert at("today").isoformat() == "2026-04-20T10:30:15+02:00"
    assert at("yesterday").isoformat() == "2026-04-19T12:00:00+02:00"
    assert at(None).isoformat() == "2026-04-20T10:30:15+02:00"


def test_a_time_of_day_alone_means_today():
    assert at("9:05").isoformat() == "2026-04-20T09:05:00+02:00"


def test_an_offset_that_is_written_is_kept():
    assert at("2026-04-18T09:00+05:30").isoformat() == "2026-04-18T09:00:00+05:30"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        # Source: clocks in the EU change at 01:00 UTC on the last Sundays of March and October.
        ("2026-03-29T02:30", "skipped"),
        ("2026-10-25T02:30", "twice"),
    ],
)
def test_the_hours_of_the_clock_change_are_refused_with_a_way_to_write_them(text, told):
    with pytest.raises(OutpaceError, match=told) as caught:
        at(text, datetime(2027, 1, 1, tzinfo=UTC))
    assert "offset" in caught.value.hint


@pytest.mark.parametrize("text", ["20.4.2026", "04/20/2026", "2026-13-01", "soon", "", "2026-04-20T25:00"])
def test_what_is_no_date_is_refused(text):
    with pytest.raises(OutpaceError, match="no date"):
        at(text)


def test_as_of_a_day_means_its_end_at_the_farm():
    assert end_of("2026-04-18", PARIS, now=NOW).isoformat() == "2026-04-18T23:59:59+02:00"
    assert end_of("2026-04-20", PARIS, now=NOW) is None
    assert end_of(None, PARIS, now=NOW) is None


def test_as_of_a_day_to_come_is_refused():
    with pytest.raises(OutpaceError, match="future"):
        end_of("2026-04-21", PARIS, now=NOW)
    with pytest.raises(OutpaceError, match="future"):
        end_of("2026-04-20T23:00", PARIS, now=NOW)


def test_a_time_zone_that_is_mistyped_is_told_with_near_ones():
    with pytest.raises(OutpaceError, match="Europe/London"):
        time_zone("Europe/Lndon")
    assert time_zone("Europe/Paris") == PARIS


@given(st.dates(date(2000, 1, 1), date(2026, 4, 19)))
def test_every_iso_day_is_read_as_itself(found):
    assert day(found.isoformat(), where="`--on`") == found
    assert at(found.isoformat()).date() == found
