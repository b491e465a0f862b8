"""What a phone needs to walk a farm without signal: its houses, their zones, and the aphids to choose from."""

from __future__ import annotations

from collections import Counter
from datetime import datetime
from typing import Any

from outpace.errors import OutpaceError
from outpace.facts.table import Facts, load
from outpace.language import say, to_say
from outpace.season.names import houses_of, pick_farm, zone_of_farm, zones_of
from outpace.season.observed import HouseWalks, pests_seen, walks_of
from outpace.season.walk_plan import walk_plan
from outpace.terms.place import Farm, House
from outpace.terms.scouting import COUNT_CLASSES, PLANT
from outpace.terms.tables import Snapshot

UNNAMED = (("unknown small", to_say("small, not named")), ("unknown large", to_say("large, not named")))


def walk_kit(snapshot: Snapshot, farm: str | None = None) -> dict[str, Any]:
    """Return the farm as a walk needs it, the house that was looked at longest ago first.

    Each house comes with the unit it was last walked by and the aphids found in it, most often found first, so that
    a walk begins with one tap.
    """
    there = pick_farm(snapshot, farm)
    facts = load()
    houses = [_house(snapshot, there, house, facts) for house in houses_of(snapshot, there)]
    houses.sort(key=lambda house: (house["last_walk"] or "", house["house"]))
    return {
        "schema": "outpace.walk_kit/1",
        "farm": there.farm,
        "as_of": snapshot.as_of.isoformat(timespec="seconds"),
        "head": snapshot.head,
        "time_zone": there.time_zone,
        "houses": houses,
        "pests": [
            {"key": species.key, "latin": species.latin, "english": say(species.english)}
            for species in sorted(facts.species.values(), key=lambda species: species.latin or "~")
            if species.kind == "pest" and species.latin
        ]
        + [{"key": key, "latin": "", "english": say(said)} for key, said in UNNAMED],
        "classes": [
            {"key": key, "low": low, "high": high}
            for key, (low, high) in COUNT_CLASSES.items()
            if key not in ("0", "present")
        ],
    }


def stop_lines(snapshot: Snapshot, farm: str | None = None) -> dict[str, Any]:
    """Return for each house the lines at which a walk may stop, as a phone reads them.

    They take longer to draw than the rest of the kit, so they are asked for apart.
    """
    there = pick_farm(snapshot, farm)
    facts = load()
    return {
        "schema": "outpace.stop_lines/1",
        "farm": there.farm,
        "as_of": snapshot.as_of.isoformat(timespec="seconds"),
        "houses": [
            {"house": house.house, "stop": _stop(snapshot, there, house, facts)}
            for house in houses_of(snapshot, there)
        ],
    }


def _house(snapshot: Snapshot, farm: Farm, house: House, facts: Facts) -> dict[str, Any]:
    walks = walks_of(snapshot, farm, house, since=house.planted)
    last = walks.last
    crop = facts.crops.get(house.crop)
    return {
        "house": house.house,
        "crop": say(crop.english) if crop else say(house.crop.replace("_", " ")),
        "plants": house.plants,
        "zones": [zone.zone for zone in zones_of(snapshot, house)],
        "unit": _usual_unit(walks),
        "pests": [_told(pest) for pest in pests_seen(walks)],
        "last_walk": last.time.isoformat(timespec="minutes") if last else None,
        "data_age_d": _age(last.time, snapshot.as_of, farm) if last else None,
    }


def _usual_unit(walks: HouseWalks) -> str:
    units = Counter(walk.unit for walk in walks.walks[-6:] if walk.chosen != "hunted")
    return units.most_common(1)[0][0] if units else PLANT


def _told(pest: str) -> str:
    """Return the word a count is written down with."""
    return "unknown" if pest == "unknown_aphid" else pest


def _age(time: datetime, as_of: datetime, farm: Farm) -> int:
    zone = zone_of_farm(farm)
    return (as_of.astimezone(zone).date() - time.astimezone(zone).date()).days


def _stop(snapshot: Snapshot, farm: Farm, house: House, facts: Facts) -> dict[str, Any] | None:
    """Return the lines at which a walk may stop, as a phone reads them; none where the house has no level."""
    try:
        plan = walk_plan(snapshot, house.house, farm=farm.farm, facts=facts)
    except OutpaceError:
        return None
    counted = next((rule for rule in plan["rules"] if rule["adds_up"] == "aphids"), None)
    if counted is None:
        return None
    return {
        "unit": plan["unit"],
        "least": counted["least"],
        "most": counted["most"],
        "low_at_or_under": counted["low_at_or_under"],
        "high_at_or_over": counted["high_at_or_over"],
    }
