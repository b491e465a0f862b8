"""The part of a week that is of some houses: their rows, the orders of the farm, and no caution of another house."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

Answer = dict[str, Any]

OF_A_HOUSE = ("cautions", "studied")
"""Parts of a week of which each line begins with the house that it is of, or is of the farm."""


def part_of(week: Answer, all_houses: Collection[str], shown: Collection[str]) -> Answer:
    """Return what a week says of some houses; orders are the farm's, so they stay.

    Parameters
    ----------
    all_houses : collection of str
        Every house of the farm.
    shown : collection of str
        Those that are asked of.
    """
    others = tuple(f"{house}: " for house in all_houses if house not in shown)
    rows = [row for row in week["houses"] if row["house"] in shown]
    told: Answer = {
        name: [text for text in week[name] if not text.startswith(others)]
        for name in OF_A_HOUSE
        if name in week
    }
    if rows and "sentence" in week:
        told["sentence"] = rows[0]["sentence"]
    return {**week, "houses": rows, **told}
