"""Ten thousand calendars of sprays: no entered interval is broken by a release, and no unknown is read as zero."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from outpace.planning.spray_clocks import clocks_of
from outpace.season.considered import Figures
from outpace.season.sprayed import Sprayed, release_hold
from outpace.terms.upkeep import Spray

CALENDARS = 10_000
LONDON = ZoneInfo("Europe/London")
FIRST = datetime(2026, 3, 1, tzinfo=UTC)


def a_spray(luck, number):
    """Return a spray of which each figure may be missing."""
    start = FIRST + timedelta(minutes=luck.randrange(60 * 24 * 60))

    def told(*choices):
        return luck.choice((None, *choices))

    return Spray(
        spray=f"s{number}",
        farm="f",
        house="h",
        zone=told("north", "south"),
        start=start,
        end=told(start + timedelta(minutes=luck.randrange(600)), start + timedelta(minutes=30)),
        reentry_h=told(0.0, 4.0, luck.uniform(0, 72)),
        harvest_interval_d=told(0.0, 3.0, luck.uniform(0, 30)),
        residual_d=told(0.0, 7.0, luck.uniform(0, 60)),
        residual_enemy_share=told(0.0, 0.4),
    )


def must_be_held(spray, day, zone):
    """Return whether a day of the farm touches the time from the start of a spray to the end of its waits.

    Reckoned from the definition alone, in minutes since the epoch; shares nothing with the clocks but the row.
    """
    if zone is not None and spray.zone not in (None, zone):
        return False
    opens = datetime(day.year, day.month, day.day, tzinfo=LONDON).timestamp()
    after = day + timedelta(days=1)
    shuts = datetime(after.year, after.month, after.day, tzinfo=LONDON).timestamp()
    if spray.start.timestamp() >= shuts:
        return False
    harmless = spray.residual_enemy_share == 0 and spray.residual_d is None
    if None in (spray.end, spray.reentry_h) or (spray.residual_d is None and not harmless):
        return True
    waits = max(spray.reentry_h / 24, 0.0 if harmless else spray.residual_d)
    return spray.end.timestamp() + waits * 86400 > opens + 1e-3


def calendars(seed=20260504):
    luck = random.Random(seed)
    for _ in range(CALENDARS):
        rows = [a_spray(luck, number) for number in range(luck.randint(1, 4))]
        day = (FIRST + timedelta(days=luck.randrange(-2, 130))).date()
        yield rows, day, luck.choice((None, "north", "south"))


def broken(hold=release_hold):
    """Return the calendars in which a release is let through that an entered or unknown figure forbids."""
    found = []
    for rows, day, zone in calendars():
        sprays = [Sprayed(row, clocks_of(row, LONDON, bees_in=None), LONDON, None) for row in rows]
        if hold(sprays, day, zone) is None and any(must_be_held(row, day, zone) for row in rows):
            found.append((rows, day, zone))
    return found


def test_no_calendar_lets_a_release_through_that_a_figure_or_an_unknown_forbids():
    assert broken() == []


def test_the_search_finds_a_hold_that_reads_an_unknown_as_zero():
    # One seeded fault proves that the test can fail: sprays with anything missing are passed over.
    def careless(sprays, day, zone):
        return release_hold([item for item in sprays if not item.clocks.release.lacks], day, zone)

    assert len(broken(careless)) > 100


def test_what_is_free_is_let_through():
    # Not by holding everything: of these calendars a good part must be free.
    luck = random.Random(3)
    free = 0
    for _ in range(500):
        row = Spray(
            spray="s", farm="f", house="h", start=FIRST, end=FIRST + timedelta(hours=1),
            reentry_h=luck.uniform(0, 48), residual_d=luck.uniform(0, 30), residual_enemy_share=0.5,
        )  # fmt: skip
        item = Sprayed(row, clocks_of(row, LONDON, bees_in=None), LONDON, None)
        free += release_hold([item], date(2026, 3, 20), None) is None
    assert 200 < free < 450


@pytest.mark.parametrize("lacking", ["kill_pest_share", "reentry_h", "harvest_interval_d", "residual_d"])
def test_a_considered_spray_with_anything_missing_says_what(lacking):
    whole = {
        "kill_pest_share": 0.9, "kill_enemy_share": 0.5, "residual_enemy_share": 0.2, "residual_d": 3.0,
        "reentry_h": 12.0, "harvest_interval_d": 3.0,
    }  # fmt: skip
    assert Figures(**whole).lacks == []
    assert len(Figures(**{**whole, lacking: None}).lacks) == 1
