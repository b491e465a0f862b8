"""How unequal plants are: the share of a plant in the mean, as nodes over which a likelihood is summed.

The share varies as a gamma distribution of mean 1. What was seen on one plant is weighed at each node and summed, so
the nodes must be right far out on both sides: many clean leaves on one plant, or hundreds of aphids.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincinv, gammaln

from outpace.estimation.judgements import judgements
from outpace.simulation.responses import LEAST_K, MOST_K

Array = NDArray[np.float64]

NODES = 10
BEYOND = 1e-6  # of the plants have a larger share than the largest node stands for
GRID = 160


def split_clumping(k: Array) -> tuple[Array, Array]:
    """Return the clumping between plants and within them that together give k.

    With gamma shares of shape κ between plants and k_w within, 1 + 1/k = (1 + 1/κ)(1 + 1/k_w).
    """
    spread = np.log1p(1.0 / k)
    share = judgements().between_plants
    between, within = 1 / np.expm1(share * spread), 1 / np.expm1((1 - share) * spread)
    return np.asarray(between), np.asarray(within)


def quadrature(k: float, nodes: int = NODES) -> tuple[Array, Array]:
    """Return nodes and weights by which a function of a plant's share is averaged.

    From k = 1 on by Gauss and Laguerre. Below, the density has a pole at zero: in the variable t = share^k it has none,
    and the rule of Gauss and Legendre is taken over t.

    Parameters
    ----------
    k : float
        Shape of the gamma distribution of mean 1.

    Returns
    -------
    shares, weights : array of float, shape (nodes,)
        The weights sum to 1.

    Examples
    --------
    >>> shares, weights = quadrature(0.5)
    >>> round(float(weights @ shares), 4), round(float(weights @ shares**2), 3)  # 1, and 1 + 1/k = 3
    (1.0, 2.999)
    """
    if k >= 1:
        # Golub and Welsch 1969: nodes are the eigenvalues of the recurrence, which no large k overflows.
        i = np.arange(nodes)
        beside = np.sqrt(i[1:] * (i[1:] + k - 1))
        at, vectors = np.linalg.eigh(np.diag(2 * i + k) + np.diag(beside, 1) + np.diag(beside, -1))
        return np.asarray(at / k), np.asarray(vectors[0] ** 2)
    top = float((gammaincinv(k, 1 - BEYOND) / k) ** k)
    at, weights = np.polynomial.legendre.leggauss(nodes)
    shares = (0.5 * top * (at + 1)) ** (1 / k)
    weights = weights * np.exp((k - 1) * math.log(k) - float(gammaln(k)) - k * shares)
    return np.asarray(shares), np.asarray(weights / weights.sum())


@lru_cache(maxsize=1)
def _table() -> tuple[Array, Array, Array]:
    """Return log k, and by node the logs of shares and weights; the two rules meet at k = 1 without a mean of both."""
    below = np.geomspace(LEAST_K / 4, 1 - 1e-9, GRID)
    above = np.geomspace(1.0, 2 * MOST_K, GRID)
    grid = np.concatenate([below, above])
    rules = [quadrature(k) for k in grid]
    shares, weights = (np.array([rule[i] for rule in rules]).T for i in (0, 1))
    return np.log(grid), np.log(np.maximum(shares, 1e-290)), np.log(np.maximum(weights, 1e-290))


def nodes_of(k: Array) -> tuple[Array, Array]:
    """Return shares and log weights, each of shape (nodes, members), by straight lines over log k."""
    log_k, log_shares, log_weights = _table()
    at = np.clip(np.log(k), log_k[0], log_k[-1])
    right = np.clip(np.searchsorted(log_k, at), 1, len(log_k) - 1)
    part = (at - log_k[right - 1]) / (log_k[right] - log_k[right - 1])
    shares, weights = (
        each[:, right - 1] * (1 - part) + each[:, right] * part for each in (log_shares, log_weights)
    )
    return np.asarray(np.exp(shares)), np.asarray(weights)
