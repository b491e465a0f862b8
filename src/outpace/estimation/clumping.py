"""Taylor's law of a farm: from a stated prior and from the farm's own walks, count by count.

Each walk with finds says how clumped aphids are at its own mean. The law's two numbers are weighed on a grid by the
negative-binomial likelihood of all counts of all walks, times the prior; so few finds move it little, classes count as
intervals, and a walk without finds says nothing of clumping.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from outpace.biology.crowding import mean_crowding
from outpace.biology.dispersion import clumping_from_taylor
from outpace.estimation.likelihood import log_chance
from outpace.estimation.observations import middle_of
from outpace.estimation.stopping import LEAST_K, MOST_K, Taylor

Array = NDArray[np.float64]

NODES = 41
WIDE = 3.0  # standard deviations of the prior to either side of its middle
FEWEST_WALKS, FEWEST_FINDS = 3, 10
"""The farm's own law is shown from so many walks with finds on, and so many units with aphids."""


@dataclass(frozen=True, slots=True)
class Sample:
    """The counts of one walk, each as an interval of whole numbers."""

    low: Array
    high: Array

    @property
    def mean(self) -> float:
        """Return the mean of the middles."""
        return float(middle_of(self.low, self.high).mean())

    @property
    def found(self) -> int:
        """Return on how many units something was found."""
        return int((self.low > 0).sum())


@dataclass(frozen=True, slots=True)
class Prior:
    """What is held before own walks: the law's numbers, each with its 90 % range."""

    a: float
    a_low: float
    a_high: float
    b: float
    b_low: float
    b_high: float


@dataclass(frozen=True, slots=True)
class Law:
    """Taylor's law with its 90 % range."""

    a: float
    a_low: float
    a_high: float
    b: float
    b_low: float
    b_high: float

    @property
    def taylor(self) -> Taylor:
        """Return the law at its middle."""
        return Taylor(self.a, self.b)


@dataclass(frozen=True, slots=True)
class Likely:
    """How likely pairs of Taylor's numbers are, on a grid: nodes of log a and of b, and their weights."""

    log_a: Array
    b: Array
    weights: Array

    def law_at(self, mean: float, chance: float) -> Taylor:
        """Return the law that at this mean is clumped as strongly as is not passed with that chance.

        Its b is that of the middle; its a is set so that a × mean^b is the quantile asked for.

        Parameters
        ----------
        mean : float
            Per unit. [1]
        chance : float
            0.95: only one in twenty laws that are still likely are clumped more.

        Examples
        --------
        >>> likely = clumping_of(Prior(5, 2, 12, 1.5, 1.2, 1.8), []).likely
        >>> [round(likely.law_at(1.0, chance).a, 1) for chance in (0.05, 0.5, 0.95)]
        [2.0, 5.0, 12.2]
        """
        shape = (len(self.log_a), len(self.b))
        varied = np.broadcast_to(self.log_a[:, None] + self.b * math.log(mean), shape).ravel()
        order = np.argsort(varied)
        weights = self.weights.ravel()[order]
        at = float(np.interp(chance, np.cumsum(weights) - weights / 2, varied[order]))
        middle = round(float(self.weights.sum(axis=0) @ self.b), 6)
        return Taylor(math.exp(at - middle * math.log(mean)), middle)


@dataclass(frozen=True, slots=True)
class Clumping:
    """The law by the prior, by own walks alone (None: too few), and as it is used.

    ``learned`` is the standard deviation of log a that is left, over that of the prior.
    """

    prior: Law
    own: Law | None
    used: Law
    walks: int
    units: int
    learned: float
    likely: Likely = field(repr=False, compare=False)


def clumping_of(prior: Prior, samples: Sequence[Sample]) -> Clumping:
    """Return the law after a farm's own walks.

    Parameters
    ----------
    prior : Prior
    samples : sequence of Sample
        Walks of one kind of unit; hunted ones are no sample and must be left out.

    Examples
    --------
    >>> clumping_of(Prior(5, 2, 12, 1.5, 1.2, 1.8), []).used.taylor
    Taylor(a=5.0, b=1.5)
    """
    told = [sample for sample in samples if sample.found and len(sample.low) > 1]
    log_a = math.log(prior.a) + _sd(math.log(prior.a_low), math.log(prior.a_high)) * _nodes()
    b = prior.b + _sd(prior.b_low, prior.b_high) * _nodes()
    grid_a, grid_b = np.meshgrid(log_a, b, indexing="ij")
    before = -0.5 * (_nodes()[:, None] ** 2 + _nodes()[None, :] ** 2)
    seen = np.zeros_like(before)
    for sample in told:
        seen += _log_likelihood(sample, np.exp(grid_a), grid_b)
    held = _law(log_a, b, before)
    used = _law(log_a, b, before + seen)
    enough = len(told) >= FEWEST_WALKS and sum(sample.found for sample in told) >= FEWEST_FINDS
    return Clumping(
        prior=held,
        own=_law(log_a, b, seen) if enough else None,
        used=used,
        walks=len(told),
        units=sum(len(sample.low) for sample in told),
        learned=_spread(log_a, before + seen) / _spread(log_a, before),
        likely=Likely(log_a, b, _weights(before + seen)),
    )


def _nodes() -> Array:
    return np.linspace(-WIDE, WIDE, NODES)


def _sd(low: float, high: float) -> float:
    return (high - low) / (2 * 1.6448536)


def _log_likelihood(sample: Sample, a: Array, b: Array) -> Array:
    mean = sample.mean
    k = np.clip(clumping_from_taylor(mean, a, b), LEAST_K, MOST_K)
    pairs, numbers = np.unique(np.stack([sample.low, sample.high]), axis=1, return_counts=True)
    total = np.zeros_like(a)
    for low, high, number in zip(*pairs, numbers, strict=True):
        total += number * log_chance(low, high, mean, k)
    return total


def _weights(log: Array) -> Array:
    weights = np.exp(log - log.max())
    return np.asarray(weights / weights.sum())


def _spread(log_a: Array, log: Array) -> float:
    weights = _weights(log).sum(axis=1)
    middle = float(weights @ log_a)
    return math.sqrt(float(weights @ (log_a - middle) ** 2))


def _law(log_a: Array, b: Array, log: Array) -> Law:
    weights = _weights(log)
    by_a, by_b = weights.sum(axis=1), weights.sum(axis=0)
    ends_a, ends_b = _ends(log_a, by_a), _ends(b, by_b)
    return Law(
        round(math.exp(float(by_a @ log_a)), 6),
        math.exp(ends_a[0]),
        math.exp(ends_a[1]),
        round(float(by_b @ b), 6),
        *ends_b,
    )


def _ends(nodes: Array, weights: Array) -> tuple[float, float]:
    half = np.cumsum(weights) - weights / 2
    return float(np.interp(0.05, half, nodes)), float(np.interp(0.95, half, nodes))


def crowding_line(samples: Sequence[Sample]) -> tuple[float, float] | None:
    """Return Iwao's alpha and beta, mean crowding on mean, of walks with finds; None from fewer than three.

    Examples
    --------
    >>> walks = [[0, 1, 0, 3], [2, 0, 6, 1], [9, 0, 4, 12]]
    >>> sets = [Sample(np.array(w, float), np.array(w, float)) for w in walks]
    >>> alpha, beta = crowding_line(sets)
    >>> round(alpha, 2), round(beta, 2)
    (0.77, 1.45)
    """
    told = [middle_of(sample.low, sample.high) for sample in samples if sample.found and len(sample.low) > 1]
    means = np.array([counts.mean() for counts in told])
    if len(np.unique(means)) < FEWEST_WALKS:
        return None
    crowding = np.array([mean_crowding(counts) for counts in told])
    centred = means - means.mean()
    beta = float(centred @ crowding / (centred @ centred))
    return float(crowding.mean() - beta * means.mean()), beta
