"""What a walk saw, as intervals: the form in which counts reach the likelihood.

Every count is an interval of whole numbers: an exact count has equal ends, a class its two ends, "present" runs
from 1 without end, and what was not looked at from 0 without end, which says nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from outpace.simulation.model import HouseModel
from outpace.terms.scouting import COUNT_CLASSES, LEAF, PLANT, SHOOT

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

WHOLE_HOUSE = -1
"""Zone of a unit of which the zone was not written down."""

HUNTED = "hunted"
FIXED = "fixed"


def interval_of(aphids: str) -> tuple[float, float]:
    """Return the ends of a count as it is written in the book: a whole number or a class.

    Examples
    --------
    >>> interval_of("7"), interval_of("4to10"), interval_of("over100")
    ((7.0, 7.0), (4.0, 10.0), (101.0, inf))
    """
    if aphids in COUNT_CLASSES:
        low, high = COUNT_CLASSES[aphids]
        return float(low), np.inf if high is None else float(high)
    number = float(int(aphids))
    if number < 0:
        raise ValueError(f"a count of {aphids} is below 0")
    return number, number


def middle_of(low: Array, high: Array) -> Array:
    """Return one number for each interval: the root of the product of its ends, and half more for open ones."""
    closed = np.sqrt(np.maximum(low, 0.0) * np.where(np.isinf(high), low, high))
    return np.asarray(np.where(np.isinf(high), 1.5 * low, closed))


@dataclass(frozen=True, slots=True)
class MummiesSeen:
    """Mummies of one colour, unit by unit; the colour stands for these enemies.

    Parameters
    ----------
    enemies : tuple of int
        Indices in the model of the enemies whose mummies have this colour.
    closed, empty : array of float, shape (units,)
        Counts; nan where nothing was written down, which is not zero.
    """

    enemies: tuple[int, ...]
    closed: Array
    empty: Array


@dataclass(frozen=True, slots=True)
class WalkSeen:
    """One walk, unit by unit.

    Parameters
    ----------
    day : float
        Days since day 0 of the house's calendar.
    unit : str
        ``leaf``, ``shoot`` or ``plant``.
    chosen : str
        ``random``, ``fixed`` (the same plants each time) or ``hunted`` (looked for where aphids were expected).
    zone : array of int, shape (units,)
        Index in the model; `WHOLE_HOUSE` where it is not known.
    plant : array of int, shape (units,)
        Units with the same number stood on the same plant, in this walk and, for fixed plants, in others.
    low, high : array of float, shape (pests, units)
        Ends of the counts.
    mummies : tuple of MummiesSeen
    """

    day: float
    unit: str
    chosen: str
    zone: Integers
    plant: Integers
    low: Array
    high: Array
    mummies: tuple[MummiesSeen, ...] = ()

    def __post_init__(self) -> None:
        units = len(self.zone)
        if self.unit not in (LEAF, SHOOT, PLANT):
            raise ValueError(f"unit {self.unit!r} is none of leaf, shoot, plant")
        if (
            self.plant.shape != (units,)
            or self.low.shape[1:] != (units,)
            or self.low.shape != self.high.shape
        ):
            raise ValueError("zone, plant, low and high must speak of the same units")
        if np.any(self.low < 0) or np.any(self.high < self.low):
            raise ValueError("a count lies below 0, or its upper end below its lower")
        if any(m.closed.shape != (units,) or m.empty.shape != (units,) for m in self.mummies):
            raise ValueError("mummies must speak of the same units as the counts")

    @property
    def units(self) -> int:
        return len(self.zone)

    @property
    def hunted(self) -> bool:
        return self.chosen == HUNTED

    def found(self, pest: int) -> int:
        """Return on how many units the pest was seen."""
        return int((self.low[pest] > 0).sum())

    def looked_at(self, pest: int) -> int:
        """Return on how many units one looked for the pest."""
        return int((~np.isinf(self.high[pest]) | (self.low[pest] > 0)).sum())

    def without_mummies(self) -> WalkSeen:
        """Return the walk as if mummies had not been written down."""
        return replace(self, mummies=())


@dataclass(frozen=True, slots=True)
class LineSeen:
    """A walk told in one line: so many looked at, so many with aphids, about so many in all.

    ``aphids_about`` and ``mummies_about`` are sums over all units looked at; None where not told.
    """

    day: float
    pest: int
    looked_at: int
    infested: int
    aphids_about: float | None = None
    mummies_about: float | None = None
    unit: str = PLANT
    zone: int = WHOLE_HOUSE
    chosen: str = "random"

    def __post_init__(self) -> None:
        if not 0 <= self.infested <= self.looked_at or self.looked_at < 1:
            raise ValueError(f"{self.infested} infested of {self.looked_at} looked at cannot be")

    @property
    def hunted(self) -> bool:
        return self.chosen == HUNTED

    def found(self, pest: int) -> int:
        return self.infested if pest == self.pest else 0

    def without_mummies(self) -> LineSeen:
        """Return the walk as if mummies had not been told."""
        return replace(self, mummies_about=None)


Seen = WalkSeen | LineSeen


def check_walks(model: HouseModel, walks: Sequence[Seen]) -> None:
    """Refuse walks that speak of pests, zones or enemies that the house does not have."""
    for walk in walks:
        zones = np.atleast_1d(walk.zone)
        enemies = [e for m in walk.mummies for e in m.enemies] if isinstance(walk, WalkSeen) else []
        pests = len(walk.low) if isinstance(walk, WalkSeen) else walk.pest + 1
        if pests > len(model.pests) or np.any(zones >= len(model.zones)) or np.any(zones < WHOLE_HOUSE):
            raise ValueError(f"the walk of day {walk.day:g} speaks of a pest or zone that the house has not")
        if any(enemy >= len(model.enemies) for enemy in enemies):
            raise ValueError(
                f"the walk of day {walk.day:g} counts mummies of an enemy that the house has not"
            )


@dataclass(slots=True)
class WalkBuilder:
    """Gathers a walk unit by unit; what is not told stays "not looked at"."""

    day: float
    unit: str
    chosen: str
    pests: int
    colours: tuple[tuple[int, ...], ...] = ()
    _zone: list[int] = field(default_factory=list)
    _plant: list[int] = field(default_factory=list)
    _counts: list[dict[int, tuple[float, float]]] = field(default_factory=list)
    _mummies: list[dict[int, tuple[float, float]]] = field(default_factory=list)

    def add(
        self,
        counts: dict[int, tuple[float, float]],
        *,
        zone: int = WHOLE_HOUSE,
        plant: int | None = None,
        mummies: dict[int, tuple[float, float]] | None = None,
    ) -> None:
        """Add one unit: pest → interval, and colour → (closed, empty), nan where not written down."""
        self._zone.append(zone)
        self._plant.append(-1 - len(self._plant) if plant is None else plant)
        self._counts.append(counts)
        self._mummies.append(mummies or {})

    def seen(self) -> WalkSeen:
        """Return the walk."""
        units = len(self._zone)
        low, high = np.zeros((self.pests, units)), np.full((self.pests, units), np.inf)
        for u, counts in enumerate(self._counts):
            for pest, (least, most) in counts.items():
                low[pest, u], high[pest, u] = least, most
        nothing = (np.nan, np.nan)
        told = [np.array([m.get(c, nothing) for m in self._mummies]) for c in range(len(self.colours))]
        return WalkSeen(
            self.day,
            self.unit,
            self.chosen,
            np.array(self._zone, dtype=np.int64),
            np.array(self._plant, dtype=np.int64),
            low,
            high,
            tuple(
                MummiesSeen(enemies, pairs[:, 0], pairs[:, 1])
                for enemies, pairs in zip(self.colours, told, strict=True)
                if not np.isnan(pairs).all()
            ),
        )


def units_per_plant(model: HouseModel, unit: str, day: float = 0.0) -> float:
    """Return how many units of that kind a plant of the house has on a day."""
    return float(model.units_per_plant(unit, int(day))[0, -1])


def of_enemies_by_colour(colours: Sequence[str]) -> dict[str, tuple[int, ...]]:
    """Return colour → indices of the enemies with mummies of that colour; enemies without mummies left out.

    Examples
    --------
    >>> of_enemies_by_colour(["tan", "black", "tan", ""])
    {'tan': (0, 2), 'black': (1,)}
    """
    found: dict[str, tuple[int, ...]] = {}
    for index, colour in enumerate(colours):
        if colour:
            found[colour] = (*found.get(colour, ()), index)
    return found
