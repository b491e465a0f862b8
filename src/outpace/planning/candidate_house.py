"""A house on its way to a plan: what is asked for it, what was tried, and on which members it is judged."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache, lru_cache
from math import sqrt

from outpace.planning.figures import Figures
from outpace.planning.foretold import Foretold
from outpace.planning.goods import Goods
from outpace.planning.guide import Guide
from outpace.planning.house_outlook import AnyHouse, HouseOutlook, LaterHouse
from outpace.planning.house_search import Search
from outpace.planning.offer import Offer
from outpace.planning.places import Place, Schedule, numbers_of, places_of
from outpace.planning.trials import Aim, Seen, Trials, Tried

CERTAIN = 1.645
"""Normal quantile of the upper 95 % bound."""
JUDGED_BY = (1024, 3072)
"""Other members: a schedule that fails clearly on the first group is not tried on the second."""


@dataclass(frozen=True)
class Asked:
    """A house and what is asked for it.

    ``offers`` carry draws for the members of ``house``. ``judge`` makes the same house with other members, and the same
    offers, in their order, with draws for them; it is called where a house needs packs, or, where ``judges`` tells how
    many they are, where a run needs them. Without it what is found is not judged again.
    ``levels`` are the only numbers that may be let go, where given. ``figures`` returns those of an earlier plan of the
    very same house with these places, where any are kept.
    """

    house: AnyHouse
    offers: tuple[Offer, ...]
    risk: float
    judge: Callable[[], tuple[HouseOutlook, tuple[Offer, ...]]] | None = None
    levels: tuple[int, ...] | None = None
    judges: int | None = None
    figures: Callable[[Sequence[Place]], Figures] | None = None

    @property
    def first_day(self) -> int:
        """Return the days from today to the first delivery: from then on a release counts."""
        return min((offer.day for offer in self.offers), default=self.house.today) - self.house.today


@dataclass
class Candidate:
    """One house on its way to a plan.

    ``choices`` are the schedules among which the programme of the farm chooses, ``lesser`` those of them that do not
    hold it; ``guides`` what schedules were found by, none where only letting nothing go comes into question.
    """

    asked: Asked
    trials: Trials
    places: tuple[Place, ...]
    search: Search
    parts: int
    asked_for: Aim
    reachable: bool = True
    choices: list[Schedule] = field(default_factory=list)
    guides: list[Guide] = field(default_factory=list)
    lesser: set[Schedule] = field(default_factory=set)
    _brought: Callable[[], tuple[HouseOutlook, tuple[Offer, ...]]] | None = None

    @property
    def told(self) -> Foretold:
        """Return what is known and told of schedules on the members that judge."""
        return self.search.told

    @property
    def judging(self) -> Trials | None:
        """Return what has been tried on other members, once they are brought in."""
        return None if self.judge is self.trials else self.judge

    @property
    def wanted(self) -> Aim:
        """Return what a schedule is to reach on the members that judge, so that its upper bound is what is asked."""
        if self.judging is None or not self.reachable:
            return self.asked_for
        members = self.judge.ends[-1]
        return replace(self.asked_for, most=most_above(self.asked_for.most, members) / members)

    @property
    def nothing(self) -> Schedule:
        """Return the schedule without a release."""
        return self.search.nothing

    @property
    def judge(self) -> Trials:
        """Return what has been tried on the members that judge, those of the search until others are called."""
        return self.told.judge

    @property
    def offers(self) -> tuple[Offer, ...]:
        """Return the offers with draws for the members that judge."""
        return self.asked.offers if self._brought is None else self._brought()[1]

    def call_judge(self) -> None:
        """Bring in other members, if there are any; they are laid out when a run first needs them."""
        asked = self.asked
        if asked.judge is None or self.judging is not None:
            return
        brought = self._brought = cache(asked.judge)
        house: AnyHouse = (
            brought()[0]
            if asked.judges is None
            else LaterHouse(
                name=asked.house.name,
                members=asked.judges,
                today=asked.house.today,
                horizon_d=asked.house.horizon_d,
                lay=lambda: brought()[0],
            )
        )
        trials = Trials(
            house, self.places, asked.first_day, JUDGED_BY, figures=self.trials.figures, name="judge",
            drawn=lambda: places_of(brought()[1], parts=self.parts, levels=asked.levels),
        )  # fmt: skip
        self.search.aim_at(self.told.aim, trials)
        self.search.aim_at(self.wanted)

    @property
    def judged(self) -> int:
        """Return how many schedules were tried on other members."""
        return 0 if self.judging is None else self.judging.tried

    def see(self, schedule: Schedule) -> Tried:
        """Return how a schedule fares on all members that judge."""
        return self.judge.see_all(schedule)

    def passes(self, schedule: Schedule) -> bool:
        """Return whether a schedule is what was asked for; on other members, by the upper bound of its chance."""
        if self.told.know(schedule) > 0:
            return False
        return (
            self.judging is None
            or not self.reachable
            or upper_bound(self.see(schedule)) <= self.asked_for.most
        )

    def known_chance(self, schedule: Schedule) -> float:
        """Return the chance of a schedule by what is known of it."""
        judged = self.judge.seen.get(schedule)
        return (judged or self.trials.see(schedule)).chance

    def held(self) -> list[Schedule]:
        """Return the schedules known to be what was asked for."""
        return [one for one in sorted(self.told.known) if self.told.known[one] <= 0 and self.passes(one)]

    def upper(self, seen: Tried) -> float:
        """Return the upper 95 % bound of a chance where other members judged, else the chance."""
        return seen.chance if self.asked.judge is None else upper_bound(seen)

    def needs(self, schedule: Schedule) -> dict[tuple[Goods, date], int]:
        """Return the animals of a schedule by goods and day."""
        return {
            (place.goods, place.day): number
            for place, number in zip(self.places, numbers_of(self.places, schedule), strict=True)
            if number
        }

    def labour(self, schedule: Schedule) -> float:
        """Return what letting go costs: once a day."""
        by_day = {
            place.day: place.offer.labour for place, rung in zip(self.places, schedule, strict=True) if rung
        }
        return sum(by_day.values())


def upper_bound(seen: Seen | Tried) -> float:
    """Return the upper 95 % bound of the chance of being above (Wilson's, with a correction for whole members).

    Examples
    --------
    >>> import numpy as np
    >>> peaks = np.where(np.arange(4096) < 410, 2.0, 0.5)
    >>> round(upper_bound(Seen(peaks, peaks * 0)), 4)
    0.1082
    """
    return _upper(seen.chance, seen.size)


@lru_cache(maxsize=64)
def most_above(risk: float, members: int) -> int:
    """Return of how many members at most may be above for the upper bound to be no higher than a risk; 0 where none.

    Examples
    --------
    >>> most_above(0.1083, 4096), most_above(0.1083, 20)
    (410, 0)
    """
    low, high = 0, members
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if _upper(middle / members, members) <= risk else (low, middle - 1)
    return low


def _upper(chance: float, n: int) -> float:
    share = min(1.0, chance + 0.5 / n)
    middle = share + CERTAIN**2 / (2 * n)
    spread = CERTAIN * sqrt(share * (1 - share) / n + CERTAIN**2 / (4 * n * n))
    return float(min(1.0, (middle + spread) / (1 + CERTAIN**2 / n)))
