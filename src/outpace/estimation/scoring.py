"""How good a forecast was, once the truth is known: proper scores, coverage and the PIT.

Smaller is better for every score. All take arrays and give one value per case.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betainc, erf, gammaln, pdtr

Array = NDArray[np.float64]


def crps_ensemble(members: ArrayLike, truth: ArrayLike, *, fair: bool = False) -> Array:
    """Return the continuous ranked probability score of an ensemble.

    Parameters
    ----------
    members : array of float, shape (..., members)
    truth : array of float, shape (...)
    fair : bool, default False
        The plain score takes the ensemble as the forecast itself. The fair one [1]_ takes it as a draw from
        the forecast and does not reward too narrow small ensembles. Say which when you show it.

    Returns
    -------
    score : array of float, shape (...)
        In the unit of the truth.

    References
    ----------
    .. [1] Ferro 2014

    Examples
    --------
    >>> [round(float(crps_ensemble([1, 2, 3, 4, 5], 2.5, fair=fair)), 3) for fair in (False, True)]
    [0.5, 0.3]
    """
    x = np.sort(np.asarray(members, dtype=np.float64), axis=-1)
    y = np.asarray(truth, dtype=np.float64)[..., None]
    n = x.shape[-1]
    if fair and n < 2:
        raise ValueError("a fair score needs at least two members")
    miss = np.abs(x - y).mean(axis=-1)
    # Sum over all pairs of |x_i - x_j|, from the sorted members.
    pairs = 2.0 * ((2 * np.arange(1, n + 1) - n - 1) * x).sum(axis=-1)
    return np.asarray(miss - pairs / (2.0 * n * (n - 1 if fair else n)))


def crps_normal(mean: ArrayLike, sd: ArrayLike, truth: ArrayLike) -> Array:
    """Return the score of a normal forecast.

    Examples
    --------
    >>> round(float(crps_normal(0.0, 1.0, 0.0)), 6)
    0.233695
    """
    middle, sd, y = (np.asarray(each, dtype=np.float64) for each in (mean, sd, truth))
    z = (y - middle) / sd
    density = np.exp(-0.5 * z * z) / np.sqrt(2 * np.pi)
    return np.asarray(sd * (z * erf(z / np.sqrt(2)) + 2 * density - 1 / np.sqrt(np.pi)))


def _crps_counts(cumulative: Array, truth: float) -> float:
    steps = np.arange(len(cumulative)) >= truth
    return float(((cumulative - steps) ** 2).sum())


def _counts_up_to(mean: float, sd: float, truth: float) -> Array:
    return np.arange(int(max(mean, truth) + 60 * sd + 60), dtype=np.float64)


def crps_poisson(mean: float, truth: int) -> float:
    """Return the score of a Poisson forecast of a count, by summing its distribution."""
    if not mean > 0:
        raise ValueError("the mean must be above 0")
    return _crps_counts(
        np.asarray(pdtr(_counts_up_to(mean, mean**0.5, truth), mean), dtype=np.float64), truth
    )


def crps_negative_binomial(mean: float, k: float, truth: int) -> float:
    """Return the score of a negative binomial forecast of a count with clumping ``k``, by summing it.

    Examples
    --------
    >>> round(crps_negative_binomial(6.0, 2.0, 5), 6)
    1.03852
    """
    if not mean > 0 or not k > 0:
        raise ValueError("mean and k must be above 0")
    counts = _counts_up_to(mean, (mean + mean**2 / k) ** 0.5, truth)
    return _crps_counts(betainc(k, counts + 1.0, k / (k + mean)), truth)


def log_score_normal(mean: ArrayLike, sd: ArrayLike, truth: ArrayLike) -> Array:
    """Return minus the log density of a normal forecast at the truth."""
    middle, sd, y = (np.asarray(each, dtype=np.float64) for each in (mean, sd, truth))
    z = (y - middle) / sd
    return np.asarray(0.5 * z * z + np.log(sd) + 0.5 * np.log(2 * np.pi))


def log_score_negative_binomial(mean: ArrayLike, k: ArrayLike, truth: ArrayLike) -> Array:
    """Return minus the log probability of a count under a negative binomial forecast."""
    m, k, x = (np.asarray(each, dtype=np.float64) for each in (mean, k, truth))
    chance = gammaln(x + k) - gammaln(k) - gammaln(x + 1) + k * np.log(k / (k + m)) + x * np.log(m / (k + m))
    return np.asarray(-chance)


def log_score_ensemble(members: ArrayLike, truth: ArrayLike) -> Array:
    """Return minus the log density at the truth of a normal kernel around each member.

    The width of the kernel is Silverman's, so that the score of a large ensemble nears that of its law.
    """
    x = np.asarray(members, dtype=np.float64)
    y = np.asarray(truth, dtype=np.float64)[..., None]
    n = x.shape[-1]
    if n < 2:
        raise ValueError("a kernel needs at least two members")
    sd = x.std(axis=-1, ddof=1)
    quarters = np.quantile(x, [0.25, 0.75], axis=-1)
    spread = np.minimum(sd, (quarters[1] - quarters[0]) / 1.349)
    width = 0.9 * np.where(spread > 0, spread, sd) * n**-0.2
    if np.any(width <= 0):
        raise ValueError("all members are the same: the ensemble has no density")
    z = (y - x) / width[..., None]
    top = (-0.5 * z * z).max(axis=-1, keepdims=True)
    log_mean = top[..., 0] + np.log(np.exp(-0.5 * z * z - top).mean(axis=-1))
    return np.asarray(-(log_mean - np.log(width) - 0.5 * np.log(2 * np.pi)))


def brier(chance: ArrayLike, happened: ArrayLike) -> Array:
    """Return the squared miss of a chance.

    Examples
    --------
    >>> round(float(brier(0.7, 1)), 2)
    0.09
    """
    return np.asarray((np.asarray(chance, dtype=np.float64) - np.asarray(happened, dtype=np.float64)) ** 2)


def interval_score(low: ArrayLike, high: ArrayLike, truth: ArrayLike, alpha: float) -> Array:
    """Return the score of a central interval that should miss with chance ``alpha``.

    Its width, and 2/alpha for each unit by which the truth lies outside.

    Examples
    --------
    >>> float(interval_score(0, 1, 2, alpha=0.2))
    11.0
    """
    low, high, y = (np.asarray(each, dtype=np.float64) for each in (low, high, truth))
    return np.asarray(high - low + 2 / alpha * (np.maximum(low - y, 0) + np.maximum(y - high, 0)))


def weighted_interval_score(
    median: ArrayLike, low: ArrayLike, high: ArrayLike, truth: ArrayLike, alphas: ArrayLike
) -> Array:
    """Return the weighted interval score of a median and K central intervals [1]_.

    Parameters
    ----------
    median, truth : array of float, shape (...)
    low, high : array of float, shape (K, ...)
    alphas : array of float, shape (K,)
        0.1 for a 90 % interval.

    References
    ----------
    .. [1] Bracher et al. 2021

    Examples
    --------
    >>> round(float(weighted_interval_score(3, [1, 2], [6, 4], 5, [0.1, 0.5])), 6)
    1.1
    """
    y = np.asarray(truth, dtype=np.float64)
    total = 0.5 * np.abs(y - np.asarray(median, dtype=np.float64))
    levels = np.atleast_1d(np.asarray(alphas, dtype=np.float64))
    lows, highs = np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64)
    for alpha, bottom, top in zip(levels, lows, highs, strict=True):
        total = total + alpha / 2 * interval_score(bottom, top, y, float(alpha))
    return np.asarray(total / (len(levels) + 0.5))


def randomised_pit(members: ArrayLike, truth: ArrayLike, seed: int) -> Array:
    """Return where the truth lies in the ensemble, 0 to 1; even for a well-made forecast.

    Ties, as counts make them, are broken by a draw.

    Parameters
    ----------
    members : array of float, shape (..., members)
    truth : array of float, shape (...)
    seed : int
    """
    x = np.asarray(members, dtype=np.float64)
    y = np.asarray(truth, dtype=np.float64)[..., None]
    below = (x < y).sum(axis=-1)
    ties = (x == y).sum(axis=-1)
    draw = np.random.default_rng(seed).random(below.shape)
    return np.asarray((below + draw * (ties + 1)) / (x.shape[-1] + 1))


def covered(members: ArrayLike, truth: ArrayLike, share: float) -> NDArray[np.bool_]:
    """Return whether the truth lies in the central interval that holds ``share`` of the members."""
    low, high = np.quantile(
        np.asarray(members, dtype=np.float64), [(1 - share) / 2, (1 + share) / 2], axis=-1
    )
    y = np.asarray(truth, dtype=np.float64)
    return np.asarray((low <= y) & (y <= high))
