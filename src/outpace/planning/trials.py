"""Schedules of one house tried on its members: on few at first, on more only where few cannot tell."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from itertools import pairwise
from math import floor, log, sqrt
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from outpace.planning.figures import Figures
from outpace.planning.house_outlook import AnyHouse, HouseOutlook, outcome
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

    @property
    def name(self) -> str:
        """Return the aim as it stands in the name of a figure."""
        return f"{self.kind} {self.most!r}"


@dataclass(frozen=True, slots=True)
class Seen:
    """How a schedule fared on some members: the highest times of the limit, and the days above it, of each."""

    peaks: Array
    days: Array

    @property
    def size(self) -> int:
        """Return the number of members."""
        return self.peaks.size

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

    def first(self, members: int) -> Seen:
        """Return how the first of the members fared."""
        return Seen(self.peaks[:members], self.days[:members])


class Tried:
    """A schedule on some members, its figures as they are kept; its members are run where a figure is not known.

    Parameters
    ----------
    name : str
        What was tried, and on which members.
    size : int
        Members.
    bring : callable
        Runs them.
    """

    def __init__(self, figures: Figures, name: str, size: int, bring: Callable[[], Seen]) -> None:
        self._figures, self.name, self.size, self._bring = figures, name, size, bring

    @property
    def members(self) -> Seen:
        """Return how each member fared."""
        return self._bring()

    @property
    def chance(self) -> float:
        """Return the share of members that were ever above."""
        return self._figure("chance", lambda: self.members.chance)

    @property
    def days_above(self) -> float:
        """Return the mean of the days above. [d]"""
        return self._figure("days", lambda: self.members.days_above)

    def gap(self, aim: Aim) -> float:
        """Return how far the aim is missed, as `Seen.gap` has it."""
        return self._figure(f"gap {aim.name}", lambda: self.members.gap(aim))

    def doubt(self, aim: Aim) -> float:
        """Return the standard error of what the aim is about."""
        return self._figure(f"doubt {aim.name}", lambda: self.members.doubt(aim))

    def value(self, aim: Aim) -> float:
        """Return what the aim is about: chance or days."""
        return self.days_above if aim.kind == "days" else self.chance

    def _figure(self, what: str, work: Callable[[], float]) -> float:
        return self._figures.of(f"{self.name} {what}", lambda: (work(),))[0]


class Trials:
    """What has been tried for one house, group of members by group.

    Parameters
    ----------
    house : HouseOutlook or LaterHouse
    places : sequence of Place
        Where animals may be let go, with draws for these members unless they are ``drawn`` apart.
    first_day : int
        Days after today from which being above counts.
    groups : sequence of int
        Sizes of the groups of members; a house with no more members than the first has one group of all.
    most : int
        Schedules tried at most.
    figures : Figures, optional
        Those known from an earlier plan; ``name`` tells these members from others in it.
    drawn : callable, optional
        Returns the places with draws for these members, when a run first needs them.
    """

    def __init__(
        self,
        house: AnyHouse,
        places: Sequence[Place],
        first_day: int,
        groups: Sequence[int],
        most: int = 10**9,
        *,
        figures: Figures | None = None,
        name: str = "few",
        drawn: Callable[[], Sequence[Place]] | None = None,
    ) -> None:
        self.house, self.first_day, self.most = house, first_day, most
        self.figures, self.name = figures or Figures(), name
        self.seen: dict[Schedule, Tried] = {}
        self._places, self._drawn = places, drawn
        self._run: dict[Schedule, Seen] = {}
        self.ends: list[int] = []
        for size in groups:
            if not self.ends or self.ends[-1] < house.members:
                self.ends.append(min((self.ends[-1] if self.ends else 0) + size, house.members))

    @cached_property
    def places(self) -> Sequence[Place]:
        """Return where animals may be let go, with draws for these members."""
        return self._places if self._drawn is None else self._drawn()

    @cached_property
    def parts(self) -> list[tuple[int, HouseOutlook]]:
        """Return the house with each group of its members, and which member is the first of these."""
        house = self.house.laid
        if len(self.ends) == 1:
            return [(0, house.some(self.ends[0]))]
        return [(a, house.between(a, b)) for a, b in pairwise([0, *self.ends])]

    @property
    def tried(self) -> int:
        """Return how many schedules were tried."""
        return len(self.seen)

    @property
    def spent(self) -> bool:
        """Return whether as many were tried as may be."""
        return len(self.seen) >= self.most

    def see(self, schedule: Schedule, groups: int = 1) -> Tried:
        """Return how a schedule fares on at least so many groups of members."""
        known = self.seen.get(schedule)
        end = self.ends[min(groups, len(self.ends)) - 1]
        if known is None or known.size < end:
            known = Tried(
                self.figures,
                f"{self.name} {told(schedule)} {end}",
                end,
                lambda: self.fared(schedule, end),
            )
            self.seen[schedule] = known
        return known

    def see_all(self, schedule: Schedule) -> Tried:
        """Return how a schedule fares on all members."""
        return self.see(schedule, len(self.ends))

    def saw_all(self, schedule: Schedule) -> bool:
        """Return whether a schedule was tried on all members."""
        return schedule in self.seen and self.seen[schedule].size == self.ends[-1]

    def fared(self, schedule: Schedule, members: int) -> Seen:
        """Return how a schedule fares on each of the first members, run where they were not yet."""
        known = self._run.get(schedule)
        for (first, house), end in zip(self.parts, self.ends, strict=True):
            if first >= members or (known is not None and known.size >= end):
                continue
            more = look(house, self.places, numbers_of(self.places, schedule), self.first_day, first)
            known = (
                more
                if known is None
                else Seen(np.concatenate([known.peaks, more.peaks]), np.concatenate([known.days, more.days]))
            )
            self._run[schedule] = known
        assert known is not None
        return known.first(members)

    def look(self, numbers: Sequence[float]) -> Tried:
        """Return how so many labelled animals at each place fare on all members, rungs or not."""

        @cache
        def bring() -> Seen:
            parts = [look(house, self.places, numbers, self.first_day, first) for first, house in self.parts]
            return Seen(
                np.concatenate([one.peaks for one in parts]), np.concatenate([one.days for one in parts])
            )

        return Tried(self.figures, f"{self.name} numbers {told(numbers)}", self.ends[-1], bring)

    def beside(self, numbers: Sequence[float], known: Tried) -> tuple[float, float]:
        """Return chance and days above of so many animals at each place, told beside what is known on all members.

        The first members tell how far the two lie apart, with the same luck for both.
        """

        def work() -> tuple[float, float]:
            first, house = self.parts[0]
            one = look(house, self.places, numbers, self.first_day, first)
            other = known.members.first(one.size)
            chance = known.chance + one.chance - other.chance
            days = known.days_above + one.days_above - other.days_above
            return min(max(chance, 0.0), 1.0), max(days, 0.0)

        chance, days = self.figures.of(f"{self.name} {told(numbers)} beside {known.name}", work)
        return chance, days

    def chance_before(self) -> float:
        """Return the chance of being above before the first day that counts; no day after it is run."""

        def work() -> tuple[float]:
            house = self.house.laid
            days = min(self.first_day, house.horizon_d)
            return (outcome(replace(house, horizon_d=days)).chance_before(self.first_day),)

        return self.figures.of(f"{self.name} before", work)[0]

    def holds(self, schedule: Schedule, aim: Aim) -> bool:
        """Return whether a schedule meets the aim, on no more members than it takes to tell."""
        for group in range(1, len(self.ends) + 1):
            seen = self.see(schedule, group)
            if seen.size == self.ends[-1]:
                break
            off = seen.value(aim) - aim.most
            if abs(off) > TOLD_APART * seen.doubt(aim):
                return off < 0
        return seen.gap(aim) <= 0


def told(numbers: Sequence[float]) -> str:
    """Return rungs or numbers as they stand in the name of a figure."""
    return ",".join(map(repr, numbers))


def look(
    house: HouseOutlook, places: Sequence[Place], numbers: Sequence[float], first_day: int, first: int = 0
) -> Seen:
    """Return how so many labelled animals at each place fare on every member of a house."""
    done = outcome(house, releases_at(house, places, numbers, first))
    return Seen(done.times_limit[first_day:].max(axis=0), done.above[first_day:].sum(axis=0).astype(float))
