"""Fit response curves to trials: rates at temperatures, prey eaten at densities; with intervals and AIC."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import least_squares, minimize
from scipy.special import gammaln
from scipy.stats import t as student

from outpace.biology import temperature_response
from outpace.biology.functional_response import disc_equation, prey_eaten
from outpace.biology.inputs import FloatArray, above_zero, not_negative, numbers

Curve = Callable[..., FloatArray]
NORMAL_95 = 1.959963984540054


@dataclass(frozen=True)
class Estimate:
    """One fitted parameter: value, standard error and 95 % interval, in the unit of the curve's argument."""

    name: str
    value: float
    standard_error: float
    low: float
    high: float


@dataclass(frozen=True)
class TemperatureFit:
    """A curve fitted to rates of development.

    Attributes
    ----------
    curve : str
        Name of the function in `temperature_response`.
    estimates : tuple of Estimate
        In the order of the function's arguments.
    lowest, highest : float
        Temperatures of the trial; outside them the curve is a guess. [°C]
    residual_sum : float
        Sum of squared deviations of the rates. [d⁻²]
    aic, aicc : float
        Akaike's criterion, plain and for small trials, the residual variance counted as a parameter;
        ``aicc`` is infinite where the trial is too small for the curve. Lower is better, among fits to the
        same trial.
    n : int
        Rates.
    """

    curve: str
    estimates: tuple[Estimate, ...]
    lowest: float
    highest: float
    residual_sum: float
    aic: float
    aicc: float
    n: int

    def rate(self, temperature: ArrayLike) -> FloatArray:
        """Return the fitted rate at a temperature. [d⁻¹]"""
        function = CURVES[self.curve].function
        return function(temperature, *(estimate.value for estimate in self.estimates))

    def within_domain(self, temperature: ArrayLike) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
        """Return whether a temperature lies among those of the trial."""
        degrees = numbers("temperature", temperature)
        return np.asarray((degrees >= self.lowest) & (degrees <= self.highest))


@dataclass(frozen=True)
class FunctionalResponseFit:
    """A functional response fitted to prey offered and eaten.

    Attributes
    ----------
    form : str
        ``disc`` (eaten prey replaced, or depletion ignored) or ``depletion`` (the random-predator equation).
    attack_rate, handling_time : Estimate
        For one predator and the period given.
    negative_log_likelihood : float
        Binomial, with its constant. [1]
    aic : float
        [1]
    n : int
        Trials.
    """

    form: str
    attack_rate: Estimate
    handling_time: Estimate
    negative_log_likelihood: float
    aic: float
    n: int


@dataclass(frozen=True)
class _Shape:
    function: Curve
    names: tuple[str, ...]
    starts: Callable[[FloatArray, FloatArray], Sequence[Sequence[float]]]
    low: tuple[float, ...]
    high: tuple[float, ...]


def fit_temperature_curve(temperature: ArrayLike, rate: ArrayLike, curve: str) -> TemperatureFit:
    """Return a response curve fitted to rates of development by least squares.

    Parameters
    ----------
    temperature : array of float, shape (n,)
        Constant temperatures of the trial. [°C]
    rate : array of float, shape (n,)
        One over the mean duration at each; 0 where none completed. [d⁻¹]
    curve : str
        One of `CURVES`.

    Returns
    -------
    fit : TemperatureFit

    Raises
    ------
    ValueError
        If the curve is unknown, the rows differ in length, there are no more rates than parameters, or the
        curve cannot be fitted to this trial.

    Examples
    --------
    >>> fit = fit_temperature_curve([10, 15, 20, 25], [0.041, 0.089, 0.141, 0.190], "linear")
    >>> [round(estimate.value, 1) for estimate in fit.estimates]
    [6.0, 100.2]
    """
    if curve not in CURVES:
        raise ValueError(f"curve must be one of {', '.join(CURVES)}, got {curve!r}")
    degrees, rates = numbers("temperature", temperature), not_negative("rate", rate)
    if degrees.ndim != 1 or degrees.shape != rates.shape:
        raise ValueError("temperature and rate must be rows of one length")
    if not rates.any():
        raise ValueError("all rates are 0: there is no curve to fit")
    shape = CURVES[curve]
    wanted = len(shape.names)
    if degrees.size <= wanted or np.unique(degrees).size < wanted:
        raise ValueError(
            f"{curve} has {wanted} parameters: it needs more rates than that, at as many temperatures"
        )
    best = _least_squares(shape, degrees, rates)
    residual_sum = float((best.residuals**2).sum())
    free = degrees.size - wanted
    errors = _standard_errors(best.jacobian, residual_sum / free)
    reach = float(student.ppf(0.975, free)) * errors
    estimates = tuple(
        Estimate(name, float(value), float(error), float(value - span), float(value + span))
        for name, value, error, span in zip(shape.names, best.values, errors, reach, strict=True)
    )
    counted = wanted + 1
    aic = (
        degrees.size * (np.log(2.0 * np.pi * max(residual_sum, 1e-300) / degrees.size) + 1.0) + 2.0 * counted
    )
    spare = degrees.size - counted - 1
    aicc = aic + 2.0 * counted * (counted + 1) / spare if spare > 0 else np.inf
    return TemperatureFit(
        curve=curve,
        estimates=estimates,
        lowest=float(degrees.min()),
        highest=float(degrees.max()),
        residual_sum=residual_sum,
        aic=float(aic),
        aicc=float(aicc),
        n=int(degrees.size),
    )


def fit_all_curves(temperature: ArrayLike, rate: ArrayLike) -> tuple[TemperatureFit, ...]:
    """Return every curve that can be fitted to a trial, the best by AIC first.

    Parameters
    ----------
    temperature, rate
        As in `fit_temperature_curve`. [°C, d⁻¹]

    Returns
    -------
    fits : tuple of TemperatureFit
        Curves with too many parameters for the trial are left out.

    Raises
    ------
    ValueError
        If no curve can be fitted.

    Examples
    --------
    >>> fits = fit_all_curves([10, 15, 20, 25], [0.041, 0.089, 0.141, 0.190])
    >>> {fit.curve for fit in fits} <= set(CURVES)
    True
    """
    fits, reasons = [], []
    for curve in CURVES:
        try:
            fits.append(fit_temperature_curve(temperature, rate, curve))
        except ValueError as error:
            reasons.append(str(error))
    if not fits:
        raise ValueError(f"no curve fits this trial: {reasons[0]}")
    return tuple(sorted(fits, key=lambda fit: fit.aic))


def fit_functional_response(
    offered: ArrayLike, eaten: ArrayLike, form: str = "depletion", days: float = 1.0
) -> FunctionalResponseFit:
    """Return attack rate and handling time fitted to a feeding trial by binomial maximum likelihood.

    Parameters
    ----------
    offered, eaten : array of float, shape (trials,)
        Prey at the start and prey eaten by one predator in each trial. [1]
    form : {"depletion", "disc"}, default "depletion"
        Whether eaten prey was missing from the arena (`prey_eaten`) or replaced at once (`disc_equation`).
    days : float, default 1.0
        Length of the trial; any unit, which becomes that of the result. [d]

    Returns
    -------
    fit : FunctionalResponseFit
        Intervals are of the logarithms, from the curvature of the likelihood, hence never below zero.

    Raises
    ------
    ValueError
        If more was eaten than offered, fewer than three trials or one density only is given, nothing or
        everything was eaten throughout, or the form is unknown.

    References
    ----------
    Bolker2008, recalled.

    Examples
    --------
    >>> fit = fit_functional_response([10, 20, 50, 100], [4, 7, 14, 20], form="disc")
    >>> round(fit.attack_rate.value, 2), round(fit.handling_time.value, 3)
    (0.44, 0.027)
    """
    if form not in ("depletion", "disc"):
        raise ValueError(f"form must be depletion or disc, got {form!r}")
    start, gone = above_zero("offered", offered), not_negative("eaten", eaten)
    if start.ndim != 1 or start.shape != gone.shape or start.size < 3 or np.unique(start).size < 2:
        raise ValueError("a fit needs at least three trials at two or more densities")
    if (gone > start).any():
        raise ValueError("more prey was eaten than offered")
    if not gone.any() or (gone == start).all():
        raise ValueError("nothing, or everything, was eaten throughout: no response can be fitted")
    period = float(above_zero("days", days))
    constant = float((gammaln(start + 1) - gammaln(gone + 1) - gammaln(start - gone + 1)).sum())
    response = prey_eaten if form == "depletion" else disc_equation

    def surprise(logs: FloatArray) -> float:
        taken = response(start, 1.0, float(np.exp(logs[0])), float(np.exp(logs[1])), period)
        share = np.clip(taken / start, 1e-12, 1.0 - 1e-12)
        return -float((gone * np.log(share) + (start - gone) * np.log1p(-share)).sum()) - constant

    first_attack = np.clip(gone.sum() / start.sum(), 0.05, 0.95) / period
    first_handling = period / max(float(gone.max()), 1.0) / 2.0
    bounds = [(-20.0, 12.0), (-20.0, 12.0)]
    best = min(
        (
            minimize(
                surprise,
                np.log([first_attack * factor, first_handling / factor]),
                method="Nelder-Mead",
                bounds=bounds,
                options={"xatol": 1e-10, "fatol": 1e-11, "maxiter": 4000, "maxfev": 4000},
            )
            for factor in (0.5, 1.0, 3.0)
        ),
        key=lambda result: float(result.fun),
    )
    errors = _curvature_errors(surprise, best.x)
    estimates = [
        Estimate(
            name,
            float(np.exp(log)),
            float(np.exp(log) * error),
            float(np.exp(log - NORMAL_95 * error)),
            float(np.exp(min(log + NORMAL_95 * error, 700.0))),
        )
        for name, log, error in zip(("attack_rate", "handling_time"), best.x, errors, strict=True)
    ]
    return FunctionalResponseFit(
        form=form,
        attack_rate=estimates[0],
        handling_time=estimates[1],
        negative_log_likelihood=float(best.fun),
        aic=2.0 * float(best.fun) + 4.0,
        n=int(start.size),
    )


@dataclass(frozen=True)
class _Best:
    values: FloatArray
    residuals: FloatArray
    jacobian: FloatArray


def _least_squares(shape: _Shape, degrees: FloatArray, rates: FloatArray) -> _Best:
    """Return the best of the fits from all starting points. Points that a curve refuses count as far off."""
    low, high = np.array(shape.low), np.array(shape.high)

    def deviations(values: FloatArray) -> FloatArray:
        try:
            return np.asarray(shape.function(degrees, *values) - rates)
        except ValueError:
            return np.full(rates.shape, 10.0)

    best = None
    for start in shape.starts(degrees, rates):
        inside = np.clip(np.array(start, dtype=np.float64), low + 1e-9, high - 1e-9)
        if (np.abs(deviations(inside)) >= 10.0).all():
            continue
        found = least_squares(
            deviations,
            inside,
            bounds=(low, high),
            x_scale=np.maximum(np.abs(inside), 1e-6),
            xtol=1e-14,
            ftol=1e-14,
            gtol=1e-14,
            max_nfev=3000,
        )
        if best is None or found.cost < best.cost:
            best = found
    if best is None:
        raise ValueError("the curve cannot be fitted to this trial")
    return _Best(np.asarray(best.x), np.asarray(best.fun), np.asarray(best.jac))


def _standard_errors(jacobian: FloatArray, variance: float) -> FloatArray:
    """Return standard errors from the slopes at the best fit; infinite for what the trial does not tell."""
    scale = np.linalg.norm(jacobian, axis=0)
    if (scale == 0.0).any() or np.linalg.matrix_rank(jacobian / scale) < scale.size:
        return np.full(scale.size, np.inf)
    inverse = np.linalg.inv((jacobian / scale).T @ (jacobian / scale))
    return np.asarray(np.sqrt(variance * np.diag(inverse)) / scale)


def _curvature_errors(surprise: Callable[[FloatArray], float], at: FloatArray) -> FloatArray:
    """Return standard errors from the second differences of a negative log likelihood."""
    step, size = 1e-3, at.size
    units = np.eye(size) * step
    second = np.array(
        [
            [
                (
                    surprise(at + units[i] + units[j])
                    - surprise(at + units[i] - units[j])
                    - surprise(at - units[i] + units[j])
                    + surprise(at - units[i] - units[j])
                )
                / (4.0 * step**2)
                for j in range(size)
            ]
            for i in range(size)
        ]
    )
    if np.linalg.eigvalsh(second).min() <= 0.0:
        return np.full(size, np.inf)
    return np.asarray(np.sqrt(np.diag(np.linalg.inv(second))))


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


CURVES: dict[str, _Shape] = {
    "linear": _Shape(
        temperature_response.linear,
        ("lower_threshold", "thermal_constant"),
        _linear_starts,
        (-40.0, 1e-3),
        (60.0, 1e5),
    ),
    "thermal_performance": _Shape(
        temperature_response.thermal_performance,
        ("lower_threshold", "thermal_constant", "optimum", "upper"),
        _performance_starts,
        (-40.0, 1e-3, -20.0, 0.0),
        (40.0, 1e5, 60.0, 80.0),
    ),
    "briere1": _Shape(
        temperature_response.briere1,
        ("scale", "lower", "upper"),
        _briere1_starts,
        (1e-12, -60.0, 0.0),
        (1.0, 40.0, 80.0),
    ),
    "briere2": _Shape(
        temperature_response.briere2,
        ("scale", "lower", "upper", "root"),
        _briere2_starts,
        (1e-12, -60.0, 0.0, 0.2),
        (1.0, 40.0, 80.0, 100.0),
    ),
    "lactin1": _Shape(
        temperature_response.lactin1,
        ("rise", "upper", "width"),
        _lactin1_starts,
        (1e-5, 0.0, 1e-3),
        (1.0, 80.0, 50.0),
    ),
    "lactin2": _Shape(
        temperature_response.lactin2,
        ("rise", "upper", "width", "shift"),
        _lactin2_starts,
        (1e-5, 0.0, 1e-3, -5.0),
        (1.0, 80.0, 50.0, 1.0),
    ),
    "logan6": _Shape(
        temperature_response.logan6,
        ("scale", "rise", "upper", "width"),
        _logan6_starts,
        (1e-9, 1e-4, 0.0, 1e-3),
        (10.0, 1.0, 80.0, 50.0),
    ),
    "gaussian": _Shape(
        temperature_response.gaussian,
        ("peak", "optimum", "spread"),
        _gaussian_starts,
        (1e-6, -20.0, 0.1),
        (10.0, 80.0, 100.0),
    ),
    "sharpe_schoolfield": _Shape(
        temperature_response.sharpe_schoolfield,
        ("reference_rate", "activation", "cold_energy", "cold_half", "heat_energy", "heat_half"),
        _enzyme_starts,
        (1e-6, 1e2, 1e3, -60.0, 1e3, 0.0),
        (50.0, 5e5, 2e6, 40.0, 5e6, 80.0),
    ),
}
"""The curves that can be fitted, by the name of their function in `temperature_response`."""
