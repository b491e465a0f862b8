"""From the mummies one sees to all that is parasitised: the sample's clusters, the stages not seen yet, and growth.

At a constant attack the visible share follows from three times and the colony's growth; turned round, the share says
how strong the attack is and how many living aphids carry a wasp already. A growing colony hides its parasitism, a
falling one shows more than there is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaincinv

from outpace.estimation.parasitism import Share
from outpace.language import say

Array = NDArray[np.float64]

STILL = 0.02
"""A colony that doubles or halves in more than five weeks is called still. [d⁻¹]"""
FEWEST_CLUSTERS = 5
"""From so many plants with animals on, and some mummies, the sample tells itself how alike animals of a plant are."""


def effective_number(closed: ArrayLike, live: ArrayLike, alike: float) -> float:
    """Return as how many animals taken apart the animals of some plants count.

    Animals of one plant are found, or not, by the same wasps. Where few plants or no mummies tell how alike they are,
    the stated correlation is used.

    Parameters
    ----------
    closed, live : array of float, shape (plants,)
    alike : float
        Correlation of being a mummy between animals of one plant.

    References
    ----------
    Korn and Graubard 1998, for the sample's own design effect.

    Examples
    --------
    >>> round(effective_number([0, 0], [50, 50], alike=0.1), 1)
    16.9
    """
    mummies = np.asarray(closed, dtype=np.float64)
    animals = mummies + np.asarray(live, dtype=np.float64)
    there = animals > 0
    mummies, animals = mummies[there], animals[there]
    total, plants = float(animals.sum()), int(there.sum())
    if total == 0:
        return 0.0
    share = float(mummies.sum() / total)
    if plants >= FEWEST_CLUSTERS and 0 < share < 1:
        off = mummies - share * animals
        variance = plants / (plants - 1) * float(off @ off) / total**2
        effect = variance * total / (share * (1 - share))
    else:
        effect = 1 + (float(animals @ animals) / total - 1) * alike
    return total / max(1.0, effect)


def clustered_share(closed: ArrayLike, live: ArrayLike, alike: float, confidence: float = 0.95) -> Share:
    """Return the visible share of mummies with an exact interval at the number of animals the sample is worth.

    Parameters
    ----------
    closed, live : array of float, shape (plants,)
    alike : float
        As in `effective_number`.

    Examples
    --------
    >>> loose = clustered_share([1] * 5, [9] * 5, alike=0.0)
    >>> round(loose.share, 2), round(loose.low, 3), round(loose.high, 3)
    (0.1, 0.033, 0.218)
    """
    worth = effective_number(closed, live, alike)
    if worth == 0:
        return Share(0.0, 0.0, 1.0)
    mummies, animals = float(np.sum(closed)), float(np.sum(closed) + np.sum(live))
    share = mummies / animals
    tail = (1 - confidence) / 2
    k, n = share * worth, worth
    low = 0.0 if k <= 0 else float(betaincinv(k, n - k + 1, tail))
    high = 1.0 if k >= n else float(betaincinv(k + 1, n - k, 1 - tail))
    return Share(share, low, high)


@dataclass(frozen=True, slots=True)
class Total:
    """All that is parasitised of living aphids and closed mummies, and the attack behind it, each with its interval.

    ``attack`` is the chance per day that a healthy aphid is stung. [d⁻¹]
    """

    parasitised: Share
    attack: Share
    growth: float


def attack_behind(
    visible: ArrayLike, days_before: ArrayLike, days_mummy: ArrayLike, growth: ArrayLike
) -> Array:
    """Return the constant attack at which a steadily growing colony shows that share of mummies. [d⁻¹]

    Infinite where no attack shows so many: more are seen than the stages' times allow.

    Parameters
    ----------
    visible : array of float
        Closed mummies over live aphids and closed mummies.
    days_before, days_mummy : array of float
        Alive after the sting, and as a closed mummy. [d]
    growth : array of float
        Of the whole colony, r. [d⁻¹]

    Examples
    --------
    >>> attack_behind([0.0735, 0.25, 0.4527], 8, 6, np.log(2) / np.array([4.6, 1e9, -6.9])).round(2).tolist()
    [0.1, 0.1, 0.1]
    """
    share, r = np.asarray(visible, dtype=np.float64), np.asarray(growth, dtype=np.float64)
    stung, mummies = _seen(days_before, r), _seen(days_mummy, r) * np.exp(-r * np.asarray(days_before))
    room = mummies - share * (stung + mummies)
    return np.asarray(np.where(room > 0, share / np.where(room > 0, room, 1.0), np.inf))


def parasitised_at(
    attack: ArrayLike, days_before: ArrayLike, days_mummy: ArrayLike, growth: ArrayLike
) -> Array:
    """Return living stung aphids and closed mummies over all living aphids and closed mummies, at a constant attack.

    Examples
    --------
    >>> parasitised_at(0.1, 8, 6, [0.15, 0.0, -0.1]).round(2).tolist()
    [0.37, 0.58, 0.75]
    """
    r = np.asarray(growth, dtype=np.float64)
    within = _seen(np.asarray(days_before) + np.asarray(days_mummy), r)
    carried = np.asarray(attack, dtype=np.float64) * within
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(np.isinf(carried), 1.0, carried / (1 + carried)))


def total_parasitism(
    closed: ArrayLike,
    live: ArrayLike,
    *,
    days_before: Array,
    days_mummy: Array,
    growth: Array,
    alike: float,
    confidence: float = 0.9,
    seed: int = 0,
) -> Total:
    """Return what is parasitised in all, from a sample and from members that differ in times and growth.

    Parameters
    ----------
    closed, live : array of float, shape (plants,)
    days_before, days_mummy, growth : array of float, shape (members,)
    alike : float
        As in `effective_number`.

    Examples
    --------
    >>> told = {"days_before": np.full(500, 8.0), "days_mummy": np.full(500, 6.0), "alike": 0.0}
    >>> rising = total_parasitism([20] * 5, [230] * 5, growth=np.full(500, 0.15), **told)
    >>> flat = total_parasitism([62] * 5, [188] * 5, growth=np.zeros(500), **told)
    >>> round(rising.attack.share, 2), round(flat.attack.share, 2)
    (0.11, 0.1)
    """
    worth = effective_number(closed, live, alike)
    animals = float(np.sum(closed) + np.sum(live))
    share = float(np.sum(closed)) / animals if animals else 0.0
    members = len(growth)
    spots = (np.random.default_rng(seed).permutation(members) + 0.5) / members
    k = share * worth
    visible = np.asarray(betaincinv(k + 0.5, worth - k + 0.5, spots), dtype=np.float64)
    attack = attack_behind(visible, days_before, days_mummy, growth)
    whole = parasitised_at(attack, days_before, days_mummy, growth)
    return Total(
        parasitised=_share_of(whole, confidence),
        attack=_share_of(attack, confidence),
        growth=float(np.median(growth)),
    )


def _share_of(values: Array, confidence: float) -> Share:
    tail = (1 - confidence) / 2
    low, middle, high = np.quantile(values, [tail, 0.5, 1 - tail], method="nearest")
    return Share(float(middle), float(low), float(high))


def _seen(days: ArrayLike, growth: Array) -> Array:
    """Return how much of a stage that lasts so long is there, under growth; as many days as it lasts at none."""
    length = np.asarray(days, dtype=np.float64)
    flat = np.abs(growth) < 1e-9
    return np.asarray(np.where(flat, length, -np.expm1(-growth * length) / np.where(flat, 1.0, growth)))


def against_the_trend(growth: float) -> str:
    """Return what the trend of the colony does to the visible share, in words.

    Parameters
    ----------
    growth : float
        Rate of increase of the colony, r. [d⁻¹]

    Examples
    --------
    >>> against_the_trend(0.12)
    'aphids still grow, which hides mummies: more is parasitised than one sees'
    """
    if abs(growth) < STILL:
        return say("aphids stand about still: what one sees is about what the times of the stages show")
    if growth > 0:
        return say("aphids still grow, which hides mummies: more is parasitised than one sees")
    return say("aphids fall, which heaps up mummies: the attack is weaker than it looks")
