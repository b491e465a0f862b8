"""The invented orders, parcels, checks and releases, one spray, and a decision that was wrong."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from outpace.season.demo.calendar import Season
from outpace.season.demo.place import (
    AUBERGINE,
    COAST,
    COLEMANI,
    CUCUMBER,
    ERVI,
    FARM,
    LETTUCE,
    NORTH,
    PEPPER,
    STRAWBERRY,
)
from outpace.terms.enemies import Allocation, Check, Lot, OrderLine, Release
from outpace.terms.upkeep import Decision, Harvest, Spray

GROWER = "grower (invented)"


@dataclass(frozen=True, slots=True)
class Parcel:
    """One line of an order that came so many weeks ago: what it held, and how much each house got."""

    weeks: int
    supplier: str
    enemy: str
    form: str
    packs: int
    size: int
    price: float
    houses: tuple[tuple[str, int], ...]
    emerged: int | None = None


PARCELS = (
    Parcel(8, NORTH, COLEMANI, "mummies", 2, 1_000, 44.0, ((CUCUMBER, 1_800), (AUBERGINE, 200)), 81),
    Parcel(7, NORTH, COLEMANI, "mummies", 2, 1_000, 44.0, ((CUCUMBER, 2_000),), 78),
    Parcel(
        6,
        NORTH,
        COLEMANI,
        "mummies",
        3,
        1_000,
        44.0,
        ((PEPPER, 1_000), (CUCUMBER, 1_800), (AUBERGINE, 200)),
        84,
    ),
    Parcel(5, NORTH, COLEMANI, "mummies", 1, 1_000, 44.0, ((PEPPER, 1_000),), 77),
    Parcel(4, NORTH, COLEMANI, "mummies", 1, 1_000, 44.0, ((PEPPER, 1_000),), 80),
    Parcel(3, NORTH, ERVI, "adults", 1, 250, 41.0, ((STRAWBERRY, 250),)),
    Parcel(3, NORTH, COLEMANI, "mummies", 1, 500, 27.0, ((AUBERGINE, 500),), 79),
    Parcel(2, NORTH, COLEMANI, "mummies", 1, 500, 27.0, ((AUBERGINE, 500),), 82),
    Parcel(1, COAST, COLEMANI, "mummies", 2, 250, 18.0, ((AUBERGINE, 500),), None),
)
LOOKED_AT = 100

#: Days ago, house, amount, unit.
HARVESTS = ((9, CUCUMBER, 640.0, "kg"), (2, CUCUMBER, 610.0, "kg"), (2, LETTUCE, 300.0, "heads"))


def delivery_rows(season: Season) -> list[tuple[datetime, list[Any]]]:
    """Return orders, lots, checks and releases, each with the moment it became known."""
    found: list[tuple[datetime, list[Any]]] = []
    lines: dict[str, int] = {}
    for parcel in PARCELS:
        ago = season.delivery(parcel.weeks)
        supplier = "north" if parcel.supplier == NORTH else "coast"
        order = f"{supplier}-{season.day(ago):%Y%m%d}"
        lines[order] = lines.get(order, 0) + 1
        found += _one(season, parcel, order, lines[order], ago)
    return found


def _one(season: Season, parcel: Parcel, order: str, line: int, ago: int) -> list[tuple[datetime, list[Any]]]:
    placed, arrived, let_go = season.at(ago + 6, 9), season.at(ago, 11), season.at(ago, 18, 30)
    lot = f"invented {order.split('-')[0].upper()} {season.day(ago):%y%j}{line}"
    told = OrderLine(
        order=order,
        line=line,
        farm=FARM,
        placed=placed,
        supplier=parcel.supplier,
        enemy=parcel.enemy,
        form=parcel.form,
        packs=parcel.packs,
        pack_size=parcel.size,
        delivery_date=season.day(ago),
        status="arrived",
        unit_price=parcel.price,
        freight=(14.0 if parcel.supplier == NORTH else 21.0) if line == 1 else None,
        invoice=f"invented {order}" if line == 1 else None,
    )
    arrival: list[Any] = [
        told,
        *(
            Allocation(
                order=order,
                line=line,
                farm=FARM,
                house=house,
                release_date=season.day(ago),
                number=number,
            )
            for house, number in parcel.houses
        ),
        Lot(
            lot=lot,
            order=order,
            line=line,
            enemy=parcel.enemy,
            form=parcel.form,
            label_counts="adults_expected" if parcel.supplier == NORTH else "units_in_pack",
            labelled_number=parcel.packs * parcel.size,
            packs=parcel.packs,
            packed=season.day(ago + 2),
            arrived=arrived,
            parcel_degc=12.5,
            condition="dry, no smell",
        ),
    ]
    releases = [
        Release(
            release=f"{lot} {house}",
            farm=FARM,
            house=house,
            time=let_go,
            lot=lot,
            number=number,
            points=max(3, number // 100),
            canopy_degc=18.0,
            person=GROWER,
        )
        for house, number in parcel.houses
    ]
    found: list[tuple[datetime, list[Any]]] = [(arrived, arrival), (let_go, list(releases))]
    if parcel.emerged is not None and ago >= 7:
        checked = season.at(ago - 7, 9)
        found.append(
            (
                checked,
                [
                    Check(
                        lot=lot,
                        time=checked,
                        kind="emergence",
                        looked_at=LOOKED_AT,
                        positive=parcel.emerged,
                        days=7.0,
                        degc=21.0,
                        ragged=0,
                    )
                ],
            )
        )
    return found


def other_rows(season: Season) -> list[tuple[datetime, list[Any]]]:
    """Return the spray, the decisions and the harvests."""
    start = season.at(33, 19)
    spray = Spray(
        spray="invented-mildew-1",
        farm=FARM,
        house=CUCUMBER,
        zone="south bay",
        crop="cucumber",
        start=start,
        end=start + timedelta(minutes=40),
        kind="fungicide",
        product="mildew product (invented)",
        registration_no="invented",
        active="invented",
        area_m2=1_200.0,
        reason="mildew on old leaves",
        operator=GROWER,
        reentry_h=12.0,
        harvest_interval_d=3.0,
        kill_pest_share=0.0,
        kill_enemy_share=0.2,
        residual_enemy_share=0.1,
        residual_d=7.0,
    )
    decisions = (
        (22, AUBERGINE, "order Aphidius colemani", "it worked in the long tunnel"),
        (29, PEPPER, "wait", "mummies have begun to show"),
    )
    found: list[tuple[datetime, list[Any]]] = [(start, [spray])]
    for ago, house, chosen, reason in decisions:
        time = season.at(ago, 20)
        decision = Decision(
            decision=f"invented-{house.lower().replace(' ', '-')}-{season.day(ago):%Y%m%d}",
            farm=FARM,
            house=house,
            time=time,
            chosen=chosen,
            reason=reason,
            person=GROWER,
        )
        found.append((time, [decision]))
    for ago, house, amount, unit in (
        (9, CUCUMBER, 640.0, "kg"),
        (2, CUCUMBER, 610.0, "kg"),
        (2, LETTUCE, 300.0, "heads"),
    ):
        time = season.at(ago, 12)
        harvest = Harvest(
            harvest=f"invented-{house.lower().replace(' ', '-')}-{season.day(ago):%Y%m%d}",
            farm=FARM,
            house=house,
            time=time,
            lot_code=f"INV-{season.day(ago):%y%j}",
            amount=amount,
            unit=unit,
        )
        found.append((time, [harvest]))
    return found
