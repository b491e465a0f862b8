"""A farm of eight small tunnels, each walked once, for the tests of plans that share packs."""

from __future__ import annotations

from datetime import UTC, date, datetime

from outpace.terms.enemies import Pack
from outpace.terms.place import Farm, House
from outpace.terms.scouting import Walk, WalkLine
from outpace.terms.tables import Snapshot

NOW = datetime(2026, 5, 4, 8, 0, tzinfo=UTC)
WASP = "aphidius_colemani"
SUPPLIER = "Harbour Insects"


def a_pack(**other):
    given = {
        "supplier": SUPPLIER,
        "enemy": WASP,
        "form": "mummies",
        "pack_size": 500,
        "label_counts": "units_in_pack",
        "price": 60.0,
        "freight_per_parcel": 20.0,
        "cutoff_weekday": "Thu",
        "cutoff_time": "12:00",
        "delivery_weekday": "Wed",
        "lead_d": 5,
    }
    return Pack(**{**given, **other})


def a_farm(tunnels=8, *, area_m2=60.0, level=2.0, infested=4, packs=None):
    farm = Farm(
        farm="Low Meadow", latitude=51, longitude=4, time_zone="Europe/Brussels", currency="EUR", risk=0.2
    )
    names = [f"tunnel {number}" for number in range(1, tunnels + 1)]
    houses = [
        House(
            farm=farm.farm,
            house=name,
            crop="sweet_pepper",
            area_m2=area_m2,
            plants=int(2.5 * area_m2),
            leaves_per_plant=40.0,
            heating_setpoint_degc=17.0,
            vent_setpoint_degc=23.0,
            planted=date(2026, 3, 1),
            action_level=level,
            action_unit="leaf",
        )
        for name in names
    ]
    walks = [
        Walk(
            walk=f"walk {name}",
            farm=farm.farm,
            house=name,
            time=datetime(2026, 5, 3, 9, tzinfo=UTC),
            unit="leaf",
            chosen="random",
            looked_at=60,
        )
        for name in names
    ]
    lines = [
        WalkLine(
            walk=walk.walk, pest="myzus_persicae", looked_at=60, infested=infested, aphids_about=2 * infested
        )
        for walk in walks
    ]
    return Snapshot(
        as_of=NOW,
        head=f"{tunnels} {area_m2} {level} {infested}",
        rows={
            "farm": (farm,),
            "houses": tuple(houses),
            "walks": tuple(walks),
            "walk_lines": tuple(lines),
            "packs": tuple(packs or (a_pack(),)),
        },
    )
