"""A house with bees, a parcel on its way, and whatever sprays a test puts there."""

from __future__ import annotations

from datetime import UTC, date, datetime
from hashlib import sha256

from outpace.terms.enemies import Allocation, OrderLine
from outpace.terms.place import Farm, House
from outpace.terms.tables import TABLE_OF, Snapshot
from outpace.terms.upkeep import Spray

FARM = Farm(farm="Kelp Lane", latitude=54.1, longitude=-3.2, time_zone="Europe/London", currency="GBP")
HOUSE = House(
    farm="Kelp Lane", house="Long tunnel", crop="sweet_pepper", area_m2=240, plants=520, bees_in=True
)
# A Thursday in April; London is one hour ahead of UTC.
NOW = datetime(2026, 4, 23, 8, tzinfo=UTC)
FULL = {
    "start": datetime(2026, 4, 22, 17, tzinfo=UTC),
    "end": datetime(2026, 4, 22, 18, tzinfo=UTC),
    "kind": "sulphur",
    "product": "invented wettable sulphur",
    "reentry_h": 24.0,
    "harvest_interval_d": 3.0,
    "residual_d": 7.0,
    "residual_enemy_share": 0.3,
    "kill_enemy_share": 0.8,
    "bees_out_until": datetime(2026, 4, 23, 18, tzinfo=UTC),
}


def spray(key="s1", **told):
    return Spray(spray=key, farm="Kelp Lane", house="Long tunnel", **{"start": FULL["start"], **told})


def parcel(day=date(2026, 4, 24)):
    """Return an order that was placed, and its 500 wasps meant for the house on a day."""
    line = OrderLine(
        order="o1",
        line=1,
        farm="Kelp Lane",
        supplier="Invented",
        enemy="aphidius_colemani",
        form="mummies",
        packs=1,
        pack_size=500,
        delivery_date=date(2026, 4, 23),
        status="placed",
    )
    share = Allocation(
        order="o1", line=1, farm="Kelp Lane", house="Long tunnel", release_date=day, number=500
    )
    return line, share


def known(*rows, house=HOUSE, now=NOW):
    tables = {}
    for row in (FARM, house, *rows):
        tables.setdefault(TABLE_OF[type(row)], []).append(row)
    # Two books with other rows have other heads.
    head = sha256(repr(tables).encode()).hexdigest()
    return Snapshot(as_of=now, head=head, rows={name: tuple(found) for name, found in tables.items()})
