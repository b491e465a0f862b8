"""What the book says of farms and houses themselves."""

from __future__ import annotations

import dataclasses
from datetime import date
from typing import Any

from outpace.season.moments import local_iso
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm
from outpace.season.parcels import find_lot
from outpace.terms.place import Farm
from outpace.terms.scouting import Walk
from outpace.terms.tables import Snapshot


def _plain(row: Any) -> dict[str, Any]:
    return {
        name: value.isoformat() if isinstance(value, date) else value
        for name, value in dataclasses.asdict(row).items()
    }


def farms_answer(snapshot: Snapshot, farm: str | None = None) -> dict[str, Any]:
    """Return the farms of the book, or the one that was named, each with its houses."""
    farms = (pick_farm(snapshot, farm),) if farm else snapshot.table(Farm)
    return {
        "schema": "outpace.farm/1",
        "as_of": snapshot.as_of.isoformat(timespec="seconds"),
        "farms": [
            {**_plain(item), "houses": [house.house for house in houses_of(snapshot, item)]} for item in farms
        ],
    }


def houses_answer(snapshot: Snapshot, house: str | None = None, *, farm: str | None = None) -> dict[str, Any]:
    """Return the houses of a farm, or the one that was named, each with the day of its last walk."""
    there = pick_farm(snapshot, farm)
    houses = (pick_house(snapshot, there, house),) if house else houses_of(snapshot, there)
    last: dict[str, str] = {}
    for walk in snapshot.table(Walk):
        if walk.farm == there.farm:
            last[walk.house] = max(last.get(walk.house, ""), walk.time.isoformat(timespec="minutes"))
    return {
        "schema": "outpace.house/1",
        "as_of": snapshot.as_of.isoformat(timespec="seconds"),
        "farm": there.farm,
        "houses": [{**_plain(item), "last_walk": last.get(item.house)} for item in houses],
    }


def lot_answer(snapshot: Snapshot, lot: str | None, *, farm: str | None = None) -> dict[str, Any]:
    """Return a lot as it was written down, its arrival in the farm's time, or none, with farm and day."""
    there = pick_farm(snapshot, farm)
    found = find_lot(snapshot, lot) if lot else None
    told = _plain(found) if found else None
    if found and told and found.arrived is not None:
        told["arrived"] = local_iso(found.arrived, zone_of_farm(there))
    return {
        "farm": there.farm,
        "as_of": snapshot.as_of.isoformat(timespec="seconds"),
        "lot": told,
    }
