"""Typed minimum and maximum become a plain course of the day."""

from __future__ import annotations

import itertools
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from outpace.errors import OutpaceError
from outpace.intake.typed import SHAPED, TypedDay, climate_of_typed_days
from outpace.terms.place import Climate

NOW = datetime(2027, 1, 1, tzinfo=UTC)
MADRID = ZoneInfo("Europe/Madrid")


def rows_of(*days: TypedDay, now: datetime = NOW) -> list[Climate]:
    return climate_of_typed_days(days, farm="F", house="H", time_zone="Europe/Madrid", now=now)


@given(
    st.floats(-20, 40).map(lambda value: round(value, 1)),
    st.floats(0, 18).map(lambda value: round(value, 1)),
    st.dates(date(2026, 1, 1), date(2026, 12, 30)),
)
def test_a_day_alone_touches_its_two_numbers_and_never_leaves_them(low, swing, day):
    values = [row.temperature_degc for row in rows_of(TypedDay(day, low, low + swing))]
    assert min(values) == pytest.approx(low, abs=0.006)
    assert max(values) == pytest.approx(low + swing, abs=0.006)


def test_the_mean_of_a_day_alone_is_the_middle_of_its_numbers():
    # Source: a half cosine has the mean of its two ends, whatever its length (closed form).
    values = [row.temperature_degc for row in rows_of(TypedDay(date(2026, 4, 20), 10.0, 20.0))]
    assert sum(values) / 24 == pytest.approx(15.0, abs=0.05)


def test_minimum_and_maximum_stand_at_their_hours_by_the_clock_on_the_wall():
    rows = rows_of(TypedDay(date(2026, 7, 1), 12.0, 30.0))
    by_hour = {row.time.astimezone(MADRID).hour: row.temperature_degc for row in rows}
    assert (by_hour[6], by_hour[15]) == (12.0, 30.0)


@pytest.mark.parametrize(
    ("day", "hours"), [(date(2026, 3, 29), 23), (date(2026, 10, 25), 25), (date(2026, 5, 1), 24)]
)
def test_a_day_of_clock_change_has_its_own_number_of_hours(day, hours):
    rows = rows_of(TypedDay(day, 8.0, 20.0))
    assert len({row.time for row in rows}) == hours
    assert {row.time.astimezone(MADRID).date() for row in rows} == {day}


def test_the_night_between_two_typed_days_has_no_jump():
    rows = rows_of(TypedDay(date(2026, 4, 20), 8.0, 24.0), TypedDay(date(2026, 4, 21), 12.0, 18.0))
    steps = [abs(b.temperature_degc - a.temperature_degc) for a, b in itertools.pairwise(rows)]
    assert max(steps) < 3.0


def test_hours_still_to_come_are_left_out():
    now = datetime(2026, 4, 20, 10, 0, tzinfo=UTC)
    rows = rows_of(TypedDay(date(2026, 4, 20), 8.0, 24.0), now=now)
    assert rows[-1].time == now


def test_drawn_hours_say_that_they_were_not_read():
    rows = rows_of(TypedDay(date(2026, 4, 20), 8.0, 24.0))
    assert {(row.source, row.flag) for row in rows} == {("typed", SHAPED)}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (TypedDay(date(2027, 4, 20), 8, 20), "lies ahead"),
        (TypedDay(date(2026, 4, 20), 22, 20), "above maximum"),
        (TypedDay(date(2026, 4, 20), 55, 75), "75 °C"),
        (TypedDay(date(2026, 4, 20), -60, 20), "-60 °C"),
    ],
)
def test_a_day_that_cannot_have_been_is_refused(typed, said):
    with pytest.raises(OutpaceError) as told:
        rows_of(typed)
    assert said in told.value.what
    assert told.value.hint


def test_a_day_typed_twice_is_taken_once_and_with_other_numbers_refused():
    day = TypedDay(date(2026, 4, 20), 8, 20)
    assert rows_of(day, day) == rows_of(day)
    with pytest.raises(OutpaceError, match="twice"):
        rows_of(day, TypedDay(day.day, 8, 21))


def test_the_order_in_which_days_are_typed_does_not_matter():
    days = [TypedDay(date(2026, 4, 20) + timedelta(days=at), 8 + at, 20 + at) for at in range(3)]
    assert rows_of(*days) == rows_of(*days[::-1])
