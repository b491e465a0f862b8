"""The batches of plants that came in, and whose raiser is still to be asked."""

from __future__ import annotations

from datetime import UTC
from typing import Any

from outpace.language import say_many
from outpace.records.canonical import plain_row, row_key
from outpace.records.columns import table
from outpace.season.book_words import row_words
from outpace.season.names import pick_farm, zone_of_farm
from outpace.season.register import plants_entry
from outpace.terms.place import PlantsIn
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]


def plants_answer(snapshot: Snapshot, *, farm: str | None = None) -> Answer:
    """Return the plants that came in, the latest first, and whose raiser is still to be asked."""
    there = pick_farm(snapshot, farm)
    described = table("plants_in")
    rows = [row for row in snapshot.table(PlantsIn) if row.farm == there.farm]
    rows.sort(key=lambda row: row.time.astimezone(UTC).isoformat() if row.time else "", reverse=True)
    entries = [
        {
            "key": row_key(described, plain_row(described, row)),
            "day": row.time.astimezone(zone_of_farm(there)).date().isoformat() if row.time else None,
            "house": row.house,
            "what": plants_entry(row).what
            if row.time
            else row_words(described, row, zone_of_farm(there), {}),
            "ask": row.sprays_told in (None, "unknown"),
            "unseen": row.looked_at is None,
        }
        for row in rows
    ]
    ask = sum(row.sprays_told in (None, "unknown") for row in rows)
    sentence = (
        say_many(
            "Ask today what was sprayed on {n} batch: unknown is not none.",
            "Ask today what was sprayed on {n} batches: unknown is not none.",
            ask,
        )
        if ask
        else say_many(
            "Ask nobody today: of {n} batch it is told what was sprayed.",
            "Ask nobody today: of {n} batches it is told what was sprayed.",
            len(entries),
        )
    )
    return {"farm": there.farm, "sentence": sentence, "plants": entries}
