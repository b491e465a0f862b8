"""When a sprayed house opens again: for people, for picking, for bees and for enemies.

Pure reckoning with dates, from what a person entered of the label and nothing else. What was not entered acts as
danger: its clock does not start, and a clock that did not start never ends. Only an entered zero is zero.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from math import isfinite
from zoneinfo import ZoneInfo

from outpace.language import say, to_say
from outpace.terms.upkeep import Spray

UNKNOWN, NOT_BEGUN, RUNNING, OVER, NONE = "unknown", "not begun", "running", "over", "none"

END_TIME = to_say("when it ended")
REENTRY = to_say("how long to keep out")
HARVEST = to_say("how long not to pick")
RESIDUE = to_say("how long it harms enemies")
BEES = to_say("whether the hive is closed or out, and until when")
VENTILATION = to_say("how the label wants the house aired")


@dataclass(frozen=True, slots=True)
class Clock:
    """A time of waiting that begins with the start of the spray.

    ``until`` is None while the clock cannot start; ``lacks`` then names what nobody entered. ``applies`` is False
    where there is nothing to wait for, such as bees in a house that has none. Both moments are in UTC: in the time of
    a farm one hour comes twice in autumn, and moments of it do not compare.
    """

    begins: datetime
    until: datetime | None
    lacks: tuple[str, ...] = ()
    applies: bool = True

    def state(self, now: datetime) -> str:
        """Return how the clock stands: unknown, not begun, running, over or none."""
        if not self.applies:
            return NONE
        if now < self.begins:
            return NOT_BEGUN
        if self.until is None:
            return UNKNOWN
        return RUNNING if now < self.until else OVER

    def holds(self, day: date, zone: ZoneInfo) -> bool:
        """Return whether some of the day, in the farm's time, must be waited for."""
        if not self.applies:
            return False
        first = datetime.combine(day, time(), zone).astimezone(UTC)
        after = datetime.combine(day + timedelta(days=1), time(), zone).astimezone(UTC)
        return self.begins < after and (self.until is None or self.until > first)


@dataclass(frozen=True, slots=True)
class Clocks:
    """The clocks of one spray.

    ``ventilation`` never ends by itself: no figure of it is kept, so a person has to see to it. ``picking`` is the
    later of harvest interval and re-entry, ``release`` the later of residue and re-entry: both need someone inside.
    """

    reentry: Clock
    ventilation: Clock
    picking: Clock
    bees: Clock
    release: Clock

    @property
    def lacks(self) -> tuple[str, ...]:
        """Return all that nobody entered, each once."""
        every = (self.reentry, self.picking, self.release, self.bees)
        return tuple(dict.fromkeys(word for clock in every if clock.applies for word in clock.lacks))


def clocks_of(spray: Spray, zone: ZoneInfo, *, bees_in: bool | None) -> Clocks:
    """Return the clocks of a spray.

    Hours are hours that pass, whatever the clock on the wall does. Days end at the same time of day, and never before
    all their hours have passed.

    Parameters
    ----------
    spray : Spray
        As entered; figures that are missing, below 0, or beyond any calendar count as not known.
    zone : ZoneInfo
        Of the farm.
    bees_in : bool, optional
        Whether bees work in the house; None acts as if they did.

    Examples
    --------
    >>> from datetime import datetime
    >>> bare = Spray(spray="s", farm="f", house="h", start=datetime(2026, 11, 25, 9, tzinfo=UTC))
    >>> clocks = clocks_of(bare, ZoneInfo("UTC"), bees_in=True)
    >>> [clock.until for clock in (clocks.reentry, clocks.picking, clocks.bees, clocks.release)]
    [None, None, None, None]
    >>> clocks.lacks[:2]
    ('when it ended', 'how long to keep out')
    """
    begins = spray.start.astimezone(UTC)
    end = spray.end if spray.end is not None and spray.end >= spray.start else None
    # Where the end is missing, a figure that is there is still not asked for again.
    told = end or spray.start
    reentry = _waits(begins, end, _hours_after(told, spray.reentry_h), say(REENTRY))
    harvest = _waits(begins, end, _days_after(told, spray.harvest_interval_d, zone), say(HARVEST))
    residue_d = spray.residual_d
    if residue_d is None and spray.residual_enemy_share == 0:
        residue_d = 0.0
    residue = _waits(begins, end, _days_after(told, residue_d, zone), say(RESIDUE))
    return Clocks(
        reentry=reentry,
        ventilation=Clock(begins, None, (say(VENTILATION),)),
        picking=_later(harvest, reentry),
        bees=_bees(spray, begins, end, bees_in),
        release=_later(residue, reentry),
    )


def holding(clocks: Sequence[Clock], day: date, zone: ZoneInfo) -> Clock | None:
    """Return the clock that holds a day longest, one that never ends before all others, or None."""
    held = [clock for clock in clocks if clock.holds(day, zone)]
    return max(held, key=lambda clock: (clock.until is None, clock.until or clock.begins), default=None)


def earliest(clocks: Sequence[Clock], not_before: datetime) -> datetime | None:
    """Return the first moment from ``not_before`` on at which no clock runs; None while one cannot start.

    A spray that is still to come holds nothing before it begins.
    """
    free = not_before.astimezone(UTC)
    for clock in sorted(clocks, key=lambda clock: clock.begins):
        if not clock.applies or clock.begins > free:
            continue
        if clock.until is None:
            return None
        free = max(free, clock.until)
    return free


def _waits(begins: datetime, end: datetime | None, until: datetime | None, what: str) -> Clock:
    lacks = [] if end is not None else [say(END_TIME)]
    if until is None:
        lacks += [what]
    return Clock(begins, until if end is not None else None, tuple(lacks))


def _later(first: Clock, second: Clock) -> Clock:
    lacks = tuple(dict.fromkeys((*first.lacks, *second.lacks)))
    if first.until is None or second.until is None:
        return Clock(first.begins, None, lacks)
    return Clock(first.begins, max(first.until, second.until), lacks)


def _bees(spray: Spray, begins: datetime, end: datetime | None, bees_in: bool | None) -> Clock:
    if spray.bees_out_until is None:
        return Clock(begins, None, (say(BEES),), applies=bees_in is not False)
    back = spray.bees_out_until.astimezone(UTC)
    if end is None:
        return Clock(begins, None, (say(END_TIME),))
    if back < end:
        # Bees that are back before the end of it were not kept out of it.
        return Clock(begins, None, (say(BEES),))
    return Clock(begins, back)


def _hours_after(end: datetime, hours: float | None) -> datetime | None:
    if hours is None or not isfinite(hours) or hours < 0:
        return None
    try:
        return end.astimezone(UTC) + timedelta(hours=hours)
    except OverflowError:
        return None


def _days_after(end: datetime, days: float | None, zone: ZoneInfo) -> datetime | None:
    passed = _hours_after(end, None if days is None else 24 * days)
    if days is None or passed is None:
        return None
    try:
        by_the_wall = (end.astimezone(zone) + timedelta(days=days)).astimezone(UTC)
    except OverflowError:
        return None
    return max(passed, by_the_wall)
