"""Keeping an ensemble alive: weights, resampling, and the small shake that follows it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

Array = NDArray[np.float64]
Index = NDArray[np.intp]


def weights_of(log_likelihood: Array) -> Array:
    """Return weights that sum to one; even ones where nothing tells the members apart."""
    top = log_likelihood.max()
    if not np.isfinite(top):
        return np.full(log_likelihood.shape, 1.0 / log_likelihood.size)
    return np.asarray(np.exp(log_likelihood - logsumexp(log_likelihood)))


def effective_size(weights: Array) -> float:
    """Return how many even members the weighted ones are worth.

    Examples
    --------
    >>> effective_size(np.array([0.5, 0.5, 0.0, 0.0]))
    2.0
    """
    return float(1.0 / np.square(weights).sum())


def systematic(weights: Array, members: int, draw: float) -> Index:
    """Return the indices of an even ensemble drawn from a weighted one, by systematic resampling [1]_.

    Parameters
    ----------
    weights : array of float, shape (n,)
    members : int
    draw : float
        One uniform number, 0 to 1.

    References
    ----------
    .. [1] Kitagawa 1996

    Examples
    --------
    >>> systematic(np.array([0.5, 0.25, 0.25, 0.0]), 4, 0.5).tolist()
    [0, 0, 1, 2]
    """
    places = (np.arange(members) + draw) / members
    return np.minimum(np.searchsorted(np.cumsum(weights), places), len(weights) - 1)


def tempering(log_likelihood: Array, left: float, least_size: float) -> float:
    """Return the largest step of the exponent, up to ``left``, that keeps the effective size.

    Found by halving; never below a thousandth, so that the steps come to an end.
    """
    if effective_size(weights_of(left * log_likelihood)) >= least_size:
        return left
    low, high = 0.0, left
    for _ in range(40):
        middle = 0.5 * (low + high)
        kept = effective_size(weights_of(middle * log_likelihood)) >= least_size
        low, high = (middle, high) if kept else (low, middle)
    return max(low, min(1e-3, left))


class Shake:
    """Moves parameters a little without changing their mean, spread or correlations.

    The kernel of Liu and West [1]_: members shrink towards the mean by a = √(1 − h²) and get noise of h times
    the spread. The noise is the difference of two members drawn by chance, so it keeps the correlations of all
    parameters together. It works on the logs of parameters that are above zero in the prior, and stays within
    the prior's range.

    References
    ----------
    .. [1] Liu and West 2001
    """

    def __init__(self, prior: Array) -> None:
        self.low, self.high = prior.min(axis=1, keepdims=True), prior.max(axis=1, keepdims=True)
        self.on_log = (self.low > 0)[:, 0]

    def to_line(self, values: Array) -> Array:
        """Return parameters on the scale on which they are moved, within the prior's range."""
        moved = np.clip(values, self.low, self.high)
        moved[self.on_log] = np.log(moved[self.on_log])
        return moved

    def from_line(self, moved: Array) -> Array:
        """Return parameters on their own scale, within the prior's range."""
        values = np.array(moved)
        values[self.on_log] = np.exp(moved[self.on_log])
        return np.asarray(np.clip(values, self.low, self.high))

    def shaken(self, moved: Array, rng: np.random.Generator, width: float) -> Array:
        """Return rows shaken by a width h, all on the scale of `to_line`; shape (rows, members)."""
        mean = moved.mean(axis=1, keepdims=True)
        one, other = rng.integers(0, moved.shape[1], (2, moved.shape[1]))
        noise = (moved[:, one] - moved[:, other]) / np.sqrt(2.0)
        return np.asarray(mean + np.sqrt(1 - width**2) * (moved - mean) + width * noise)

    def drifted(self, moved: Array, rng: np.random.Generator, width: float) -> Array:
        """Return rows with noise of ``width`` times their spread and no shrinking, on the scale of `to_line`."""
        one, other = rng.integers(0, moved.shape[1], (2, moved.shape[1]))
        return np.asarray(moved + width * (moved[:, one] - moved[:, other]) / np.sqrt(2.0))

    def __call__(self, values: Array, rng: np.random.Generator, width: float) -> Array:
        """Return shaken parameters, shape (parameters, members)."""
        return self.from_line(self.shaken(self.to_line(values), rng, width))


class Refresh:
    """Gives members new parameters that fit their state as well as the old ones did.

    A walk speaks of parameters only through what it sees of the state. So a parameter is split into what the state
    foretells of it, by linear regression over all members before the walk is weighed, and a rest. After
    the walk the first part goes with the member; most of the rest is drawn anew from all members, also those that
    the walk put out. Few surviving members then do not mean few values of all the parameters that the walk
    does not speak of. Parameters that the likelihood itself reads, the clumping, drift instead: they stay with the
    member and get wider by a little at each walk, since few survivors hold too few of their far values.

    Parameters
    ----------
    shake : Shake
    values : array of float, shape (parameters, n)
        Of all members before the walk is weighed.
    traits : array of float, shape (traits, n)
        What is to be seen of their state.
    read : array of bool, shape (parameters,)
        Parameters that the likelihood reads.
    after_values, after_traits : array of float, shape (..., members)
        The same of the survivors.
    own : array of int, shape (members,)
        The member from which each survivor has its rest.
    """

    KEPT = 0.5  # of the rest, that goes with the member
    DRIFT = 0.3  # of the spread, that is added to what the likelihood reads

    def __init__(
        self,
        shake: Shake,
        values: Array,
        traits: Array,
        read: NDArray[np.bool_],
        *,
        after_values: Array,
        after_traits: Array,
        own: Index,
    ) -> None:
        self.shake, self.read = shake, read
        line = shake.to_line(values)
        mean, middle = line.mean(axis=1, keepdims=True), traits.mean(axis=1, keepdims=True)
        spread = (traits - middle).std(axis=1, keepdims=True)
        spread = np.where(spread > 0, spread, 1.0)
        seen = (traits - middle) / spread
        square = seen @ seen.T + 1e-6 * seen.shape[1] * np.eye(len(seen))
        slope = np.linalg.solve(square, seen @ (line - mean).T).T
        self.rest = line - mean - slope @ seen
        self.foretold = mean + slope @ ((after_traits - middle) / spread)
        self.own_rest = self.rest[:, own]
        self.as_they_were = shake.to_line(after_values)

    def __call__(self, rng: np.random.Generator, width: float) -> Array:
        """Return parameters of the survivors, shape (parameters, members)."""
        members = self.foretold.shape[1]
        new = self.rest[:, rng.integers(0, self.rest.shape[1], members)]
        moved = self.foretold + self.KEPT * self.own_rest + np.sqrt(1 - self.KEPT**2) * new
        moved[self.read] = self.shake.drifted(self.as_they_were[self.read], rng, max(width, self.DRIFT))
        return self.shake.from_line(moved)
