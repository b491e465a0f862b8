"""One season under one policy, until it fails or ends: what became of it and what it cost."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from benchmarks.loop.market import Bought, bought
from benchmarks.virtual_house.season import LONGEST_D, Known, Plan, Policy, Season, season


@dataclass(frozen=True, slots=True)
class Played:
    """A season under a policy. ``failed_d`` is the first day above the action level, None if there was none.

    ``seconds`` is the processor time of each decision.
    """

    seed: int
    failed_d: int | None
    bought: Bought
    walks: int
    seconds: tuple[float, ...]

    @property
    def failed(self) -> bool:
        """Return whether the true mean was above the action level on any day."""
        return self.failed_d is not None


def play(seed: int, wrongs: frozenset[str], policy: Policy, enemy: str | None = None) -> Played:
    """Play a season until the first walk at which the house is above its level, or to its end.

    ``enemy`` is ordered in place of the usual one.
    """
    seconds: list[float] = []

    def timed(known: Known) -> Plan:
        begun = time.process_time()
        plan = policy(known)
        seconds.append(time.process_time() - begun)
        return plan

    played = season(seed, wrongs, timed, enemy=enemy, give_up_at=1.0, afterwards_d=0)
    failed_d = first_above(played)
    until = LONGEST_D if failed_d is None else failed_d
    last = played.known[-1] if played.known else None
    return Played(
        seed,
        failed_d,
        bought(last.parcels, played.truth.area_m2, until) if last else Bought(0.0, 0),
        sum(walk.day <= until for walk in last.walks) if last else 0,
        tuple(seconds),
    )


def first_above(played: Season) -> int | None:
    """Return the first day on which the true mean stood above the action level."""
    if not played.known:
        return None
    known = played.known[0]
    level = known.level * (played.truth.leaves if known.habit.unit == "leaf" else 1.0)
    above = np.flatnonzero(played.mean_by_day > level)
    return int(above[0]) if len(above) else None


def share_failed(results: Sequence[Played]) -> float:
    """Return the share of seasons that failed."""
    return float(np.mean([each.failed for each in results]))
