"""The tables of the book by name, and a snapshot of what they hold at one moment."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar

from outpace.terms.enemies import Allocation, Banker, Check, Lot, OrderLine, Pack, Release
from outpace.terms.place import ActionLevel, Climate, CropStage, Farm, House, PlantsIn, Zone
from outpace.terms.scouting import Card, Count, Mummies, Seen, Walk, WalkLine
from outpace.terms.upkeep import Decision, Forecast, Harvest, OwnFact, Permit, Spray

Row = TypeVar("Row")

TABLES: dict[str, type] = {
    "farm": Farm,
    "houses": House,
    "zones": Zone,
    "action_levels": ActionLevel,
    "crop_stages": CropStage,
    "plants_in": PlantsIn,
    "climate": Climate,
    "walks": Walk,
    "counts": Count,
    "mummies": Mummies,
    "seen": Seen,
    "walk_lines": WalkLine,
    "cards": Card,
    "packs": Pack,
    "orders": OrderLine,
    "allocations": Allocation,
    "lots": Lot,
    "checks": Check,
    "releases": Release,
    "bankers": Banker,
    "sprays": Spray,
    "harvests": Harvest,
    "decisions": Decision,
    "permits": Permit,
    "own_facts": OwnFact,
    "forecasts": Forecast,
}

TABLE_OF: dict[type, str] = {kind: name for name, kind in TABLES.items()}


@dataclass(frozen=True, slots=True)
class Snapshot:
    """All rows of the book that were known at one moment, current values only.

    ``head`` is the digest of the last event: two snapshots with one head hold the same rows.
    """

    as_of: datetime
    head: str
    rows: dict[str, tuple[Any, ...]]

    def table(self, kind: type[Row]) -> tuple[Row, ...]:
        """Return the rows of one table, in the order of their keys."""
        return self.rows.get(TABLE_OF[kind], ())
