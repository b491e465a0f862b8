"""A season of a virtual house in closed loop: walks, what a policy makes of them, parcels that come or do not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from benchmarks.virtual_house.house import LetGo, Treatment, VirtualHouse
from benchmarks.virtual_house.scout import Habit, Notebook, habit_of, walk
from benchmarks.virtual_house.truth import Truth, draw_truth
from numpy.typing import NDArray

Array = NDArray[np.float64]

LONGEST_D = 119
FIRST_WALK_D = 5
LOST_AT = 6.0  # times the action level: the grower gives the house up
AFTERWARDS_D = 35


@dataclass(frozen=True, slots=True)
class Parcel:
    """Enemies ordered: how many by the label, of which kind, for which day; ``ordered`` is the day of the order.

    ``came`` is the day on which it was let go, once it was; ``checked`` the mummies looked at in the grower's pot and
    the wasps that came out of them.
    """

    ordered: int
    planned: int
    number: int
    enemy: str
    came: int | None = None
    checked: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """What a policy asks for after a walk: parcels to order and sprays of today, as (kill of aphids, of wasps)."""

    parcels: tuple[tuple[int, int], ...] = ()
    spray: tuple[float, float] | None = None


@dataclass
class Known:
    """All that the people of the house know on a day; policies and forecasts see nothing else.

    ``parcels`` holds those on their way too; ``logger`` is the hourly record up to the midnight of ``day``.
    """

    place: Truth
    habit: Habit
    level: float
    day: int = 0
    walks: list[Notebook] = field(default_factory=list)
    parcels: list[Parcel] = field(default_factory=list)
    sprays: list[Treatment] = field(default_factory=list)
    logger: Array = field(default_factory=lambda: np.zeros(0))

    @property
    def found(self) -> bool:
        return any(each.infested for each in self.walks)


Policy = Callable[[Known], Plan]
"""Asked after each walk. A parcel is (days from now until it is let go, number by the label)."""


@dataclass(frozen=True)
class Season:
    """A season that is over: the true mean by day, and what was known after each walk.

    ``mean_by_day`` is in live aphids per plant, index 0 the midnight that begins day 0; ``changed`` are the days on
    which something was decided that was not known at the walks before.
    """

    truth: Truth
    known: tuple[Known, ...]
    mean_by_day: Array
    changed: tuple[int, ...]


def season(
    seed: int,
    wrongs: frozenset[str],
    policy: Policy | None = None,
    *,
    enemy: str | None = None,
    give_up_at: float = LOST_AT,
    afterwards_d: int = AFTERWARDS_D,
) -> Season:
    """Play a season of one house; the same seed, wrongs and policy give the same season.

    Parameters
    ----------
    policy : callable, optional
        Takes what is known after a walk and returns what to do; the house's own habit when not given.
    enemy : str, optional
        What is ordered in place of the enemy that is usual in this house.
    give_up_at : float
        Times the action level at which the house is given up.
    afterwards_d : int
        Days that are still lived after the last walk or after the house was given up; at most `AFTERWARDS_D`.
    """
    truth = draw_truth(seed, wrongs, enemy)
    house = VirtualHouse(truth, LONGEST_D + AFTERWARDS_D + 1)
    habit = habit_of(house)
    rng = np.random.default_rng([seed, 109])
    per_unit = {"leaf": 1 / truth.leaves, "plant": 1.0}[habit.unit]
    level = float(np.exp(rng.uniform(np.log(0.5), np.log(8.0))) * truth.leaves * per_unit)
    decide = habitual(truth) if policy is None else policy
    known = Known(truth, habit, level)
    seen: list[Known] = []
    changed: list[int] = []
    end = LONGEST_D + afterwards_d
    walked = 0
    lost = False
    while house.day < end:
        day = house.day
        last_walk = day >= LONGEST_D or lost
        treatments: list[Treatment] = []
        if day >= FIRST_WALK_D and (day - FIRST_WALK_D) % habit.every == 0 and not last_walk:
            known.day = day
            known.logger = house.logger[: day * 24]
            if rng.random() >= habit.skips:
                known.walks.append(walk(house, habit, walked))
                walked += 1
                plan = decide(known)
                for days, number in plan.parcels:
                    known.parcels.append(Parcel(day, day + max(1, days), number, truth.enemy))
                if plan.parcels and len(seen):
                    changed.append(day)
                if plan.spray is not None:
                    treatments.append(Treatment(day, *plan.spray, residue=0.0, residue_days=0.0))
                    known.sprays.extend(treatments)
                    changed.append(day)
                seen.append(_copy(known))
            if house.per_plant * per_unit > give_up_at * level:
                lost, end = True, min(end, day + afterwards_d + 1)
        house.step(_arrivals(known, truth, day, rng), treatments)
    return Season(truth, tuple(seen), np.array(house.mean_by_day), tuple(changed))


def _copy(known: Known) -> Known:
    return Known(
        known.place,
        known.habit,
        known.level,
        known.day,
        list(known.walks),
        list(known.parcels),
        list(known.sprays),
        known.logger,
    )


def _arrivals(known: Known, truth: Truth, day: int, rng: np.random.Generator) -> list[LetGo]:
    """Let go what came today; a bad parcel comes late, never, or dead."""
    out = []
    for index, parcel in enumerate(known.parcels):
        if parcel.came is not None or parcel.planned > day:
            continue
        luck = np.random.default_rng([truth.seed, 110, index])
        bad = "bad_parcels" in truth.wrongs
        delay = int(luck.integers(2, 7)) if bad and luck.random() < 0.3 else 0
        if day < parcel.planned + delay:
            continue
        lives = float(luck.beta(9, 2.5))
        if bad and luck.random() < 0.3:
            lives *= float(luck.uniform(0.02, 0.3))
        checked = None
        if luck.random() < 0.3:
            checked = (50, int(luck.binomial(50, lives)))
        known.parcels[index] = Parcel(
            parcel.ordered, parcel.planned, parcel.number, parcel.enemy, came=day, checked=checked
        )
        out.append(LetGo(day, parcel.number, lives))
    return out


def habitual(truth: Truth) -> Policy:
    """Return what most people do: order a row of weekly parcels on the first find, or a steady trickle from the start.

    All of it is ordered at once, so that whoever forecasts knows what is on its way.
    """
    rng = np.random.default_rng([truth.seed, 111])
    kind = str(rng.choice(["first find", "trickle", "nothing"], p=[0.7, 0.18, 0.12]))
    rate = float(np.exp(rng.normal(np.log(1.0), 0.8)))
    weeks = int(rng.integers(3, 9))
    lead = int(rng.integers(2, 9))

    def decide(known: Known) -> Plan:
        if known.parcels or kind == "nothing" or (kind == "first find" and not known.found):
            return Plan()
        share, rounds = (0.3, 12) if kind == "trickle" else (1.0, weeks)
        number = max(20, round(rate * share * truth.area_m2))
        return Plan(tuple((lead + 7 * week, number) for week in range(rounds)))

    return decide
