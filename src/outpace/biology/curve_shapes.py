"""The response curves that can be fitted to a trial: their parameters, starting points and bounds.

Starting points come from the trial itself, so that no curve carries the figures of a species. Bounds only
keep the search out of nonsense; a fit that ends on one is a sign that the trial does not tell that
parameter.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from outpace.biology import enzyme_response, temperature_curves, temperature_response
from outpace.biology.inputs import FloatArray

Curve = Callable[..., FloatArray]


@dataclass(frozen=True)
class Shape:
    """A curve, the names of its parameters, where to start looking for them and between which bounds."""

    function: Curve
    names: tuple[str, ...]
    starts: Callable[[FloatArray, FloatArray], Sequence[Sequence[float]]]
    low: tuple[float, ...]
    high: tuple[float, ...]


def _line(degrees: FloatArray, rates: FloatArray) -> tuple[float, float]:
    """Return threshold and constant of the line through the rising part, a start for every curve."""
    rising = degrees <= degrees[int(np.argmax(rates))]
    chosen = rising if np.unique(degrees[rising]).size > 1 else np.ones(degrees.shape, dtype=bool)
    slope, start = np.polyfit(degrees[chosen], rates[chosen], 1)
    slope = max(float(slope), 1e-5)
    return -float(start) / slope, 1.0 / slope


def _linear_starts(degrees: FloatArray, rates: FloatArray) -> list[list[float]]:
    return [list(_line(degrees, rates))]


def _briere1_starts(degrees: FloatArray, rates: FloatArray) -> list[list[float]]:
    base, _ = _line(degrees, rates)
    peak, top = float(rates.max()), float(degrees.max())
    starts = []
    for low in (base - 4.0, base, 0.0):
        for above in (0.5, 3.0, 8.0):
            upper = top + above
            height = float((degrees * (degrees - low) * np.sqrt(upper - degrees)).max())
            starts.append([peak / max(height, 1e-6), low, upper])
    return starts


def _briere2_starts(degrees: FloatArray, rates: FloatArray) -> list[list[float]]:
    return [[*start, root] for start in _briere1_starts(degrees, rates) for root in (1.2, 2.0, 5.0)]


def _lactin1_starts(degrees: FloatArray, rates: FloatArray) -> list[list[float]]:
    top = float(degrees.max())
    return [[rise, top + above, 0.97 / rise] for rise in (0.05, 0.1, 0.16) for above in (0.5, 4.0, 8.0)]


def _lactin2_starts(degrees: FloatArray, rates: FloatArray) -> list[list[float]]:
    top = float(degrees.max())
    gentle = [[0.01, top + above, width, -1.05] for above in (0.5, 3.0) for width in (0.3, 2.0)]
    return gentle + [[*start, shift] for start in _lactin1_starts(degrees, rates) for shift in (-0.2, -0.01)]


def _logan6_starts(degrees: FloatArray, rates: FloatArray) -> list[list[float]]:
    top, least = float(degrees.max()), max(float(rates[rates > 0].min()), 1e-3)
    return [
        [least / 2.0, rise, top + above, width]
        for rise in (0.08, 0.15)
        for above in (0.5, 4.0)
        for width in (1.0, 4.0)
    ]


def _gaussian_starts(degrees: FloatArray, rates: FloatArray) -> list[list[float]]:
    best = float(degrees[int(np.argmax(rates))])
    return [[float(rates.max()), best + shift, spread] for shift in (0.0, 5.0) for spread in (6.0, 12.0)]


def _enzyme_starts(degrees: FloatArray, rates: FloatArray) -> list[list[float]]:
    middle = float(np.interp(25.0, np.sort(degrees), rates[np.argsort(degrees)]))
    cold, hot = float(degrees.min()), float(degrees.max())
    return [
        [max(middle, 1e-3), drive, 2e5, cold - below, heat, hot + above]
        for drive in (3e4, 7e4)
        for below in (-2.0, 5.0)
        for heat in (2e5, 5e5)
        for above in (-1.0, 3.0)
    ]


def _performance_starts(degrees: FloatArray, rates: FloatArray) -> list[list[float]]:
    base, constant = _line(degrees, rates)
    best, top = float(degrees[int(np.argmax(rates))]), float(degrees.max())
    return [[base, constant, best + shift, top + above] for shift in (-2.0, 0.5) for above in (1.0, 5.0)]


CURVES: dict[str, Shape] = {
    "linear": Shape(
        temperature_response.linear,
        ("lower_threshold", "thermal_constant"),
        _linear_starts,
        (-40.0, 1e-3),
        (60.0, 1e5),
    ),
    "thermal_performance": Shape(
        temperature_response.thermal_performance,
        ("lower_threshold", "thermal_constant", "optimum", "upper"),
        _performance_starts,
        (-40.0, 1e-3, -20.0, 0.0),
        (40.0, 1e5, 60.0, 80.0),
    ),
    "briere1": Shape(
        temperature_curves.briere1,
        ("scale", "lower", "upper"),
        _briere1_starts,
        (1e-12, -60.0, 0.0),
        (1.0, 40.0, 80.0),
    ),
    "briere2": Shape(
        temperature_curves.briere2,
        ("scale", "lower", "upper", "root"),
        _briere2_starts,
        (1e-12, -60.0, 0.0, 0.2),
        (1.0, 40.0, 80.0, 100.0),
    ),
    "lactin1": Shape(
        temperature_curves.lactin1,
        ("rise", "upper", "width"),
        _lactin1_starts,
        (1e-5, 0.0, 1e-3),
        (1.0, 80.0, 50.0),
    ),
    "lactin2": Shape(
        temperature_curves.lactin2,
        ("rise", "upper", "width", "shift"),
        _lactin2_starts,
        (1e-5, 0.0, 1e-3, -5.0),
        (1.0, 80.0, 50.0, 1.0),
    ),
    "logan6": Shape(
        temperature_curves.logan6,
        ("scale", "rise", "upper", "width"),
        _logan6_starts,
        (1e-9, 1e-4, 0.0, 1e-3),
        (10.0, 1.0, 80.0, 50.0),
    ),
    "gaussian": Shape(
        temperature_curves.gaussian,
        ("peak", "optimum", "spread"),
        _gaussian_starts,
        (1e-6, -20.0, 0.1),
        (10.0, 80.0, 100.0),
    ),
    "sharpe_schoolfield": Shape(
        enzyme_response.sharpe_schoolfield,
        ("reference_rate", "activation", "cold_energy", "cold_half", "heat_energy", "heat_half"),
        _enzyme_starts,
        (1e-6, 1e2, 1e3, -60.0, 1e3, 0.0),
        (50.0, 5e5, 2e6, 40.0, 5e6, 80.0),
    ),
}
"""The curves that can be fitted, by the name of their function."""
