"""Schedules of one house that hold it at little cost.

Where all schedules can be tried, all are. Else the relaxed programme says where to begin; from there packs are taken
away, moved to other days and to other enemies as long as that costs less and the house still holds; at last every
schedule near the best that would cost less still is tried, cheapest first. All schedules meet the same members with the
same luck.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from itertools import product
from math import prod

from outpace.planning.effort import Effort
from outpace.planning.foretold import Foretold
from outpace.planning.guide import Guide
from outpace.planning.places import Schedule, within_most
from outpace.planning.relaxed import Effects, effects, relaxed_schedules
from outpace.planning.trials import Aim, Trials

SAME_MONEY = 1e-6
FAR = 0.3
"""Where the summed effects say that a schedule misses the aim by more than this, in log density, it is not tried."""
A_ROUND = 16
"""Cheaper neighbours tried before the search gives in."""
A_SWEEP = 60
EARLIER = 4
"""Times that something is moved to an earlier day at no cost, and moves tried each time."""
FIRST_PLACES = 4
"""Places, earliest first, of which the least that holds by itself is looked for."""


def can_try_all(trials: Trials, effort: Effort) -> bool:
    """Return whether a house has so few schedules that each is tried."""
    return prod(len(place.levels) for place in trials.places) <= effort.complete


def try_all(trials: Trials) -> None:
    """Try every schedule on all members."""
    for schedule in product(*(range(len(place.levels)) for place in trials.places)):
        if within_most(trials.places, schedule):
            trials.see_all(schedule)


def fullest(trials: Trials) -> Schedule:
    """Return the schedule with as many animals as may be let go on every day, the likeliest to hold."""
    places = trials.places
    found = [0] * len(places)
    for i in sorted(range(len(places)), key=lambda j: (places[j].offer.day, places[j].offer.pack.price, j)):
        for rung in range(len(places[i].levels) - 1, 0, -1):
            trial = (*found[:i], rung, *found[i + 1 :])
            if within_most(places, trial):
                found[i] = rung
                break
    return tuple(found)


class Search:
    """The search of one house for one aim; what is tried is kept in the trials, for other aims and guides too."""

    def __init__(self, trials: Trials, aim: Aim, effort: Effort) -> None:
        self.trials, self.effort = trials, effort
        self.nothing: Schedule = (0,) * len(trials.places)
        self.full = fullest(trials)
        self.told = Foretold(trials, aim)
        self._effects: Effects | None = None

    @property
    def aim(self) -> Aim:
        """Return what is searched for."""
        return self.told.aim

    def aim_at(self, aim: Aim, judge: Trials | None = None) -> None:
        """Search for something else from here on, on other members that judge where these are given."""
        self.told.aim_at(aim, judge)
        self._effects = None

    @property
    def effects(self) -> Effects:
        """Return the effects of single places, tried once."""
        if self._effects is None:
            self._effects = effects(self.told)
        return self._effects

    def cheapest(self, guide: Guide, starts: Sequence[Schedule] = ()) -> Schedule:
        """Return the cheapest schedule found that holds; the fullest one where the search may try no more.

        The fullest schedule must hold.
        """
        begun = [start for start in starts if self._holds(start)]
        for start in relaxed_schedules(guide, self.effects, self.effort.relaxed):
            if within_most(self.trials.places, start) and self._holds(start):
                begun.append(start)
        begun += self._single_days()
        if not begun:
            begun = [self._halved()]
        begun = sorted(set(begun), key=lambda item: (guide.cost(item), item))
        best = min(
            (self._descended(guide, start) for start in begun[:2]), key=lambda item: (guide.cost(item), item)
        )
        while (better := self._swept(guide, best)) is not None:
            best = self._descended(guide, better)
        return self._earlier(guide, best)

    def fuller(self, schedule: Schedule, most: int = 12) -> list[Schedule]:
        """Return schedules with more on one day that should hold where this one does not, tried on few members."""
        places, gap = self.trials.places, self.told.tell(schedule).gap
        found = []
        for i, place in enumerate(places):
            for rung in range(schedule[i] + 1, len(place.levels)):
                more = (*schedule[:i], rung, *schedule[i + 1 :])
                if not within_most(places, more):
                    break
                if self.effects.of(more) - self.effects.of(schedule) >= gap:
                    found.append((rung - schedule[i], more))
                    if rung - 1 > schedule[i]:
                        found.append((rung - 1 - schedule[i], (*schedule[:i], rung - 1, *schedule[i + 1 :])))
                    break
        return [one for _, one in sorted(found)[:most] if self._holds(one)]

    def thinner(self, schedule: Schedule) -> None:
        """Try schedules with one rung less on a day, or moved to another, on few members."""
        for one in sorted(set(_neighbours(self.trials, schedule, by_rung=True))):
            if self._gap_told(one, schedule) < self._far():
                self.told.tell(one)

    def _earlier(self, guide: Guide, best: Schedule) -> Schedule:
        """Return the schedule with as much as can be moved to earlier days at no more cost."""
        for _ in range(EARLIER):
            cost, late = guide.cost(best), self._lateness(best)
            moves = sorted(
                (self._lateness(trial), trial)
                for trial in set(_neighbours(self.trials, best))
                if guide.cost(trial) <= cost + SAME_MONEY and self._lateness(trial) < late
            )
            better = next((trial for _, trial in moves[:EARLIER] if self._holds(trial)), None)
            if better is None:
                break
            best = better
        return best

    def _lateness(self, schedule: Schedule) -> int:
        places = self.trials.places
        return sum(
            place.levels[rung] * (place.offer.day - places[0].offer.day)
            for place, rung in zip(places, schedule, strict=True)
        )

    def _holds(self, schedule: Schedule) -> bool:
        return self.told.tell(schedule).holds()

    def _single_days(self) -> list[Schedule]:
        """Return the least that holds on each of the first days alone: early animals are worth most."""
        found = []
        for i in range(min(len(self.trials.places), FIRST_PLACES)):
            low, high = 0, len(self.trials.places[i].levels) - 1
            if self.trials.spent or not self._holds(self._single(i, high)):
                continue
            while high - low > 1 and not self.trials.spent:
                middle = (low + high) // 2
                low, high = (low, middle) if self._holds(self._single(i, middle)) else (middle, high)
            found.append(self._single(i, high))
        return found

    def _single(self, place: int, rung: int) -> Schedule:
        return (*self.nothing[:place], rung, *self.nothing[place + 1 :])

    def _halved(self) -> Schedule:
        """Return the fullest schedule, halved on all days as often as it still holds."""
        best = self.full
        while not self.trials.spent:
            trial = tuple(rung // 2 for rung in best)
            if not any(trial) or not self._holds(trial):
                return best
            best = trial
        return best

    def _gap_told(self, schedule: Schedule, near: Schedule) -> float:
        """Return the gap of a schedule as the effects foretell it from one nearby that was tried."""
        sums, there = self.effects, self.told.tell(near).gap
        moved = sums.of(near)
        reached = max(sums.needed - there, 0.0)
        scale = min(max(reached / moved, 0.3), 3.0) if moved > 0 else 1.0
        return there + scale * (moved - sums.of(schedule))

    def _descended(self, guide: Guide, start: Schedule) -> Schedule:
        best, found = start, True
        while found and not self.trials.spent:
            found = False
            cost = guide.cost(best)
            near = self._far()
            moves = sorted(
                (guide.cost(trial), trial)
                for trial in set(_neighbours(self.trials, best))
                if guide.cost(trial) < cost - SAME_MONEY and self._gap_told(trial, best) < near
            )
            for _, trial in moves[:A_ROUND]:
                if self.trials.spent:
                    break
                if self._holds(trial):
                    best, found = trial, True
                    break
        return best

    def _swept(self, guide: Guide, best: Schedule) -> Schedule | None:
        """Return a schedule two moves away that holds and costs less, the cheapest first; None where none is found."""
        cost, near, tried = guide.cost(best), self._far() / 2, 0
        queue: list[tuple[float, Schedule]] = []
        queued = {best}
        for first in set(_neighbours(self.trials, best, by_rung=True)):
            for trial in (first, *_neighbours(self.trials, first, by_rung=True)):
                if trial in queued:
                    continue
                queued.add(trial)
                price = guide.cost(trial)
                if price < cost - SAME_MONEY and self._gap_told(trial, best) < near:
                    heapq.heappush(queue, (price, trial))
        while queue and tried < A_SWEEP and not self.trials.spent:
            _, trial = heapq.heappop(queue)
            tried += trial not in self.trials.seen
            if self._holds(trial):
                return trial
        return None

    def _far(self) -> float:
        return FAR if self.aim.kind == "chance" else FAR * max(self.effects.needed, 1.0)


def _neighbours(trials: Trials, schedule: Schedule, *, by_rung: bool = False) -> Iterator[Schedule]:
    """Yield the schedules one move away: less on a day, or some of it on another day or of another enemy.

    With ``by_rung`` a move is one rung, else also the half and all of what is let go.
    """
    places = trials.places
    for i, rung in enumerate(schedule):
        if not rung:
            continue
        for fewer in (rung - 1,) if by_rung else {0, rung // 2, rung - 1}:
            less = (*schedule[:i], fewer, *schedule[i + 1 :])
            yield less
            moved = places[i].levels[rung] - places[i].levels[fewer]
            for j, other in enumerate(places):
                if j == i:
                    continue
                there = other.levels[schedule[j]]
                for times in (1.0,) if by_rung else (0.5, 1.0, 1.5):
                    to = _rung_of(other.levels, there + times * moved, above=schedule[j])
                    if to is not None:
                        trial = (*less[:j], to, *less[j + 1 :])
                        if within_most(places, trial):
                            yield trial


def _rung_of(levels: Sequence[int], number: float, above: int) -> int | None:
    """Return the first rung above one that holds so many, the top where none does; None at the top."""
    if above >= len(levels) - 1:
        return None
    for rung in range(above + 1, len(levels)):
        if levels[rung] >= number:
            return rung
    return len(levels) - 1
