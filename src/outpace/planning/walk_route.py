"""Which plants to look at, in which order: at random, every zone in proportion, and on one way through the house.

The walk goes through the whole house in passes, there and back. Each pass is a random sample of every zone, so a walk
that may stop early has still seen the whole house. Plants at doors, vents and house ends are looked at more often than
their share by looks on top of the sample, marked as such: they can only show that aphids are there, not how many.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

import numpy as np
from numpy.typing import NDArray

Integers = NDArray[np.int64]

SAMPLE, EDGE = "sample", "edge"


@dataclass(frozen=True, slots=True)
class Block:
    """One zone as rows of plants that follow each other; ``watched`` where it has a door or a vent.

    ``first_row`` counts rows through the house, from 1.
    """

    zone: str
    plants: int
    first_row: int
    rows: int
    watched: bool = False

    @property
    def per_row(self) -> int:
        """Return the plants of a full row."""
        return ceil(self.plants / self.rows)

    def place(self, number: int) -> tuple[int, int]:
        """Return row and plant in the row, both from 1, of the plant so far along the way through the zone."""
        row = number // self.per_row
        return self.first_row + row, number % self.per_row + 1

    def way(self, number: int) -> tuple[int, int]:
        """Return what to sort by to walk the rows there and back."""
        row, plant = self.place(number)
        return row, plant if row % 2 else -plant


@dataclass(frozen=True, slots=True)
class Look:
    """One plant to look at; ``number`` counts the sample, 0 for a look on top of it."""

    number: int
    zone: str
    row: int
    plant: int
    kind: str = SAMPLE


def blocks(zones: Sequence[tuple[str, int, bool]], rows: int) -> list[Block]:
    """Return zones as blocks of rows, the rows shared by their plants.

    Parameters
    ----------
    zones : sequence of (name, plants, watched)
    rows : int
        Of the whole house.

    Examples
    --------
    >>> [(b.first_row, b.rows, b.per_row) for b in blocks([("north", 300, False), ("south", 100, True)], 8)]
    [(1, 6, 50), (7, 2, 50)]
    """
    if not zones or any(plants < 1 for _, plants, _ in zones):
        raise ValueError("a house needs zones, and a zone plants")
    total = sum(plants for _, plants, _ in zones)
    made, first = [], 1
    for zone, plants, watched in zones:
        here = min(plants, max(1, round(rows * plants / total)))
        made.append(Block(zone, plants, first, here, watched))
        first += here
    return made


def passes(
    house: Sequence[Block], *, most: int, by_pass: int, edge_looks: float = 1.0, seed: int = 0
) -> list[list[Look]]:
    """Return the looks pass by pass, each in the order of the way; every other pass goes back.

    Parameters
    ----------
    house : sequence of Block
    most : int
        Plants of the sample; fewer where the house has fewer.
    by_pass : int
        Plants of the sample in one pass.
    edge_looks : float, default 1.0
        How many times as often plants at the edge are to be looked at; what is above 1 comes on top.
    seed : int
        The same seed gives the same plants.

    Examples
    --------
    >>> there = blocks([("whole house", 200, False)], rows=4)
    >>> [(look.row, look.plant) for look in passes(there, most=4, by_pass=4, seed=1)[0]]
    [(1, 26), (2, 48), (3, 8), (4, 48)]
    """
    if by_pass < 1 or most < 1 or edge_looks < 1:
        raise ValueError("a pass needs plants, and looks at the edge cannot be fewer than their share")
    rng = np.random.default_rng(seed)
    total = sum(block.plants for block in house)
    left = min(most, total)
    used: list[set[int]] = [set() for _ in house]
    edges = [_edge(block, house) for block in house]
    share = sum(len(edge) for edge in edges) / total
    shares = np.array([block.plants / total for block in house])
    owed = np.zeros(len(house))
    number, extra_owed = 0, 0.0
    found: list[list[Look]] = []
    while left > 0:
        here = min(by_pass, left)
        owed += shares * here
        chosen = _share_out(owed, here, [len(u) for u in used], house, rng)
        owed -= chosen
        looks = []
        for b, block in enumerate(house):
            for at in _spread(block.plants, int(chosen[b]), used[b], rng):
                used[b].add(at)
                looks.append((b, at, SAMPLE))
        extra_owed += here * share * (edge_looks - 1)
        extra = ceil(extra_owed) if not found and extra_owed > 0 else int(extra_owed)
        extra_owed -= extra
        looks += _extra(edges, used, extra, rng)
        looks.sort(key=lambda look: house[look[0]].way(look[1]), reverse=len(found) % 2 == 1)
        told = []
        for b, at, kind in looks:
            number += kind == SAMPLE
            row, plant = house[b].place(at)
            told.append(Look(number if kind == SAMPLE else 0, house[b].zone, row, plant, kind))
        found.append(told)
        left -= here
    return found


def _edge(block: Block, house: Sequence[Block]) -> list[int]:
    """Return the plants of a zone at the edge: a zone with door or vent, else row ends and the outer rows."""
    if block.watched:
        return list(range(block.plants))
    if any(other.watched for other in house):
        return []
    last = house[-1].first_row + house[-1].rows - 1
    found = []
    for number in range(block.plants):
        row, plant = block.place(number)
        if row in (1, last) or plant in (1, block.per_row):
            found.append(number)
    return found


def _share_out(
    owed: NDArray[np.float64],
    here: int,
    used: Sequence[int],
    house: Sequence[Block],
    rng: np.random.Generator,
) -> Integers:
    """Return how many plants each zone gets in a pass: whole ones, what is over by chance in proportion."""
    room = np.array([block.plants - n for block, n in zip(house, used, strict=True)], dtype=np.int64)
    chosen = np.zeros(len(house), dtype=np.int64)
    while chosen.sum() < here:
        open_ = chosen < room
        gap = np.where(open_, owed - chosen, -np.inf)
        if gap.max() >= 1 - 1e-9:
            chosen[int(np.argmax(gap))] += 1
            continue
        weight = np.where(open_, np.maximum(gap, 1e-9), 0.0)
        chosen[rng.choice(len(house), p=weight / weight.sum())] += 1
    return chosen


def _spread(plants: int, number: int, used: set[int], rng: np.random.Generator) -> list[int]:
    """Return plants along the way through a zone, one at random from each of as many equal stretches."""
    found: list[int] = []
    ends = np.linspace(0, plants, number + 1)
    for low, high in pairwise(ends):
        at = min(plants - 1, int(rng.uniform(low, high)))
        free = at
        while free in used or free in found:
            free = (free + 1) % plants
        found.append(free)
    return found


def _extra(
    edges: Sequence[Sequence[int]], used: Sequence[set[int]], number: int, rng: np.random.Generator
) -> list[tuple[int, int, str]]:
    open_ = [(b, at) for b, edge in enumerate(edges) for at in edge if at not in used[b]]
    if not open_ or number < 1:
        return []
    picked = rng.choice(len(open_), size=min(number, len(open_)), replace=False)
    found = []
    for index in picked:
        b, at = open_[int(index)]
        found.append((b, at, EDGE))
    return found
