"""Growth of a population from its life table, or from stages of gamma-distributed length."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from outpace.biology.inputs import FloatArray, above_zero, not_negative, numbers, plain, shares


def net_reproduction(survival: ArrayLike, births: ArrayLike) -> float:
    """Return the daughters that a newborn female has over her life.

    Parameters
    ----------
    survival : array of float, shape (ages,)
        Share alive at each age; *l_x*. [1]
    births : array of float, shape (ages,)
        Daughters per living female in each age class; *m_x*. [1]

    Returns
    -------
    daughters : float
        *R0*. [1]

    Raises
    ------
    ValueError
        If the two differ in length, a survival is not a share or a birth negative.

    References
    ----------
    Birch1948, recalled.

    Examples
    --------
    >>> net_reproduction([1.0, 0.5, 0.25], [0.0, 4.0, 4.0])
    3.0
    """
    alive, born = shares("survival", survival), not_negative("births", births)
    if alive.shape != born.shape or alive.ndim != 1:
        raise ValueError("survival and births must be rows of one length")
    return float(alive @ born)


def intrinsic_rate(age: ArrayLike, survival: ArrayLike, births: ArrayLike) -> float:
    """Return the rate at which a population with this life table grows once its ages are stable.

    Parameters
    ----------
    age : array of float, shape (ages,)
        Middle of each age class; *x*. [d]
    survival : array of float, shape (ages,)
        *l_x*. [1]
    births : array of float, shape (ages,)
        *m_x*. [1]

    Returns
    -------
    rate : float
        The *r* that solves ``sum(exp(-r x) l m) = 1``; in the unit of time of ``age``. [d⁻¹]

    Raises
    ------
    ValueError
        If ages are not above zero and rising, lengths differ, or nothing is ever born.

    References
    ----------
    Lotka1907; Birch1948; recalled.

    Examples
    --------
    >>> float(round(intrinsic_rate([10.0, 20.0], [0.8, 0.4], [10.0, 5.0]), 4))
    0.2109
    """
    ages = above_zero("age", age)
    if ages.ndim != 1 or (np.diff(ages) <= 0.0).any():
        raise ValueError("ages must rise")
    daughters = net_reproduction(survival, births)
    weights = shares("survival", survival) * numbers("births", births)
    if weights.shape != ages.shape:
        raise ValueError("age, survival and births must be rows of one length")
    if daughters == 0.0:
        raise ValueError("nothing is ever born: no rate of increase exists")
    # The sum lies between R0 exp(-r x) at the first and the last age of birth: that brackets r.
    fertile = ages[weights > 0.0]
    ends = np.log(daughters) / np.array([fertile[0], fertile[-1]])

    def balance(rate: FloatArray) -> FloatArray:
        return np.asarray((np.exp(-rate * ages) * weights).sum() - 1.0)

    return float(_falling_root(balance, np.asarray(ends.min()), np.asarray(ends.max())))


def generation_time(age: ArrayLike, survival: ArrayLike, births: ArrayLike) -> float:
    """Return the time in which a population multiplies by its net reproduction.

    Parameters
    ----------
    age, survival, births : array of float, shape (ages,)
        As in `intrinsic_rate`. [d, 1, 1]

    Returns
    -------
    time : float
        ``ln(R0) / r``; for a population that only replaces itself, the mean age at birth. [d]

    Raises
    ------
    ValueError
        As in `intrinsic_rate`.

    References
    ----------
    Birch1948, recalled.

    Examples
    --------
    >>> float(round(generation_time([10.0, 20.0], [0.8, 0.4], [10.0, 5.0]), 2))
    10.92
    """
    rate = intrinsic_rate(age, survival, births)
    daughters = net_reproduction(survival, births)
    if abs(np.log(daughters)) < 1e-9:
        weights = numbers("survival", survival) * numbers("births", births)
        return float(numbers("age", age) @ weights / daughters)
    return float(np.log(daughters) / rate)


def growth_with_delay(births: float, mortality: float, delay: float, stages: float | None = None) -> float:
    """Return the growth rate of adults that bear young at a constant rate, the young maturing after a delay.

    Parameters
    ----------
    births : float
        Young per adult; *b*. [d⁻¹]
    mortality : float
        Loss of adults; the young do not die. [d⁻¹]
    delay : float
        Mean time from birth to adult. [d]
    stages : float, optional
        Compartments of the delay; without it the delay is the same for all, the limit of many compartments.

    Returns
    -------
    rate : float
        The *r* that solves ``b L(r) / (r + mortality) = 1`` with ``L = (1 + r delay / stages)^-stages`` or
        ``exp(-r delay)``. [d⁻¹]

    Raises
    ------
    ValueError
        If ``births`` or ``delay`` is not above zero or ``mortality`` negative.

    Examples
    --------
    >>> round(growth_with_delay(4.0, 0.1, 7.0, stages=20), 6)
    0.335152
    >>> round(growth_with_delay(4.0, 0.1, 7.0), 6)
    0.321471
    """
    born = float(above_zero("births", births))
    lost = float(not_negative("mortality", mortality))
    span = float(above_zero("delay", delay))
    count = np.inf if stages is None else float(above_zero("stages", stages))
    low = -lost if stages is None else max(-lost, -count / span)

    def balance(rate: FloatArray) -> FloatArray:
        # In logarithms; at the left end of the bracket the birth term is infinite.
        passing = -rate * span if stages is None else -count * np.log1p(np.maximum(rate * span / count, -1.0))
        return np.asarray(np.log(born) + passing - np.log(np.maximum(rate + lost, 0.0)))

    with np.errstate(divide="ignore", invalid="ignore"):
        return float(_falling_root(balance, np.asarray(low), np.asarray(born)))


def growth_of_gamma_stages(
    means: ArrayLike,
    shapes: ArrayLike,
    births: ArrayLike,
    survival: ArrayLike = 1.0,
    mortality: ArrayLike = 0.0,
) -> FloatArray:
    """Return the growth rate of a population whose stages have gamma-distributed lengths.

    The closed form behind a chain of compartments at constant temperature: nymphal instars, the time before
    the first young and the classes of adult age stand in one row, from birth to death.

    Parameters
    ----------
    means : array of float, shape (stages,) or (stages, members)
        Mean length of each stage. [d]
    shapes : float or array of float, broadcasts with ``means``
        Shape of each stage's length, the number of its compartments. [1]
    births : float or array of float, broadcasts with ``means``
        Daughters per female and day while in the stage, 0 for the young. [d⁻¹]
    survival : float or array of float, default 1
        Share that passes the stage, lost in equal parts on leaving each compartment. [1]
    mortality : float or array of float, default 0
        Loss at a steady rate on top. [d⁻¹]

    Returns
    -------
    rate : float or array of float, shape (members,)
        The *r* at which daughters, discounted by ``exp(-r age)``, replace their mother. [d⁻¹]

    Raises
    ------
    ValueError
        If a mean or shape is not above zero, a survival no share, or nothing is ever born.

    References
    ----------
    Lotka1907; Vansickle1977; recalled. The Laplace transform of a gamma stage is ``(1 + s mean /
    shape)^-shape``.

    Examples
    --------
    One delay of 20 compartments, then adults that die at 0.1 a day and bear 4 a day:

    >>> float(growth_of_gamma_stages([7.0, 10.0], [20, 1], [0.0, 4.0]).round(6))
    0.335152
    """
    chain = _chain(means, shapes, births, survival, mortality)
    stage_means, stage_shapes, born, _, lost = chain
    if (_replaced(np.zeros(born.shape[1:]), *chain) <= 0.0).any():
        raise ValueError("nothing is ever born: no rate of increase exists")
    # A stage's transform is infinite where its discount outruns its compartments; stages after the last birth
    # do not matter.
    matters = np.cumsum(born[::-1], axis=0)[::-1] > 0.0
    low = np.where(matters, -stage_shapes / stage_means - lost, -np.inf).max(axis=0)
    high = np.maximum(born.max(axis=0), 1e-12)

    def balance(rate: FloatArray) -> FloatArray:
        return _replaced(rate, *chain) - 1.0

    with np.errstate(all="ignore"):
        return plain(_falling_root(balance, low, high))


def reproduction_of_gamma_stages(
    means: ArrayLike,
    shapes: ArrayLike,
    births: ArrayLike,
    survival: ArrayLike = 1.0,
    mortality: ArrayLike = 0.0,
) -> FloatArray:
    """Return the daughters a newborn has over her life, for stages as in `growth_of_gamma_stages`.

    Parameters
    ----------
    means, shapes, births, survival, mortality
        As in `growth_of_gamma_stages`. [d, 1, d⁻¹, 1, d⁻¹]

    Returns
    -------
    daughters : float or array of float, shape (members,)
        *R0*. [1]

    Raises
    ------
    ValueError
        As in `growth_of_gamma_stages`, but no births give 0.

    Examples
    --------
    >>> float(reproduction_of_gamma_stages([7.0, 10.0], [20, 1], [0.0, 4.0], survival=[0.9, 1.0]))
    36.0
    """
    chain = _chain(means, shapes, births, survival, mortality)
    return plain(_replaced(np.zeros(chain[2].shape[1:]), *chain))


def structure_of_gamma_stages(
    rate: ArrayLike,
    means: ArrayLike,
    shapes: ArrayLike,
    survival: ArrayLike = 1.0,
    mortality: ArrayLike = 0.0,
) -> FloatArray:
    """Return the share of each stage in a population that has long grown at a rate.

    Parameters
    ----------
    rate : float or array of float, shape (members,)
        Rate of increase. [d⁻¹]
    means, shapes, survival, mortality
        As in `growth_of_gamma_stages`.

    Returns
    -------
    structure : array of float, shape (stages,) or (stages, members)
        Shares that add up to 1 over the stages. [1]

    Raises
    ------
    ValueError
        As in `growth_of_gamma_stages`.

    Examples
    --------
    >>> structure_of_gamma_stages(0.0, [2.0, 2.0, 4.0], 10.0).round(3)
    array([0.25, 0.25, 0.5 ])
    """
    stage_means, stage_shapes, _, passed, lost = _chain(means, shapes, 0.0, survival, mortality)
    rates = numbers("rate", rate)
    leave, stay = _discounted(rates, stage_means, stage_shapes, passed, lost)
    there = _entering(leave) * stay
    return plain(there / there.sum(axis=0))


def _chain(
    means: ArrayLike, shapes: ArrayLike, births: ArrayLike, survival: ArrayLike, mortality: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return the five rows of a chain of stages, checked and of one shape, stages first."""
    rows = np.broadcast_arrays(
        above_zero("means", means),
        above_zero("shapes", shapes),
        not_negative("births", births),
        shares("survival", survival),
        not_negative("mortality", mortality),
    )
    if rows[0].ndim == 0:
        raise ValueError("means must be a row of stages")
    return rows[0], rows[1], rows[2], rows[3], rows[4]


def _discounted(
    rate: FloatArray, means: FloatArray, shapes: FloatArray, survival: FloatArray, mortality: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the discounted chance to leave a stage that was entered, and the discounted time in it [d].

    Both are sums over compartments, of which each holds for ``means / shapes`` and passes a share on.
    """
    per_compartment = means / shapes
    delay = 1.0 + (rate + mortality) * per_compartment
    with np.errstate(divide="ignore"):
        passing = np.log(survival) / shapes - np.log(delay)
    leave = np.exp(shapes * passing)
    ratio = np.where(
        np.abs(passing) < 1e-12,
        shapes,
        np.expm1(shapes * passing) / np.where(passing == 0.0, 1.0, np.expm1(passing)),
    )
    return leave, per_compartment / delay * ratio


def _entering(leave: FloatArray) -> FloatArray:
    """Return the discounted chance to reach the start of each stage."""
    first = np.ones((1, *leave.shape[1:]))
    return np.concatenate([first, np.cumprod(leave[:-1], axis=0)])


def _replaced(
    rate: FloatArray,
    means: FloatArray,
    shapes: FloatArray,
    births: FloatArray,
    survival: FloatArray,
    mortality: FloatArray,
) -> FloatArray:
    """Return the discounted daughters of a newborn."""
    leave, stay = _discounted(rate, means, shapes, survival, mortality)
    # A stage without births may lie beyond its own limit of decline: it has no say, whatever its number.
    return np.asarray(np.where(births > 0.0, _entering(leave) * stay * births, 0.0).sum(axis=0))


def _falling_root(
    balance: Callable[[FloatArray], FloatArray], low: FloatArray, high: FloatArray
) -> FloatArray:
    """Return where a falling function passes zero between two ends, by halving; for all members at once."""
    for _ in range(400):
        middle = 0.5 * (low + high)
        above = balance(middle) > 0.0
        low, high = np.where(above, middle, low), np.where(above, high, middle)
        if (high - low <= 4e-16 * np.maximum(np.abs(high), 1e-3)).all():
            break
    return np.asarray(0.5 * (low + high))
