"""The tables of the audit pack: which columns each has, and the rows of a span of days."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from outpace.facts.table import load
from outpace.language import say
from outpace.season.looked import Looked, looked_by_walk, pest_name
from outpace.season.moments import local_iso
from outpace.season.names import zone_of_farm
from outpace.season.register import check_words, crop_name, enemy_name
from outpace.terms.enemies import Banker, Check, Lot, OrderLine, Release
from outpace.terms.place import CropStage, Farm, PlantsIn
from outpace.terms.scouting import Card, Walk
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Decision, Harvest, Permit, Spray

Cells = dict[str, Any]
"""Column to value; what was not entered is None."""


@dataclass(frozen=True, slots=True)
class Section:
    """One table: its name, its heading, the table of the book behind it, and its columns with their headings."""

    name: str
    title: str
    table: str
    columns: tuple[tuple[str, str], ...]
    rows: Callable[[Snapshot, Farm, Within], Iterator[tuple[str, Cells]]]


@dataclass(frozen=True, slots=True)
class Within:
    """A span of days in the time of the farm; both ends belong to it."""

    first: date
    last: date
    zone: ZoneInfo

    def holds(self, moment: datetime | None) -> bool:
        """Return whether a moment lies in the span; what has no time belongs to every span."""
        return moment is None or self.first <= moment.astimezone(self.zone).date() <= self.last

    def iso(self, moment: datetime | None) -> str | None:
        """Return a moment in the time of the farm."""
        return None if moment is None else local_iso(moment, self.zone)


def within(farm: Farm, first: date, last: date) -> Within:
    """Return the span of days of a farm."""
    return Within(first, last, zone_of_farm(farm))


def _own(rows: Sequence[Any], farm: Farm) -> Iterator[Any]:
    return (row for row in rows if row.farm == farm.farm)


def _by_time(found: list[tuple[datetime, str, Cells]]) -> Iterator[tuple[str, Cells]]:
    return ((key, cells) for _, key, cells in sorted(found, key=lambda item: (item[0], item[1])))


def _scouting(snapshot: Snapshot, farm: Farm, span: Within) -> Iterator[tuple[str, Cells]]:
    walks = [walk for walk in _own(snapshot.table(Walk), farm) if span.holds(walk.time)]
    looked = looked_by_walk(snapshot, walks)
    stages: dict[str, list[CropStage]] = {}
    for stage in _own(snapshot.table(CropStage), farm):
        stages.setdefault(stage.house, []).append(stage)
    crops = {house.house: house.crop for house in _own(snapshot.rows.get("houses", ()), farm)}
    found = []
    for walk in walks:
        seen = looked[walk.walk]
        before = [row for row in stages.get(walk.house, ()) if row.time <= walk.time and row.bbch is not None]
        stage = max(before, key=lambda row: row.time, default=None)
        cells = {
            "time": span.iso(walk.time),
            "house": walk.house,
            "scout": walk.scout,
            "crop": crop_name(crops[walk.house]) if walk.house in crops else None,
            "bbch": None if stage is None else stage.bbch,
            "unit": walk.unit,
            "chosen": walk.chosen,
            "looked_at": seen.looked_at,
            "infested": seen.infested,
            "aphids": seen.aphids_text() or None,
            "pests": _pests(seen),
            "mummies": "; ".join(f"{n} {state} ({colour})" for (colour, state), n in seen.mummies.items())
            or None,
            "others": "; ".join(
                f"{name} {'' if n is None else n}".rstrip() for name, n in seen.others.items()
            )
            or None,
            "minutes": walk.minutes,
        }
        found.append((walk.time, walk.walk, cells))
    return _by_time(found)


def _pests(seen: Looked) -> str | None:
    if seen.infested is None:
        return None
    if not seen.pests:
        return say("none found")
    named = ", ".join(pest_name(pest) for pest in seen.pests)
    return f"{named} ({'; '.join(seen.unsure)})" if seen.unsure else named


def _plain(
    kind: type[Any], key: str, moment: str, more: Callable[[Any, Within], Cells] | None = None
) -> Callable[[Snapshot, Farm, Within], Iterator[tuple[str, Cells]]]:
    """Return how a table of the book is read row by row, cells as they were entered."""

    def rows(snapshot: Snapshot, farm: Farm, span: Within) -> Iterator[tuple[str, Cells]]:
        found = []
        kept: tuple[Any, ...] = snapshot.rows.get(_TABLE[kind], ())
        for row in _own(kept, farm):
            when = getattr(row, moment)
            if span.holds(when):
                cells = {name: _cell(value, span) for name, value in _cells(row).items()}
                cells.update(more(row, span) if more else {})
                found.append((when or datetime.min.replace(tzinfo=span.zone), str(getattr(row, key)), cells))
        return _by_time(found)

    return rows


_TABLE: Mapping[type, str] = {
    Card: "cards",
    Decision: "decisions",
    PlantsIn: "plants_in",
    Release: "releases",
    Banker: "bankers",
    Spray: "sprays",
    Harvest: "harvests",
    Permit: "permits",
}


def _cells(row: Any) -> Cells:
    return {field.name: getattr(row, field.name) for field in dataclasses.fields(row)}


def _cell(value: Any, span: Within) -> Any:
    if isinstance(value, datetime):
        return span.iso(value)
    if isinstance(value, date):
        return value.isoformat()
    return ("yes" if value else "no") if isinstance(value, bool) else value


def _arrivals(snapshot: Snapshot, farm: Farm, span: Within) -> Iterator[tuple[str, Cells]]:
    """Yield the lots of a farm: those that no order and no release ties to another farm alone."""
    lines = {(row.order, row.line): row for row in snapshot.table(OrderLine)}
    went: dict[str, set[str]] = {}
    for release in snapshot.table(Release):
        went.setdefault(release.lot, set()).add(release.farm)
    checks: dict[str, list[Check]] = {}
    for check in snapshot.table(Check):
        checks.setdefault(check.lot, []).append(check)
    found = []
    for lot in snapshot.table(Lot):
        line = lines.get((lot.order or "", lot.line or 0))
        farms = went.get(lot.lot, set()) | ({line.farm} if line else set())
        if (farms and farm.farm not in farms) or not span.holds(lot.arrived):
            continue
        cells = {
            **{name: _cell(value, span) for name, value in _cells(lot).items()},
            "enemy": enemy_name(lot.enemy),
            "label_counts": lot.label_counts.replace("_", " "),
            "supplier": line.supplier if line else None,
            "invoice": line.invoice if line else None,
            "price": line.unit_price if line else None,
            "freight": line.freight if line else None,
            "checks": "; ".join(check_words(check) for check in checks.get(lot.lot, ())) or None,
        }
        found.append((lot.arrived or datetime.min.replace(tzinfo=span.zone), lot.lot, cells))
    return _by_time(found)


def _releases(snapshot: Snapshot, farm: Farm, span: Within) -> Iterator[tuple[str, Cells]]:
    lots = {lot.lot: lot for lot in snapshot.table(Lot)}

    def enemy(row: Release, _: Within) -> Cells:
        lot = lots.get(row.lot)
        return {"enemy": enemy_name(lot.enemy) if lot else None, "form": lot.form if lot else None}

    return _plain(Release, "release", "time", enemy)(snapshot, farm, span)


def _sprays(snapshot: Snapshot, farm: Farm, span: Within) -> Iterator[tuple[str, Cells]]:
    facts = load()

    def place(row: Spray, _: Within) -> Cells:
        crop = facts.crops.get(facts.resolve_crop(row.crop) or "") if row.crop else None
        return {
            "crop": crop_name(row.crop) if row.crop else None,
            "crop_eppo": crop.eppo or None if crop else None,
            "latitude": farm.latitude,
            "longitude": farm.longitude,
        }

    return _plain(Spray, "spray", "start", place)(snapshot, farm, span)


def _plants(row: PlantsIn, _: Within) -> Cells:
    return {"crop": crop_name(row.crop)}


def _permits(row: Permit, _: Within) -> Cells:
    return {"enemy": enemy_name(row.enemy)}


TIME, HOUSE, ZONE = ("time", "time"), ("house", "house"), ("zone", "zone")

SECTIONS: tuple[Section, ...] = (
    Section(
        "scouting",
        "Walks",
        "walks",
        (
            TIME,
            HOUSE,
            ("scout", "scout"),
            ("crop", "crop"),
            ("bbch", "stage (BBCH)"),
            ("unit", "unit"),
            ("chosen", "chosen"),
            ("looked_at", "looked at"),
            ("infested", "with aphids"),
            ("aphids", "live aphids"),
            ("pests", "which"),
            ("mummies", "mummies"),
            ("others", "also seen"),
            ("minutes", "minutes"),
        ),
        _scouting,
    ),
    Section(
        "cards",
        "Sticky cards",
        "cards",
        (
            TIME,
            HOUSE,
            ZONE,
            ("card", "card"),
            ("hung", "hung"),
            ("taken", "taken down"),
            ("winged", "winged aphids"),
        ),
        _plain(Card, "card", "time"),
    ),
    Section(
        "decisions",
        "Decisions",
        "decisions",
        (
            TIME,
            HOUSE,
            ("verdict", "verdict"),
            ("chosen", "decided"),
            ("reason", "because"),
            ("person", "who"),
        ),
        _plain(Decision, "decision", "time"),
    ),
    Section(
        "plants",
        "Plants in",
        "plants_in",
        (
            TIME,
            HOUSE,
            ("batch", "batch"),
            ("source", "from"),
            ("crop", "crop"),
            ("number", "number"),
            ("looked_at", "looked at"),
            ("finds", "found"),
            ("sprays_told", "sprayed (told)"),
            ("sprays", "with what"),
        ),
        _plain(PlantsIn, "batch", "time", _plants),
    ),
    Section(
        "arrivals",
        "Arrivals of enemies",
        "lots",
        (
            ("arrived", "arrived"),
            ("lot", "lot"),
            ("enemy", "enemy"),
            ("form", "form"),
            ("label_counts", "label counts"),
            ("labelled_number", "number on label"),
            ("packs", "packs"),
            ("packed", "packed"),
            ("parcel_degc", "parcel °C"),
            ("condition", "condition"),
            ("supplier", "supplier"),
            ("order", "order"),
            ("invoice", "invoice"),
            ("price", "price a pack"),
            ("freight", "freight"),
            ("checks", "checks"),
        ),
        _arrivals,
    ),
    Section(
        "releases",
        "Releases",
        "releases",
        (
            TIME,
            HOUSE,
            ZONE,
            ("lot", "lot"),
            ("enemy", "enemy"),
            ("form", "form"),
            ("number", "number"),
            ("points", "points"),
            ("canopy_degc", "°C in crop"),
            ("person", "who"),
        ),
        _releases,
    ),
    Section(
        "bankers",
        "Banker plants",
        "bankers",
        (
            ("set_out", "set out"),
            HOUSE,
            ZONE,
            ("plants", "plants"),
            ("withdrawn_on", "withdrawn"),
            ("note", "note"),
        ),
        _plain(Banker, "banker", "set_out"),
    ),
    Section(
        "sprays",
        "Sprays",
        "sprays",
        (
            ("start", "start"),
            ("end", "end"),
            HOUSE,
            ZONE,
            ("product", "product"),
            ("registration_no", "registration no."),
            ("active", "active"),
            ("action_group", "mode-of-action group"),
            ("kind", "kind"),
            ("crop", "crop"),
            ("crop_eppo", "EPPO crop code"),
            ("bbch", "stage (BBCH)"),
            ("dose", "rate"),
            ("dose_unit", "unit of rate"),
            ("amount_total", "amount in all"),
            ("area_m2", "area m²"),
            ("wind", "wind, vents"),
            ("reason", "reason"),
            ("operator", "operator"),
            ("operator_licence", "licence"),
            ("reentry_h", "keep out h"),
            ("harvest_interval_d", "harvest interval d"),
            ("bees_out_until", "bees out until"),
            ("latitude", "latitude"),
            ("longitude", "longitude"),
        ),
        _sprays,
    ),
    Section(
        "harvests",
        "Harvests",
        "harvests",
        (TIME, HOUSE, ZONE, ("lot_code", "harvest code"), ("amount", "amount"), ("unit", "unit")),
        _plain(Harvest, "harvest", "time"),
    ),
    Section(
        "permits",
        "Permits and list entries seen",
        "permits",
        (
            ("time", "looked up"),
            ("enemy", "enemy"),
            ("country", "country"),
            ("seen", "seen"),
            ("number", "number"),
        ),
        _plain(Permit, "enemy", "time", _permits),
    ),
)
