"""How schedules would fare on all members that judge, told from how they fare on few.

All schedules meet the same members with the same luck. So few members tell well how far two schedules lie apart, though
badly where they lie. Where they lie is known of the schedules that were tried on all members that judge; every other
one is told from the nearest of these, on either side where there are such.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from outpace.planning.places import Schedule
from outpace.planning.trials import FARTHEST, TOLD_APART, Aim, Seen, Trials
from outpace.planning.trials import told as named

Array = NDArray[np.float64]

SOFT = 0.25
"""Width, in log density, over which a member counts as partly above: smooth in the schedule where a count jumps."""
LEAST_DOUBT = 0.02
"""What the members that judge differ among themselves from what few tell, at least: in log density, or days."""
PER_APART = 0.2
"""How much of the way between two schedules is in doubt, members differing in what releases do to them."""
FAILS = 1.5
"""Standard errors by which a schedule must miss the aim on the first members that judge not to be tried on all."""
TELLERS = 2
"""Groups of the members of the search that tell, where others judge."""
HALVINGS = 24
ENOUGH = 1.0
"""Standard errors from the aim at which no more members of the search are asked."""


@dataclass(frozen=True, slots=True)
class Told:
    """How far an aim is missed, as `Seen.gap` has it, and the standard error of that; 0 where it was tried."""

    gap: float
    doubt: float

    def holds(self, surely: float = 0.0) -> bool:
        """Return whether the aim is met, so many standard errors being taken off."""
        return self.gap + surely * self.doubt <= 0


class Beside:
    """How far schedules lie apart on some groups of members that all of them met.

    Parameters
    ----------
    trials : Trials
    aim : Aim
    """

    def __init__(self, trials: Trials, aim: Aim) -> None:
        self.trials, self.aim = trials, aim
        self._levels: dict[tuple[Schedule, int], float] = {}

    def level(self, schedule: Schedule, groups: int = 1) -> float:
        """Return where a schedule lies by the first groups: a soft quantile in log density, or days."""
        found = self._levels.get((schedule, groups))
        if found is None:
            self.trials.see(schedule, groups)
            name = f"{self._named(groups)} level {named(schedule)}"
            (found,) = self.trials.figures.of(name, lambda: (self._level(schedule, groups),))
            self._levels[schedule, groups] = found
        return found

    def _level(self, schedule: Schedule, groups: int) -> float:
        if self.aim.kind == "days":
            return float(self._fared(schedule, groups).days.mean())
        return soft_quantile(self._logs(schedule, groups), self.aim.most)

    def told(self, schedule: Schedule, known: Mapping[Schedule, float], groups: int = 1) -> Told | None:
        """Return what is told of a schedule from the gaps of those that are known; None where none is.

        Between the nearest on either side it is drawn as a straight line: members differ in what releases do to them.
        """
        here = self.level(schedule, groups)
        by_level = sorted((self.level(one, groups), one) for one in known)
        below = next((each for each in reversed(by_level) if each[0] <= here), None)
        above = next((each for each in by_level if each[0] > here), None)
        if below is None or above is None:
            near = below or above
            return None if near is None else self._beside(schedule, near[1], known[near[1]], groups)
        to_below, to_above = here - below[0], above[0] - here
        nearer = below if to_below <= to_above else above
        rise = (known[above[1]] - known[below[1]]) / (to_below + to_above)
        found = self._beside(schedule, nearer[1], known[nearer[1]], groups)
        return Told(known[below[1]] + rise * to_below, found.doubt)

    def _beside(self, schedule: Schedule, near: Schedule, gap: float, groups: int) -> Told:
        apart = self.level(schedule, groups) - self.level(near, groups)
        name = f"{self._named(groups)} doubt {named(schedule)} {named(near)}"
        (doubt,) = self.trials.figures.of(name, lambda: (self._doubt(schedule, near, apart, groups),))
        return Told(gap + apart, max(LEAST_DOUBT, doubt, PER_APART * abs(apart)))

    def _doubt(self, schedule: Schedule, near: Schedule, apart: float, groups: int) -> float:
        """Return the standard error of how far two schedules lie apart."""
        if self.aim.kind == "days":
            off = self._fared(schedule, groups).days - self._fared(near, groups).days
            return float(off.std()) / sqrt(off.size)
        one, other = self._logs(schedule, groups), self._logs(near, groups)
        at = self.level(near, groups)
        weights = _nearness(one - at - apart) + _nearness(other - at)
        off = weights * (one - other - apart)
        return float(np.sqrt((off * off).sum()) / max(weights.sum(), 1e-9))

    def _named(self, groups: int) -> str:
        return f"{self.trials.name} {self.trials.ends[groups - 1]} {self.aim.name}"

    def _fared(self, schedule: Schedule, groups: int) -> Seen:
        return self.trials.fared(schedule, self.trials.ends[groups - 1])

    def _logs(self, schedule: Schedule, groups: int) -> Array:
        peaks = self._fared(schedule, groups).peaks
        return np.clip(np.log(np.maximum(peaks, 1e-9)), -FARTHEST, FARTHEST)


class Foretold:
    """What is known of schedules on the members that judge, and what is told of the others.

    Parameters
    ----------
    few : Trials
        On the members of the search, which judge too until others are brought in.
    aim : Aim
    """

    def __init__(self, few: Trials, aim: Aim) -> None:
        self.few, self.aim, self.judge = few, aim, few
        self.known: dict[Schedule, float] = {}
        self._begin()

    def _begin(self) -> None:
        self._few, self._judge = Beside(self.few, self.aim), Beside(self.judge, self.aim)
        self._told: dict[Schedule, Told] = {}

    def aim_at(self, aim: Aim, judge: Trials | None = None) -> None:
        """Tell of something else from here on, on other members where these are given."""
        self.aim, self.judge = aim, judge or self.judge
        self._begin()
        before, self.known = self.known, {}
        for one in before:
            if one in self.judge.seen:
                self.know(one)

    def level(self, schedule: Schedule) -> float:
        """Return where a schedule lies by the fewest members, in log density or days."""
        return self._few.level(schedule)

    def know(self, schedule: Schedule) -> float:
        """Return how far a schedule misses the aim on the members that judge: on all, or on their first if it fails."""
        if schedule not in self.known:
            self.known[schedule] = self._gap_known(schedule)
            self._told.clear()
        return self.known[schedule]

    def _gap_known(self, schedule: Schedule) -> float:
        first = self.judge.see(schedule)
        if not self.judge.saw_all(schedule):
            if first.value(self.aim) - self.aim.most > TOLD_APART * first.doubt(self.aim):
                return first.gap(self.aim)
            on_all = {one: gap for one, gap in self.known.items() if self.judge.saw_all(one)}
            told = self._judge.told(schedule, on_all)
            if told is not None and told.gap > FAILS * told.doubt:
                return told.gap
        return self.judge.see_all(schedule).gap(self.aim)

    def tell(self, schedule: Schedule) -> Told:
        """Return how far a schedule should miss the aim, on no more members than it takes to tell."""
        if schedule in self.known:
            return Told(self.known[schedule], 0.0)
        found = self._told.get(schedule)
        if found is None:
            found = self._told[schedule] = self._tell(schedule)
        return found

    def _tell(self, schedule: Schedule) -> Told:
        found = Told(0.0, FARTHEST)
        parts = len(self.few.ends) if self.judge is self.few else min(TELLERS, len(self.few.ends))
        for groups in range(1, parts + 1):
            seen = self.few.see(schedule, groups)
            if self.judge is self.few and self.few.saw_all(schedule):
                return Told(self.know(schedule), 0.0)
            found = self._few.told(schedule, self.known, groups) or Told(seen.gap(self.aim), FARTHEST)
            if abs(found.gap) > ENOUGH * found.doubt:
                break
        return found


def soft_quantile(logs: Array, share: float) -> float:
    """Return where a share of members lies above, each of them counting softly.

    Parameters
    ----------
    logs : array of float, shape (members,)
    share : float
        Of the members; where it is less than half a member, that is taken.
    """
    share = max(share, 0.5 / logs.size)
    low, high = -2.0 * FARTHEST, 2.0 * FARTHEST
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        above = float((1.0 / (1.0 + np.exp((middle - logs) / SOFT))).mean())
        low, high = (middle, high) if above > share else (low, middle)
    return 0.5 * (low + high)


def _nearness(off: Array) -> Array:
    part = 1.0 / (1.0 + np.exp(np.clip(off / SOFT, -40.0, 40.0)))
    return np.asarray(part * (1.0 - part))
