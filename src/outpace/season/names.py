"""Finding a farm or a house by the name a person typed."""

from __future__ import annotations

import difflib
from typing import TypeVar
from zoneinfo import ZoneInfo

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.terms.place import Farm, House, Zone
from outpace.terms.tables import Snapshot

Item = TypeVar("Item")


def pick_farm(snapshot: Snapshot, farm: str | None = None) -> Farm:
    """Return the farm of that name, or the only one.

    Raises
    ------
    OutpaceError
        If there is none, or several and none was named.
    """
    farms = snapshot.table(Farm)
    if not farms:
        raise OutpaceError(
            say("the book holds no farm yet"),
            hint=say("start with `outpace farm NAME --place LATITUDE,LONGITUDE`, or look at `outpace demo`"),
        )
    if farm is None:
        if len(farms) > 1:
            names = ", ".join(item.farm for item in farms[:8])
            raise OutpaceError(
                say("the book holds {farms} farms and none was named", farms=len(farms)),
                allowed=say("one of {names}", names=names),
                hint=say("name it with `--farm NAME`"),
                code=ExitCode.USAGE,
            )
        return farms[0]
    return _named(farm, {item.farm: item for item in farms}, "farm")


def houses_of(snapshot: Snapshot, farm: Farm) -> tuple[House, ...]:
    """Return the farm's houses in the order of their names."""
    return tuple(house for house in snapshot.table(House) if house.farm == farm.farm)


def pick_house(snapshot: Snapshot, farm: Farm, house: str) -> House:
    """Return the house of that name, whatever its capitals."""
    found = {item.house: item for item in houses_of(snapshot, farm)}
    if not found:
        raise OutpaceError(
            say("{farm} has no house yet", farm=farm.farm),
            hint=say("add one with `outpace house NAME --crop CROP --area AREA`"),
        )
    return _named(house, found, "house")


def zones_of(snapshot: Snapshot, house: House) -> tuple[Zone, ...]:
    """Return the zones of a house that were described, maybe none."""
    return tuple(
        zone for zone in snapshot.table(Zone) if zone.farm == house.farm and zone.house == house.house
    )


def zone_of_farm(farm: Farm) -> ZoneInfo:
    """Return the farm's time zone."""
    return ZoneInfo(farm.time_zone)


def _named(name: str, items: dict[str, Item], what: str) -> Item:
    if name in items:
        return items[name]
    folded = {key.casefold(): item for key, item in items.items()}
    if name.casefold().strip() in folded:
        return folded[name.casefold().strip()]
    near = difflib.get_close_matches(name.casefold(), list(folded), n=3, cutoff=0.5)
    known = dict.fromkeys([*(key for key in items if key.casefold() in near), *list(items)[:8]])
    raise OutpaceError(
        say("no {what} called {name!r}", what=what, name=name),
        allowed=say("known: {known}", known=", ".join(known)),
        hint=say("write the {what} as in the list", what=what),
        code=ExitCode.USAGE,
    )
