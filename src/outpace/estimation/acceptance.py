"""Whether a counted sample passes a lot: plans by code letter, two-point plans, and how often each is wrong."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import binom

Array = NDArray[np.float64]

LOT_UP_TO = (8, 15, 25, 50, 90, 150, 280, 500, 1200, 3200, 10_000, 35_000, 150_000, 500_000)
"""The largest lot of each row of table 1 of ISO 2859-1; one row more has no end."""

LETTERS = {
    "I": "AABCCDEFGHJKLMN",
    "II": "ABCDEFGHJKLMNPQ",
    "III": "BCDEFGHJKLMNPQR",
}
"""Code letters by general inspection level, one a row of lot sizes (read)."""

SAMPLE_SIZE = dict(
    zip(
        "ABCDEFGHJKLMNPQR", (2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000), strict=True
    )
)
"""Sample size of each letter (read). There is no letter I and no letter O."""

QUALITY_LIMITS = (
    0.010, 0.015, 0.025, 0.040, 0.065, 0.10, 0.15, 0.25, 0.40, 0.65, 1.0, 1.5, 2.5, 4.0, 6.5, 10.0,
)  # fmt: skip
"""Acceptance quality limits in per cent of units that do not conform (recalled)."""

# Single sampling, normal inspection: along each diagonal of the master table (letter rank + limit rank) one
# acceptance number holds (sequence read). On the first two diagonals after 0 stand arrows, up and down (recalled).
ZERO_DIAGONAL = 14
ACCEPT = {14: 0, 17: 1, 18: 2, 19: 3, 20: 5, 21: 7, 22: 10, 23: 14, 24: 21}


@dataclass(frozen=True, slots=True)
class AcceptancePlan:
    """Look at ``sample`` units and pass the lot when at most ``accept`` of them do not conform.

    ``letter`` is empty for a plan that comes from no table.
    """

    sample: int
    accept: int
    letter: str = ""

    @property
    def reject(self) -> int:
        """Return the number that rejects the lot."""
        return self.accept + 1

    def chance_accepted(self, share: ArrayLike) -> Array:
        """Return the chance that a lot with this share of bad units passes: the operating characteristic.

        Examples
        --------
        >>> AcceptancePlan(50, 1).chance_accepted([0.01, 0.05]).round(4)
        array([0.9106, 0.2794])
        """
        return np.asarray(binom.cdf(self.accept, self.sample, np.asarray(share, dtype=np.float64)))


def code_letter(lot_size: int, level: str = "II") -> str:
    """Return the code letter of a lot by general inspection level [1]_.

    References
    ----------
    .. [1] ISO 2859-1, table 1

    Examples
    --------
    >>> [code_letter(500, level) for level in ("I", "II", "III")]
    ['F', 'H', 'J']
    """
    if lot_size < 2:
        raise ValueError(f"a lot of {lot_size}: the table begins at 2")
    if level not in LETTERS:
        raise ValueError(f"level {level!r} is none of I, II, III")
    return LETTERS[level][bisect_left(LOT_UP_TO, lot_size)]


def plan_by_letter(letter: str, quality_limit: float) -> AcceptancePlan:
    """Return the single plan for normal inspection, arrows followed [1]_.

    Parameters
    ----------
    letter : str
    quality_limit : float
        Acceptance quality limit, one of :data:`QUALITY_LIMITS`. [per cent not conforming]

    References
    ----------
    .. [1] ISO 2859-1, table 2-A

    Examples
    --------
    >>> plan_by_letter("H", 1.0)
    AcceptancePlan(sample=50, accept=1, letter='H')
    """
    letters = list(SAMPLE_SIZE)
    if letter not in SAMPLE_SIZE:
        raise ValueError(f"letter {letter!r} is none of {''.join(letters)}")
    if quality_limit not in QUALITY_LIMITS:
        raise ValueError(f"quality limit {quality_limit} % is none of {QUALITY_LIMITS}")
    rank, column = letters.index(letter), QUALITY_LIMITS.index(quality_limit)
    while (diagonal := rank + column) not in ACCEPT:
        # Before 0 and just before 1 the arrow leads to larger samples; after 0 and past the end to smaller ones.
        rank += 1 if diagonal < ZERO_DIAGONAL or diagonal == ZERO_DIAGONAL + 2 else -1
        if not 0 <= rank < len(letters):
            raise ValueError(f"the table holds no plan for a limit of {quality_limit} % at letter {letter}")
    return AcceptancePlan(SAMPLE_SIZE[letters[rank]], ACCEPT[diagonal], letters[rank])


def chance_of_at_least(positive: int, looked_at: int, share: ArrayLike) -> Array:
    """Return the chance to see at least so many positive ones of a sample, at each true share.

    Examples
    --------
    >>> chance_of_at_least(225, 500, [0.48, 0.40]).round(4)
    array([0.9175, 0.013 ])
    """
    _check_count(positive, looked_at)
    return np.asarray(binom.sf(positive - 1, looked_at, np.asarray(share, dtype=np.float64)))


def chance_of_at_most(positive: int, looked_at: int, share: ArrayLike) -> Array:
    """Return the chance to see at most so many positive ones of a sample, at each true share."""
    _check_count(positive, looked_at)
    return np.asarray(binom.cdf(positive, looked_at, np.asarray(share, dtype=np.float64)))


def passing_number(criterion: float, looked_at: int) -> int:
    """Return the fewest positive ones whose share reaches a criterion.

    Examples
    --------
    >>> passing_number(0.45, 500), passing_number(0.45, 20)
    (225, 9)
    """
    return int(np.ceil(criterion * looked_at - 1e-9))


def smallest_sample(
    good: float, bad: float, *, most: int, miss: float = 0.05, false_alarm: float = 0.05
) -> tuple[int, int] | None:
    """Return the smallest sample that tells a good lot from a bad one, and the fewest positive ones to pass it.

    Parameters
    ----------
    good, bad : float
        True shares of positive ones; ``bad`` is the lower.
    most : int
        The largest sample that can be taken.
    miss, false_alarm : float, default 0.05
        Chance allowed that the bad lot passes, that the good one fails.

    Returns
    -------
    sample : (int, int) or None
        None where ``most`` units would not do.

    Examples
    --------
    >>> smallest_sample(0.8, 0.2, most=500)
    (7, 4)
    """
    if not 0 <= bad < good <= 1:
        raise ValueError(f"bad {bad} must lie below good {good}, both between 0 and 1")
    for looked_at in range(1, most + 1):
        # The fewest that a bad lot reaches with no more than the allowed chance.
        fewest = int(binom.isf(miss, looked_at, bad)) + 1
        if fewest <= looked_at and binom.cdf(fewest - 1, looked_at, good) <= false_alarm:
            return looked_at, fewest
    return None


def _check_count(positive: int, looked_at: int) -> None:
    if looked_at < 1 or not 0 <= positive <= looked_at:
        raise ValueError(f"{positive} of {looked_at}: the part cannot be below 0 or above the whole")
