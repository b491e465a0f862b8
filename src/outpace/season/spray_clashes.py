"""Where sprays stand in the way of releases, walks and harvests, planned or done."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from outpace.facts.table import Facts
from outpace.language import say
from outpace.planning.spray_clocks import Clock, holding
from outpace.season.observed import HouseWalks
from outpace.season.released import on_the_way
from outpace.season.rhythm import WALK_EVERY_D
from outpace.season.sprayed import Sprayed, in_zone, moment_words, release_hold
from outpace.terms.enemies import Lot, Release
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Harvest

Answer = dict[str, Any]


def clashes_of(
    snapshot: Snapshot,
    facts: Facts,
    farm: Farm,
    house: House,
    sprays: Sequence[Sprayed],
    walks: HouseWalks,
    now: datetime,
) -> list[Answer]:
    """Return where the sprays stand in the way of what is planned, or did of what was done."""
    if not sprays:
        return []
    zone = sprays[0].zone
    found: list[Answer] = []

    def clash(kind: str, day: Any, what: str, why: str) -> None:
        found.append({"house": house.house, "kind": kind, "date": str(day), "what": what, "why": why})

    for coming in on_the_way(snapshot, farm, house):
        name = f"{coming.number} {facts.species[coming.line.enemy].latin}"
        day = max(coming.release_date, now.date())
        held = release_hold(sprays, day)
        if held is not None:
            clash(
                "release", day, say("Release no {name} here: another house, or a later day", name=name), held
            )
        for item in sprays:
            begins = item.row.start.astimezone(zone).date()
            if item.row.start > now and begins > day and item.row.kill_enemy_share != 0:
                why = say("{called} would meet them", called=item.called)
                clash(
                    "release",
                    day,
                    say("Release of {name}: move it behind the spray, or leave the spray out", name=name),
                    why,
                )
    last = walks.last
    due = now.date() if last is None else last.time.astimezone(zone).date() + timedelta(days=WALK_EVERY_D)
    day = max(due, now.date())
    clock = holding([item.clocks.reentry for item in sprays], day, zone)
    if clock is not None and (clock.until is None or clock.until > now):
        item = next(each for each in sprays if each.clocks.reentry == clock)
        until = clock.until
        when = (
            say("not before its label was read")
            if until is None
            else say("after {until}", until=moment_words(until, zone))
        )
        clash(
            "walk",
            day,
            say("Walk {house} {when}", house=house.house, when=when),
            say("{called} keeps people out", called=item.called),
        )
    lots = {lot.lot: lot for lot in snapshot.table(Lot)}
    for release in snapshot.table(Release):
        if (release.farm, release.house) != (farm.farm, house.house) or release.lot not in lots:
            continue
        for item in in_zone(sprays, release.zone):
            if _inside(item.clocks.release, release.time):
                name = f"{release.number} {facts.species[lots[release.lot].enemy].latin}"
                day = release.time.astimezone(zone).date()
                clash(
                    "released",
                    day,
                    say("{name} were released: count on fewer", name=name),
                    say("{called} may have harmed them", called=item.called),
                )
    for harvest in snapshot.table(Harvest):
        if (harvest.farm, harvest.house) != (farm.farm, house.house):
            continue
        for item in in_zone(sprays, harvest.zone):
            if _inside(item.clocks.picking, harvest.time):
                day = harvest.time.astimezone(zone).date()
                why = say("{called}: its wait was not over, or was not entered", called=item.called)
                clash(
                    "picked",
                    day,
                    say(
                        "Lot {lot_code} was picked: call the adviser or buyer before selling",
                        lot_code=harvest.lot_code,
                    ),
                    why,
                )
    return found


def _inside(clock: Clock, moment: datetime) -> bool:
    return clock.applies and clock.begins <= moment and (clock.until is None or moment < clock.until)
