"""The invented farm: its place, houses, limits, and what two invented suppliers offer.

No farm, person, supplier, price or pack here is real.
"""

from __future__ import annotations

from typing import Any

from outpace.season.demo.calendar import TIME_ZONE, Season
from outpace.terms.enemies import Pack
from outpace.terms.place import ActionLevel, CropStage, Farm, House, PlantsIn, Zone
from outpace.terms.upkeep import Permit

FARM = "Foggy Cape (invented)"
PEPPER, CUCUMBER, AUBERGINE = "Long tunnel", "Big glasshouse", "South house"
STRAWBERRY, LETTUCE = "Berry tunnel", "Salad house"

MYZUS, MACROSIPHUM = "myzus_persicae", "macrosiphum_euphorbiae"
COLEMANI, ERVI = "aphidius_colemani", "aphidius_ervi"

NORTH, COAST = "Supplier North (invented)", "Supplier Coast (invented)"
COUNTRY = "ES"


def farm_row() -> Farm:
    """Return the invented farm, on a cool coast."""
    return Farm(
        farm=FARM,
        latitude=43.6,
        longitude=-8.1,
        time_zone=TIME_ZONE,
        currency="EUR",
        risk=0.2,
        labour_per_h=18.0,
        area_unit="m2",
        temperature_unit="degc",
        country=COUNTRY,
    )


def house_rows(season: Season) -> list[House]:
    """Return the five houses."""
    return [
        House(
            farm=FARM,
            house=PEPPER,
            crop="sweet_pepper",
            area_m2=640.0,
            plants=1_600,
            length_m=80.0,
            width_m=8.0,
            leaves_per_plant=60.0,
            vent_area_m2=60.0,
            floor="soil",
            cover="film",
            heating_setpoint_degc=16.0,
            vent_setpoint_degc=23.0,
            planted=season.day(112),
            bees_in=True,
            virus_sensitive=False,
            action_level=1.5,
            action_unit="leaf",
        ),
        House(
            farm=FARM,
            house=CUCUMBER,
            crop="cucumber",
            area_m2=2_400.0,
            plants=3_600,
            length_m=75.0,
            width_m=32.0,
            leaves_per_plant=18.0,
            vent_area_m2=180.0,
            floor="fabric",
            cover="glass",
            heating_setpoint_degc=18.5,
            vent_setpoint_degc=25.0,
            planted=season.day(84),
            bees_in=False,
            virus_sensitive=False,
            action_level=3.0,
            action_unit="leaf",
        ),
        House(
            farm=FARM,
            house=AUBERGINE,
            crop="aubergine",
            area_m2=420.0,
            plants=760,
            leaves_per_plant=35.0,
            vent_area_m2=40.0,
            floor="soil",
            cover="film",
            heating_setpoint_degc=16.0,
            vent_setpoint_degc=23.0,
            planted=season.day(98),
            bees_in=True,
            virus_sensitive=False,
            action_level=4.0,
            action_unit="leaf",
        ),
        House(
            farm=FARM,
            house=STRAWBERRY,
            crop="strawberry",
            area_m2=960.0,
            plants=7_600,
            leaves_per_plant=12.0,
            vent_area_m2=120.0,
            floor="mulch",
            cover="film",
            heating_setpoint_degc=10.0,
            vent_setpoint_degc=21.0,
            planted=season.day(90),
            bees_in=True,
            virus_sensitive=True,
            action_level=25.0,
            action_unit="plant",
        ),
        House(
            farm=FARM,
            house=LETTUCE,
            crop="lettuce",
            area_m2=180.0,
            plants=2_500,
            leaves_per_plant=14.0,
            vent_area_m2=20.0,
            floor="soil",
            cover="film",
            heating_setpoint_degc=8.0,
            vent_setpoint_degc=18.0,
            planted=season.day(44),
            bees_in=False,
            virus_sensitive=False,
            action_level=1.0,
            action_unit="plant",
        ),
    ]


def zone_rows() -> list[Zone]:
    """Return the two bays of the largest house."""
    return [
        Zone(farm=FARM, house=CUCUMBER, zone=name, area_m2=1_200.0, plants=1_800, door=door, vent=True)
        for name, door in (("north bay", True), ("south bay", False))
    ]


def level_rows(season: Season) -> list[ActionLevel]:
    """Return the grower's own limits, one an aphid and house."""
    since = season.day(56)
    told = (
        (PEPPER, MYZUS, "leaf", 1.5),
        (CUCUMBER, MYZUS, "leaf", 3.0),
        (AUBERGINE, MACROSIPHUM, "leaf", 4.0),
        (STRAWBERRY, MACROSIPHUM, "plant", 25.0),
        (LETTUCE, "any", "plant", 1.0),
    )
    return [
        ActionLevel(farm=FARM, house=house, pest=pest, unit=unit, level=level, since=since)
        for house, pest, unit, level in told
    ]


def stage_rows(season: Season) -> list[CropStage]:
    """Return how large the plants are."""
    told = ((PEPPER, 60.0, 1.6), (CUCUMBER, 18.0, 2.4), (AUBERGINE, 35.0, 1.4), (STRAWBERRY, 12.0, 0.25))
    return [
        CropStage(farm=FARM, house=house, time=season.at(50, 10), leaves_per_plant=leaves, height_m=height)
        for house, leaves, height in told
    ]


def plants_in_rows(season: Season) -> list[PlantsIn]:
    """Return a batch of young plants whose raiser did not tell of sprays."""
    return [
        PlantsIn(
            batch="invented-lettuce-1",
            farm=FARM,
            house=LETTUCE,
            time=season.at(44, 9),
            source="plant raiser (invented)",
            crop="lettuce",
            number=2_500,
            looked_at=60,
            finds="none",
            sprays_told="unknown",
        )
    ]


def pack_rows(season: Season) -> list[Pack]:
    """Return what the two invented suppliers offer, at invented prices."""
    return [
        _pack(season, NORTH, COLEMANI, "mummies", 500, 27.0),
        _pack(season, NORTH, COLEMANI, "mummies", 1_000, 44.0),
        _pack(season, NORTH, ERVI, "adults", 250, 41.0),
        _pack(season, NORTH, ERVI, "adults", 500, 74.0),
        _pack(season, COAST, COLEMANI, "mummies", 250, 18.0),
        _pack(season, COAST, ERVI, "mummies", 250, 38.0),
    ]


_OFFERS: dict[str, dict[str, Any]] = {
    NORTH: {
        "label_counts": "adults_expected",
        "freight_per_parcel": 14.0,
        "packs_per_parcel": 20,
        "minimum_order_money": 40.0,
        "cutoff_weekday": "Thu",
        "cutoff_time": "12:00",
        "delivery_weekday": "Wed",
    },
    COAST: {
        "label_counts": "units_in_pack",
        "freight_per_parcel": 21.0,
        "packs_per_parcel": 12,
        "cutoff_weekday": "Fri",
        "cutoff_time": "10:00",
        "delivery_weekday": "Tue Thu",
        "lead_d": 3,
    },
}


def _pack(season: Season, supplier: str, enemy: str, form: str, size: int, price: float) -> Pack:
    return Pack(
        supplier=supplier,
        enemy=enemy,
        form=form,
        pack_size=size,
        valid_from=season.day(56),
        price=price,
        life_d=2.0,
        life_at_degc=9.0,
        **_OFFERS[supplier],
    )


def permit_rows(season: Season) -> list[Permit]:
    """Return the one entry that the farm has looked up; the other wasp's is still to be seen."""
    return [
        Permit(
            farm=FARM,
            enemy=COLEMANI,
            country=COUNTRY,
            seen=True,
            number="invented entry 12",
            time=season.at(56, 11),
        )
    ]
