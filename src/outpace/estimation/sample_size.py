"""How many plants to look at so that an infested share of them is found, and the chance to miss it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaln, gammaln
from scipy.stats import binom, hypergeom

MOST_PLANTS = 10**7
HAIR = 1 + 1e-9  # a chance that equals the limit exactly must not miss it by rounding


def _check(share: float, confidence: float, sensitivity: float) -> None:
    if not 0 < share <= 1 or not 0 < confidence < 1 or not 0 < sensitivity <= 1:
        raise ValueError("share, confidence and sensitivity must lie above 0, and at most 1")


def chance_missed(
    infested: int, lot: int, looked_at: int, sensitivity: float | NDArray[np.float64] = 1.0
) -> NDArray[np.float64]:
    """Return the chance that a random sample of a finite house finds none of its infested plants.

    Parameters
    ----------
    infested, lot, looked_at : int
        Plants.
    sensitivity : float or array, default 1.0
        Chance that an infested plant that is looked at is seen to be infested.

    Returns
    -------
    chance : array of float
        The mean of (1 − sensitivity)^X, X hypergeometric.

    Examples
    --------
    >>> round(float(1 - chance_missed(50, 1000, 57)), 5)
    0.95076
    """
    if not 0 <= infested <= lot or not 0 <= looked_at <= lot:
        raise ValueError("infested and looked-at plants cannot be more than there are")
    miss = 1.0 - np.asarray(sensitivity, dtype=np.float64)
    most = min(infested, looked_at)
    x = np.arange(max(0, looked_at + infested - lot), most + 1)
    log_p = (
        _log_choose(infested, x) + _log_choose(lot - infested, looked_at - x) - _log_choose(lot, looked_at)
    )
    return np.asarray((np.exp(log_p) * miss[..., None] ** x).sum(axis=-1))


def chance_flagged(
    share: float,
    looked_at: int,
    *,
    at_least: int = 1,
    sensitivity: float = 1.0,
    specificity: float = 1.0,
    lot: int | None = None,
) -> float:
    """Return the chance that so many plants or more seem infested, where a look can err to both sides.

    Parameters
    ----------
    share : float
        Of plants infested. In a finite house the number of infested plants is rounded down to a whole one.
    looked_at : int
    at_least : int, default 1
        Finds from which the house is called infested: with more than one, a mistake alone does not call it.
    sensitivity, specificity : float, default 1.0
        Chance that an infested plant is seen to be infested, and a clean one to be clean.
    lot : int, optional
        Plants in a small house; None for one without end.

    Examples
    --------
    >>> told = {"at_least": 2, "sensitivity": 0.9, "specificity": 0.98}
    >>> round(chance_flagged(0.1, 30, lot=150, **told), 6), round(chance_flagged(0.1, 30, **told), 6)
    (0.870566, 0.849775)
    """
    _check(share, 0.5, sensitivity)
    if not 0 <= specificity <= 1 or at_least < 1 or looked_at < 0:
        raise ValueError("specificity lies between 0 and 1, and a find is at least one")
    if lot is None:
        return float(binom.sf(at_least - 1, looked_at, share * sensitivity + (1 - share) * (1 - specificity)))
    infested = math.floor(lot * share + 1e-9)
    total = 0.0
    for x in range(max(0, looked_at + infested - lot), min(infested, looked_at) + 1):
        true = binom.pmf(np.arange(at_least), x, sensitivity)
        false = binom.pmf(np.arange(at_least), looked_at - x, 1 - specificity)
        fewer = float(np.convolve(true, false)[:at_least].sum())
        total += float(hypergeom.pmf(x, lot, infested, looked_at)) * (1 - fewer)
    return total


def _log_choose(n: float | NDArray[np.int64], k: float | NDArray[np.int64]) -> NDArray[np.float64]:
    return np.asarray(gammaln(np.add(n, 1.0)) - gammaln(np.add(k, 1.0)) - gammaln(np.subtract(n, k) + 1.0))


def plants_to_look_at(
    share: float, confidence: float = 0.95, *, lot: int | None = None, sensitivity: float = 1.0
) -> int | None:
    """Return how many plants to look at so that this share of infested plants is found with this chance.

    Parameters
    ----------
    share : float
        Of plants infested. The number of infested plants is rounded down to a whole one.
    confidence : float, default 0.95
    lot : int, optional
        Plants in a small house; None for one without end.
    sensitivity : float, default 1.0
        Chance that an infested plant that is looked at is seen to be infested.

    Returns
    -------
    plants : int or None
        None where looking at every plant would not do.

    Examples
    --------
    >>> plants_to_look_at(0.05), plants_to_look_at(0.05, lot=200)
    (59, 51)
    """
    _check(share, confidence, sensitivity)
    if lot is None:
        hit = share * sensitivity
        return 1 if hit >= 1 else max(1, math.ceil(math.log(1 - confidence) / math.log1p(-hit) - 1e-9))
    infested = math.floor(lot * share + 1e-9)
    if infested == 0 or chance_missed(infested, lot, lot, sensitivity) > (1 - confidence) * HAIR:
        return None
    low, high = 0, lot
    while high - low > 1:
        middle = (low + high) // 2
        if chance_missed(infested, lot, middle, sensitivity) <= (1 - confidence) * HAIR:
            high = middle
        else:
            low = middle
    return high


def plants_when_rare(share: float, confidence: float = 0.95, sensitivity: float = 1.0) -> int:
    """Return the number by the Poisson law, for infested plants that are few in very many.

    Examples
    --------
    >>> plants_when_rare(0.05)
    60
    """
    _check(share, confidence, sensitivity)
    return math.ceil(-math.log(1 - confidence) / (share * sensitivity) - 1e-9)


def plants_when_clumped(share: float, correlation: float, confidence: float = 0.95) -> int | None:
    """Return the number where plants looked at together are alike, by the beta-binomial law.

    Parameters
    ----------
    share : float
    correlation : float
        Between plants of one sample; 0 for plants far apart or taken at random over the whole house.

    Returns
    -------
    plants : int or None
        None where ten million would not do.

    Examples
    --------
    >>> plants_when_clumped(0.05, 0.05)
    405
    """
    _check(share, confidence, 1.0)
    if correlation == 0:
        return plants_to_look_at(share, confidence)
    if not 0 < correlation < 1:
        raise ValueError("correlation must be at least 0 and below 1")

    def enough(n: int) -> bool:
        return clumped_log_missed(n, share, correlation) <= math.log((1 - confidence) * HAIR)

    if not enough(MOST_PLANTS):
        return None
    low, high = 0, MOST_PLANTS
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def clumped_log_missed(looked_at: int, share: float, correlation: float) -> float:
    """Return the log chance to find none in a sample whose plants are alike, by the beta-binomial law."""
    scale = (1 - correlation) / correlation
    a, b = share * scale, (1 - share) * scale
    return float(betaln(a, b + looked_at) - betaln(a, b))
