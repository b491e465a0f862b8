"""Where the insects of a lot are to be let go in a house: points in their order, with the number at each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from math import sqrt
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.estimation.observations import interval_of
from outpace.facts.table import load
from outpace.language import say, say_many
from outpace.planning.release_points import (
    DOOR,
    HOT_SPOT,
    PLAIN,
    VENT,
    Layout,
    Mark,
    Plot,
    PointRules,
    Reach,
    covered_by,
    lay_out,
    reaches,
    rules_of,
    usual_points,
)
from outpace.season.judged import SPOT_KEPT_D
from outpace.season.names import pick_farm, pick_house, zone_of_farm, zones_of
from outpace.season.parcels import find_lot
from outpace.season.sprayed import release_hold, sprays_of
from outpace.season.words import weekday
from outpace.terms.enemies import Allocation, Lot
from outpace.terms.place import Farm, House
from outpace.terms.scouting import Count, Walk
from outpace.terms.tables import Snapshot

#: How far from the side of the drawing marks stand, as a share of the width.
BESIDE = 0.06


@dataclass(frozen=True, slots=True)
class Place:
    """A door, a vent or a hot spot as the book tells it: the zone, and the plant where one was written."""

    zone: str | None
    kind: str
    plant: str | None = None

    @property
    def words(self) -> str:
        """Return what a person looks for."""
        return say("{kind}, plant {plant}", kind=self.kind, plant=self.plant) if self.plant else self.kind


def release_map(
    snapshot: Snapshot,
    house: str,
    lot: str,
    *,
    number: int | None = None,
    farm: str | None = None,
    carrier: float | None = None,
    carrier_unit: str | None = None,
) -> dict[str, Any]:
    """Return the points of a lot in a house as the answer ``outpace.points/1``.

    Parameters
    ----------
    carrier : float, optional
        How much carrier these animals come in, in ``carrier_unit``; each point is then told its part.

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
            say(
                "how many of lot {lot} are meant for {house} is not written down",
                lot=parcel.lot,
                house=place.house,
            ),
            hint=say("add `--number N`"),
            code=ExitCode.USAGE,
        )
    plots = _plots(snapshot, place)
    rules = rules_of(load(), parcel.enemy)
    # Points as far apart as the trade puts them: a square of that side lies within half its diagonal of its point.
    spacing = rules.spacing
    reach = Reach("spacing", replace(spacing, value=spacing.value / sqrt(2)))
    named, homeless = _marks(plots, _places(snapshot, place))
    layout = lay_out(plots, list(named), meant, reach, rules, carrier)
    usual = [usual_points(plot, rules) for plot in plots]
    today = snapshot.as_of.astimezone(zone_of_farm(there)).date()
    held = release_hold(sprays_of(snapshot, load(), there, place), today)
    views = [_view(plots, list(named), meant, each, rules, layout) for each in reaches(load(), parcel.enemy)]
    return {
        "schema": "outpace.points/1",
        "sentence": say(
            "Release 0 of {number} in {house} on {day}: {held}.",
            number=meant,
            house=place.house,
            day=weekday(today),
            held=held,
        )
        if held
        else say_many(
            "Release {number} in {house} at {n} point on {day}.",
            "Release {number} in {house} at {n} points on {day}.",
            len(layout.points),
            number=meant,
            house=place.house,
            day=weekday(today),
        ),
        "held": held,
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
                "mark": None
                if point.kind == PLAIN
                else named[Mark(point.zone, point.kind, point.along_m, point.across_m)],
                "along_m": point.along_m,
                "across_m": point.across_m,
                "number": point.number,
                "low": point.low,
                "high": point.high,
                "carrier": None if point.carrier is None else round(point.carrier, 1),
            }
            for point in layout.points
        ],
        "views": views,
        "carrier": carrier,
        "carrier_unit": None if carrier is None else carrier_unit or "ml",
        "least_number": rules.least_number.value,
        "walk_m": round(layout.walk_m, 1),
        "sides_told": bool(place.length_m and place.width_m),
        "usual_points": [sum(low for low, _ in usual), sum(high for _, high in usual)],
        "too_few": layout.too_few,
        "left_out": [
            *homeless,
            *(say("{named} in {zone}", named=named[mark], zone=mark.zone) for mark in layout.left_out),
        ],
        "spacing_m": spacing.value,
        "evidence": spacing.evidence,
    }


def _view(
    plots: list[Plot], marks: list[Mark], number: int, reach: Reach, rules: PointRules, drawn: Layout
) -> dict[str, Any]:
    """Return what one published view of how far an enemy gets would ask for, beside what the map gives it."""
    own = lay_out(plots, marks, number, reach, rules)
    return {
        "view": reach.view,
        "metres": reach.metres,
        "points_wanted": own.wanted,
        "points": len(own.points),
        "covered": round(own.covered, 3),
        "covered_by_the_map": round(covered_by(plots, drawn.points, reach), 3),
        "walk_m": round(own.walk_m, 1),
        "source": reach.fact.cited,
        "evidence": reach.fact.evidence,
        "note": reach.fact.note,
    }


def _meant(snapshot: Snapshot, farm: Farm, house: House, lot: Lot) -> int | None:
    found = [
        row.number
        for row in snapshot.table(Allocation)
        if (row.order, row.line, row.farm, row.house) == (lot.order, lot.line, farm.farm, house.house)
    ]
    return sum(found) if found else None


def _places(snapshot: Snapshot, house: House) -> list[Place]:
    """Return doors and vents of the zones, and the finds of the latest hunted walk while they count as fresh."""
    found = []
    for zone in zones_of(snapshot, house):
        found += [Place(zone.zone, kind) for kind, there in ((DOOR, zone.door), (VENT, zone.vent)) if there]
    hunted = [
        walk
        for walk in snapshot.table(Walk)
        if (walk.farm, walk.house, walk.chosen) == (house.farm, house.house, "hunted")
        and snapshot.as_of - timedelta(days=SPOT_KEPT_D) <= walk.time <= snapshot.as_of
    ]
    if hunted:
        latest = max(hunted, key=lambda walk: walk.time).walk
        found += dict.fromkeys(
            Place(count.zone, HOT_SPOT, count.plant)
            for count in snapshot.table(Count)
            if count.walk == latest and interval_of(count.aphids)[0] > 0
        )
    return found


def _marks(plots: Sequence[Plot], places: Sequence[Place]) -> tuple[dict[Mark, str], list[str]]:
    """Return the marks with their words, and the words of places that lie in no plot.

    The book does not hold where in its zone a place lies, so they stand in a row along its side, where
    they hide no plain point; people are sent to the place by its words.
    """
    named: dict[Mark, str] = {}
    homes = [
        (plot, [place for place in places if place.zone == plot.zone or len(plots) == 1]) for plot in plots
    ]
    for plot, here in homes:
        for no, place in enumerate(here, 1):
            along = plot.length_m * no / (len(here) + 1)
            named[Mark(plot.zone, place.kind, along, plot.width_m * BESIDE)] = place.words
    housed = {place for _, here in homes for place in here}
    return named, [
        say("{words} in {zone}", words=place.words, zone=place.zone or say("no zone told"))
        for place in places
        if place not in housed
    ]


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
