"""How long a stage takes: from the first to the last of a cohort, at constant or at changing temperature.

A stage's duration is gamma distributed. A chain of K equal compartments (the distributed delay of the
simulation) has exactly that distribution with shape K, which makes the two comparable to the last digit.

Only numpy is needed here, so that the quick answers start fast.
"""

from __future__ import annotations

from math import lgamma

import numpy as np
from numpy.typing import ArrayLike, NDArray

from outpace.biology.inputs import FloatArray, above_zero, not_negative, numbers, plain

TERMS = 10_000
"""Most terms taken of the series and the continued fraction; enough for shapes beyond a million."""

EXACT = 1e-15
"""Relative size of a term below which a sum is finished."""


def erlang_stages(mean: ArrayLike, sd: ArrayLike) -> NDArray[np.int64]:
    """Return the number of equal compartments whose chain has nearest this mean and standard deviation.

    Parameters
    ----------
    mean, sd : float or array of float
        Mean and standard deviation of the duration between individuals. [d, or °C d; the same for both]

    Returns
    -------
    stages : array of int
        ``(mean / sd)²`` rounded, at least 1; *k* in the distributed-delay literature.

    Raises
    ------
    ValueError
        If ``mean`` or ``sd`` is not above zero.

    References
    ----------
    Manetsch1976; Vansickle1977; recalled.

    Examples
    --------
    >>> int(erlang_stages(mean=12.0, sd=2.4))
    25
    """
    ratio = (above_zero("mean", mean) / above_zero("sd", sd)) ** 2
    return np.maximum(np.rint(ratio), 1.0).astype(np.int64)[()]


def passage_cdf(days: ArrayLike, mean: ArrayLike, shape: ArrayLike) -> FloatArray:
    """Return the share of a cohort that has left a stage by a time.

    Parameters
    ----------
    days : array of float
        Time since the cohort entered. [d, or °C d]
    mean : float or array of float
        Mean duration. [as ``days``]
    shape : float or array of float
        Shape of the gamma distribution, ``(mean / sd)²``; the number of compartments of an Erlang chain.

    Returns
    -------
    share : array of float
        From 0 to 1.

    Raises
    ------
    ValueError
        If ``mean`` or ``shape`` is not above zero.

    Examples
    --------
    >>> passage_cdf([8.0, 12.0, 16.0], mean=12.0, shape=25).round(4)
    array([0.0336, 0.5266, 0.9425])
    """
    form = above_zero("shape", shape)
    scaled = np.maximum(numbers("days", days), 0.0) * form / above_zero("mean", mean)
    return plain(_gamma_share(form, scaled))


def passage_quantile(share: ArrayLike, mean: ArrayLike, shape: ArrayLike) -> FloatArray:
    """Return the time by which a share of a cohort has left a stage.

    Parameters
    ----------
    share : float or array of float
        From 0 to under 1.
    mean : float or array of float
        Mean duration. [d, or °C d]
    shape : float or array of float
        As in `passage_cdf`.

    Returns
    -------
    days : array of float
        Accurate to about 1e-12 of the answer. [as ``mean``]

    Raises
    ------
    ValueError
        If ``share`` is outside 0 to 1 or is 1, or ``mean`` or ``shape`` not above zero.

    Examples
    --------
    >>> passage_quantile([0.05, 0.5, 0.95], mean=12.0, shape=25).round(2)
    array([ 8.34, 11.84, 16.2 ])
    """
    wanted = numbers("share", share)
    if ((wanted < 0.0) | (wanted >= 1.0)).any():
        raise ValueError("share must lie from 0 to under 1")
    wanted, centre, form = np.broadcast_arrays(wanted, above_zero("mean", mean), above_zero("shape", shape))
    low = np.zeros(wanted.shape)
    high = form + 10.0 * np.sqrt(form) + 10.0
    while (short := _gamma_share(form, high) < wanted).any():
        high = np.where(short, 2.0 * high, high)
    for _ in range(200):
        middle = 0.5 * (low + high)
        below = _gamma_share(form, middle) < wanted
        low, high = np.where(below, middle, low), np.where(below, high, middle)
        if (high - low <= 1e-13 * high).all():
            break
    return plain(np.where(wanted == 0.0, 0.0, 0.5 * (low + high)) * centre / form)


def stages_in_a_row(means: ArrayLike, sds: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return mean and standard deviation of the time through stages that follow each other independently.

    Parameters
    ----------
    means, sds : array of float, shape (stages, ...)
        [d, or °C d]

    Returns
    -------
    mean, sd : array of float, shape (...)
        [as ``means``]

    Raises
    ------
    ValueError
        If a mean or a standard deviation is negative.

    Examples
    --------
    >>> mean, sd = stages_in_a_row([8.0, 4.0], [0.6, 0.8])
    >>> float(mean), float(sd)
    (12.0, 1.0)
    """
    mean = not_negative("means", means).sum(axis=0)
    sd = np.sqrt((not_negative("sds", sds) ** 2).sum(axis=0))
    return plain(np.asarray(mean)), plain(np.asarray(sd))


def physiological_age(rate: ArrayLike, hours: float = 1.0) -> FloatArray:
    """Return how far through a stage the mean individual is at each edge of an evenly spaced record.

    Parameters
    ----------
    rate : array of float, shape (n, ...)
        Rate of development in each interval, from a curve of `temperature_response`. [d⁻¹]
    hours : float, default 1.0
        Length of an interval. [h]

    Returns
    -------
    age : array of float, shape (n + 1, ...)
        0 at the start, 1 when the mean individual leaves the stage. [1]

    Raises
    ------
    ValueError
        If a rate is negative or ``hours`` is not above zero.

    Examples
    --------
    >>> physiological_age([0.24, 0.48, 0.0]).round(3)
    array([0.  , 0.01, 0.03, 0.03])
    """
    steps = not_negative("rate", rate) * above_zero("hours", hours) / 24.0
    return np.concatenate([np.zeros((1, *steps.shape[1:])), np.cumsum(steps, axis=0)])


def time_to_age(rate: ArrayLike, age: ArrayLike, hours: float = 1.0) -> FloatArray:
    """Return when a physiological age is reached at changing temperature.

    Parameters
    ----------
    rate : array of float, shape (n,) or (n, members)
        Rate of development in each interval. [d⁻¹]
    age : float or array of float, shape (members,)
        Age asked for; 1 is the mean duration, a quantile of the cohort is ``passage_quantile(share, 1,
        shape)``.
    hours : float, default 1.0
        Length of an interval. [h]

    Returns
    -------
    days : array of float, shape () or (members,)
        Time since the start of the record, straight lines within an interval; infinite where the record ends
        before. [d]

    Raises
    ------
    ValueError
        If a rate or an age is negative, or ``hours`` is not above zero.

    Examples
    --------
    >>> float(time_to_age([0.1] * 24 + [0.2] * 240, age=0.5).round(6))
    3.0
    """
    reached = physiological_age(rate, hours)
    if reached.ndim > 2:
        raise ValueError("rate must have one or two axes")
    wanted = not_negative("age", age)
    columns = reached[:, None] if reached.ndim == 1 else reached
    columns, goals = np.broadcast_arrays(columns, np.atleast_1d(wanted)[None, :])
    days = np.array(
        [
            _first_crossing(columns[:, member], float(goals[0, member])) * hours / 24.0
            for member in range(columns.shape[1])
        ]
    )
    alone = reached.ndim == 1 and wanted.ndim == 0
    return plain(days[0]) if alone else days


def steps_needed(mean: ArrayLike, stages: ArrayLike, share: float = 0.5) -> NDArray[np.int64]:
    """Return how many steps a day an explicit chain of compartments needs.

    An explicit step that moves more than a whole compartment at once is unstable; one that moves a small
    share is accurate.

    Parameters
    ----------
    mean : float or array of float
        Shortest mean duration met. [d]
    stages : int or array of int
        Compartments of the chain.
    share : float, default 0.5
        Most of a compartment that one step may move; above 1 is refused.

    Returns
    -------
    steps : array of int
        Steps per day, at least 1. [d⁻¹]

    Raises
    ------
    ValueError
        If a number is not above zero or ``share`` is above 1.

    Examples
    --------
    >>> int(steps_needed(mean=12.0, stages=25, share=1.0))
    3
    """
    if not 0.0 < share <= 1.0:
        raise ValueError("share must be above 0 and at most 1, else the chain is unstable")
    per_day = above_zero("stages", stages) / above_zero("mean", mean) / share
    return np.maximum(np.ceil(per_day - 1e-9), 1.0).astype(np.int64)[()]


def _first_crossing(age: FloatArray, goal: float) -> float:
    """Return the place, counted in intervals, at which a rising record first reaches ``goal``.

    Sums of shares miss a round goal by their last digits; on a cold plateau that would cost days.
    """
    after = int(np.searchsorted(age, goal * (1.0 - 1e-12), side="left"))
    if after == len(age):
        return np.inf
    if after == 0:
        return 0.0
    gained = float(age[after] - age[after - 1])
    return after - 1 + min((goal - float(age[after - 1])) / gained, 1.0)


def _gamma_share(shape: ArrayLike, scaled: ArrayLike) -> FloatArray:
    """Return the regularised lower incomplete gamma function P(shape, scaled).

    A series below shape + 1, a continued fraction (Lentz) above: the usual pair, as in the handbooks.
    """
    forms, values = np.broadcast_arrays(
        np.asarray(shape, dtype=np.float64), np.asarray(scaled, dtype=np.float64)
    )
    flat_form, flat = forms.ravel(), values.ravel()
    result = np.zeros(flat.shape)
    positive = flat > 0.0
    logs = np.zeros(flat.shape)
    logs[positive] = (
        flat_form[positive] * np.log(flat[positive])
        - flat[positive]
        - np.array([lgamma(form) for form in flat_form[positive]])
    )
    series = positive & (flat < flat_form + 1.0)
    if series.any():
        result[series] = np.exp(logs[series]) * _series(flat_form[series], flat[series])
    fraction = positive & ~series
    if fraction.any():
        result[fraction] = 1.0 - np.exp(logs[fraction]) * _fraction(flat_form[fraction], flat[fraction])
    return np.clip(result, 0.0, 1.0).reshape(forms.shape)


def _series(form: FloatArray, value: FloatArray) -> FloatArray:
    term = 1.0 / form
    total = term.copy()
    divisor = form.copy()
    for _ in range(TERMS):
        divisor = divisor + 1.0
        term = term * value / divisor
        total = total + term
        if (term <= total * EXACT).all():
            break
    return total


def _fraction(form: FloatArray, value: FloatArray) -> FloatArray:
    tiny = 1e-300
    below = value + 1.0 - form
    above = np.full(form.shape, 1.0 / tiny)
    inverse = 1.0 / np.where(below == 0.0, tiny, below)
    total = inverse.copy()
    for count in range(1, TERMS):
        weight = -count * (count - form)
        below = below + 2.0
        inverse = weight * inverse + below
        inverse = 1.0 / np.where(np.abs(inverse) < tiny, tiny, inverse)
        above = below + weight / above
        above = np.where(np.abs(above) < tiny, tiny, above)
        factor = inverse * above
        total = total * factor
        if (np.abs(factor - 1.0) <= EXACT * 4).all():
            break
    return total
