"""Rules of thumb of exponential growth: doubling, time gained by a kill, growth from early births."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from outpace.biology.inputs import FloatArray, above_zero, numbers, plain, shares

EARLY_BIRTHS_FACTOR = 0.738
"""Factor of Wyatt and White's shortcut, recalled. [1]"""


def doubling_time(rate: ArrayLike) -> FloatArray:
    """Return the time in which a population doubles.

    Parameters
    ----------
    rate : float or array of float
        Rate of increase. [d⁻¹]

    Returns
    -------
    days : array of float
        ``ln 2 / rate``; infinite where the population does not grow. [d]

    Examples
    --------
    >>> float(doubling_time(0.384).round(3))
    1.805
    """
    rates = numbers("rate", rate)
    growing = rates > 0.0
    return plain(np.where(growing, np.log(2.0) / np.where(growing, rates, 1.0), np.inf))


def time_gained(kill: ArrayLike, rate: ArrayLike) -> FloatArray:
    """Return the time by which a kill sets back a population that goes on growing.

    Parameters
    ----------
    kill : float or array of float
        Share killed at once, from 0 to under 1. [1]
    rate : float or array of float
        Rate of increase before and after. [d⁻¹]

    Returns
    -------
    days : array of float
        ``-ln(1 - kill) / rate``. [d]

    Raises
    ------
    ValueError
        If ``kill`` is 1 or no share, or ``rate`` is not above zero.

    Examples
    --------
    >>> time_gained([0.5, 0.75, 0.9375], rate=0.25).round(2)
    array([ 2.77,  5.55, 11.09])
    """
    killed = shares("kill", kill)
    if (killed >= 1.0).any():
        raise ValueError("kill must be under 1: nothing would be left to grow")
    return plain(-np.log1p(-killed) / above_zero("rate", rate))


def rate_from_early_births(births: ArrayLike, days: ArrayLike) -> FloatArray:
    """Return the intrinsic rate by the shortcut for aphids of Wyatt and White.

    Parameters
    ----------
    births : float or array of float
        Young born to a female in as many days as she took from birth to her first young; *M_d*. [1]
    days : float or array of float
        That time; *d*. [d]

    Returns
    -------
    rate : array of float
        ``0.738 ln(M_d) / d``. [d⁻¹]

    Raises
    ------
    ValueError
        If a number is not above zero.

    References
    ----------
    Wyatt1977, recalled.

    Examples
    --------
    >>> float(rate_from_early_births(40.0, 8.0).round(3))
    0.34
    """
    return plain(EARLY_BIRTHS_FACTOR * np.log(above_zero("births", births)) / above_zero("days", days))
