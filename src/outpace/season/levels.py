"""The grower's own limit for each aphid of a house; a provisional one where none was told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from outpace.facts.table import Facts
from outpace.language import to_say
from outpace.terms.place import ActionLevel, House
from outpace.terms.scouting import LEAF
from outpace.terms.tables import Snapshot

ANY = "any"

COSTS = (to_say("any live aphid"), to_say("sticky fruit"), "virus", to_say("only stunting"))
"""What may cost a grower money; each has a provisional level in the tables."""


@dataclass(frozen=True, slots=True)
class Level:
    """A limit: so many live aphids per unit on average, or so large a share of plants with any."""

    value: float
    unit: str
    told: bool


def level_of(snapshot: Snapshot, facts: Facts, house: House, pest: str, today: date) -> Level:
    """Return the level in force for one aphid: its own, else that for any, else the house's, else a provisional one."""
    rows = [
        row
        for row in snapshot.table(ActionLevel)
        if row.farm == house.farm
        and row.house == house.house
        and row.pest in (pest, ANY)
        and (row.since is None or row.since <= today)
    ]
    if rows:
        latest = max(rows, key=lambda row: (row.pest == pest, row.since or date.min))
        return Level(latest.level, latest.unit, told=True)
    if house.action_level is not None:
        return Level(house.action_level, house.action_unit or LEAF, told=True)
    return Level(facts.one("", "provisional_action_level").value, LEAF, told=False)


def level_by_cost(facts: Facts, cost: str) -> float:
    """Return the provisional level of what costs a grower money. [live aphids per leaf]

    Parameters
    ----------
    cost : str
        One of ``COSTS``.
    """
    return facts.one("", "provisional_action_level", stage=cost).value
