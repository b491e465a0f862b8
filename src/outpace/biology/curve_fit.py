"""Fit response curves to trials: rates at temperatures, prey eaten at densities; with intervals and AIC."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import OptimizeResult, least_squares, minimize
from scipy.special import gammaln
from scipy.stats import t as student

from outpace.biology.curve_shapes import CURVES, Shape
from outpace.biology.functional_response import disc_equation, prey_eaten
from outpace.biology.inputs import FloatArray, above_zero, not_negative, numbers

NORMAL_95 = 1.959963984540054
"""Standard errors on either side of a normal estimate that hold 95 %."""

REFUSED = 10.0
"""Deviation that stands for parameters no curve can have; rates are far below. [d⁻¹]"""

MOST_STARTS, FIRST_LOOK, FINAL_LOOK = 5, 60, 1500
"""Starting points followed, evaluations for each, and evaluations for the best of them."""


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
        Name of the curve, a key of `curve_shapes.CURVES`.
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
    correlation : tuple of tuples of float, shape (parameters, parameters)
        Of the estimates with each other; NaN where the trial does not tell them. [1]
    on_bound : tuple of str
        Parameters that the search left at the end of what it may take: the trial does not tell them.
    """

    curve: str
    estimates: tuple[Estimate, ...]
    lowest: float
    highest: float
    residual_sum: float
    aic: float
    aicc: float
    n: int
    correlation: tuple[tuple[float, ...], ...]
    on_bound: tuple[str, ...]

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


def fit_temperature_curve(temperature: ArrayLike, rate: ArrayLike, curve: str) -> TemperatureFit:
    """Return a response curve fitted to rates of development by least squares.

    Parameters
    ----------
    temperature : array of float, shape (n,)
        Constant temperatures of the trial. [°C]
    rate : array of float, shape (n,)
        One over the mean duration at each; 0 where none completed. [d⁻¹]
    curve : str
        One of `curve_shapes.CURVES`.

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
    spread = _covariance(best.jacobian, residual_sum / free)
    errors = np.sqrt(np.diag(spread))
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
        correlation=_correlation(spread),
        on_bound=tuple(
            name
            for name, value, low, high in zip(shape.names, best.values, shape.low, shape.high, strict=True)
            if min(value - low, high - value) <= 1e-6 * (high - low)
        ),
    )


def fit_curves(temperature: ArrayLike, rate: ArrayLike) -> tuple[tuple[TemperatureFit, ...], dict[str, str]]:
    """Return every curve that can be fitted to a trial, the best by AIC first, and why the others cannot.

    Parameters
    ----------
    temperature, rate
        As in `fit_temperature_curve`. [°C, d⁻¹]

    Returns
    -------
    fits : tuple of TemperatureFit
    refused : dict
        Curve → why.

    Examples
    --------
    >>> fits, refused = fit_curves([10, 15, 20, 25], [0.041, 0.089, 0.141, 0.190])
    >>> refused["logan6"]
    'logan6 has 4 parameters: it needs more rates than that, at as many temperatures'
    """
    fits, refused = [], {}
    for curve in CURVES:
        try:
            fits.append(fit_temperature_curve(temperature, rate, curve))
        except ValueError as error:
            refused[curve] = str(error)
    return tuple(sorted(fits, key=lambda fit: fit.aic)), refused


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


def _least_squares(shape: Shape, degrees: FloatArray, rates: FloatArray) -> _Best:
    """Return the best of the fits from all starting points. Points that a curve refuses count as far off."""
    low, high = np.array(shape.low), np.array(shape.high)

    def deviations(values: FloatArray) -> FloatArray:
        try:
            return np.asarray(shape.function(degrees, *values) - rates)
        except ValueError:
            return np.full(rates.shape, REFUSED)

    def search(start: FloatArray, patience: int) -> OptimizeResult:
        return least_squares(
            deviations,
            start,
            bounds=(low, high),
            x_scale=np.maximum(np.abs(start), 1e-6),
            xtol=1e-14,
            ftol=1e-14,
            gtol=1e-14,
            max_nfev=patience,
        )

    starts = [np.clip(np.array(start), low + 1e-9, high - 1e-9) for start in shape.starts(degrees, rates)]
    starts = [start for start in starts if (np.abs(deviations(start)) < REFUSED).any()]
    if not starts:
        raise ValueError("the curve cannot be fitted to this trial")
    starts.sort(key=lambda start: float((deviations(start) ** 2).sum()))
    tried = [search(start, FIRST_LOOK) for start in starts[:MOST_STARTS]]
    best = search(np.asarray(min(tried, key=lambda found: float(found.cost)).x), FINAL_LOOK)
    return _Best(np.asarray(best.x), np.asarray(best.fun), np.asarray(best.jac))


def _covariance(jacobian: FloatArray, variance: float) -> FloatArray:
    """Return the covariance from the slopes at the best fit; infinite where the trial does not tell."""
    scale = np.linalg.norm(jacobian, axis=0)
    if (scale == 0.0).any() or np.linalg.matrix_rank(jacobian / scale) < scale.size:
        return np.full((scale.size, scale.size), np.inf)
    inverse = np.linalg.inv((jacobian / scale).T @ (jacobian / scale))
    return np.asarray(variance * inverse / np.outer(scale, scale))


def _correlation(covariance: FloatArray) -> tuple[tuple[float, ...], ...]:
    errors = np.sqrt(np.diag(covariance))
    if not np.isfinite(errors).all() or (errors == 0.0).any():
        return tuple((np.nan,) * errors.size for _ in errors)
    return tuple(tuple(float(each) for each in row) for row in covariance / np.outer(errors, errors))


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
