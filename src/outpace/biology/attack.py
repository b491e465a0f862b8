"""Attacks of parasitoids on hosts: the refuge of hosts not found, interference, and the classic theory."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from outpace.biology.inputs import FloatArray, above_zero, clumping, not_negative, numbers, plain, shares


def escape(attacks: ArrayLike, k: ArrayLike) -> FloatArray:
    """Return the share of hosts that no attack falls on when attacks are clumped.

    Parameters
    ----------
    attacks : array of float
        Mean attacks per host in the period over which they are clumped, here a day; *m*. [1]
    k : float or array of float
        Clumping of attacks over hosts; small is a large refuge, infinity is attack at random. [1]

    Returns
    -------
    share : array of float
        ``(1 + m / k)^-k``, at random ``exp(-m)``. [1]

    Raises
    ------
    ValueError
        If an attack is negative or ``k`` not above zero.

    References
    ----------
    May1978, recalled.

    Examples
    --------
    >>> escape(1.0, [0.35, 1.0, np.inf]).round(3)
    array([0.623, 0.5  , 0.368])
    """
    return plain(np.exp(-np.asarray(daily_hazard(attacks, k))))


def daily_hazard(attacks: ArrayLike, k: ArrayLike) -> FloatArray:
    """Return the constant rate of being stung that leaves the same escape at the end of the day.

    The refuge does not survive being applied twice: two half days of ``(1 + m/2k)^-k`` are not one day. So
    the attacks of a day are fixed at its start and hosts are then stung at this rate, in as many steps as
    one likes.

    Parameters
    ----------
    attacks : array of float
        Mean attacks per host and day; *m*. [d⁻¹]
    k : float or array of float
        As in `escape`.

    Returns
    -------
    hazard : array of float
        ``k ln(1 + m / k)``. [d⁻¹]

    Raises
    ------
    ValueError
        If an attack is negative or ``k`` not above zero.

    References
    ----------
    May1978, recalled.

    Examples
    --------
    >>> hourly = np.exp(-daily_hazard(1.0, 0.35) / 24) ** 24
    >>> float(hourly.round(6)) == float(escape(1.0, 0.35).round(6))
    True
    """
    met, clump = np.broadcast_arrays(not_negative("attacks", attacks), clumping("k", k))
    random = np.isinf(clump)
    finite = np.where(random, 1.0, clump)
    return plain(np.where(random, met, finite * np.log1p(met / finite)))


def mean_attacks(
    hosts: ArrayLike,
    females: ArrayLike,
    attack_rate: ArrayLike,
    preference: ArrayLike,
    handling_time: ArrayLike,
    days: float = 1.0,
) -> FloatArray:
    """Return the mean attacks on a host of each stage by females that share their time between stages.

    Parameters
    ----------
    hosts : array of float, shape (stages, ...)
        Hosts on the leaf. [m⁻²]
    females : float or array of float, shape (...)
        Searching females per leaf area. [m⁻²]
    attack_rate : float or array of float, shape (...)
        Leaf searched by a female; *a*. [m² d⁻¹]
    preference : array of float, shape (stages,)
        Share of attacks by stage when stages are equally common; *p*. [1]
    handling_time : float or array of float, shape (...)
        Time one attack takes; *h*. [d]
    days : float, default 1.0
        [d]

    Returns
    -------
    attacks : array of float, shape (stages, ...)
        ``a p_i P T / (1 + a h sum_j p_j X_j)``; times the hosts it adds up to the disc equation. [1]

    Raises
    ------
    ValueError
        If a number is negative or the stages do not match.

    References
    ----------
    Holling1959; Meisner2014 (preference by stage, refuge); recalled.

    Examples
    --------
    >>> mean_attacks([40.0, 60.0], 2.0, 0.5, [0.25, 0.75], handling_time=0.01).round(3)
    array([0.196, 0.588])
    """
    there = not_negative("hosts", hosts)
    liked = shares("preference", preference)
    if there.ndim == 0 or liked.shape != there.shape[:1]:
        raise ValueError("preference must hold one share for each stage of hosts")
    liked = liked.reshape(-1, *(1,) * (there.ndim - 1))
    search = not_negative("attack_rate", attack_rate)
    busy = 1.0 + search * not_negative("handling_time", handling_time) * (liked * there).sum(axis=0)
    return plain(
        liked * (search * not_negative("females", females) * float(not_negative("days", days)) / busy)
    )


def egg_limited(attacks: ArrayLike, hosts: ArrayLike, eggs: ArrayLike) -> FloatArray:
    """Return mean attacks cut back to the eggs there are.

    Parameters
    ----------
    attacks : array of float, shape (stages, ...)
        Mean attacks per host wanted. [1]
    hosts : array of float, shape (stages, ...)
        [m⁻²]
    eggs : float or array of float, shape (...)
        Eggs all females together can lay in the period. [m⁻²]

    Returns
    -------
    attacks : array of float, shape (stages, ...)
        All stages cut by one factor, so that attacks on all hosts do not exceed ``eggs``. [1]

    Raises
    ------
    ValueError
        If a number is negative.

    Examples
    --------
    >>> egg_limited([0.5, 1.5], [40.0, 20.0], eggs=25.0)
    array([0.25, 0.75])
    """
    wanted = not_negative("attacks", attacks)
    if wanted.ndim == 0:
        raise ValueError("attacks must hold one entry for each stage of hosts")
    laid = np.asarray((wanted * not_negative("hosts", hosts)).sum(axis=0))
    store = not_negative("eggs", eggs)
    short = laid > store
    return plain(wanted * np.where(short, store / np.where(short, laid, 1.0), 1.0))


def interference(females: ArrayLike, exponent: ArrayLike, reference: ArrayLike = 1.0) -> FloatArray:
    """Return the factor by which females hinder each other in searching.

    Parameters
    ----------
    females : array of float
        Females per the unit of space in which the attack rate was measured. [as ``reference``]
    exponent : float or array of float
        *m* in the paper; 0 is no hindrance. [1]
    reference : float or array of float, default 1
        Density at which the attack rate holds as it is.

    Returns
    -------
    factor : array of float
        ``(females / reference)^-m``, held at 1 below the reference: the power law would make a lone female
        search without limit. [1]

    Raises
    ------
    ValueError
        If ``females`` or ``exponent`` is negative or ``reference`` not above zero.

    References
    ----------
    Hassell1969, recalled.

    Examples
    --------
    >>> interference([0.1, 1.0, 5.0], exponent=0.42).round(3)
    array([1.   , 1.   , 0.509])
    """
    crowd = np.maximum(not_negative("females", females) / above_zero("reference", reference), 1.0)
    return plain(crowd ** -not_negative("exponent", exponent))


def interference_exponent(searching: ArrayLike, females: ArrayLike) -> float:
    """Return the interference exponent from searching measured at several densities of females.

    Parameters
    ----------
    searching : array of float, shape (n,)
        Area searched per female at each density. [any]
    females : array of float, shape (n,)
        At least two different densities. [any]

    Returns
    -------
    exponent : float
        Less the slope of log searching on log females, by least squares; *m*. [1]

    Raises
    ------
    ValueError
        If a number is not above zero, or fewer than two densities differ.

    References
    ----------
    Hassell1969, recalled.

    Examples
    --------
    >>> round(interference_exponent([0.272, 0.139], [1.0, 5.0]), 2)
    0.42
    """
    area = np.log(above_zero("searching", searching))
    crowd = np.log(above_zero("females", females))
    if area.shape != crowd.shape or area.ndim != 1 or np.ptp(crowd) == 0.0:
        raise ValueError("searching needs at least two different densities of females")
    centred = crowd - crowd.mean()
    return float(-(centred @ area) / (centred @ centred))


def next_generation(
    hosts: ArrayLike,
    parasitoids: ArrayLike,
    growth: ArrayLike,
    attack_rate: ArrayLike,
    k: ArrayLike = np.inf,
    clutch: ArrayLike = 1.0,
) -> tuple[FloatArray, FloatArray]:
    """Return hosts and parasitoids a generation later.

    Parameters
    ----------
    hosts, parasitoids : float or array of float
        *H* and *P*. [per area]
    growth : float or array of float
        Hosts per host that escapes; *λ*. [1]
    attack_rate : float or array of float
        Area searched in a lifetime; *a*. [area]
    k : float, default infinity
        Infinity is the model of Nicholson and Bailey; finite is that of May.
    clutch : float, default 1
        Parasitoids from one host; *c*. [1]

    Returns
    -------
    hosts, parasitoids : array of float
        ``λ H f`` and ``c H (1 - f)`` with *f* the escape at ``a P`` attacks. [per area]

    Raises
    ------
    ValueError
        If a density is negative or another number not above zero.

    References
    ----------
    Nicholson1935; May1978; recalled.

    Examples
    --------
    >>> hosts, parasitoids = next_generation(20.0, 10.0, growth=2.0, attack_rate=0.1, k=1.0)
    >>> float(hosts), float(parasitoids)
    (20.0, 10.0)
    """
    there = not_negative("hosts", hosts)
    attacks = above_zero("attack_rate", attack_rate) * not_negative("parasitoids", parasitoids)
    free = np.asarray(escape(attacks, k))
    taken = -np.expm1(-np.asarray(daily_hazard(attacks, k)))
    return plain(above_zero("growth", growth) * there * free), plain(
        above_zero("clutch", clutch) * there * taken
    )


def equilibrium(
    growth: float, attack_rate: float, k: float = np.inf, clutch: float = 1.0
) -> tuple[float, float]:
    """Return the densities at which hosts and parasitoids of `next_generation` replace themselves.

    Parameters
    ----------
    growth : float
        *λ*, above 1. [1]
    attack_rate : float
        *a*. [area]
    k : float, default infinity
        As in `next_generation`.
    clutch : float, default 1
        *c*. [1]

    Returns
    -------
    hosts, parasitoids : float
        ``P* = k (λ^(1/k) - 1) / a``, at random ``ln λ / a``; ``H* = P* λ / ((λ - 1) c)``. [per area]

    Raises
    ------
    ValueError
        If ``growth`` is not above 1 or another number not above zero.

    References
    ----------
    Nicholson1935; May1978; recalled.

    Examples
    --------
    >>> hosts, parasitoids = equilibrium(growth=2.0, attack_rate=0.1)
    >>> round(hosts, 6), round(parasitoids, 6)
    (13.862944, 6.931472)
    """
    rise = float(numbers("growth", growth))
    if rise <= 1.0:
        raise ValueError("growth must be above 1, else the hosts die out by themselves")
    search, clump = float(above_zero("attack_rate", attack_rate)), float(clumping("k", k))
    needed = np.log(rise) if np.isinf(clump) else clump * np.expm1(np.log(rise) / clump)
    parasitoids = float(needed / search)
    return parasitoids * rise / ((rise - 1.0) * float(above_zero("clutch", clutch))), parasitoids


def stability(growth: float, k: float = np.inf) -> float:
    """Return the size of the larger eigenvalue at the equilibrium of `next_generation`.

    Parameters
    ----------
    growth : float
        *λ*, above 1. [1]
    k : float, default infinity
        As in `next_generation`.

    Returns
    -------
    size : float
        Below 1 a disturbance dies away, above 1 it grows; the edge is at ``k = 1``. The attack rate and the
        clutch only set the scale and do not matter. [1]

    Raises
    ------
    ValueError
        If ``growth`` is not above 1 or ``k`` not above zero.

    References
    ----------
    May1978, recalled.

    Examples
    --------
    >>> [round(stability(2.0, k), 6) for k in (0.5, 1.0, 2.0, np.inf)]
    [0.866025, 1.0, 1.082392, 1.17741]
    """
    hosts, parasitoids = equilibrium(growth, 1.0, k)
    clump = float(k)
    # Slope of the escape with the number of parasitoids, at escape 1 / growth.
    thinning = 1.0 if np.isinf(clump) else 1.0 + parasitoids / clump
    slope = -1.0 / (growth * thinning)
    jacobian = np.array([[1.0, growth * hosts * slope], [1.0 - 1.0 / growth, -hosts * slope]])
    return float(np.abs(np.linalg.eigvals(jacobian)).max())
