"""What a farm's own walks teach about walking: clumping, doors and vents, minutes, and what each scout sees."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from outpace.estimation.clumping import Clumping, Prior, Sample, clumping_of
from outpace.estimation.double_counts import DoubleCount, Eye, compare, eyes
from outpace.estimation.observations import interval_of
from outpace.facts.table import Fact, Facts
from outpace.season.observed import HouseWalks
from outpace.terms.scouting import Walk

FINDS_OF_PRIOR = 2.0
"""The judged look at edges weighs as much as so many finds."""
PLANTS_OF_PRIOR = 20
"""The judged minutes of a plant weigh as much as so many plants."""


def samples_of(farm: Sequence[HouseWalks], pest: str, unit: str) -> list[Sample]:
    """Return the counts of one aphid, walk by walk, of all walks that are a sample of such units."""
    found = []
    for walks in farm:
        for walk in walks.walks:
            counts = walks.counts.get(walk.walk, ())
            if walk.unit != unit or walk.chosen == "hunted" or not counts:
                continue
            by_unit = {row.unit_no: [0.0, 0.0] for row in counts}
            for row in counts:
                if row.pest == pest:
                    low, high = interval_of(row.aphids)
                    by_unit[row.unit_no][0] += low
                    by_unit[row.unit_no][1] += high
            ends = np.array(list(by_unit.values()))
            found.append(Sample(ends[:, 0], ends[:, 1]))
    return found


def clumping_on(facts: Facts, samples: Sequence[Sample]) -> Clumping:
    """Return Taylor's law from the facts' prior and own samples."""
    a, b = facts.one("", "taylor_a"), facts.one("", "taylor_b")
    return clumping_of(Prior(a.value, *_ends(a), b.value, *_ends(b)), samples)


@dataclass(frozen=True)
class Told:
    """A judged figure, what own walks say, and what is used."""

    prior: float
    own: float | None
    used: float
    n: int


def edge_looks(facts: Facts, farm: Sequence[tuple[HouseWalks, frozenset[str]]]) -> Told:
    """Return how many times as often plants at doors and vents are to be looked at, by finds in such zones.

    Parameters
    ----------
    farm : sequence of (HouseWalks, names of zones with a door or a vent)
    """
    fact = facts.one("", "edge_looks")
    looked, finds = [0, 0], [0, 0]
    for walks, watched in farm:
        if not watched:
            continue
        for walk in walks.walks:
            if walk.chosen == "hunted":
                continue
            units: dict[int, tuple[bool, bool]] = {}
            for row in walks.counts.get(walk.walk, ()):
                if row.zone is not None:
                    there = units.get(row.unit_no, (False, False))[1] or interval_of(row.aphids)[1] > 0
                    units[row.unit_no] = (row.zone in watched, there)
            for at_edge, there in units.values():
                looked[at_edge] += 1
                finds[at_edge] += there
    if not looked[1] or not looked[0]:
        return Told(fact.value, None, fact.value, 0)
    elsewhere = (finds[0] + 0.5) / (looked[0] + 1)
    own = finds[1] / looked[1] / elsewhere
    used = (finds[1] + FINDS_OF_PRIOR * fact.value) / (looked[1] * elsewhere + FINDS_OF_PRIOR)
    high = _ends(fact)[1]
    return Told(fact.value, round(own, 2), round(float(np.clip(used, 1.0, high)), 2), looked[1])


def look_minutes(facts: Facts, farm: Sequence[HouseWalks]) -> Told:
    """Return the minutes of one look, by walks of which the minutes were written down."""
    fact = facts.one("", "look_minutes")
    minutes = plants = 0.0
    for walks in farm:
        for walk in walks.walks:
            number = _looked_at(walks, walk)
            if walk.minutes and number:
                minutes += walk.minutes
                plants += number
    if not plants:
        return Told(fact.value, None, fact.value, 0)
    used = (minutes + PLANTS_OF_PRIOR * fact.value) / (plants + PLANTS_OF_PRIOR)
    return Told(fact.value, round(minutes / plants, 2), round(used, 2), int(plants))


def scouts_eyes(facts: Facts, farm: Sequence[HouseWalks]) -> dict[str, Eye]:
    """Return what each scout sees of infested plants, for scouts with double counts only."""
    fact = facts.one("", "plant_detection")
    return eyes((fact.value, *_ends(fact)), [double for walks in farm for double in _doubles(walks)])


def _doubles(walks: HouseWalks) -> Iterator[DoubleCount]:
    by_name = {walk.walk: walk for walk in walks.walks}
    for second in walks.walks:
        first = by_name.get(second.repeats or "")
        if first is None or not first.scout or not second.scout or first.scout == second.scout:
            continue
        one, two = _found_by_plant(walks, first), _found_by_plant(walks, second)
        pairs = {plant: (one.get(plant), two.get(plant)) for plant in one.keys() | two.keys()}
        yield compare(first.scout, second.scout, pairs)


def _found_by_plant(walks: HouseWalks, walk: Walk) -> dict[str, bool]:
    """Return whether aphids were found, plant by plant; without names of plants by the number of the unit."""
    found: dict[str, bool] = {}
    for row in walks.counts.get(walk.walk, ()):
        plant = row.plant or f"unit {row.unit_no}"
        found[plant] = found.get(plant, False) or interval_of(row.aphids)[1] > 0
    return found


def _looked_at(walks: HouseWalks, walk: Walk) -> int:
    if walk.looked_at:
        return walk.looked_at
    units = {row.unit_no for row in walks.counts.get(walk.walk, ())}
    told = [line.looked_at for line in walks.lines.get(walk.walk, ())]
    return len(units) or max(told, default=0)


def _ends(fact: Fact) -> tuple[float, float]:
    if fact.low is None or fact.high is None:
        raise ValueError(f"{fact.quantity} needs a range to be a prior")
    return fact.low, fact.high
