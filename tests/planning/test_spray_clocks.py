"""No entered interval is broken, and nothing that was not entered is read as zero."""

from __future__ import annotations

import doctest
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from outpace.planning import spray_clocks
from outpace.planning.spray_clocks import clocks_of, earliest, holding
from outpace.terms.upkeep import Spray

PARIS = ZoneInfo("Europe/Paris")
ZONES = [
    ZoneInfo(name) for name in ("Europe/Paris", "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata")
]


def spray(**told):
    start = told.pop("start", datetime(2026, 4, 20, 18, tzinfo=UTC))
    return Spray(spray="s", farm="f", house="h", start=start, **told)


FULL = {
    "end": datetime(2026, 4, 20, 19, tzinfo=UTC),
    "reentry_h": 12.0,
    "harvest_interval_d": 3.0,
    "residual_d": 7.0,
    "residual_enemy_share": 0.3,
    "bees_out_until": datetime(2026, 4, 21, 19, tzinfo=UTC),
}


def test_each_clock_ends_its_entered_time_after_the_end():
    clocks = clocks_of(spray(**FULL), PARIS, bees_in=True)
    # Source: counted on a calendar by hand; the end is 19:00 UTC, which is 21:00 in Paris in April.
    assert clocks.reentry.until == datetime(2026, 4, 21, 9, tzinfo=PARIS)
    assert clocks.picking.until == datetime(2026, 4, 23, 21, tzinfo=PARIS)
    assert clocks.release.until == datetime(2026, 4, 27, 21, tzinfo=PARIS)
    assert clocks.bees.until == datetime(2026, 4, 21, 21, tzinfo=PARIS)
    assert clocks.lacks == ()
    # No figure of ventilation is kept, so a person has to see to it, always.
    assert clocks.ventilation.until is None


def test_an_undeclared_spray_leaves_no_clock_at_zero():
    clocks = clocks_of(spray(), PARIS, bees_in=True)
    for clock in (clocks.reentry, clocks.ventilation, clocks.picking, clocks.bees, clocks.release):
        assert clock.until is None
        assert clock.holds(date(2126, 4, 20), PARIS)
        assert clock.state(datetime(2126, 4, 20, tzinfo=UTC)) == "unknown"
    assert len(clocks.lacks) == 5


@pytest.mark.parametrize(
    ("missing", "held"),
    [
        ("end", {"reentry", "picking", "release", "bees"}),
        ("reentry_h", {"reentry", "picking", "release"}),
        ("harvest_interval_d", {"picking"}),
        ("residual_d", {"release"}),
        ("bees_out_until", {"bees"}),
    ],
)
def test_each_missing_entry_stops_its_own_clocks_and_no_others(missing, held):
    clocks = clocks_of(spray(**{**FULL, missing: None}), PARIS, bees_in=None)
    stopped = {
        name for name in ("reentry", "picking", "release", "bees") if getattr(clocks, name).until is None
    }
    assert stopped == held
    assert len(clocks.lacks) == 1


def test_only_an_entered_zero_is_zero():
    zero = clocks_of(
        spray(**{**FULL, "reentry_h": 0.0, "harvest_interval_d": 0.0, "residual_d": 0.0}),
        PARIS,
        bees_in=False,
    )
    assert zero.reentry.until == zero.picking.until == zero.release.until == FULL["end"]
    told_clean = clocks_of(
        spray(**{**FULL, "residual_d": None, "residual_enemy_share": 0.0}), PARIS, bees_in=True
    )
    assert told_clean.release.until == told_clean.reentry.until


def test_nobody_picks_or_releases_while_nobody_may_go_in():
    clocks = clocks_of(spray(**{**FULL, "reentry_h": 1000.0}), PARIS, bees_in=True)
    assert clocks.picking.until == clocks.release.until == clocks.reentry.until


def test_bees_that_are_back_before_the_end_were_not_kept_out():
    early = {**FULL, "bees_out_until": FULL["end"] - timedelta(minutes=1)}
    assert clocks_of(spray(**early), PARIS, bees_in=True).bees.until is None


def test_a_house_without_bees_waits_for_none_and_one_not_told_of_does():
    none = {**FULL, "bees_out_until": None}
    assert clocks_of(spray(**none), PARIS, bees_in=False).bees.state(FULL["end"]) == "none"
    assert clocks_of(spray(**none), PARIS, bees_in=None).bees.state(FULL["end"]) == "unknown"


def test_the_night_of_summer_time_takes_no_hour_off_an_interval():
    # Source: in Paris the clock went from 02:00 to 03:00 on 29 March 2026; 28 March 20:00 is 19:00 UTC.
    end = datetime(2026, 3, 28, 20, tzinfo=PARIS)
    told = {**FULL, "start": end, "end": end, "reentry_h": 12.0, "harvest_interval_d": 1.0}
    clocks = clocks_of(spray(**told), PARIS, bees_in=False)
    assert clocks.reentry.until == datetime(2026, 3, 29, 9, tzinfo=PARIS)
    assert clocks.reentry.until.astimezone(UTC) - end.astimezone(UTC) == timedelta(hours=12)
    assert clocks.picking.until == datetime(2026, 3, 29, 21, tzinfo=PARIS)


def test_the_hour_that_comes_twice_is_told_apart():
    # Source: in Paris the clock went from 03:00 back to 02:00 on 25 October 2026, at 01:00 UTC.
    end = datetime(2026, 10, 24, 22, tzinfo=UTC)
    told = {**FULL, "start": end, "end": end}
    first = clocks_of(spray(**{**told, "reentry_h": 2.5}), PARIS, bees_in=False).reentry
    second = clocks_of(spray(**{**told, "reentry_h": 3.1}), PARIS, bees_in=False).reentry
    # By the wall the longer wait ends earlier: 02:06 the second time, after 02:30 the first time.
    assert (first.until.astimezone(PARIS).hour, second.until.astimezone(PARIS).minute) == (2, 6)
    assert earliest([second, first], end) == second.until
    assert holding([second, first], date(2026, 10, 25), PARIS) == second


def test_a_planned_spray_holds_nothing_before_it_begins():
    clock = clocks_of(spray(**FULL), PARIS, bees_in=True).release
    assert not clock.holds(date(2026, 4, 19), PARIS)
    assert clock.holds(date(2026, 4, 20), PARIS)
    assert clock.state(datetime(2026, 4, 19, tzinfo=UTC)) == "not begun"


def test_figures_beyond_any_calendar_count_as_not_known():
    clocks = clocks_of(spray(**{**FULL, "reentry_h": 1e300, "residual_d": float("nan")}), PARIS, bees_in=True)
    assert clocks.reentry.until is None
    assert clocks.release.until is None


maybe_hours = st.none() | st.floats(0, 500)
maybe_days = st.none() | st.floats(0, 90)
minutes = st.integers(0, 3 * 365 * 24 * 60)


@st.composite
def sprays(draw):
    start = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=draw(minutes))
    lasts = draw(st.none() | st.integers(0, 2000))
    back = draw(st.none() | st.integers(-2000, 20000))
    return spray(
        start=start,
        end=None if lasts is None else start + timedelta(minutes=lasts),
        reentry_h=draw(maybe_hours),
        harvest_interval_d=draw(maybe_days),
        residual_d=draw(maybe_days),
        residual_enemy_share=draw(st.none() | st.sampled_from([0.0, 0.2, 1.0])),
        bees_out_until=None if back is None else start + timedelta(minutes=back),
    )


@settings(max_examples=500, deadline=None)
@given(
    st.lists(sprays(), min_size=1, max_size=5),
    st.sampled_from(ZONES),
    st.sampled_from([True, False, None]),
    minutes,
)
def test_no_calendar_breaks_an_entered_interval_or_reads_an_unknown_as_zero(rows, zone, bees_in, ahead):
    every = [clocks_of(row, zone, bees_in=bees_in) for row in rows]
    for row, clocks in zip(rows, every, strict=True):
        ends = [
            (clocks.reentry, [row.reentry_h]),
            (clocks.picking, [row.reentry_h, row.harvest_interval_d and 24 * row.harvest_interval_d]),
            (clocks.release, [row.reentry_h, row.residual_d and 24 * row.residual_d]),
        ]
        for clock, hours in ends:
            entered = [value for value in hours if value is not None]
            if clock.until is not None:
                assert row.end is not None
                waited = (clock.until.astimezone(UTC) - row.end.astimezone(UTC)) / timedelta(hours=1)
                assert all(waited >= value - 1e-6 for value in entered)
            clean = clock is clocks.release and row.residual_enemy_share == 0 and row.residual_d is None
            missing = row.end is None or len(entered) < len(hours) - clean
            assert (clock.until is None) == missing
        if clocks.bees.until is not None:
            assert clocks.bees.until == row.bees_out_until
            assert clocks.bees.until >= row.end
        elif clocks.bees.applies:
            assert row.bees_out_until is None or row.end is None or row.bees_out_until < row.end

    releases = [clocks.release for clocks in every]
    now = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=ahead)
    free = earliest(releases, now)
    if free is None:
        assert any(clock.until is None for clock in releases)
    else:
        assert free >= now
        assert not any(
            clock.begins <= free and (clock.until is None or free < clock.until) for clock in releases
        )
    day = now.astimezone(zone).date()
    held = holding(releases, day, zone)
    assert (held is None) == (not any(clock.holds(day, zone) for clock in releases))
    # By definition of a day of the farm: any hour of it that lies inside a clock is held.
    for hour in range(25):
        moment = datetime(day.year, day.month, day.day, tzinfo=zone).astimezone(UTC) + timedelta(hours=hour)
        if moment.astimezone(zone).date() == day and any(
            clock.begins <= moment and (clock.until is None or moment < clock.until) for clock in releases
        ):
            assert held is not None


def test_the_examples_of_the_docstrings_are_true():
    told = doctest.testmod(spray_clocks)
    assert told.attempted > 3
    assert told.failed == 0
