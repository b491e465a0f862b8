"""A stop rule as a table of whole numbers: what to compare with at each look, and what the rule does, exactly.

The table is all that is needed while walking: it needs no formula, no server and no memory but one running total. On
each look at or past ``least``, stop low if the total is at or under ``low``, stop high if it is at or over ``high``,
and at ``most`` one of the two holds. Its characteristic is that of the table itself, its rounding and its end included.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from outpace.estimation.sampling import (
    StopLines,
)

Array = NDArray[np.float64]

NEVER = -1
LOW, HIGH, ON = "low", "high", "on"


@dataclass(frozen=True, slots=True)
class StopTable:
    """Totals at which to stop, from the look number ``least`` to ``most``.

    Parameters
    ----------
    low, high : tuple of int, one for each look from ``least`` to ``most``
        Stop low at or under, stop high at or over; `NEVER` in ``low`` where no total is low enough.
    tally : int, optional
        The total counts units with more aphids than this; None: it counts aphids.
    """

    least: int
    most: int
    low: tuple[int, ...]
    high: tuple[int, ...]
    tally: int | None = None

    def decide(self, total: int, looked_at: int) -> str:
        """Return ``low``, ``high`` or ``on`` for a total after so many looks.

        Examples
        --------
        >>> table = stop_table(stop_lines_presence(0.1, 0.4), least=5, most=20)
        >>> [table.decide(0, 4), table.decide(0, 10), table.decide(6, 10), table.decide(2, 10)]
        ['on', 'low', 'high', 'on']
        """
        if looked_at < self.least:
            return ON
        at = min(looked_at, self.most) - self.least
        if total <= self.low[at]:
            return LOW
        return HIGH if total >= self.high[at] else ON


def stop_table(lines: StopLines, *, least: int, most: int, tally: int | None = None) -> StopTable:
    """Return Wald's lines as whole numbers, ended at ``most`` by the line between them.

    Parameters
    ----------
    lines : StopLines
    least, most : int
        No stop before ``least`` looks; at ``most`` the nearer of the two ends is taken.
    tally : int, optional

    Examples
    --------
    >>> stop_table(stop_lines_presence(0.1, 0.4), least=10, most=12)
    StopTable(least=10, most=12, low=(1, 1, 2), high=(4, 4, 3), tally=None)
    """
    if not 1 <= least <= most:
        raise ValueError(f"a walk of {least} to {most} looks cannot be")
    looks = range(least, most + 1)
    low = [max(NEVER, math.ceil(lines.lower + lines.slope * n) - 1) for n in looks]
    high = [max(0, math.floor(lines.upper + lines.slope * n) + 1) for n in looks]
    low[-1] = math.floor(lines.slope * most)
    high[-1] = low[-1] + 1
    return StopTable(least, most, tuple(low), tuple(high), tally)


@dataclass(frozen=True, slots=True)
class Stand:
    """Where a walk stands that is being made.

    Parameters
    ----------
    end : str
        ``low``, ``high`` or ``on``.
    looked_at, total : int
        At the stop where there was one, else so far.
    clean_more : int, optional
        Looks that would end it low if all of them were clean; None where no such look is left.
    as_so_far_more : int
        Looks until it ends if what is found goes on as so far.
    at_most_more : int
        Looks left to the stated maximum.
    """

    end: str
    looked_at: int
    total: int
    clean_more: int | None
    as_so_far_more: int
    at_most_more: int


def where_it_stands(table: StopTable, seen: Iterable[int]) -> Stand:
    """Return whether a walk may stop, from what was seen unit by unit; what came after a stop is passed over.

    Parameters
    ----------
    seen : iterable of int
        Aphids by unit, in the order of looking. [1]

    Examples
    --------
    >>> table = stop_table(stop_lines_presence(0.1, 0.4), least=5, most=20, tally=0)
    >>> where_it_stands(table, [0, 0, 3, 0, 0, 0])
    Stand(end='on', looked_at=6, total=1, clean_more=4, as_so_far_more=9, at_most_more=14)
    """
    total = looked_at = 0
    for count in seen:
        if count < 0:
            raise ValueError(f"a count of {count} is below 0")
        looked_at += 1
        total += count if table.tally is None else int(count > table.tally)
        end = table.decide(total, looked_at)
        if end != ON:
            return Stand(end, looked_at, total, 0, 0, 0)
    ahead = range(looked_at + 1, table.most + 1)
    first = next((n for n in ahead if table.decide(total, n) != ON), None)
    clean = first if first is not None and table.decide(total, first) == LOW else None
    rate = total / looked_at if looked_at else 0.0
    going = next((n for n in ahead if table.decide(round(rate * n), n) != ON), table.most)
    return Stand(
        ON,
        looked_at,
        total,
        None if clean is None else clean - looked_at,
        going - looked_at,
        table.most - looked_at,
    )


@dataclass(frozen=True, slots=True)
class Exact:
    """What a table does at one true density, by exact convolution.

    ``low`` and ``high`` sum to one; ``to_the_end`` is the chance that the walk goes to its maximum.
    """

    low: float
    high: float
    mean_looks: float
    to_the_end: float


def exact(table: StopTable, unit_chances: ArrayLike) -> Exact:
    """Return the exact operating characteristic and average sample number of a table.

    Parameters
    ----------
    unit_chances : array of float, shape (totals,)
        Chance that one look adds 0, 1, 2 ... to the total; the last takes all above.

    Examples
    --------
    >>> table = stop_table(stop_lines_presence(0.1, 0.4), least=10, most=40, tally=0)
    >>> found = exact(table, [0.9, 0.1])
    >>> round(found.low, 3), round(found.mean_looks, 1)
    (0.964, 12.1)
    """
    chances = np.asarray(unit_chances, dtype=np.float64)
    top = max(table.high)
    if len(chances) > top + 2:
        chances = np.append(chances[: top + 1], 0.0)
    chances = np.append(chances[:-1], 1 - chances[:-1].sum())
    alive = np.ones(1)
    low = high = looks = to_the_end = 0.0
    for n in range(1, table.most + 1):
        going = float(alive.sum())
        looks += going
        if n == table.most:
            to_the_end = going
        alive = np.convolve(alive, chances)
        if n >= table.least:
            under, over = table.low[n - table.least] + 1, table.high[n - table.least]
            low += float(alive[:under].sum())
            high += float(alive[over:].sum())
            alive = alive[:over]
            alive[:under] = 0.0
        elif len(alive) > top + 1:
            # A total past every high line stays past it; its chances are kept in one place.
            alive = np.append(alive[:top], alive[top:].sum())
        if alive.sum() < 1e-13:
            break
    return Exact(low, high, looks, to_the_end)
