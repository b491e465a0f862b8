"""Are ranks uniform? Simulation-based calibration (Talts et al. 2018, recalled): tests, envelope, and Holm's rule."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

DRAWS = 99
BINS = 20
LEVEL = 0.01


def rank_of(truth: float, draws: ArrayLike, rng: np.random.Generator) -> int:
    """Return how many draws lie below the truth, 0 to their number; among ties by chance."""
    values = np.asarray(draws)
    ties = int((values == truth).sum())
    return int((values < truth).sum()) + int(rng.integers(0, ties + 1))


def thinned(members: Array, rng: np.random.Generator, draws: int = DRAWS) -> Array:
    """Return so many members, chosen by chance without a second time."""
    return np.asarray(members[rng.choice(len(members), draws, replace=False)])


def narrowed(draws: Array, share: float = 0.8) -> Array:
    """Return draws drawn towards their mean: what a filter too narrow by a fifth would give."""
    middle = draws.mean()
    return np.asarray(middle + share * (draws - middle))


def chance_if_uniform(ranks: Integers, draws: int = DRAWS, bins: int = BINS) -> float:
    """Return the chance of bins at least as uneven as these, by chi-squared."""
    places = np.asarray(ranks) * bins // (draws + 1)
    counts = np.bincount(places, minlength=bins)
    return float(stats.chisquare(counts).pvalue)


def holm(chances: ArrayLike, level: float = LEVEL) -> NDArray[np.bool_]:
    """Return which hypotheses fall by Holm's rule at a level for all of them together (Holm 1979, recalled)."""
    values = np.asarray(chances, dtype=float)
    falls = np.zeros(len(values), dtype=bool)
    for step, place in enumerate(np.argsort(values)):
        if values[place] > level / (len(values) - step):
            break
        falls[place] = True
    return falls


def ecdf(ranks: Integers, draws: int = DRAWS) -> Array:
    """Return the share of ranks at or under each rank 0 to draws."""
    return np.asarray(np.cumsum(np.bincount(ranks, minlength=draws + 1)) / len(ranks))


def envelope(
    number: int, draws: int = DRAWS, level: float = LEVEL, tries: int = 2000, seed: int = 1
) -> tuple[Array, Array]:
    """Return low and high ends between which the whole ECDF of uniform ranks stays with a chance of 1 − level.

    Pointwise binomial limits, narrowed alike at all points until they hold together; by simulation (Säilynoja,
    Bürkner and Vehtari 2022, recalled).
    """
    rng = np.random.default_rng(seed)
    expected = np.arange(1, draws + 1) / (draws + 1)
    least = np.empty(tries)
    for i in range(tries):
        below = np.cumsum(np.bincount(rng.integers(0, draws + 1, number), minlength=draws + 1))[:-1]
        one_side = np.minimum(
            stats.binom.cdf(below, number, expected), stats.binom.sf(below - 1, number, expected)
        )
        least[i] = 2 * one_side.min()
    inside = np.quantile(least, level)
    low = stats.binom.ppf(inside / 2, number, expected) / number
    high = stats.binom.ppf(1 - inside / 2, number, expected) / number
    return np.append(low, 1.0), np.append(high, 1.0)


def stays_inside(ranks: Integers, ends: tuple[Array, Array], draws: int = DRAWS) -> bool:
    """Return whether the ECDF of ranks stays within an envelope."""
    shares = ecdf(ranks, draws)
    return bool(np.all((shares >= ends[0] - 1e-12) & (shares <= ends[1] + 1e-12)))
