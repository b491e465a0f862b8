"""Intervals of a share that was counted: k of n."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.special import betaincinv, ndtri


class Interval(NamedTuple):
    """The lower and the upper end; both between 0 and 1 for shares."""

    low: float
    high: float


def _check(positive: int, looked_at: int, confidence: float) -> None:
    if looked_at < 0 or not 0 <= positive <= looked_at:
        raise ValueError(f"{positive} of {looked_at}: the part cannot be below 0 or above the whole")
    if not 0 < confidence < 1:
        raise ValueError(f"confidence {confidence} must lie between 0 and 1")


def clopper_pearson(positive: int, looked_at: int, confidence: float = 0.95) -> Interval:
    """Return the exact interval of a share [1]_.

    Parameters
    ----------
    positive, looked_at : int
    confidence : float, default 0.95
        Two-sided. [1]

    Returns
    -------
    interval : Interval
        From 0 to 1 where nothing was looked at.

    References
    ----------
    .. [1] Clopper and Pearson 1934

    Examples
    --------
    >>> low, high = clopper_pearson(0, 20)
    >>> round(low, 4), round(high, 4)
    (0.0, 0.1684)
    """
    _check(positive, looked_at, confidence)
    tail = (1 - confidence) / 2
    low = 0.0 if positive == 0 else float(betaincinv(positive, looked_at - positive + 1, tail))
    high = 1.0 if positive == looked_at else float(betaincinv(positive + 1, looked_at - positive, 1 - tail))
    return Interval(low, high)


def wilson(positive: int, looked_at: int, confidence: float = 0.95) -> Interval:
    """Return the score interval of a share [1]_, kept within 0 and 1.

    Narrower than the exact one; its rounding error below 0 at no finds is clipped.

    References
    ----------
    .. [1] Wilson 1927

    Examples
    --------
    >>> low, high = wilson(0, 20)
    >>> low, round(high, 4)
    (0.0, 0.1611)
    """
    _check(positive, looked_at, confidence)
    if looked_at == 0:
        return Interval(0.0, 1.0)
    z2 = float(ndtri((1 + confidence) / 2)) ** 2
    share = positive / looked_at
    middle = share + z2 / (2 * looked_at)
    half = np.sqrt(z2 * (share * (1 - share) / looked_at + z2 / (4 * looked_at**2)))
    scale = 1 + z2 / looked_at
    low, high = np.clip([(middle - half) / scale, (middle + half) / scale], 0.0, 1.0)
    return Interval(0.0 if positive == 0 else float(low), 1.0 if positive == looked_at else float(high))


def upper_limit(positive: int, looked_at: int, confidence: float = 0.95) -> float:
    """Return the exact one-sided upper limit of a share.

    Examples
    --------
    >>> round(upper_limit(0, 20), 4)
    0.1391
    """
    _check(positive, looked_at, confidence)
    if positive == looked_at:
        return 1.0
    return float(betaincinv(positive + 1, looked_at - positive, confidence))


def true_share(apparent: float, sensitivity: float, specificity: float) -> float:
    """Return the share behind an apparent share, given how often a look is right; within 0 and 1 [1]_.

    References
    ----------
    .. [1] Rogan and Gladen 1978

    Examples
    --------
    >>> round(true_share(45 / 150, sensitivity=0.96, specificity=0.89), 4)
    0.2235
    """
    gain = sensitivity + specificity - 1
    if gain <= 0:
        raise ValueError("a look that is right no more often than chance tells nothing")
    return float(np.clip((apparent + specificity - 1) / gain, 0.0, 1.0))
