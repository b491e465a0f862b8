"""How fast an insect develops at a temperature.

Every curve gives a rate in shares of the stage per day, never below zero: a hot or a cold hour stops
development, it does not undo it. Rates are meant to be added up over hourly temperatures; the rate at a
daily mean is another and wrong number wherever the curve bends. A curve is only known inside the
temperatures it was fitted to: the caller keeps that domain and says when it is left.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from outpace.biology.inputs import FloatArray, above_zero, numbers, plain


def linear(temperature: ArrayLike, lower_threshold: ArrayLike, thermal_constant: ArrayLike) -> FloatArray:
    """Return the rate of development by the degree-day rule.

    Parameters
    ----------
    temperature : array of float
        [°C]
    lower_threshold : float or array of float
        Temperature at which development stops; *LDT* or *t0* in the literature. [°C]
    thermal_constant : float or array of float
        Heat needed for the stage; *K* in the literature. [°C d]

    Returns
    -------
    rate : array of float
        ``(temperature - lower_threshold) / thermal_constant``, 0 below the threshold. [d⁻¹]

    Raises
    ------
    ValueError
        If ``thermal_constant`` is not above zero, or a number is missing.

    References
    ----------
    Campbell1974, recalled.

    Examples
    --------
    >>> linear([5.0, 20.0, 25.0], lower_threshold=6.0, thermal_constant=100.0)
    array([0.  , 0.14, 0.19])
    """
    heat = numbers("temperature", temperature) - numbers("lower_threshold", lower_threshold)
    return plain(np.maximum(heat, 0.0) / above_zero("thermal_constant", thermal_constant))


def threshold_and_constant(intercept: ArrayLike, slope: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return lower threshold and thermal constant of a straight line rate = intercept + slope × temperature.

    Parameters
    ----------
    intercept : float or array of float
        Rate at 0 °C. [d⁻¹]
    slope : float or array of float
        [d⁻¹ °C⁻¹]

    Returns
    -------
    lower_threshold : array of float
        ``-intercept / slope``. [°C]
    thermal_constant : array of float
        ``1 / slope``. [°C d]

    Raises
    ------
    ValueError
        If ``slope`` is not above zero.

    Examples
    --------
    >>> threshold, constant = threshold_and_constant(-0.10375, 0.0125)
    >>> float(threshold.round(6)), float(constant)
    (8.3, 80.0)
    """
    rise = above_zero("slope", slope)
    return plain(-numbers("intercept", intercept) / rise), plain(1.0 / rise)


def thermal_performance(
    temperature: ArrayLike,
    lower_threshold: ArrayLike,
    thermal_constant: ArrayLike,
    optimum: ArrayLike,
    upper: ArrayLike,
) -> FloatArray:
    """Return the rate of development that rises along the degree-day rule and falls to nothing in the heat.

    The house's default where only a threshold, a thermal constant, an optimum and an upper limit are known.

    Parameters
    ----------
    temperature : array of float, shape (...)
        [°C]
    lower_threshold : float or array of float, broadcasts with ``temperature``
        [°C]
    thermal_constant : float or array of float, broadcasts with ``temperature``
        [°C d]
    optimum : float or array of float, broadcasts with ``temperature``
        Temperature of the fastest development. [°C]
    upper : float or array of float, broadcasts with ``temperature``
        Temperature at and above which nothing develops. [°C]

    Returns
    -------
    rate : array of float
        ``(temperature - lower_threshold) / thermal_constant`` up to ``optimum``, from there in a straight
        line to 0 at ``upper``; 0 outside. [d⁻¹]

    Raises
    ------
    ValueError
        If not ``lower_threshold < optimum < upper``, or ``thermal_constant`` is not above zero.

    Examples
    --------
    >>> thermal_performance([4.0, 20.0, 26.0, 30.0, 36.0], 6.0, 100.0, optimum=26.0, upper=34.0)
    array([0.  , 0.14, 0.2 , 0.1 , 0.  ])
    """
    degrees = numbers("temperature", temperature)
    low = numbers("lower_threshold", lower_threshold)
    best = numbers("optimum", optimum)
    top = numbers("upper", upper)
    if (low >= best).any() or (best >= top).any():
        raise ValueError("lower_threshold, optimum and upper must rise in this order")
    constant = above_zero("thermal_constant", thermal_constant)
    rising = np.maximum(degrees - low, 0.0) / constant
    falling = (best - low) / constant * np.maximum(top - degrees, 0.0) / (top - best)
    return plain(np.where(degrees <= best, rising, falling))


def cold_pace(temperature: ArrayLike, lower_threshold: ArrayLike, coldest: ArrayLike) -> FloatArray:
    """Return how fast an adult ages, and so bears, below the coldest temperature at which it was studied.

    A length of life that was not studied in the cold is carried on in heat units: at the lower threshold life stands
    still, and no young are borne. To hold the last figure instead would let aphids bear in frost.

    Parameters
    ----------
    temperature : array of float
        [°C]
    lower_threshold : float or array of float
        [°C]
    coldest : float or array of float
        Coldest temperature with a figure. [°C]

    Returns
    -------
    pace : array of float
        Against that at ``coldest``: 1 there and above, in a straight line to 0 at ``lower_threshold``. [1]

    Raises
    ------
    ValueError
        If ``coldest`` is not above ``lower_threshold``.

    Examples
    --------
    >>> cold_pace([2.0, 9.5, 15.0, 30.0], lower_threshold=4.0, coldest=15.0)
    array([0. , 0.5, 1. , 1. ])
    """
    low = numbers("lower_threshold", lower_threshold)
    span = above_zero("coldest less lower_threshold", numbers("coldest", coldest) - low)
    return plain(np.clip((numbers("temperature", temperature) - low) / span, 0.0, 1.0))
