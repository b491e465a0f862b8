"""Schedules of one house tried on its members: on few at first, on more only where few cannot tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import floor, log, sqrt
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from outpace.planning.house_outlook import HouseOutlook, outcome
from outpace.planning.places import Place, Schedule, numbers_of, releases_at

Array = NDArray[np.float64]

TOLD_APART = 2.5
"""Standard errors from the asked risk at which a schedule is passed or dropped without trying it on more members."""
FARTHEST = 6.0
"""Logarithm of the times of the level beyond which it does not matter how far a house is above or below it."""


Kind = Literal["chance", "days"]


@dataclass(frozen=True, slots=True)
class Aim:
    """What a schedule must reach: a chance of ever being above the level, or days above it, of at most so much."""

    kind: Kind
    most: float


@dataclass(frozen=True, slots=True)
class Seen:
    """How a schedule fared on some members: the highest times of the limit, and the days above it, of each."""

    peaks: Array
    days: Array

    @property
    def chance(self) -> float:
        """Return the share of members that were ever above."""
        return float((self.peaks > 1.0).mean())

    @property
    def days_above(self) -> float:
        """Return the mean of the days above. [d]"""
        return float(self.days.mean())

    def gap(self, aim: Aim) -> float:
        """Return how far the aim is missed; at most 0 exactly where it is met, in log density or days."""
        if aim.kind == "days":
            return self.days_above - aim.most
        allowed = floor(aim.most * self.peaks.size + 1e-9)
        if allowed >= self.peaks.size:
            return -FARTHEST
        at = float(np.partition(self.peaks, self.peaks.size - 1 - allowed)[self.peaks.size - 1 - allowed])
        return (
            max(-FARTHEST, min(FARTHEST, log(max(at, 1e-9))))
            if at <= 1.0
            else max(1e-9, min(FARTHEST, log(at)))
        )

    def doubt(self, aim: Aim) -> float:
        """Return the standard error of what the aim is about."""
        if aim.kind == "days":
            return float(self.days.std()) / sqrt(self.days.size) + 1e-9
        share = (float((self.peaks > 1.0).sum()) + 0.5) / (self.peaks.size + 1.0)
        return sqrt(share * (1.0 - share) / self.peaks.size)

    def value(self, aim: Aim) -> float:
        """Return what the aim is about: chance or days."""
        return self.days_above if aim.kind == "days" else self.chance


@dataclass
class Trials:
    """What has been tried for one house, group of members by group.

    Parameters
    ----------
    first_day : int
        Days after today from which being above counts.
    groups : sequence of int
        Sizes of the groups of members; a house with no more members than the first has one group of all.
    """

    house: HouseOutlook
    places: Sequence[Place]
    first_day: int
    groups: Sequence[int]
    most: int = 10**9
    seen: dict[Schedule, Seen] = field(default_factory=dict)
    parts: list[tuple[int, HouseOutlook]] = field(init=False)

    def __post_init__(self) -> None:
        ends = [0]
        for size in self.groups:
            if ends[-1] < self.house.members:
                ends.append(min(ends[-1] + size, self.house.members))
        self.parts = [(a, self.house.between(a, b)) for a, b in pairwise(ends)]
        if len(self.parts) == 1:
            self.parts = [(0, self.house.some(ends[1]))]

    @property
    def tried(self) -> int:
        """Return how many schedules were tried."""
        return len(self.seen)

    @property
    def spent(self) -> bool:
        """Return whether as many were tried as may be."""
        return len(self.seen) >= self.most

    def see(self, schedule: Schedule, groups: int = 1) -> Seen:
        """Return how a schedule fares on at least so many groups of members."""
        known = self.seen.get(schedule)
        have = 0 if known is None else self._groups_in(known)
        for first, house in self.parts[have : max(have, min(groups, len(self.parts)))]:
            more = look(house, self.places, numbers_of(self.places, schedule), self.first_day, first)
            known = (
                more
                if known is None
                else Seen(np.concatenate([known.peaks, more.peaks]), np.concatenate([known.days, more.days]))
            )
            self.seen[schedule] = known
        assert known is not None
        return known

    def see_all(self, schedule: Schedule) -> Seen:
        """Return how a schedule fares on all members."""
        return self.see(schedule, len(self.parts))

    def saw_all(self, schedule: Schedule) -> bool:
        """Return whether a schedule was tried on all members."""
        return schedule in self.seen and self._groups_in(self.seen[schedule]) == len(self.parts)

    def look(self, numbers: Sequence[float]) -> Seen:
        """Return how so many labelled animals at each place fare on all members, rungs or not."""
        parts = [look(house, self.places, numbers, self.first_day, first) for first, house in self.parts]
        return Seen(np.concatenate([one.peaks for one in parts]), np.concatenate([one.days for one in parts]))

    def beside(self, numbers: Sequence[float], known: Seen) -> tuple[float, float]:
        """Return chance and days above of so many animals at each place, told beside what is known on all members.

        The first members tell how far the two lie apart, with the same luck for both.
        """
        first, house = self.parts[0]
        one = look(house, self.places, numbers, self.first_day, first)
        other = Seen(known.peaks[: one.peaks.size], known.days[: one.days.size])
        chance = known.chance + one.chance - other.chance
        return min(max(chance, 0.0), 1.0), max(known.days_above + one.days_above - other.days_above, 0.0)

    def holds(self, schedule: Schedule, aim: Aim) -> bool:
        """Return whether a schedule meets the aim, on no more members than it takes to tell."""
        for group in range(1, len(self.parts) + 1):
            seen = self.see(schedule, group)
            if self._groups_in(seen) == len(self.parts):
                break
            off = seen.value(aim) - aim.most
            if abs(off) > TOLD_APART * seen.doubt(aim):
                return off < 0
        return seen.gap(aim) <= 0

    def _groups_in(self, seen: Seen) -> int:
        total = 0
        for number, (_, house) in enumerate(self.parts, start=1):
            total += house.members
            if total >= seen.peaks.size:
                return number
        return len(self.parts)


def look(
    house: HouseOutlook, places: Sequence[Place], numbers: Sequence[float], first_day: int, first: int = 0
) -> Seen:
    """Return how so many labelled animals at each place fare on every member of a house."""
    done = outcome(house, releases_at(house, places, numbers, first))
    return Seen(done.times_limit[first_day:].max(axis=0), done.above[first_day:].sum(axis=0).astype(float))
