"""What it proves to have looked and found nothing.

A plant is the unit: leaves of one plant are one look, repeated looks at one plant do not multiply, and plants
that were hunted for are no sample. Nothing found never means that nothing is there; it puts a limit, with
a chance, on the share of plants that carry at least so many aphids.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import log1p, logsumexp
from scipy.stats import beta, poisson

from outpace.estimation.beta_range import beta_of_range
from outpace.estimation.sample_size import MOST_PLANTS, chance_missed, clumped_log_missed

NODES = 64


def chance_free_after(prior: float, sensitivity: float) -> float:
    """Return the chance that a house is under the share looked for, after a walk without finds (Bayes).

    Examples
    --------
    >>> round(chance_free_after(0.7425, 0.848237), 5)
    0.95
    """
    return prior / (prior + (1 - prior) * (1 - sensitivity))


def discounted(free: float, invaded: float) -> float:
    """Return the chance that a house is still free, given the chance that it was invaded since.

    Examples
    --------
    >>> round(discounted(0.75, 0.01), 4)
    0.7425
    """
    return free * (1 - invaded)


def sensitivity_needed(prior: float, target: float) -> float:
    """Return how sensitive a walk must be to lift the chance from prior to target.

    Examples
    --------
    >>> round(sensitivity_needed(0.7425, 0.95), 6)
    0.848237
    """
    return 1 - (1 - target) / target * prior / (1 - prior) if prior < target else 0.0


@dataclass(frozen=True, slots=True)
class Detection:
    """How likely an infested plant is seen to be infested: a beta law, here as equally likely values.

    ``mean``, ``low`` and ``high`` are of the chance per plant (90 % range).
    """

    chances: NDArray[np.float64]
    source: str

    @property
    def mean(self) -> float:
        return float(self.chances.mean())

    @property
    def low(self) -> float:
        return float(np.quantile(self.chances, 0.05))

    @property
    def high(self) -> float:
        return float(np.quantile(self.chances, 0.95))


def plant_detection(
    mean: float,
    low: float,
    high: float,
    *,
    aphids: float = 1.0,
    share_looked_at: float = 1.0,
    together: float = 0.0,
    source: str = "practice",
) -> Detection:
    """Return the chance per plant, from the chance that one aphid in view is seen.

    Parameters
    ----------
    mean, low, high : float
        Chance to see one aphid that is in view, and its 90 % range between scouts.
    aphids : float, default 1.0
        Aphids on the plant that one wants to find.
    share_looked_at : float, default 1.0
        Of the plant's leaves: one leaf of 20 is 0.05.
    together : float, default 0.0
        How much the aphids of a plant sit and are seen as one: at 0 each is found or missed by itself, at 1
        all are. In between they count as so many groups as aphids^(1 − together).
    source : str

    Examples
    --------
    >>> one = plant_detection(0.7, 0.5, 0.85)
    >>> five = plant_detection(0.7, 0.5, 0.85, aphids=5, share_looked_at=0.1, together=0.5)
    >>> round(one.mean, 2), round(five.mean, 2)
    (0.7, 0.19)
    """
    if not 0 < share_looked_at <= 1 or not 0 <= together <= 1 or aphids < 1:
        raise ValueError("share looked at lies in (0, 1], together in [0, 1], and aphids is at least 1")
    a, b = beta_of_range(mean, low, high)
    middle = (np.arange(NODES) + 0.5) / NODES
    seen = np.asarray(beta.ppf(middle, a, b), dtype=np.float64)
    groups = aphids ** (1 - together)
    per_group = share_looked_at * (1 - (1 - seen) ** (aphids / groups))
    return Detection(1 - (1 - per_group) ** groups, source)


def whole_plant_detection(
    mean: float, low: float, high: float, *, aphids: float, a_few: float, groups_power: float, source: str
) -> Detection:
    """Return the chance to see that a plant with so many aphids is infested, the whole plant being looked at.

    1 − (1 − d)^n, n being the groups in which the aphids sit and d the chance to see one group, which follows from
    what a scout sees of plants with a few aphids.

    Parameters
    ----------
    mean, low, high : float
        Chance to see that a plant with a few aphids is infested, and its 90 % range between scouts.
    aphids, a_few : float
        Aphids on the plants one wants to find, and on those with a few.
    groups_power : float
        Groups are aphids to this power.

    Examples
    --------
    >>> eyes = [whole_plant_detection(0.7, 0.45, 0.88, aphids=n, a_few=4, groups_power=0.5, source="practice")
    ...         for n in (1, 4, 50)]
    >>> [round(eye.mean, 2) for eye in eyes]
    [0.47, 0.7, 0.97]
    """
    if aphids < 1 or a_few < 1 or not 0 <= groups_power <= 1:
        raise ValueError("aphids are at least 1, and the power of groups lies in [0, 1]")
    a, b = beta_of_range(mean, low, high)
    seen = np.asarray(beta.ppf((np.arange(NODES) + 0.5) / NODES, a, b), dtype=np.float64)
    return Detection(1 - (1 - seen) ** ((aphids / a_few) ** groups_power), source)


@dataclass(frozen=True, slots=True)
class CleanWalk:
    """A walk that found none: different plants looked at at random, and what may have happened since.

    Parameters
    ----------
    plants : int
        Different plants, none of them looked at again by a later walk.
    still_holds : float, default 1.0
        Chance that what it showed has not been undone as a whole since.
    grown : float, default 1.0
        How many times more plants may be infested now than then, by growth alone: the walk speaks of a share that was
        so much smaller.
    arrivals : float, default 0.0
        Plants expected to have been newly infested since by winged aphids; at the walk they were not there to be found.
    """

    plants: int
    still_holds: float = 1.0
    grown: float = 1.0
    arrivals: float = 0.0


@dataclass(frozen=True, slots=True)
class NoFinds:
    """What clean walks prove: with ``confidence``, less than ``below_share`` of plants carry the aphids."""

    plants: int
    below_share: float
    confidence: float
    more_plants_to_halve: int | None
    one_in: int
    detection: Detection


def what_it_proves(
    walks: Sequence[CleanWalk],
    detection: Detection,
    *,
    lot: int | None = None,
    confidence: float = 0.95,
    correlation: float = 0.0,
) -> NoFinds:
    """Return the one-sided limit on the share of infested plants after walks without finds.

    Parameters
    ----------
    walks : sequence of CleanWalk
        The newest and any earlier ones. A plant seen again is not counted again.
    detection : Detection
        Averaged over, not fixed at its mean: a scout who may be poor leaves a higher limit.
    lot : int, optional
        Plants in the house, where it is small enough to matter.
    correlation : float, default 0.0
        Between plants of one walk that stood together.

    Examples
    --------
    >>> sure = Detection(np.ones(1), "a perfect look")
    >>> proved = what_it_proves([CleanWalk(59)], sure)
    >>> round(proved.below_share, 4), proved.more_plants_to_halve, proved.one_in
    (0.0495, 61, 20)
    """
    if not 0 < confidence < 1:
        raise ValueError("confidence must lie between 0 and 1")
    if any(walk.plants < 0 or not 0 <= walk.still_holds <= 1 for walk in walks):
        raise ValueError("plants cannot be negative, and a chance lies between 0 and 1")
    if lot is not None and any(walk.plants > lot for walk in walks):
        raise ValueError("more plants were looked at than the house has")
    plants = sum(walk.plants for walk in walks)
    limit = _limit(walks, detection, lot, confidence, correlation)
    return NoFinds(
        plants=plants,
        below_share=limit,
        confidence=confidence,
        more_plants_to_halve=_more_to_halve(walks, detection, lot, confidence, correlation, limit),
        one_in=max(1, math.floor(1 / limit + 1e-9)),
        detection=detection,
    )


def _missed(
    share: float, walks: Sequence[CleanWalk], detection: Detection, lot: int | None, correlation: float
) -> float:
    """Chance that all walks find none at that share; a walk undone by a later invasion counts as not made."""
    log_miss = np.zeros(len(detection.chances))
    for walk in walks:
        if walk.plants == 0:
            continue
        each = _log_missed_then(share, walk, detection, lot, correlation)
        log_miss += np.log1p(-walk.still_holds * -np.expm1(each)) if walk.still_holds < 1 else each
    return float(np.exp(logsumexp(log_miss) - math.log(len(log_miss))))


def _log_missed_then(
    share: float, walk: CleanWalk, detection: Detection, lot: int | None, correlation: float
) -> NDArray[np.float64]:
    """Log chance that one walk finds none of what would have been there at its time, were it that share now."""
    if lot is None:
        return _log_missed_at_once(share / walk.grown, walk.plants, detection, None, correlation)
    now = round(share * lot)
    if walk.arrivals == 0:
        return _log_missed_at_once(now / walk.grown / lot, walk.plants, detection, lot, correlation)
    most = int(poisson.isf(1e-6, walk.arrivals))
    chances = poisson.pmf(np.arange(most + 1), walk.arrivals)
    missed = np.full(len(detection.chances), max(0.0, 1 - chances.sum()))
    for came, chance in enumerate(chances):
        then = max(0.0, now - came) / walk.grown / lot
        missed += chance * np.exp(_log_missed_at_once(then, walk.plants, detection, lot, correlation))
    return np.asarray(np.log(np.minimum(missed, 1.0)))


def _log_missed_at_once(
    share: float, plants: int, detection: Detection, lot: int | None, correlation: float
) -> NDArray[np.float64]:
    with np.errstate(divide="ignore"):
        if lot is not None:
            infested = min(lot, max(0, math.floor(share * lot + 1e-9)))
            alone = counts_as(plants, share * detection.mean, correlation, lot)
            return np.asarray(np.log(chance_missed(infested, lot, alone, detection.chances)))
        if correlation > 0:
            return np.array([clumped_log_missed(plants, share * d, correlation) for d in detection.chances])
        return np.asarray(plants * log1p(-share * detection.chances))


def counts_as(plants: int, share: float, correlation: float, lot: int | None = None) -> int:
    """Return as how many plants taken apart a sample of plants that are alike counts.

    The likeness matters less the more of the house was looked at, and not at all where every plant was.

    Examples
    --------
    >>> counts_as(60, 0.05, 0.02), counts_as(60, 0.05, 0.0), counts_as(60, 0.05, 0.02, lot=60)
    (39, 60, 60)
    """
    if correlation == 0 or plants == 0 or not 0 < share < 1:
        return plants
    alone = min(float(plants), clumped_log_missed(plants, share, correlation) / math.log1p(-share))
    inflated = plants / max(alone, 1e-9)
    if lot is not None:
        inflated = 1 + (inflated - 1) * (1 - plants / lot)
    return max(1, math.floor(plants / inflated + 1e-9))


def _limit(
    walks: Sequence[CleanWalk], detection: Detection, lot: int | None, confidence: float, correlation: float
) -> float:
    gap = 1 - confidence
    if _missed(1.0, walks, detection, lot, correlation) > gap:
        return 1.0
    if lot is None:
        return float(brentq(lambda p: _missed(p, walks, detection, lot, correlation) - gap, 1e-12, 1.0))
    low, high = 0, lot  # the smallest number of infested plants that would have been found
    while high - low > 1:
        middle = (low + high) // 2
        found = _missed(middle / lot, walks, detection, lot, correlation) <= gap
        low, high = (low, middle) if found else (middle, high)
    return high / lot


def _more_to_halve(
    walks: Sequence[CleanWalk],
    detection: Detection,
    lot: int | None,
    confidence: float,
    correlation: float,
    limit: float,
) -> int | None:
    """Return how many plants of one new clean walk would halve the limit; None if there are too few."""
    target = limit / 2
    most = lot if lot is not None else MOST_PLANTS

    def halves(more: int) -> bool:
        return _missed(target, [*walks, CleanWalk(more)], detection, lot, correlation) <= 1 - confidence

    if (lot is not None and target * lot < 1) or not halves(most):
        return None
    low, high = 0, most
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if halves(middle) else (middle, high)
    return high


def fresh_plants(looked: Sequence[tuple[float, Sequence[str]]]) -> list[tuple[float, int]]:
    """Return for each walk (day, names of plants) how many plants count: those not looked at again later.

    Examples
    --------
    >>> fresh_plants([(0.0, ["a", "b", "c"]), (7.0, ["b", "c", "d"])])
    [(0.0, 1), (7.0, 3)]
    """
    later: set[str] = set()
    counted = []
    for day, plants in sorted(looked, key=lambda pair: -pair[0]):
        new = set(plants) - later
        counted.append((day, len(new)))
        later |= new
    return counted[::-1]
