"""A farm with one crop from planting to harvest in its book: walks, lots, releases, sprays, corrections."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from outpace.terms.enemies import Check, Lot, OrderLine, Release
from outpace.terms.place import Farm, House, PlantsIn
from outpace.terms.scouting import Count, Mummies, Walk
from outpace.terms.upkeep import Decision, Harvest, Permit, Spray

NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)
FARM = Farm(
    farm="example cove",
    latitude=54.1,
    longitude=-3.2,
    time_zone="Europe/London",
    currency="GBP",
    labour_per_h=15.0,
    country="GB",
)
HOUSE = House(
    farm=FARM.farm,
    house="south",
    crop="sweet_pepper",
    area_m2=200.0,
    plants=400,
    planted=date(2026, 2, 1),
    bees_in=False,
)
OTHER = replace(HOUSE, house="long", area_m2=300.0)
PICKED = datetime(2026, 5, 20, 9, tzinfo=UTC)


def at(month, day, hour=9):
    return datetime(2026, month, day, hour, tzinfo=UTC)


def walk(key, time, finds, house="south"):
    """Return a walk of four plants with what each held, and two closed mummies on the first."""
    rows = [
        Walk(
            walk=key,
            farm=FARM.farm,
            house=house,
            time=time,
            unit="plant",
            chosen="random",
            scout="Ida",
            minutes=20.0,
        )
    ]
    rows += [
        Count(walk=key, unit_no=n, pest="myzus_persicae" if found != "0" else "any", aphids=found)
        for n, found in enumerate(finds, 1)
    ]
    return [*rows, Mummies(walk=key, unit_no=1, colour="tan", closed=2)]


LINE = OrderLine(
    order="o1",
    line=1,
    farm=FARM.farm,
    placed=at(3, 30),
    supplier="Invented supplier",
    enemy="aphidius_colemani",
    form="mummies",
    packs=2,
    pack_size=500,
    delivery_date=date(2026, 4, 7),
    status="arrived",
    unit_price=24.0,
    freight=9.5,
    invoice="inv-7",
)
LOT = Lot(
    lot="L-2201",
    order="o1",
    line=1,
    enemy="aphidius_colemani",
    form="mummies",
    label_counts="units_in_pack",
    labelled_number=1000,
    packed=date(2026, 4, 5),
    arrived=at(4, 7),
    parcel_degc=11.0,
)
SOUTH = Release(
    release="r1",
    farm=FARM.farm,
    house="south",
    time=at(4, 7, 18),
    lot="L-2201",
    number=400,
    points=4,
    person="Ida",
)
LONG = replace(SOUTH, release="r2", house="long", number=600)
SPRAY = Spray(
    spray="s1",
    farm=FARM.farm,
    house="south",
    crop="sweet_pepper",
    start=at(5, 19, 17),
    end=at(5, 19, 18),
    kind="sulphur",
    product="invented sulphur",
    reason="mildew",
    operator="Ida",
    reentry_h=12.0,
    harvest_interval_d=3.0,
    area_m2=200.0,
)
BARE = Spray(spray="s2", farm=FARM.farm, house="south", start=at(5, 2, 17), product="unnamed soap")
DECISION = Decision(
    decision="d1",
    farm=FARM.farm,
    house="south",
    time=at(4, 1),
    verdict="Unclear",
    chosen="order",
    reason="growing",
)
PICK = Harvest(
    harvest="h1", farm=FARM.farm, house="south", time=PICKED, lot_code="K-20", amount=80.0, unit="kg"
)
PERMIT = Permit(
    farm=FARM.farm, enemy="aphidius_colemani", country="GB", seen=True, number="list 12", time=at(3, 1)
)
PLANTS = PlantsIn(
    batch="b1",
    farm=FARM.farm,
    house="south",
    time=at(2, 1),
    source="a raiser",
    crop="sweet_pepper",
    number=400,
)


def keep(book):
    """Record the season, with one correction and one withdrawal."""
    rows = [FARM, HOUSE, OTHER, PLANTS, LINE, LOT, SOUTH, LONG, SPRAY, BARE, DECISION, PICK, PERMIT]
    rows += walk("w1", at(3, 30), ["0", "3", "4to10", "0"])
    rows += walk("w2", at(4, 20), ["0", "0", "0", "0"])
    rows += walk("w0", at(1, 10), ["9", "9", "9", "9"])
    rows += [Check(lot="L-2201", time=at(4, 14), kind="emergence", looked_at=50, positive=40, days=7.0)]
    book.record(rows, by="Ida", recorded=NOW - timedelta(days=5))
    late = replace(SOUTH, release="r3", number=50, time=at(4, 8))
    book.record([late], by="Ida", recorded=NOW - timedelta(days=4))
    book.record([replace(SOUTH, number=350)], by="Rui", correct=True, why="counted the cards", recorded=NOW)
    book.withdraw("releases", "r3", by="Rui", why="never let go", recorded=NOW)
    return book
