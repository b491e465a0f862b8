"""What a form may offer to choose from: houses, lots, orders, species, crops, as the book and the tables know them."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from outpace.facts.table import load
from outpace.season.names import houses_of, pick_farm, zone_of_farm, zones_of
from outpace.season.offers import packs_in_force
from outpace.season.register import enemy_name
from outpace.season.sprayed import moment_words
from outpace.terms.enemies import Allocation, Banker, Lot, OrderLine, Pack, Release
from outpace.terms.place import Climate, Farm
from outpace.terms.scouting import Card, Walk
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Spray

Answer = dict[str, Any]

ORDERS_SHOWN = 60
LOTS_BACK = timedelta(days=90)
"""Older lots are all let go; who needs one writes its name."""


def choices(snapshot: Snapshot, farm: str | None = None) -> Answer:
    """Return what can be chosen on the forms of a farm; of a book without a farm, species and crops alone."""
    facts = load()
    answer: Answer = {
        "farm": None,
        "country": "",
        "houses": [],
        "lots": [],
        "ordered": [],
        "expected": [],
        "bankers": [],
        "sprays": [],
        "suppliers": [],
        "cards": [],
        "farms": [row.farm for row in snapshot.table(Farm)],
        "enemies": _species("enemy"),
        "pests": _species("pest"),
        "crops": sorted(crop.english for crop in facts.crops.values()),
    }
    if not answer["farms"]:
        return answer
    there = pick_farm(snapshot, farm)
    clock = zone_of_farm(there)
    now = snapshot.as_of.astimezone(clock)
    gone: dict[str, int] = {}
    for release in snapshot.table(Release):
        gone[release.lot] = gone.get(release.lot, 0) + release.number
    came = {(lot.order, lot.line) for lot in snapshot.table(Lot)}
    answer |= {
        "farm": there.farm,
        "country": there.country or "",
        "currency": there.currency,
        "time_zone": there.time_zone,
        "area_unit": there.area_unit or "m2",
        "temperature_unit": there.temperature_unit or "degc",
        "has_climate": any(row.farm == there.farm for row in snapshot.table(Climate)),
        "has_walks": any(row.farm == there.farm for row in snapshot.table(Walk)),
        "has_packs": bool(snapshot.table(Pack)),
        "houses": [
            {
                "house": house.house,
                "zones": [zone.zone for zone in zones_of(snapshot, house)],
                "crop": house.crop,
                "bees_in": house.bees_in,
            }
            for house in houses_of(snapshot, there)
        ],
        "lots": [
            {
                "lot": lot.lot,
                "enemy": lot.enemy,
                "form": lot.form,
                "left": max(lot.labelled_number - gone.get(lot.lot, 0), 0),
                "said": f"{lot.lot}: {enemy_name(lot.enemy)}, {lot.form}",
            }
            for lot in sorted(snapshot.table(Lot), key=lambda row: str(row.arrived or ""), reverse=True)
            if lot.arrived is not None and now - lot.arrived <= LOTS_BACK
        ],
        "expected": [
            {
                "order": line.order,
                "line": line.line,
                "enemy": line.enemy,
                "form": line.form,
                "packs": line.packs,
                "number": line.packs * line.pack_size,
                "said": f"{line.delivery_date:%-d %b}, {line.supplier}: {line.packs} × {line.pack_size} "
                f"{enemy_name(line.enemy)}",
                "houses": [
                    {"house": part.house, "zone": part.zone, "number": part.number}
                    for part in snapshot.table(Allocation)
                    if (part.order, part.line, part.farm) == (line.order, line.line, there.farm)
                ],
            }
            for line in sorted(snapshot.table(OrderLine), key=lambda row: row.delivery_date)
            if line.farm == there.farm and line.status == "placed" and (line.order, line.line) not in came
        ],
        "ordered": [
            {
                "order": line.order,
                "line": line.line,
                "said": f"{line.delivery_date:%-d %b}, {line.supplier}: {line.packs} × {line.pack_size} "
                f"{enemy_name(line.enemy)}{f', {line.invoice}' if line.invoice else ''}",
            }
            for line in sorted(
                snapshot.table(OrderLine),
                key=lambda row: (row.delivery_date, row.order, row.line),
                reverse=True,
            )
            if line.farm == there.farm and line.status != "cancelled"
        ][:ORDERS_SHOWN],
        "bankers": [
            {"banker": row.banker, "said": f"{row.house}: {row.plants}, {moment_words(row.set_out, clock)}"}
            for row in snapshot.table(Banker)
            if row.farm == there.farm and row.withdrawn_on is None
        ],
        "sprays": [
            {
                "spray": row.spray,
                "house": row.house,
                "said": f"{row.house}, {row.product or row.kind or 'spray'}, {moment_words(row.start, clock)}",
            }
            for row in sorted(snapshot.table(Spray), key=lambda row: row.start, reverse=True)
            if row.farm == there.farm
        ][:40],
        "cards": sorted({row.card for row in snapshot.table(Card) if row.farm == there.farm}),
        "suppliers": sorted({pack.supplier for pack in packs_in_force(snapshot, now.date())}),
    }
    return answer


def _species(kind: str) -> list[dict[str, str]]:
    found = [
        {"key": species.key, "latin": species.latin or species.english, "english": species.english}
        for species in load().species.values()
        if species.kind == kind
    ]
    return sorted(found, key=lambda species: species["latin"])


def units_of(snapshot: Snapshot, farm: str | None = None) -> tuple[str | None, str | None]:
    """Return the degrees and the areas that a farm measures in; None where it tells none."""
    there = pick_farm(snapshot, farm)
    return there.temperature_unit, there.area_unit


def offered(snapshot: Snapshot) -> list[dict[str, str]]:
    """Return the enemies of all packs on offer."""
    facts = load()
    keys = dict.fromkeys(pack.enemy for pack in snapshot.table(Pack))
    return [{"key": key, "latin": facts.species[key].latin} for key in keys]
