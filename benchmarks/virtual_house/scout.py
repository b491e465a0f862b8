"""What a scout brings back from a walk through a virtual house: counts of what was looked at, with what was missed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from benchmarks.virtual_house.house import VirtualHouse
from numpy.typing import NDArray

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

CLASS_EDGES = ((0, 0), (1, 3), (4, 10), (11, 30), (31, 100), (101, None))
"""Of scouts who write classes."""


@dataclass(frozen=True, slots=True)
class Habit:
    """How the house is walked: ``unit`` leaf or plant; ``style`` counts, classes or line; fixed plants or not."""

    unit: str
    style: str
    plants: int
    leaves_each: int
    fixed: bool
    every: int
    sees: tuple[float, ...]
    mummies: bool
    skips: float


@dataclass(frozen=True, slots=True)
class Notebook:
    """What one walk wrote down, unit by unit; ``plant`` numbers tell which units stood on one plant.

    ``aphids`` are the numbers seen; a scout of classes or of one line tells less than that, as ``style`` says. Mummies
    are None where they were not written down.
    """

    day: int
    unit: str
    style: str
    fixed: bool
    plant: Whole
    aphids: Whole
    closed: Whole | None
    smooth: Whole | None
    ragged: Whole | None

    @property
    def mean(self) -> float:
        return float(self.aphids.mean())

    @property
    def infested(self) -> int:
        return int((self.aphids > 0).sum())


def habit_of(house: VirtualHouse) -> Habit:
    """Return the habit of the house's scouts, drawn once a season."""
    truth = house.truth
    rng = np.random.default_rng([truth.seed, 106])
    unit = str(rng.choice(["leaf", "plant"]))
    style = str(rng.choice(["counts", "classes", "line"], p=[0.6, 0.25, 0.15]))
    one = float(rng.beta(17, 4))
    sees = (min(0.95, one + 0.1), max(0.35, one - 0.3)) if "two_scouts" in truth.wrongs else (one,)
    return Habit(
        unit=unit,
        style=style,
        plants=int(rng.choice([15, 20, 25, 30])),
        leaves_each=int(rng.choice([1, 2, 3])) if unit == "leaf" and style != "line" else 1,
        fixed=bool(rng.random() < 0.3),
        every=7,
        sees=sees,
        mummies=bool(rng.random() < 0.85),
        skips=0.35 if "skipped_walks" in truth.wrongs else 0.0,
    )


def walk(house: VirtualHouse, habit: Habit, number: int) -> Notebook:
    """Return what the scout of the day writes of the house as it stands this midnight."""
    truth = house.truth
    rng = np.random.default_rng([truth.seed, 107, house.day])
    chosen = np.random.default_rng([truth.seed, 108]) if habit.fixed else rng
    plants = chosen.choice(truth.plants, min(habit.plants, truth.plants), replace=False)
    sees = habit.sees[number % len(habit.sees)]
    aphids, closed = house.by_plant.astype(int), house.closed_by_plant.astype(int)
    rows = []
    leaves = max(1, round(truth.leaves))
    for index, plant in enumerate(plants):
        stands = [int(each[plant]) for each in (aphids, closed, house.smooth, house.ragged)]
        if habit.unit == "plant":
            rows.append([index, *(rng.binomial(n, sees) for n in stands)])
            continue
        shares = rng.gamma(0.6, 1.0, leaves) + 1e-6  # aphids crowd on a few leaves, and mummies with them
        shares /= shares.sum()
        for leaf in rng.choice(leaves, habit.leaves_each, replace=False):
            rows.append([index, *(rng.binomial(n, shares[leaf] * sees) for n in stands)])
    table = np.array(rows, dtype=np.int64)
    told = habit.mummies
    return Notebook(
        day=house.day,
        unit=habit.unit,
        style=habit.style,
        fixed=habit.fixed,
        plant=table[:, 0],
        aphids=table[:, 1],
        closed=table[:, 2] if told else None,
        smooth=table[:, 3] if told else None,
        ragged=table[:, 4] if told else None,
    )
