"""The beta law of a chance that is told by its mean and a range."""

from __future__ import annotations

import numpy as np
from scipy.special import betaincinv


def beta_of_range(mean: float, low: float, high: float) -> tuple[float, float]:
    """Return the beta law with that mean and the nearest 90 % range."""
    if not 0 < low < mean < high < 1:
        raise ValueError("a detection needs 0 < low < mean < high < 1")
    sizes = np.geomspace(1.0, 2000.0, 200)
    ends = betaincinv(mean * sizes, (1 - mean) * sizes, np.array([[0.05], [0.95]]))
    best = sizes[np.argmin(np.abs(ends - np.array([[low], [high]])).sum(axis=0))]
    return mean * best, (1 - mean) * best
