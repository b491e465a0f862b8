"""Stop rules between two densities: by counts, by a tally or by a share, and how often each errs where aphids clump."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import nbinom

from outpace.biology.dispersion import clumping_from_taylor
from outpace.estimation.sampling import (
    stop_lines_negative_binomial,
    stop_lines_presence,
)
from outpace.estimation.stop_table import Exact, StopTable, exact, stop_table

Array = NDArray[np.float64]

LEAST_K, MOST_K = 0.02, 200.0
TALLIES = (0, 3, 10, 30)
"""Upper ends of the classes in which aphids are written down: "more than so many" needs no counting."""


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
