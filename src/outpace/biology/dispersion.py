"""How unevenly insects sit on leaves, and what follows for the share of leaves that have none.

Clumping is the exponent *k* of the negative binomial: small is clumped, infinity is random (Poisson). It
follows the mean by Taylor's law, ``variance = a mean^b``, with *a* and *b* from facts or from a farm's own
counts.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import brentq
from scipy.special import gammainc, gammaincinv

from outpace.biology.inputs import FloatArray, above_zero, clumping, counted, not_negative, plain

MOST_K = 1e8
"""Counts as even as this or more are called random: k is given as infinite."""


def taylor_variance(mean: ArrayLike, a: ArrayLike, b: ArrayLike) -> FloatArray:
    """Return the variance between sample units that Taylor's law gives to a mean.

    Parameters
    ----------
    mean : array of float
        Mean per sample unit. [1]
    a, b : float or array of float
        Factor and exponent of the law. [1]

    Returns
    -------
    variance : array of float
        ``a mean^b``. [1]

    Raises
    ------
    ValueError
        If ``mean`` is negative, or ``a`` or ``b`` not above zero.

    References
    ----------
    Taylor1961, recalled.

    Examples
    --------
    >>> taylor_variance([1.0, 4.0], a=2.5, b=1.5)
    array([ 2.5, 20. ])
    """
    return plain(above_zero("a", a) * not_negative("mean", mean) ** above_zero("b", b))


def clumping_from_taylor(mean: ArrayLike, a: ArrayLike, b: ArrayLike) -> FloatArray:
    """Return the negative-binomial k that Taylor's law gives to a mean.

    Parameters
    ----------
    mean : array of float
        Mean per sample unit, above zero. [1]
    a, b : float or array of float
        As in `taylor_variance`. [1]

    Returns
    -------
    k : array of float
        ``mean² / (a mean^b - mean)``; infinite where the law gives no more variance than chance. [1]

    Raises
    ------
    ValueError
        If a number is not above zero.

    References
    ----------
    Taylor1961; Wilson1983; recalled.

    Examples
    --------
    >>> clumping_from_taylor([0.1, 1.0, 4.0], a=2.5, b=1.5).round(3)
    array([  inf, 0.667, 1.   ])
    """
    average = above_zero("mean", mean)
    excess = np.asarray(taylor_variance(average, a, b)) / average - 1.0
    clumped = excess > 0.0
    return plain(np.where(clumped, average / np.where(clumped, excess, 1.0), np.inf))


def fit_taylor(means: ArrayLike, variances: ArrayLike) -> tuple[float, float, float]:
    """Return Taylor's a and b of sets of counts, by least squares on logarithms.

    Parameters
    ----------
    means, variances : array of float, shape (sets,)
        Mean and variance between units of each set. Sets in which nothing was found cannot take part. [1]

    Returns
    -------
    a, b : float
        [1]
    share_explained : float
        *R²* of the line through the logarithms. [1]

    Raises
    ------
    ValueError
        If a number is not above zero or fewer than three sets with different means are given.

    References
    ----------
    Taylor1961, recalled.

    Examples
    --------
    >>> a, b, _ = fit_taylor([1.0, 4.0, 9.0], [2.5, 20.0, 67.5])
    >>> round(a, 6), round(b, 6)
    (2.5, 1.5)
    """
    x, y = np.log(above_zero("means", means)), np.log(above_zero("variances", variances))
    if x.shape != y.shape or x.ndim != 1 or np.unique(x).size < 3:
        raise ValueError("Taylor's law needs at least three sets of counts with different means")
    centred, height = x - x.mean(), y - y.mean()
    slope = float(centred @ height / (centred @ centred))
    total = float(height @ height)
    missed = float(((height - slope * centred) ** 2).sum())
    return float(np.exp(y.mean() - slope * x.mean())), slope, 1.0 - missed / total if total > 0.0 else 1.0


def zero_share(mean: ArrayLike, k: ArrayLike) -> FloatArray:
    """Return the share of sample units without a single individual.

    Parameters
    ----------
    mean : array of float
        Mean per sample unit. [1]
    k : float or array of float
        Clumping; infinity is random. [1]

    Returns
    -------
    share : array of float
        ``(1 + mean / k)^-k``, at random ``exp(-mean)``. [1]

    Raises
    ------
    ValueError
        If ``mean`` is negative or ``k`` not above zero.

    Examples
    --------
    >>> zero_share([0.05, 0.1], k=0.5).round(5)
    array([0.95346, 0.91287])
    """
    average, clump = np.broadcast_arrays(not_negative("mean", mean), clumping("k", k))
    random = np.isinf(clump)
    finite = np.where(random, 1.0, clump)
    return plain(np.exp(np.where(random, -average, -finite * np.log1p(average / finite))))


def moment_k(counts: ArrayLike) -> float:
    """Return the negative-binomial k by moments.

    Parameters
    ----------
    counts : array of float, shape (units,)
        [1]

    Returns
    -------
    k : float
        ``m² / (s² - m)``; infinite where counts are no more uneven than chance. [1]

    Raises
    ------
    ValueError
        As in `mean_crowding`.

    References
    ----------
    Bliss1953, recalled.

    Examples
    --------
    >>> round(moment_k([0, 0, 4, 4]), 3)
    1.2
    """
    _, mean, variance = counted(counts)
    return mean**2 / (variance - mean) if variance > mean else np.inf


def zero_class_k(counts: ArrayLike) -> float:
    """Return the negative-binomial k from the mean and the share of empty units.

    Parameters
    ----------
    counts : array of float, shape (units,)
        [1]

    Returns
    -------
    k : float
        Solves ``(1 + m/k)^-k = share of zeros``; infinite where there are no more zeros than by chance. [1]

    Raises
    ------
    ValueError
        As in `mean_crowding`; also if no unit is empty.

    References
    ----------
    Bliss1953, recalled.

    Examples
    --------
    >>> round(zero_class_k([0, 0, 0, 2, 6]), 3)
    0.259
    """
    seen, mean, _ = counted(counts)
    empty = float((seen == 0.0).mean())
    if empty == 0.0:
        raise ValueError("no unit is empty: the zero class says nothing")
    if -np.log(empty) >= mean:
        return np.inf
    return _root_of_k(lambda k: k * np.log1p(mean / k) + np.log(empty))


def maximum_likelihood_k(counts: ArrayLike) -> float:
    """Return the negative-binomial k by maximum likelihood, the mean being the sample mean.

    Parameters
    ----------
    counts : array of int, shape (units,)
        Whole numbers. [1]

    Returns
    -------
    k : float
        Infinite where counts are no more uneven than chance. [1]

    Raises
    ------
    ValueError
        As in `mean_crowding`; also if a count is not whole.

    References
    ----------
    Bliss1953, with Fisher's method; recalled.

    Examples
    --------
    >>> round(maximum_likelihood_k([0] * 5 + [1] * 2 + [2, 3, 7]), 3)
    0.548
    """
    return common_k([counts])


def common_k(sets: Sequence[ArrayLike]) -> float:
    """Return the one negative-binomial k of several sets of counts, each with its own mean.

    Parameters
    ----------
    sets : sequence of array of int, shape (units,)
        Whole numbers; sets may differ in length. Sets in which nothing was found say nothing and are passed
        over. [1]

    Returns
    -------
    k : float
        Infinite where counts are no more uneven than chance. [1]

    Raises
    ------
    ValueError
        If a count is negative or not whole, a set has fewer than two units, or nothing was found in any.

    References
    ----------
    Bliss1953, recalled.

    Examples
    --------
    >>> round(common_k([[0, 0, 0, 1, 4], [0, 2, 3, 9, 12]]), 3)
    0.87
    """
    parts: list[tuple[FloatArray, FloatArray, int, float]] = []
    excess = 0.0
    for counts in sets:
        if not np.asarray(counts).any():
            continue
        seen, mean, _ = counted(counts)
        if (seen != np.rint(seen)).any():
            raise ValueError("counts must be whole numbers")
        beyond = np.bincount(seen.astype(np.int64))[::-1].cumsum()[::-1][1:].astype(np.float64)
        parts.append((beyond, np.arange(beyond.size, dtype=np.float64), seen.size, mean))
        excess += float(((seen - mean) ** 2).sum()) - seen.size * mean
    if not parts:
        raise ValueError("nothing was counted: clumping has no estimate")
    # The likelihood has its maximum at a finite k only if squares about the means exceed the means.
    if excess <= 0.0:
        return np.inf

    def slope(k: float) -> float:
        return sum(float((beyond / (k + at)).sum() - n * np.log1p(mean / k)) for beyond, at, n, mean in parts)

    return _root_of_k(slope)


def gamma_nodes(k: ArrayLike, nodes: int = 5) -> FloatArray:
    """Return local densities, as multiples of the mean, that stand for a clumped spread with equal weights.

    The density on a unit varies as a gamma distribution of shape k and mean 1, which makes counts negative
    binomial. It is cut into slices of equal probability; each is represented by its own mean. So the nodes
    average to exactly 1 and a straight-line process feels no clumping.

    Parameters
    ----------
    k : float or array of float, shape (...)
        Clumping; infinity puts all nodes at 1. [1]
    nodes : int, default 5
        Number of slices.

    Returns
    -------
    multiples : array of float, shape (nodes, ...)
        Rising along the first axis, mean 1. [1]

    Raises
    ------
    ValueError
        If ``k`` is not above zero or ``nodes`` under 1.

    Examples
    --------
    >>> gamma_nodes(1.0, nodes=4).round(4)
    array([0.137 , 0.4768, 1.    , 2.3863])
    """
    clump = clumping("k", k)
    if nodes < 1:
        raise ValueError("nodes must be at least 1")
    random = np.isinf(clump)
    shape = np.where(random, 1.0, clump)
    edges = np.arange(1, nodes, dtype=np.float64).reshape(-1, *(1,) * clump.ndim) / nodes
    inner = gammainc(shape + 1.0, gammaincinv(shape, edges))
    ends = np.concatenate([np.zeros((1, *clump.shape)), inner, np.ones((1, *clump.shape))])
    return np.where(random, 1.0, nodes * np.diff(ends, axis=0))


def _root_of_k(balance: Callable[[float], float]) -> float:
    """Return the k at which a function that crosses zero once does so, on a logarithmic scale."""
    low, high = -30.0, float(np.log(MOST_K))
    at_low, at_high = balance(float(np.exp(low))), balance(float(np.exp(high)))
    if at_low * at_high > 0.0:
        return np.inf
    return float(np.exp(brentq(lambda log_k: balance(float(np.exp(log_k))), low, high, xtol=1e-13)))
