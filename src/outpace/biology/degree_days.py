"""Heat above a threshold: from daily extremes by the usual curves, or straight from logged temperatures.

Where a logger's record exists, integrate it (`from_records`): the curve methods only guess the course of a
day from its two extremes, and their error depends on where the threshold lies between them.

A day is described by its minimum, its maximum and, for the double methods, the next day's minimum. All
three must belong to one definition of the day (local midnight, or the morning reading), which the caller
states.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from outpace.biology.inputs import FloatArray, above_zero, numbers, plain

Cutoff = Literal["horizontal", "intermediate", "vertical"]
CUTOFFS: tuple[Cutoff, ...] = ("horizontal", "intermediate", "vertical")


def simple_average(
    minimum: ArrayLike,
    maximum: ArrayLike,
    lower_threshold: ArrayLike,
    upper_threshold: ArrayLike | None = None,
    *,
    clip_first: bool = False,
) -> FloatArray:
    """Return the degree-days of days by the mean of minimum and maximum.

    Parameters
    ----------
    minimum, maximum : array of float, shape (n,)
        Daily extremes. [°C]
    lower_threshold : float or array of float
        Base temperature. [°C]
    upper_threshold : float or array of float, optional
        Temperatures above it count as this one. [°C]
    clip_first : bool, default False
        False: the mean is taken, then compared with the threshold (method 1 of the paper). True: minimum
        and maximum are each raised to the threshold before the mean is taken (method 2). The two differ
        whenever the threshold lies inside the day's range; say which was used.

    Returns
    -------
    degree_days : array of float, shape (n,)
        [°C d]

    Raises
    ------
    ValueError
        If a minimum is above its maximum, or the upper threshold not above the lower.

    References
    ----------
    McMaster1997.

    Examples
    --------
    >>> simple_average([10.0, -2.0], [20.0, 8.0], 0.0)
    array([15.,  3.])
    >>> simple_average([10.0, -2.0], [20.0, 8.0], 0.0, clip_first=True)
    array([15.,  4.])
    """
    low, high = _extremes(minimum, maximum)
    base, top = _thresholds(lower_threshold, upper_threshold)
    if clip_first:
        return plain((np.clip(low, base, top) + np.clip(high, base, top)) / 2.0 - base)
    return plain(np.clip((np.minimum(low, top) + np.minimum(high, top)) / 2.0 - base, 0.0, None))


def single_triangle(
    minimum: ArrayLike,
    maximum: ArrayLike,
    lower_threshold: ArrayLike,
    upper_threshold: ArrayLike | None = None,
    *,
    cutoff: Cutoff = "horizontal",
) -> FloatArray:
    """Return the degree-days of days that run straight up from the minimum and straight down again.

    Parameters
    ----------
    minimum, maximum : array of float, shape (n,)
        Daily extremes. [°C]
    lower_threshold : float or array of float
        [°C]
    upper_threshold : float or array of float, optional
        [°C]
    cutoff : {"horizontal", "intermediate", "vertical"}, default "horizontal"
        Above the upper threshold development goes on at its rate there (horizontal), slows by as much as the
        temperature is above (intermediate; never below 0 for the day), or stops (vertical).

    Returns
    -------
    degree_days : array of float, shape (n,)
        [°C d]

    Raises
    ------
    ValueError
        If a minimum is above its maximum, the upper threshold not above the lower, or the cut-off is unknown.

    References
    ----------
    Zalom1983, p. 2 and table 7.

    Examples
    --------
    >>> float(single_triangle(60.0, 80.0, 55.0, 90.0))
    15.0
    """
    low, high = _extremes(minimum, maximum)
    return _day(low, high, low, lower_threshold, upper_threshold, cutoff, _triangle_above)


def double_triangle(
    minimum: ArrayLike,
    maximum: ArrayLike,
    next_minimum: ArrayLike,
    lower_threshold: ArrayLike,
    upper_threshold: ArrayLike | None = None,
    *,
    cutoff: Cutoff = "horizontal",
) -> FloatArray:
    """Return the degree-days of days that rise straight from one minimum and fall straight to the next.

    Parameters
    ----------
    minimum, maximum, next_minimum : array of float, shape (n,)
        [°C]
    lower_threshold, upper_threshold, cutoff
        As in `single_triangle`.

    Returns
    -------
    degree_days : array of float, shape (n,)
        [°C d]

    Raises
    ------
    ValueError
        As in `single_triangle`; also if a next minimum is above the maximum.

    References
    ----------
    Zalom1983. Its table 7 prints 24.88 for 60, 100, 75 °F; the area is 27.125.

    Examples
    --------
    >>> float(double_triangle(60.0, 100.0, 75.0, 55.0, 90.0))
    27.125
    """
    low, high = _extremes(minimum, maximum)
    after, _ = _extremes(next_minimum, maximum)
    return _day(low, high, after, lower_threshold, upper_threshold, cutoff, _triangle_above)


def single_sine(
    minimum: ArrayLike,
    maximum: ArrayLike,
    lower_threshold: ArrayLike,
    upper_threshold: ArrayLike | None = None,
    *,
    cutoff: Cutoff = "horizontal",
) -> FloatArray:
    """Return the degree-days of days whose temperature follows one sine wave.

    Parameters
    ----------
    minimum, maximum : array of float, shape (n,)
        Daily extremes. [°C]
    lower_threshold, upper_threshold, cutoff
        As in `single_triangle`.

    Returns
    -------
    degree_days : array of float, shape (n,)
        [°C d]

    Raises
    ------
    ValueError
        As in `single_triangle`.

    References
    ----------
    Baskerville1969, recalled; Zalom1983, table 7.

    Examples
    --------
    >>> float(single_sine(60.0, 100.0, 55.0, 90.0).round(2))
    22.82
    """
    low, high = _extremes(minimum, maximum)
    return _day(low, high, low, lower_threshold, upper_threshold, cutoff, _sine_above)


def double_sine(
    minimum: ArrayLike,
    maximum: ArrayLike,
    next_minimum: ArrayLike,
    lower_threshold: ArrayLike,
    upper_threshold: ArrayLike | None = None,
    *,
    cutoff: Cutoff = "horizontal",
) -> FloatArray:
    """Return the degree-days of days that follow half a sine up and another half down to the next minimum.

    Parameters
    ----------
    minimum, maximum, next_minimum : array of float, shape (n,)
        [°C]
    lower_threshold, upper_threshold, cutoff
        As in `single_triangle`.

    Returns
    -------
    degree_days : array of float, shape (n,)
        [°C d]

    Raises
    ------
    ValueError
        As in `double_triangle`.

    References
    ----------
    Allen1976, recalled; Zalom1983, table 7.

    Examples
    --------
    >>> float(double_sine(60.0, 100.0, 75.0, 55.0, 90.0).round(2))
    26.26
    """
    low, high = _extremes(minimum, maximum)
    after, _ = _extremes(next_minimum, maximum)
    return _day(low, high, after, lower_threshold, upper_threshold, cutoff, _sine_above)


def from_records(
    temperature: ArrayLike,
    lower_threshold: ArrayLike,
    upper_threshold: ArrayLike | None = None,
    *,
    cutoff: Cutoff = "horizontal",
    hours: float = 1.0,
) -> FloatArray:
    """Return the heat gained in each interval of an evenly spaced temperature record.

    Parameters
    ----------
    temperature : array of float, shape (n, ...)
        Mean temperature of each interval. [°C]
    lower_threshold, upper_threshold, cutoff
        As in `single_triangle`, applied to each interval.
    hours : float, default 1.0
        Length of an interval. [h]

    Returns
    -------
    degree_days : array of float, shape (n, ...)
        Heat of each interval; add up along the first axis for a sum. [°C d]

    Raises
    ------
    ValueError
        If ``hours`` is not above zero, the upper threshold not above the lower, or the cut-off is unknown.

    Examples
    --------
    >>> float(from_records([4.0] * 12 + [18.0] * 12, lower_threshold=6.0).sum())
    6.0
    """
    degrees = numbers("temperature", temperature)
    length = above_zero("hours", hours) / 24.0
    base, top = _thresholds(lower_threshold, upper_threshold)
    held = np.clip(degrees, base, top) - base
    if cutoff == "vertical":
        held = np.where(degrees > top, 0.0, held)
    elif cutoff == "intermediate":
        held = np.maximum(held - np.maximum(degrees - top, 0.0), 0.0)
    elif cutoff != "horizontal":
        raise _unknown(cutoff)
    return plain(held * length)


def _extremes(minimum: ArrayLike, maximum: ArrayLike) -> tuple[FloatArray, FloatArray]:
    low = numbers("minimum", minimum)
    high = numbers("maximum", maximum)
    if (low > high).any():
        raise ValueError("a minimum lies above its maximum")
    return low, high


def _thresholds(lower: ArrayLike, upper: ArrayLike | None) -> tuple[FloatArray, FloatArray]:
    base = numbers("lower_threshold", lower)
    top = np.asarray(np.inf) if upper is None else numbers("upper_threshold", upper)
    if (top <= base).any():
        raise ValueError("upper_threshold must be above lower_threshold")
    return base, top


def _unknown(cutoff: str) -> ValueError:
    return ValueError(f"cutoff must be one of {', '.join(CUTOFFS)}, got {cutoff!r}")


Above = Callable[[FloatArray, FloatArray, FloatArray], tuple[FloatArray, FloatArray]]
"""From least, most and a level: the mean excess over the level and the share of time above it."""


def _day(
    low: FloatArray,
    high: FloatArray,
    after: FloatArray,
    lower: ArrayLike,
    upper: ArrayLike | None,
    cutoff: Cutoff,
    above: Above,
) -> FloatArray:
    """Return the mean of the two half days, each from a minimum to the maximum."""
    base, top = _thresholds(lower, upper)
    if cutoff not in CUTOFFS:
        raise _unknown(cutoff)
    # Without an upper threshold any level that no temperature reaches will do, as long as it is finite.
    top = np.where(np.isinf(top), np.maximum(high, base) + 1.0, top)
    total: FloatArray = np.zeros(())
    for least in (low, after):
        heat, _ = above(least, high, base)
        hot, time = above(least, high, top)
        half = heat - hot
        if cutoff == "intermediate":
            half = half - hot
        elif cutoff == "vertical":
            half = half - time * (top - base)
        total = total + half / 2.0
    return plain(np.maximum(total, 0.0))


def _triangle_above(low: FloatArray, high: FloatArray, level: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return mean excess over ``level`` and share of time above it, on a straight line from low to high."""
    spread = np.where(high > low, high - low, 1.0)
    crossing = np.clip(high - level, 0.0, spread)
    excess = np.where(level <= low, (low + high) / 2.0 - np.minimum(level, low), crossing**2 / (2.0 * spread))
    time = np.where(level < low, 1.0, np.where(level >= high, 0.0, crossing / spread))
    return excess, time


def _sine_above(low: FloatArray, high: FloatArray, level: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return mean excess over ``level`` and share of time above it, on half a sine from low to high."""
    middle = (low + high) / 2.0
    reach = (high - low) / 2.0
    safe = np.where(reach > 0.0, reach, 1.0)
    angle = np.arcsin(np.clip(level - middle, -reach, reach) / safe)
    crossing = ((middle - level) * (np.pi / 2.0 - angle) + reach * np.cos(angle)) / np.pi
    excess = np.where(level <= low, middle - np.minimum(level, low), np.where(level >= high, 0.0, crossing))
    time = np.where(level < low, 1.0, np.where(level >= high, 0.0, 0.5 - angle / np.pi))
    return excess, time
