"""Which seasons are played: development seeds to try settings on, held-back seeds only to score."""

from __future__ import annotations

import numpy as np
from benchmarks.virtual_house.truth import WRONGS

SETS = {"development": 1_000, "held-back": 1_000_000, "closed-loop": 800_000, "stopping": 900_000}
"""First seed of each set; a set has at most 100,000 seeds.

Seeds from 500,000 and from 700,000 are spent: earlier states were scored on them; so are the first 84 from 800,000.
"""
RIGHT = 4  # of each round of seasons, without any wrong
SECOND = 0.15  # chance of a second wrong


def seasons_of(which: str, count: int) -> list[tuple[int, frozenset[str]]]:
    """Return (seed, wrongs) of so many seasons: rounds of four right ones and one for each wrong."""
    first = SETS[which]
    return [(first + index, wrongs_of(first + index, index)) for index in range(count)]


def wrongs_of(seed: int, index: int) -> frozenset[str]:
    """Return what is wrong in one season."""
    place = index % (RIGHT + len(WRONGS))
    if place < RIGHT:
        return frozenset()
    rng = np.random.default_rng([seed, 201])
    chosen = {WRONGS[place - RIGHT]}
    if rng.random() < SECOND:
        chosen.add(str(rng.choice(WRONGS)))
    return frozenset(chosen)
