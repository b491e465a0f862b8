"""Where the insects of a lot are to be let go in a house: points in their order, with the number at each."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.facts.table import load
from outpace.planning.release_points import Plot, Reach, lay_out, rules_of, usual_points
from outpace.season.names import pick_farm, pick_house, zone_of_farm, zones_of
from outpace.season.parcels import find_lot
from outpace.terms.enemies import Allocation, Lot
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot


def release_map(
    snapshot: Snapshot, house: str, lot: str, *, number: int | None = None, farm: str | None = None
) -> dict[str, Any]:
    """Return the points of a lot in a house.

    Raises
    ------
    OutpaceError
        If it is nowhere written how many of the lot are meant for the house, and that was not told.
    """
    there = pick_farm(snapshot, farm)
    place, parcel = pick_house(snapshot, there, house), find_lot(snapshot, lot)
    meant = number or _meant(snapshot, there, place, parcel)
    if meant is None or meant < 1:
        raise OutpaceError(
            f"how many of lot {parcel.lot} are meant for {place.house} is not written down",
            hint="add `--number N`",
            code=ExitCode.USAGE,
        )
    plots = _plots(snapshot, place)
    rules = rules_of(load(), parcel.enemy)
    # Points as far apart as the trade puts them: a square of that side lies within half its diagonal of its point.
    spacing = rules.spacing
    reach = Reach("spacing", replace(spacing, value=spacing.value / sqrt(2)))
    layout = lay_out(plots, (), meant, reach, rules)
    usual = [usual_points(plot, rules) for plot in plots]
    today = snapshot.as_of.astimezone(zone_of_farm(there)).date()
    return {
        "farm": there.farm,
        "house": place.house,
        "lot": parcel.lot,
        "enemy": parcel.enemy,
        "form": parcel.form,
        "number": meant,
        "date": today.isoformat(),
        "plots": [{"zone": plot.zone, "length_m": plot.length_m, "width_m": plot.width_m} for plot in plots],
        "points": [
            {
                "no": point.no,
                "zone": point.zone,
                "along_m": point.along_m,
                "across_m": point.across_m,
                "number": point.number,
                "low": point.low,
                "high": point.high,
            }
            for point in layout.points
        ],
        "sides_told": bool(place.length_m and place.width_m),
        "usual_points": [sum(low for low, _ in usual), sum(high for _, high in usual)],
        "too_few": layout.too_few,
        "spacing_m": spacing.value,
        "evidence": spacing.evidence,
    }


def _meant(snapshot: Snapshot, farm: Farm, house: House, lot: Lot) -> int | None:
    found = [
        row.number
        for row in snapshot.table(Allocation)
        if (row.order, row.line, row.farm, row.house) == (lot.order, lot.line, farm.farm, house.house)
    ]
    return sum(found) if found else None


def _plots(snapshot: Snapshot, house: House) -> list[Plot]:
    zones = [zone for zone in zones_of(snapshot, house) if zone.area_m2]
    if zones:
        width = house.width_m
        return [
            Plot(zone.zone, float(zone.area_m2 or 0) / width, width)
            if width
            else Plot.of_area(zone.zone, float(zone.area_m2 or 0))
            for zone in zones
        ]
    if house.length_m and house.width_m:
        return [Plot("whole house", house.length_m, house.width_m)]
    return [Plot.of_area("whole house", house.area_m2)]
