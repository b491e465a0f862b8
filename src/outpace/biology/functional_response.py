"""Prey eaten, or hosts attacked, by searching enemies: the disc equation, depletion, and the sigmoid form."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import wrightomega

from outpace.biology.inputs import FloatArray, above_zero, not_negative, numbers, plain


def disc_equation(
    prey: ArrayLike,
    predators: ArrayLike,
    attack_rate: ArrayLike,
    handling_time: ArrayLike,
    days: ArrayLike = 1.0,
) -> FloatArray:
    """Return the prey attacked in a period when prey density stays as it is.

    Parameters
    ----------
    prey : array of float, shape (n,)
        Density. [m⁻²]
    predators : float or array of float, shape (n,)
        Searching enemies. [m⁻²]
    attack_rate : float or array of float
        Area searched by one enemy; *a* in the paper. [m² d⁻¹]
    handling_time : float or array of float
        Time spent on one prey; *b* in the paper, *h* since. [d]
    days : float, default 1.0
        Length of the period; *T*. [d]

    Returns
    -------
    attacked : array of float, shape (n,)
        ``a N P T / (1 + a h N)``. It can exceed ``prey``: meant for replaced prey, or for attacks that may
        fall on one host twice. [m⁻²]

    Raises
    ------
    ValueError
        If ``attack_rate`` is not above zero or another number negative.

    References
    ----------
    Holling1959, recalled.

    Examples
    --------
    >>> disc_equation([10.0, 20.0, 50.0], 1.0, attack_rate=1.0, handling_time=0.05).round(3)
    array([ 6.667, 10.   , 14.286])
    """
    there, search, handling, time = _checked(prey, predators, attack_rate, handling_time, days)
    return plain(search * there * time / (1.0 + search * handling * there))


def prey_eaten(
    prey: ArrayLike,
    predators: ArrayLike,
    attack_rate: ArrayLike,
    handling_time: ArrayLike,
    days: ArrayLike = 1.0,
) -> FloatArray:
    """Return the prey eaten in a period, the eaten ones not being replaced.

    The random-predator equation in closed form.

    Parameters
    ----------
    prey : array of float, shape (n,)
        Density at the start; *N0*. [m⁻²]
    predators : float or array of float, shape (n,)
        Searching predators; *P*. [m⁻²]
    attack_rate : float or array of float
        Area searched by one predator; *a*. [m² d⁻¹]
    handling_time : float or array of float
        Time spent on one prey; *h*. 0 gives the limit of Nicholson and Bailey. [d]
    days : float, default 1.0
        Length of the period; *T*. [d]

    Returns
    -------
    eaten : array of float, shape (n,)
        The *n* that solves ``n = N0 (1 - exp(-a (P T - h n)))``; between 0 and ``prey``. [m⁻²]

    Raises
    ------
    ValueError
        If ``attack_rate`` is not above zero or another number negative.

    References
    ----------
    Rogers1972; Bolker2008 (closed form by Lambert's W); recalled.

    Examples
    --------
    >>> prey_eaten([0.0, 10.0], 1.0, attack_rate=0.5, handling_time=0.05).round(3)
    array([0.   , 3.397])
    """
    there, search, handling, time = _checked(prey, predators, attack_rate, handling_time, days)
    there, search, handling, time = np.broadcast_arrays(there, search, handling, time)
    load = search * handling
    pressure = search * time
    busy = (load > 0.0) & (there > 0.0)
    safe_load = np.where(busy, load, 1.0)
    safe_prey = np.where(busy, there, 1.0)
    # W(x) at x = exp(z) is Wright's omega at z: no overflow however long the period or dense the prey.
    left = wrightomega(np.log(safe_load) + np.log(safe_prey) + safe_load * safe_prey - pressure) / safe_load
    eaten = np.where(busy, there - left, -there * np.expm1(-pressure))
    # Depletion can only lessen what the disc equation gives.
    most = np.minimum(there, there * pressure / (1.0 + load * there))
    eaten = np.clip(eaten, 0.0, most)
    # The difference loses digits when few are eaten: two Newton steps on the implicit equation win them back.
    for _ in range(2):
        spared = np.exp(-np.maximum(pressure - load * eaten, 0.0))
        gap = eaten + there * np.expm1(-np.maximum(pressure - load * eaten, 0.0))
        eaten = np.clip(eaten - gap / (1.0 + there * load * spared), 0.0, most)
    return plain(eaten)


def sigmoid_response(
    prey: ArrayLike,
    predators: ArrayLike,
    attack_slope: ArrayLike,
    handling_time: ArrayLike,
    days: ArrayLike = 1.0,
    saturation: ArrayLike = 0.0,
) -> FloatArray:
    """Return the prey attacked in a period by enemies that search better where prey is denser (type III).

    Parameters
    ----------
    prey : array of float, shape (n,)
        Density, kept as it is. [m⁻²]
    predators : float or array of float, shape (n,)
        [m⁻²]
    attack_slope : float or array of float
        Rise of the attack rate with prey density; *b* in the paper. [m⁴ d⁻¹]
    handling_time : float or array of float
        [d]
    days : float, default 1.0
        [d]
    saturation : float or array of float, default 0
        How soon the attack rate levels off, ``a = b N / (1 + c N)``; *c*. [m²]

    Returns
    -------
    attacked : array of float, shape (n,)
        ``b N² P T / (1 + c N + b h N²)``. [m⁻²]

    Raises
    ------
    ValueError
        If ``attack_slope`` is not above zero or another number negative.

    References
    ----------
    Hassell1977, recalled.

    Examples
    --------
    >>> sigmoid_response([5.0, 10.0, 1e6], 1.0, attack_slope=0.01, handling_time=0.05).round(2)
    array([ 0.25,  0.95, 20.  ])
    """
    there, search, handling, time = _checked(prey, predators, attack_slope, handling_time, days)
    levelling = not_negative("saturation", saturation)
    return plain(search * there**2 * time / (1.0 + levelling * there + search * handling * there**2))


def sigmoid_prey_eaten(
    prey: ArrayLike,
    predators: ArrayLike,
    attack_slope: ArrayLike,
    handling_time: ArrayLike,
    days: ArrayLike = 1.0,
    saturation: ArrayLike = 0.0,
) -> FloatArray:
    """Return the prey eaten in a period (type III), the eaten ones not being replaced.

    The attack rate is set by the density at the start, as when a feeding trial is analysed.

    Parameters
    ----------
    prey, predators, attack_slope, handling_time, days, saturation
        As in `sigmoid_response`. [m⁻², m⁻², m⁴ d⁻¹, d, d, m²]

    Returns
    -------
    eaten : array of float, shape (n,)
        Between 0 and ``prey``. [m⁻²]

    Raises
    ------
    ValueError
        If ``attack_slope`` is not above zero or another number negative.

    References
    ----------
    Hassell1977; Juliano2001; recalled.

    Examples
    --------
    >>> sigmoid_prey_eaten([5.0, 10.0], 1.0, attack_slope=0.01, handling_time=0.05).round(3)
    array([0.241, 0.91 ])
    """
    there = not_negative("prey", prey)
    slope = above_zero("attack_slope", attack_slope)
    rate = slope * there / (1.0 + not_negative("saturation", saturation) * there)
    # Also where the rate is too small for a float.
    nothing = rate == 0.0
    eaten = prey_eaten(there, predators, np.where(nothing, 1.0, rate), handling_time, days)
    return plain(np.where(nothing, 0.0, eaten))


def multispecies_attacks(
    prey: ArrayLike,
    predators: ArrayLike,
    attack_rates: ArrayLike,
    handling_times: ArrayLike,
    days: float = 1.0,
) -> FloatArray:
    """Return the prey of each kind attacked by enemies that share their time between kinds.

    Parameters
    ----------
    prey : array of float, shape (kinds, ...)
        Density of each kind or stage. [m⁻²]
    predators : float or array of float, shape (...)
        [m⁻²]
    attack_rates, handling_times : array of float, shape (kinds,) or (kinds, ...)
        [m² d⁻¹, d]
    days : float, default 1.0
        [d]

    Returns
    -------
    attacked : array of float, shape (kinds, ...)
        ``a_i N_i P T / (1 + sum_j a_j h_j N_j)``. [m⁻²]

    Raises
    ------
    ValueError
        If a number is negative or the kinds do not match.

    References
    ----------
    Murdoch1973, recalled.

    Examples
    --------
    >>> multispecies_attacks([10.0, 10.0], 1.0, [1.0, 0.5], [0.05, 0.05]).round(3)
    array([5.714, 2.857])
    """
    there = not_negative("prey", prey)
    search = not_negative("attack_rates", attack_rates)
    handling = not_negative("handling_times", handling_times)
    if there.ndim == 0 or search.shape[:1] != there.shape[:1] or handling.shape[:1] != there.shape[:1]:
        raise ValueError("attack_rates and handling_times must hold one entry for each kind of prey")
    extra = (1,) * (there.ndim - 1)
    search = search.reshape(*search.shape, *extra) if search.ndim == 1 else search
    handling = handling.reshape(*handling.shape, *extra) if handling.ndim == 1 else handling
    time = not_negative("predators", predators) * float(not_negative("days", days))
    met = search * there
    return plain(met * time / (1.0 + (met * handling).sum(axis=0)))


def _checked(
    prey: ArrayLike, predators: ArrayLike, attack_rate: ArrayLike, handling_time: ArrayLike, days: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return prey, attack rate, handling time and predator-days as checked floats."""
    return (
        not_negative("prey", prey),
        above_zero("attack rate", attack_rate),
        not_negative("handling_time", handling_time),
        not_negative("predators", predators) * not_negative("days", numbers("days", days)),
    )
