"""How many units to look at, and when to stop: sequential tests, fixed precision, presence and absence."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import binom, nbinom, poisson

Array = NDArray[np.float64]


class StopLines(NamedTuple):
    """Wald's lines: stop low under ``lower + slope·n``, high over ``upper + slope·n``, look on between."""

    slope: float
    lower: float
    upper: float

    def decide(self, total: float, looked_at: int) -> str:
        """Return ``low``, ``high`` or ``on`` for a total found on so many units.

        Examples
        --------
        >>> lines = stop_lines_negative_binomial(2.0, 4.0, k=4.6)
        >>> [lines.decide(total, n) for n, total in enumerate([2, 7, 13, 15, 22], start=1)]
        ['on', 'on', 'on', 'on', 'high']
        """
        if total > self.upper + self.slope * looked_at:
            return "high"
        if total < self.lower + self.slope * looked_at:
            return "low"
        return "on"


def _lines(weight: float, per_unit: float, alpha: float, beta: float) -> StopLines:
    if not 0 < alpha < 1 or not 0 < beta < 1:
        raise ValueError("both errors must lie between 0 and 1")
    return StopLines(
        per_unit / weight, math.log(beta / (1 - alpha)) / weight, math.log((1 - beta) / alpha) / weight
    )


def stop_lines_negative_binomial(
    low: float, high: float, k: float, alpha: float = 0.1, beta: float = 0.1
) -> StopLines:
    """Return the lines of Wald's test between two mean densities of clumped counts [1]_.

    Parameters
    ----------
    low, high : float
        Mean per unit that needs nothing, and that needs acting.
    k : float
        Clumping.
    alpha, beta : float, default 0.1
        Stated chances to act for nothing, and to miss. Wald's lines keep within them, see `characteristic`.

    References
    ----------
    .. [1] Wald 1947

    Examples
    --------
    >>> lines = stop_lines_negative_binomial(2.0, 4.0, k=4.6)
    >>> round(lines.slope, 4), round(lines.upper, 4)
    (2.8418, 5.1283)
    """
    _ordered(low, high)
    weight = math.log(high * (k + low) / (low * (k + high)))
    return _lines(weight, k * math.log((k + high) / (k + low)), alpha, beta)


def stop_lines_poisson(low: float, high: float, alpha: float = 0.1, beta: float = 0.1) -> StopLines:
    """Return the lines between two means of counts that are not clumped."""
    _ordered(low, high)
    return _lines(math.log(high / low), high - low, alpha, beta)


def stop_lines_presence(low: float, high: float, alpha: float = 0.1, beta: float = 0.1) -> StopLines:
    """Return the lines between two shares of infested units."""
    _ordered(low, high)
    if high >= 1:
        raise ValueError("the higher share must be below 1")
    weight = math.log(high * (1 - low) / (low * (1 - high)))
    return _lines(weight, math.log((1 - low) / (1 - high)), alpha, beta)


def _ordered(low: float, high: float) -> None:
    if not 0 < low < high:
        raise ValueError(f"needs 0 < low < high, got {low} and {high}")


@dataclass(frozen=True, slots=True)
class Characteristic:
    """What a stop rule does at one true density, exactly: chances of its three ends, and mean looks."""

    low: float
    high: float
    undecided: float
    mean_looked_at: float


def characteristic(
    lines: StopLines, unit_chances: ArrayLike, *, least: int = 1, most: int = 1000
) -> Characteristic:
    """Return the exact operating characteristic and average sample number, by convolution.

    Parameters
    ----------
    lines : StopLines
    unit_chances : array of float, shape (counts,)
        Chance of 0, 1, 2 ... on one unit; what is cut off at the end counts as the last.
    least, most : int
        No stop before ``least`` units; at ``most`` the walk ends undecided.

    Examples
    --------
    >>> lines = stop_lines_negative_binomial(2.0, 4.0, k=4.6)
    >>> found = characteristic(lines, negative_binomial_chances(2.0, 4.6))
    >>> round(found.low, 4), round(found.mean_looked_at, 2)
    (0.9478, 6.48)
    """
    chances = np.asarray(unit_chances, dtype=np.float64)
    chances = np.append(chances[:-1], 1 - chances[:-1].sum())
    alive = np.ones(1)  # chance of each total, still looking
    low = high = mean_n = 0.0
    for n in range(1, most + 1):
        mean_n += alive.sum()
        alive = np.convolve(alive, chances)
        if n >= least:
            top, bottom = lines.upper + lines.slope * n, lines.lower + lines.slope * n
            totals = np.arange(len(alive))
            high += alive[totals > top].sum()
            low += alive[totals < bottom].sum()
            alive[(totals > top) | (totals < bottom)] = 0.0
            alive = alive[: max(1, min(len(alive), math.floor(top) + 1))]
        if alive.sum() < 1e-13:
            break
    return Characteristic(float(low), float(high), float(alive.sum()), float(mean_n))


def negative_binomial_chances(mean: float, k: float) -> Array:
    """Return the chances of 0, 1, 2 ... aphids on a unit, to all but 1e-12."""
    p = k / (k + mean)
    return np.asarray(nbinom.pmf(np.arange(int(nbinom.isf(1e-12, k, p)) + 2), k, p))


def poisson_chances(mean: float) -> Array:
    """Return the chances of 0, 1, 2 ... on a unit where counts are not clumped."""
    return np.asarray(poisson.pmf(np.arange(int(poisson.isf(1e-12, mean)) + 2), mean))


def presence_chances(share: float) -> Array:
    """Return the chances that a unit is clean or infested."""
    return np.asarray(binom.pmf([0, 1], 1, share))


def mean_saving(
    lines: StopLines,
    densities: ArrayLike,
    chances_at: Callable[[float], Array],
    *,
    fixed: int,
    least: int = 10,
    most: int = 60,
) -> tuple[Array, float]:
    """Return the looks saved against a fixed number at each density, and the density that saves least.

    Parameters
    ----------
    lines : StopLines
    densities : array of float, shape (n,)
        Draws of the stated prior of densities, or a grid.
    chances_at : function
        Density → chances of 0, 1, 2 ... on one unit.
    fixed : int
        Units of the walk that does not stop early.

    Returns
    -------
    saved : array of float, shape (n,)
        Share of looks saved, 0 to 1.
    worst : float
        The density at which the rule saves least.
    """
    places = np.atleast_1d(np.asarray(densities, dtype=np.float64))
    looked = np.array(
        [characteristic(lines, chances_at(m), least=least, most=most).mean_looked_at for m in places]
    )
    saved = 1 - looked / fixed
    return saved, float(places[np.argmin(saved)])


def green_total(looked_at: ArrayLike, a: float, b: float, precision: float) -> Array:
    """Return the total at which counting may stop with a fixed precision (Green 1970).

    Parameters
    ----------
    looked_at : array of float
        Units so far.
    a, b : float
        Taylor's law, variance = a·mean^b.
    precision : float
        Standard error over mean.

    Examples
    --------
    >>> green_total([10, 20, 50, 100], a=2.5, b=1.5, precision=0.25).round(6).tolist()
    [160.0, 80.0, 32.0, 16.0]
    """
    if b == 2:
        raise ValueError("with b = 2 the precision does not depend on the total")
    n = np.asarray(looked_at, dtype=np.float64)
    return np.asarray((a * n ** (1 - b) / precision**2) ** (1 / (2 - b)))


def kuno_total(looked_at: ArrayLike, alpha: float, beta: float, precision: float) -> Array:
    """Return the stop total by the regression of mean crowding on mean (Kuno 1969).

    Infinite while n is too small.

    Parameters
    ----------
    alpha, beta : float
        Intercept and slope of Lloyd's mean crowding on the mean.
    """
    n = np.asarray(looked_at, dtype=np.float64)
    room = precision**2 - (beta - 1) / n
    return np.asarray(np.where(room > 0, (alpha + 1) / np.where(room > 0, room, 1.0), np.inf))


def fixed_number(mean: ArrayLike, a: float, b: float, precision: float) -> Array:
    """Return the number of units for a fixed precision at a known mean.

    Examples
    --------
    >>> fixed_number([0.1, 1.0, 10.0], a=2.5, b=1.5, precision=0.25).round(3).tolist()
    [126.491, 40.0, 12.649]
    """
    return np.asarray(a * np.asarray(mean, dtype=np.float64) ** (b - 2) / precision**2)


def iwao_lines(
    looked_at: ArrayLike, level: float, alpha: float, beta: float, t: float
) -> tuple[Array, Array]:
    """Return the lower and upper stop totals around a critical mean (Iwao 1975)."""
    n = np.asarray(looked_at, dtype=np.float64)
    half = t * np.sqrt(n * ((alpha + 1) * level + (beta - 1) * level**2))
    return np.asarray(n * level - half), np.asarray(n * level + half)
