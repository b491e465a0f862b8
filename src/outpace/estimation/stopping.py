"""A stop rule as a table of whole numbers: what to compare with at each look, and what the rule does, exactly.

The table is all that is needed while walking: it needs no formula, no server and no memory but one running total. On
each look at or past ``least``, stop low if the total is at or under ``low``, stop high if it is at or over ``high``,
and at ``most`` one of the two holds. Its characteristic is that of the table itself, its rounding and its end included.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import nbinom

from outpace.biology.dispersion import clumping_from_taylor
from outpace.estimation.sampling import (
    StopLines,
    stop_lines_negative_binomial,
    stop_lines_presence,
)

Array = NDArray[np.float64]

NEVER = -1
LOW, HIGH, ON = "low", "high", "on"
LEAST_K, MOST_K = 0.02, 200.0
TALLIES = (0, 3, 10, 30)
"""Upper ends of the classes in which aphids are written down: "more than so many" needs no counting."""


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


def count_chances(mean: float, k: float, top: int) -> Array:
    """Return the chances of 0, 1, ... ``top`` aphids on a unit, and of more, clumped."""
    p = k / (k + mean)
    return np.append(nbinom.pmf(np.arange(top + 1), k, p), nbinom.sf(top, k, p))


def above_chance(mean: float, k: float, tally: int) -> float:
    """Return the share of units with more aphids than a tally."""
    return float(nbinom.sf(tally, k, k / (k + mean)))


@dataclass(frozen=True, slots=True)
class Taylor:
    """Taylor's law, and hence k at a mean."""

    a: float
    b: float

    def k(self, mean: float) -> float:
        """Return the clumping at a mean, within bounds that a computer can follow."""
        return float(np.clip(clumping_from_taylor(max(mean, 1e-9), self.a, self.b), LEAST_K, MOST_K))

    def more_clumped(self, times: float) -> Taylor:
        """Return the law with so many times the variance."""
        return replace(self, a=self.a * times)


@dataclass(frozen=True, slots=True)
class StopRule:
    """A table with what it decides between, and what it does at each density of a grid.

    Parameters
    ----------
    needs_nothing, needs_acting : float
        Mean per unit, or share of infested units, between which the rule decides.
    places : tuple of float
        Means, or shares, of the grid.
    exact : tuple of Exact
        One for each place.
    wrong : float
        Larger of the chances to call the one the other.
    """

    table: StopTable
    needs_nothing: float
    needs_acting: float
    places: tuple[float, ...]
    exact: tuple[Exact, ...]
    wrong: float

    def mean_looks(self, weights: ArrayLike) -> float:
        """Return the looks expected over a prior given as weights of the places."""
        looks = np.array([found.mean_looks for found in self.exact])
        return float(np.average(looks, weights=np.asarray(weights, dtype=np.float64)))


def count_rule(
    needs_nothing: float,
    needs_acting: float,
    law: Taylor,
    places: Sequence[float],
    *,
    drawn: Taylor | None = None,
    **limits: float | int,
) -> StopRule:
    """Return the rule that sums counts between two means.

    Parameters
    ----------
    law : Taylor
        The characteristic has each density's own k by this law.
    drawn : Taylor, optional
        The lines are drawn with the k between the two means, by this law; left out: by the same.
    places : sequence of float
        Means at which the characteristic is shown.
    limits
        ``least``, ``most`` looks; ``error``, stated for both sides.
    """
    lined = drawn or law
    k = math.sqrt(lined.k(needs_nothing) * lined.k(needs_acting))
    error = float(limits["error"])
    lines = stop_lines_negative_binomial(needs_nothing, needs_acting, k, error, error)
    table = stop_table(lines, least=int(limits["least"]), most=int(limits["most"]))
    top = max(table.high)
    return _rule(
        table, needs_nothing, needs_acting, places, lambda mean: count_chances(mean, law.k(mean), top)
    )


def tally_rule(
    needs_nothing: float,
    needs_acting: float,
    law: Taylor,
    tally: int,
    places: Sequence[float],
    **limits: float | int,
) -> StopRule | None:
    """Return the rule that only asks whether a unit has more than ``tally`` aphids; None if that cannot tell."""
    low, high = (above_chance(mean, law.k(mean), tally) for mean in (needs_nothing, needs_acting))
    if not 0 < low < high < 1 - 1e-9:
        return None
    error = float(limits["error"])
    lines = stop_lines_presence(low, high, error, error)
    table = stop_table(lines, least=int(limits["least"]), most=int(limits["most"]), tally=tally)

    def chances(mean: float) -> Array:
        there = above_chance(mean, law.k(mean), tally)
        return np.array([1 - there, there])

    return _rule(table, needs_nothing, needs_acting, places, chances)


def share_rule(
    needs_nothing: float, needs_acting: float, places: Sequence[float], **limits: float | int
) -> StopRule:
    """Return the rule between two shares of infested units."""
    error = float(limits["error"])
    lines = stop_lines_presence(needs_nothing, needs_acting, error, error)
    table = stop_table(lines, least=int(limits["least"]), most=int(limits["most"]), tally=0)
    return _rule(
        table, needs_nothing, needs_acting, places, lambda share: np.array([1 - share, share], dtype=float)
    )


def _rule(
    table: StopTable,
    needs_nothing: float,
    needs_acting: float,
    places: Sequence[float],
    chances: Callable[[float], Array],
) -> StopRule:
    return StopRule(
        table,
        needs_nothing,
        needs_acting,
        tuple(places),
        tuple(exact(table, chances(place)) for place in places),
        max(exact(table, chances(needs_nothing)).high, exact(table, chances(needs_acting)).low),
    )


def wrong_under(rule: StopRule, law: Taylor) -> float:
    """Return how often a rule between two means is wrong where aphids are clumped by this law."""

    def ends(mean: float) -> Exact:
        if rule.table.tally is None:
            return exact(rule.table, count_chances(mean, law.k(mean), max(rule.table.high)))
        there = above_chance(mean, law.k(mean), rule.table.tally)
        return exact(rule.table, np.array([1 - there, there]))

    return max(ends(rule.needs_nothing).high, ends(rule.needs_acting).low)


def stated_over(rule: StopRule, laws: Iterable[Taylor]) -> StopRule:
    """Return the rule with the largest of its errors under its own and other laws of clumping."""
    return replace(rule, wrong=max(rule.wrong, *(wrong_under(rule, law) for law in laws)))


def best_tally(
    needs_nothing: float,
    needs_acting: float,
    law: Taylor,
    places: Sequence[float],
    *,
    over: Sequence[Taylor] = (),
    **limits: float | int,
) -> StopRule | None:
    """Return the tally rule that is least often wrong, of the classes in which aphids are written down.

    Parameters
    ----------
    over : sequence of Taylor
        Other laws under which it must do; the error stated is the largest of all.
    """
    tried = [tally_rule(needs_nothing, needs_acting, law, tally, places, **limits) for tally in TALLIES]
    rules = [stated_over(rule, (law, *over)) for rule in tried if rule is not None]
    return min(rules, key=lambda rule: rule.wrong) if rules else None


def prior_weights(places: Sequence[float], middle: float, low: float, high: float) -> Array:
    """Return the weights of a grid of densities under a log-normal prior with that middle and 90 % range.

    Examples
    --------
    >>> prior_weights([0.1, 1.0, 10.0], 1.0, 0.1, 10.0).round(2).tolist()
    [0.17, 0.66, 0.17]
    """
    x = np.log(np.asarray(places, dtype=np.float64))
    sd = math.log(high / low) / (2 * 1.6448536)
    density = np.exp(-0.5 * ((x - math.log(middle)) / sd) ** 2) * np.gradient(x)
    return np.asarray(density / density.sum())
