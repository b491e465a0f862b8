"""Drawing one member's parameters over the ranges of the facts.

A row's low and high are taken as the ends of the middle nine tenths. The two sides may differ: each has its own half
of a normal distribution, on the log where the range spans more than a doubling.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from outpace.facts.table import Fact

Array = NDArray[np.float64]

NINE_TENTHS = 1.6448536269514722
"""Standard deviations on each side of the middle nine tenths of a normal distribution."""

LUCKS_KEPT = 32
"""Of the swings of some days; of 4,096 members and four weeks one takes 2 MB."""


class Luck:
    """Standard normal numbers, one set of members per name: the same name and seed give the same numbers."""

    def __init__(self, seed: int, members: int) -> None:
        self.seed = seed
        self.members = members

    def normal(self, name: str) -> Array:
        """Return the numbers of that name, shape (members,)."""
        key = np.array([self.seed % 2**64, zlib.crc32(name.encode())], dtype=np.uint64)
        return np.random.Generator(np.random.Philox(key=key)).standard_normal(self.members)


def luck_of_day(seed: int, day: int, pests: int, members: int) -> Array:
    """Return the standard normal numbers of one day, shape (2 × pests, members): by seed and day alone."""
    key = np.array([seed % 2**64, day % 2**64], dtype=np.uint64)
    return np.random.Generator(np.random.Philox(key=key)).standard_normal((2 * pests, members))


@lru_cache(maxsize=LUCKS_KEPT)
def luck_of_days(seed: int, first_day: int, days: int, pests: int, members: int) -> Array:
    """Return the numbers of some days, shape (days, 2 × pests, members); not to be written to.

    Whoever tries many plans on the same members draws them once.
    """
    return np.stack([luck_of_day(seed, first_day + d, pests, members) for d in range(days)])


def spread_over(fact: Fact, z: Array, *, least: float = -np.inf, most: float = np.inf) -> Array:
    """Return the value of a row moved by ``z`` standard deviations of its own range.

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> k = load().one("aphidius_colemani", "refuge_k")
    >>> spread_over(k, np.array([-NINE_TENTHS, 0.0, NINE_TENTHS])).round(3)
    array([0.2 , 0.35, 1.  ])
    """
    low = fact.value if fact.low is None else fact.low
    high = fact.value if fact.high is None else fact.high
    sides = z / NINE_TENTHS
    if low > 0 and high > 2.0 * low:
        down, up = np.log(fact.value / low), np.log(high / fact.value)
        moved = fact.value * np.exp(np.where(sides < 0, down, up) * sides)
    else:
        moved = fact.value + np.where(sides < 0, fact.value - low, high - fact.value) * sides
    return np.clip(moved, least, most)


def log_spread(rows: Sequence[Fact]) -> float:
    """Return the standard deviation on the log that the ranges of some rows show on average."""
    spreads = [
        np.log(row.high / row.low) / (2.0 * NINE_TENTHS)
        for row in rows
        if row.low is not None and row.high is not None and 0 < row.low < row.high
    ]
    return float(np.mean(spreads)) if spreads else 0.0


def draw_pair(
    threshold: Fact, constant: Fact, correlation: float, first: Array, second: Array
) -> tuple[Array, Array]:
    """Return lower threshold and thermal constant drawn as the correlated pair they were estimated as."""
    other = correlation * first + np.sqrt(1.0 - correlation**2) * second
    return spread_over(threshold, first), spread_over(constant, other, least=0.2 * constant.value)


def chain_rows(share: float, variation: float, most: int) -> int:
    """Return the rows of a stage that takes ``share`` of a time with this coefficient of variation.

    Examples
    --------
    >>> chain_rows(0.25, 0.1, 8), chain_rows(0.25, 0.25, 8)
    (8, 4)
    """
    return int(min(max(round(share / variation**2), 1), most))
