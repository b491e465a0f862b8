"""The share of leaves that carry an insect, or more than a tally, and what it says about the mean."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from outpace.biology.dispersion import clumping_from_taylor, zero_share
from outpace.biology.inputs import FloatArray, above_zero, not_negative, numbers, plain, shares


def incidence(mean: ArrayLike, a: ArrayLike, b: ArrayLike) -> FloatArray:
    """Return the share of sample units with at least one individual, clumping by Taylor's law.

    Parameters
    ----------
    mean : array of float
        Mean per sample unit. [1]
    a, b : float or array of float
        As in `taylor_variance`. [1]

    Returns
    -------
    share : array of float
        ``1 - exp(-m ln(v) / (v - 1))`` with ``v = a m^(b-1)``. Where *v* is at or below 1 the formula would
        describe a spread more even than chance; the random share ``1 - exp(-m)`` is given instead. [1]

    Raises
    ------
    ValueError
        If ``mean`` is negative, or ``a`` or ``b`` not above zero.

    References
    ----------
    Wilson1983, recalled.

    Examples
    --------
    >>> incidence([0.1, 1.0, 5.0], a=2.5, b=1.5).round(6)
    array([0.095163, 0.457116, 0.846594])
    """
    average = not_negative("mean", mean)
    nothing = average == 0.0
    safe = np.where(nothing, 1.0, average)
    k = np.asarray(clumping_from_taylor(safe, a, b))
    return plain(np.where(nothing, 0.0, 1.0 - np.asarray(zero_share(safe, k))))


def mean_from_incidence(share: ArrayLike, intercept: float, slope: float) -> FloatArray:
    """Return the mean per sample unit from the share of units with more than a tally of individuals.

    Parameters
    ----------
    share : array of float
        Above 0, under 1. [1]
    intercept, slope : float
        *α* and *β* of ``ln m = α + β ln(-ln(1 - share))``, fitted for one tally. [1]

    Returns
    -------
    mean : array of float
        [1]

    Raises
    ------
    ValueError
        If a share is 0 or 1 or outside, or ``slope`` is not above zero.

    References
    ----------
    Kono1958; Gerrard1970; recalled.

    Examples
    --------
    >>> mean_from_incidence([0.15, 0.96], intercept=3.361, slope=1.749).round(1)
    array([  1.2, 222.7])
    """
    seen = shares("share", share)
    if ((seen <= 0.0) | (seen >= 1.0)).any():
        raise ValueError("share must be above 0 and under 1: at the ends the mean has no estimate")
    rise = above_zero("slope", slope)
    return plain(np.exp(numbers("intercept", intercept) + rise * np.log(-np.log1p(-seen))))


def fit_incidence(means: ArrayLike, seen: ArrayLike) -> tuple[float, float]:
    """Return the line of `mean_from_incidence` through sets of counts.

    Parameters
    ----------
    means : array of float, shape (sets,)
        Mean per sample unit. [1]
    seen : array of float, shape (sets,)
        Share of units above the tally, above 0 and under 1. [1]

    Returns
    -------
    intercept, slope : float
        *α* and *β*. [1]

    Raises
    ------
    ValueError
        If fewer than two sets with different shares are given, or a number is outside its bounds.

    References
    ----------
    Kono1958; Gerrard1970; recalled.

    Examples
    --------
    >>> intercept, slope = fit_incidence([1.2, 222.8], [0.15, 0.96])
    >>> round(intercept, 2), round(slope, 2)
    (3.36, 1.75)
    """
    there = shares("seen", seen)
    y = np.log(above_zero("means", means))
    if ((there <= 0.0) | (there >= 1.0)).any():
        raise ValueError("shares must be above 0 and under 1")
    x = np.log(-np.log1p(-there))
    if x.shape != y.shape or x.ndim != 1 or np.unique(x).size < 2:
        raise ValueError("a line needs at least two sets with different shares")
    centred = x - x.mean()
    slope = float(centred @ y / (centred @ centred))
    return float(y.mean() - slope * x.mean()), slope
