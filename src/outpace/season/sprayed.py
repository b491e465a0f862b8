"""The sprays of a house as the book has them, each with its clocks, and what they hold back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from outpace.facts.table import Facts
from outpace.language import listed, say
from outpace.planning.spray_clocks import (
    NOT_BEGUN,
    RUNNING,
    UNKNOWN,
    Clock,
    Clocks,
    clocks_of,
    earliest,
    holding,
)
from outpace.season.indexed import of_house
from outpace.season.names import zone_of_farm
from outpace.season.words import weekday
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Spray

MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class Sprayed:
    """One spray of a house and its clocks. ``bees_in`` is None where it was never told whether bees are there."""

    row: Spray
    clocks: Clocks
    zone: ZoneInfo
    bees_in: bool | None

    @property
    def name(self) -> str:
        """Return what people call it: its product, else its kind, else that it was not told."""
        return (
            self.row.product or (self.row.kind if self.row.kind not in (None, "other") else None) or "spray"
        )

    @property
    def called(self) -> str:
        """Return its name and day."""
        return say(
            "{name} of {date}", name=self.name, date=weekday(self.row.start.astimezone(self.zone).date())
        )


def sprays_of(snapshot: Snapshot, facts: Facts, farm: Farm, house: House) -> tuple[Sprayed, ...]:
    """Return the sprays that can still matter to the house, the latest first.

    Those of an earlier crop count until the longest residue that is practised has passed: a house sprayed out the day
    before planting is a sprayed house.
    """
    zone = zone_of_farm(farm)
    now = snapshot.as_of
    longest = timedelta(days=facts.one("", "residue_longest").value)
    found = [
        Sprayed(row, clocks_of(row, zone, bees_in=house.bees_in), zone, house.bees_in)
        for row in of_house(snapshot, Spray, farm, house)
        if house.planted is None
        or row.start.astimezone(zone).date() >= house.planted
        or row.start > now - longest
    ]
    return tuple(sorted(found, key=lambda item: (item.row.start, item.row.spray), reverse=True))


def in_zone(sprays: Sequence[Sprayed], zone: str | None) -> tuple[Sprayed, ...]:
    """Return the sprays that reached a zone; where either was not told, they met."""
    return tuple(item for item in sprays if zone is None or item.row.zone in (None, zone))


def moment_words(moment: datetime, zone: ZoneInfo) -> str:
    """Return a moment as people say it, in the time of the farm.

    Examples
    --------
    >>> from datetime import UTC
    >>> moment_words(datetime(2026, 11, 25, 9, 5, tzinfo=UTC), ZoneInfo("Europe/Paris"))
    'Wed 25 Nov, 10:05'
    """
    local = moment.astimezone(zone)
    if local.second or local.microsecond:
        # A wait is never said shorter than it is.
        local = (moment + timedelta(minutes=1)).astimezone(zone)
    return f"{weekday(local.date())}, {local:%H:%M}"


def standing(clocks: Sequence[Clock], now: datetime) -> dict[str, Any]:
    """Return how several clocks stand together: state, until when, and what nobody entered."""
    begun = [clock for clock in clocks if clock.applies and clock.begins <= now]
    open_at = earliest(begun, now)
    lacks = list(dict.fromkeys(word for clock in begun if clock.until is None for word in clock.lacks))
    if open_at is None:
        return {"state": UNKNOWN, "until": None, "lacks": lacks}
    if open_at > now:
        return {"state": RUNNING, "until": open_at, "lacks": []}
    to_come = [clock for clock in clocks if clock.applies and clock.begins > now]
    if to_come:
        return {"state": NOT_BEGUN, "until": min(clock.begins for clock in to_come), "lacks": []}
    ended = [clock.until for clock in begun if clock.until is not None]
    return {"state": "over", "until": max(ended), "lacks": []} if ended else _NOTHING


_NOTHING: dict[str, Any] = {"state": "none", "until": None, "lacks": []}


def release_hold(sprays: Sequence[Sprayed], day: date, zone: str | None = None) -> str | None:
    """Return why nothing may be released on a day, or None.

    Examples
    --------
    >>> release_hold((), date(2026, 11, 25)) is None
    True
    """
    near = in_zone(sprays, zone)
    if not near:
        return None
    clock = holding([item.clocks.release for item in near], day, near[0].zone)
    if clock is None:
        return None
    spray = next(item for item in near if item.clocks.release == clock)
    if clock.until is None:
        return say(
            "{called}: {lacks}: not entered, and unknown counts as danger",
            called=spray.called,
            lacks=listed(clock.lacks),
        )
    return say(
        "{called} harms or keeps people out until {until}",
        called=spray.called,
        until=moment_words(clock.until, spray.zone),
    )


@dataclass(frozen=True, slots=True)
class Deed:
    """What a spray asks of people on a day. ``kind`` is "keep out" while nobody may go in, else "spray"."""

    day: date
    kind: str
    what: str
    why: str


def spray_deeds(sprays: Sequence[Sprayed], now: datetime) -> list[Deed]:
    """Return what the sprays ask of people in the coming week.

    Figures that are missing are asked for as long as they are missing, those of all sprays in one deed.
    """
    if not sprays:
        return []
    zone = sprays[0].zone
    today = now.astimezone(zone).date()
    near = [
        (max(item.row.start.astimezone(zone).date(), today), item)
        for item in sprays
        if item.row.start.astimezone(zone).date() < today + timedelta(days=7)
    ]
    missing = [(day, item) for day, item in near if item.clocks.picking.until is None]
    deeds = [_read_the_label(missing, now)] if missing else []
    deeds += [_wait(day, item, now) for day, item in near if _open_at(item.clocks.picking, now)]
    hives = [(day, item) for day, item in near if _asks_for_bees(item, now)]
    if hives:
        what = say("Close the hive or take it out for the spray, and write down until when")
        names = listed(dict.fromkeys(item.called for _, item in hives[:MOST_NAMED]))
        why = say("{names}: bees are in or may be, and no time was entered", names=names)
        deeds.append(Deed(min(day for day, _ in hives), "spray", what, why))
    return deeds


def _open_at(clock: Clock, now: datetime) -> bool:
    return clock.until is not None and clock.until > now


def _asks_for_bees(item: Sprayed, now: datetime) -> bool:
    """Return whether the hive is to be asked for: always where bees are known to be in, else during the waits."""
    waits = (item.clocks.reentry, item.clocks.picking)
    over = all(clock.until is not None and clock.until <= now for clock in waits)
    return item.clocks.bees.applies and item.clocks.bees.until is None and (item.bees_in is True or not over)


def _read_the_label(missing: Sequence[tuple[date, Sprayed]], now: datetime) -> Deed:
    shut = any(item.clocks.reentry.until is None or item.clocks.reentry.until > now for _, item in missing)
    deed = say("Keep out and do not pick") if shut else say("Do not pick")
    lacks = dict.fromkeys(word for _, item in missing for word in item.clocks.picking.lacks)
    names = list(dict.fromkeys(item.called for _, item in missing))
    if len(names) > MOST_NAMED:
        names = [*names[:MOST_NAMED], say("{names} more", names=len(names) - MOST_NAMED)]
    what = say(
        "{deed} after the spray: read the label of {names} and write down {lacks}",
        deed=deed,
        names=listed(names),
        lacks=listed(lacks),
    )
    why = say("not entered, and unknown counts as danger")
    return Deed(min(day for day, _ in missing), "keep out" if shut else "spray", what, why)


def _wait(day: date, item: Sprayed, now: datetime) -> Deed:
    reentry, picking = item.clocks.reentry.until, item.clocks.picking.until
    assert picking is not None
    what = say("Do not pick after the spray until {picking}", picking=moment_words(picking, item.zone))
    if reentry is None or reentry <= now:
        return Deed(day, "spray", what, say("{called}, as entered", called=item.called))
    what = say(
        "Keep out after the spray until {reentry} and until it is aired as the label wants; do not pick "
        "until {picking}",
        reentry=moment_words(reentry, item.zone),
        picking=moment_words(picking, item.zone),
    )
    return Deed(day, "keep out", what, say("{called}, as entered", called=item.called))
