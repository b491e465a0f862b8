"""Hours of temperature to days of passage, for many draws at once."""

from __future__ import annotations

import numpy as np

from outpace.biology.life_table import growth_of_gamma_stages
from outpace.biology.temperature_response import thermal_performance
from outpace.season.drawing import Array

DELAY_COMPARTMENTS = 2
"""Compartments of the wait before the first young; those of an age class are one, as in the forecast."""

LEAST = 1e-9
"""Stands for none where no young or no nymph comes through: the rate is then far below zero."""


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


def heat_clock(hours: Array, threshold: Array, constant: Array, optimum: Array, upper: Array) -> Array:
    """Return the share of development gained by the start of each hour, shape (draws, hours + 1)."""
    speed = thermal_performance(
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
    """Return the rate of increase of an aphid whose stages follow each other as in the forecast. [d⁻¹]

    Parameters
    ----------
    nymph_days, nymph_cv, survival, delay, births, adult_days : array, shape (draws,)
        Mean and relative spread of the time to adult, share surviving it, wait before the first young [d],
        young in a life, mean adult life [d].
    shape : array, shape (classes,)
        Share of the births in each class of adult life.
    """
    width = adult_days / len(shape)
    rows = np.ones((len(shape) + 2, len(nymph_days)))
    means, compartments, born, passed = (rows.copy() for _ in range(4))
    means[0], means[1], means[2:] = nymph_days, delay, width
    compartments[0], compartments[1] = 1 / nymph_cv**2, DELAY_COMPARTMENTS
    born[:2], born[2:] = 0.0, np.outer(shape, np.maximum(births, LEAST) / width)
    passed[0] = np.maximum(survival, LEAST)
    return np.asarray(growth_of_gamma_stages(means, compartments, born, passed))
