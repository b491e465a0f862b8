"""Hours of temperature to days of passage, for many draws at once."""

from __future__ import annotations

import numpy as np

from outpace.season.drawing import Array


def hours_ahead(hours: Array, days: int) -> Array:
    """Return the hours carried on to ``days`` days by their own mean day.

    The record begins at midnight; hours past its last whole day keep their place.
    """
    wanted = days * 24
    if len(hours) >= wanted:
        return hours[:wanted]
    whole = hours[: len(hours) // 24 * 24].reshape(-1, 24).mean(axis=0)
    clock = np.arange(len(hours), wanted) % 24
    return np.concatenate([hours, whole[clock]])


def share_per_day(
    hours: Array,
    threshold: Array | float,
    constant: Array | float,
    optimum: Array | float,
    upper: Array | float,
) -> Array:
    """Return the share of development gained per day at each temperature. [d⁻¹]

    A straight line to the optimum, then a straight fall to nil at the upper temperature.
    """
    rising = (np.minimum(hours, optimum) - threshold) / constant
    falling = np.clip((upper - hours) / (np.asarray(upper) - optimum), 0.0, 1.0)
    return np.asarray(np.maximum(rising, 0.0) * falling)


def mean_share_per_day(
    hours: Array,
    threshold: Array | float,
    constant: Array | float,
    optimum: Array | float,
    upper: Array | float,
) -> Array:
    """Return the mean of :func:`share_per_day` over the hours."""
    return np.asarray(share_per_day(hours, threshold, constant, optimum, upper).mean(axis=0))


def heat_clock(hours: Array, threshold: Array, constant: Array, optimum: Array, upper: Array) -> Array:
    """Return the share of development gained by the start of each hour, shape (draws, hours + 1)."""
    speed = share_per_day(
        hours[None, :], threshold[:, None], constant[:, None], optimum[:, None], upper[:, None]
    )
    gained = np.zeros((speed.shape[0], speed.shape[1] + 1))
    np.cumsum(speed / 24, axis=1, out=gained[:, 1:])
    return gained


def days_until(clock: Array, start: Array, share: Array) -> Array:
    """Return the days at which insects that begin at ``start`` days have gained ``share``.

    Parameters
    ----------
    clock : array, shape (draws, hours + 1)
        From :func:`heat_clock`.
    start, share : array, shape (draws, insects)
        [d], and 1 for the whole development.

    Returns
    -------
    days : array, shape (draws, insects)
        Infinite where the clock ends before.
    """
    at = np.arange(clock.shape[1]) / 24
    found = np.empty(start.shape)
    for draw in range(len(clock)):
        goal = np.interp(start[draw], at, clock[draw]) + share[draw]
        # a flat clock (cold nights) has many times of one share: the last of them is when it moves on
        found[draw] = np.interp(goal, clock[draw], at, right=np.inf)
        found[draw][start[draw] > at[-1]] = np.inf
    return found


def growth_rate(
    *,
    nymph_days: Array,
    nymph_cv: Array,
    survival: Array,
    delay: Array,
    births: Array,
    adult_days: Array,
    shape: Array,
) -> Array:
    """Return the rate of increase that solves Euler's and Lotka's equation. [d⁻¹]

    Nymphs take a gamma time; births fall into equal classes of adult life, evenly within a class. Below zero
    where a female leaves less than one young; not sought below -1 and above 2 a day.

    Parameters
    ----------
    nymph_days, nymph_cv, survival, delay, births, adult_days : array, shape (draws,)
        Mean and relative spread of the time to adult, share surviving it, wait before the first young [d],
        young in a life, mean adult life [d].
    shape : array, shape (classes,)
        Share of the births in each class.
    """
    low, high = np.full(nymph_days.shape, -0.5), np.full(nymph_days.shape, 2.0)
    middles = (np.arange(len(shape)) + 0.5) / len(shape)
    width = adult_days / len(shape)
    power = 1 / nymph_cv**2

    def surplus(rate: Array) -> Array:
        base = np.maximum(1 + rate * nymph_days / power, 1e-3)
        half = rate * width / 2
        even = np.where(np.abs(half) < 1e-9, 1.0, np.sinh(half) / np.where(half == 0, 1.0, half))
        ages = np.exp(-rate[:, None] * middles * adult_days[:, None]) @ shape * even
        logs = np.log(np.maximum(survival * births, 1e-12)) - power * np.log(base) - rate * delay
        return np.asarray(logs + np.log(ages))

    for _ in range(50):
        middle = (low + high) / 2
        grows = surplus(middle) > 0
        low, high = np.where(grows, middle, low), np.where(grows, high, middle)
    return (low + high) / 2
