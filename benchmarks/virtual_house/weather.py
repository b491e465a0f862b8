"""Temperature among the leaves of a virtual house, hour by hour, and what its logger writes."""

from __future__ import annotations

import numpy as np
from benchmarks.virtual_house.truth import Truth
from numpy.typing import NDArray

Array = NDArray[np.float64]


def house_hours(truth: Truth, days: int) -> Array:
    """Return the true temperature in the middle of the house, shape (days, 24). [°C]

    A sunny day is warmer and has the wider range; heating holds a floor, and open vents take off half of what
    goes beyond their point.
    """
    rng = np.random.default_rng([truth.seed, 102])
    stray = np.empty(days)
    now = truth.stray_sd * rng.standard_normal()
    for day in range(days):
        now = (
            truth.stray_memory * now
            + truth.stray_sd * np.sqrt(1 - truth.stray_memory**2) * rng.standard_normal()
        )
        stray[day] = now
    sun = np.clip(1 + 0.25 * stray / truth.stray_sd + 0.25 * rng.standard_normal(days), 0.2, 2.0)
    hour = np.arange(24)
    wave = np.cos(2 * np.pi * (hour - 14.5) / 24)
    mean = truth.mean + truth.drift * np.arange(days) + stray
    air = mean[:, None] + (truth.half_range * sun)[:, None] * wave[None, :]
    air = np.where(air > truth.vent, truth.vent + 0.5 * (air - truth.vent), air)
    return np.maximum(air, truth.floor)


def logged(truth: Truth, hours: Array) -> Array:
    """Return what the logger writes, shape (days × 24,); nan where it missed an hour. [°C]"""
    rng = np.random.default_rng([truth.seed, 103])
    written = hours.ravel() + truth.logger_bias + truth.logger_noise * rng.standard_normal(hours.size)
    written[rng.random(hours.size) < 0.01] = np.nan
    return written
