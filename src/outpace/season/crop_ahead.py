"""The crop of a house as it stood and was written down: leaves over time, leaves taken off, its end, crops of zones."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from outpace.facts.table import Facts
from outpace.season.names import zones_of
from outpace.simulation.model import CropDay, Strip, ZoneSpec
from outpace.terms.place import CropStage, Farm, House
from outpace.terms.tables import Snapshot

WHOLE_HOUSE = "whole house"


def stages_of(snapshot: Snapshot, farm: Farm, house: House, now: datetime) -> tuple[CropStage, ...]:
    """Return what was written down of the crop that stands there, in the order of time."""
    rows = [
        row
        for row in snapshot.table(CropStage)
        if row.farm == farm.farm
        and row.house == house.house
        and row.time <= now
        and (house.planted is None or row.time.date() >= house.planted)
    ]
    return tuple(sorted(rows, key=lambda row: row.time))


def crop_days(
    stages: tuple[CropStage, ...], leaves: float, day_of: Callable[[Any], float]
) -> tuple[CropDay, ...]:
    """Return leaves over time as shares of ``leaves`` per plant; by height of the crop where no leaves were counted.

    One row alone tells no course: the crop is then taken as it stands.
    """
    counted = [(row.time, row.leaves_per_plant / leaves) for row in stages if row.leaves_per_plant]
    if len(counted) < 2:
        tall = [(row.time, row.height_m) for row in stages if row.height_m]
        counted = [(when, height / tall[-1][1]) for when, height in tall] if len(tall) > 1 else []
    return tuple(CropDay(day_of(when), share, share) for when, share in counted)


def strips(stages: tuple[CropStage, ...], house: House, day_of: Callable[[Any], float]) -> tuple[Strip, ...]:
    """Return when leaves were taken off, and the end of the crop."""
    found = [Strip(day_of(row.time), row.leaves_removed_share) for row in stages if row.leaves_removed_share]
    if house.removed is not None:
        found.append(Strip(day_of(house.removed), 1.0, crop=True))
    return tuple(row for row in found if row.day >= 0)


def zone_specs(snapshot: Snapshot, facts: Facts, house: House) -> tuple[ZoneSpec, ...]:
    """Return the zones of a house; those with another crop have its leaves and leaf area, from the books."""
    described = zones_of(snapshot, house)
    if described:
        even_area, even_plants = house.area_m2 / len(described), house.plants / len(described)
        usual = facts.resolve_crop(house.crop)
        found = []
        for zone in described:
            crop = facts.resolve_crop(zone.crop) if zone.crop else None
            other = crop is not None and crop != usual
            found.append(
                ZoneSpec(
                    zone.zone,
                    zone.area_m2 or even_area,
                    float(zone.plants or even_plants),
                    crop=crop if other else None,
                    leaves_per_plant=facts.one("", "leaves_per_plant", crop=crop or "").value
                    if other
                    else None,
                    leaf_area_m2=facts.one("", "leaf_area_per_plant", crop=crop or "").value
                    if other
                    else None,
                )
            )
        return tuple(found)
    count = house.zones or 1
    if count == 1:
        return (ZoneSpec(WHOLE_HOUSE, house.area_m2, float(house.plants)),)
    return tuple(
        ZoneSpec(str(number + 1), house.area_m2 / count, house.plants / count) for number in range(count)
    )
