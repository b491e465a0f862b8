"""What to mind at the moment a release is written down: residue, heat, the hour of the day, the age of the lot."""

from __future__ import annotations

import math
from datetime import UTC, datetime

from outpace.facts.table import Facts, load
from outpace.language import say
from outpace.measures import temperature
from outpace.season.names import pick_farm, zone_of_farm
from outpace.season.sprayed import release_hold, sprays_of
from outpace.season.temperature import recorded
from outpace.terms.enemies import Lot
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

LOW_SUN_DEG = 6.0
"""Below this the sun stands within about an hour of rising or setting, at the latitudes where crops are grown."""


def release_warnings(
    snapshot: Snapshot,
    farm: Farm,
    house: House,
    lot: Lot,
    time: datetime,
    *,
    zone: str | None = None,
    canopy_degc: float | None = None,
    facts: Facts | None = None,
) -> tuple[str, ...]:
    """Return what a person who writes down a release must hear then: a release that happened is never refused.

    Parameters
    ----------
    time : datetime
        Of the release, with its offset.
    canopy_degc : float, optional
        As measured; otherwise what the house recorded in that hour. [°C]
    """
    known = facts or load()
    told = []
    held = release_hold(
        sprays_of(snapshot, known, farm, house), time.astimezone(zone_of_farm(farm)).date(), zone
    )
    if held is not None:
        told.append(say("{held}. What is not yet let go belongs in another house", held=held))
    degc = canopy_degc if canopy_degc is not None else _recorded_hour(snapshot, farm, house, time)
    told += _heat(known, lot, degc)
    if lot.form == "adults":
        told += _hour_of_day(farm, time)
    if lot.packed is not None:
        told += _age(known, lot, time.astimezone(zone_of_farm(farm)))
    return tuple(told)


def before_release(
    snapshot: Snapshot,
    house: str,
    lot: str | None = None,
    *,
    zone: str | None = None,
    farm: str | None = None,
) -> tuple[str, ...]:
    """Return what to mind before anything is let go in a house now; nothing where house or lot are not known."""
    there = pick_farm(snapshot, farm)
    place = next((row for row in snapshot.table(House) if (row.farm, row.house) == (there.farm, house)), None)
    if place is None:
        return ()
    parcel = next((row for row in snapshot.table(Lot) if row.lot == lot), None)
    if parcel is None:
        day = snapshot.as_of.astimezone(zone_of_farm(there)).date()
        held = release_hold(sprays_of(snapshot, load(), there, place), day, zone)
        return () if held is None else (held,)
    return release_warnings(snapshot, there, place, parcel, snapshot.as_of, zone=zone)


def sun_height(latitude: float, longitude: float, time: datetime) -> float:
    """Return how high the sun stands above the horizon, to about 4 degrees. [degrees]

    Without the equation of time and refraction: what matters here is whether it is day or dusk.

    Parameters
    ----------
    latitude, longitude : float
        North and east above 0. [degrees]
    time : datetime
        With its offset.

    Examples
    --------
    >>> noon, night = datetime(2026, 6, 21, 12, tzinfo=UTC), datetime(2026, 6, 21, tzinfo=UTC)
    >>> round(sun_height(50, 0, noon)), round(sun_height(50, 0, night))
    (63, -17)
    """
    utc = time.astimezone(UTC)
    since_solstice = utc.timetuple().tm_yday + 10
    declination = math.radians(-23.44 * math.cos(2 * math.pi * since_solstice / 365.25))
    hour_angle = math.radians(15 * (utc.hour + utc.minute / 60 - 12) + longitude)
    north = math.radians(latitude)
    height = math.sin(north) * math.sin(declination)
    height += math.cos(north) * math.cos(declination) * math.cos(hour_angle)
    return math.degrees(math.asin(max(-1.0, min(1.0, height))))


def _recorded_hour(snapshot: Snapshot, farm: Farm, house: House, time: datetime) -> float | None:
    local = time.astimezone(zone_of_farm(farm))
    hours = recorded(snapshot, farm, house, local.date(), local.date()).hours
    found = float(hours[local.hour])
    return None if math.isnan(found) else found


def _heat(facts: Facts, lot: Lot, degc: float | None) -> list[str]:
    if degc is None:
        return []
    told = []
    line = facts.one("", "heat_caution").value
    if degc >= line:
        told.append(
            say(
                "{warmth} in the crop: from {line} work in the early hours, with water and a "
                "partner; keep the parcel in the shade",
                warmth=temperature(degc, 0),
                line=temperature(line),
            )
        )
    high = facts.find(lot.enemy, "activity_high_temperature")
    if high is not None and degc >= high.value:
        told.append(
            say(
                "Above {value} {latin} hardly searches and may die: keep what is left cool and dark "
                "and let it go in the evening",
                value=temperature(high.value),
                latin=facts.species[lot.enemy].latin,
            )
        )
    return told


def _hour_of_day(farm: Farm, time: datetime) -> list[str]:
    height = sun_height(farm.latitude, farm.longitude, time)
    if height > LOW_SUN_DEG:
        return [
            say("Adults let go in full day fly to the vents: dusk or early morning, sides down, is better")
        ]
    return [say("At dusk or dawn: burners off and aired, a light, not alone")]


def _age(facts: Facts, lot: Lot, local: datetime) -> list[str]:
    if lot.packed is None:
        return []
    age = (local.date() - lot.packed).days
    life = facts.one(lot.enemy, "storage_life")
    if life.high is None or age <= life.high:
        return []
    return [
        say(
            "Packed {age} days before: {high:g} d is the most that is advised ({cited}); count on fewer, "
            "and let the check pot tell",
            age=age,
            high=life.high,
            cited=life.cited,
        )
    ]
