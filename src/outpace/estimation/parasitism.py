"""How much of a colony is parasitised, and by whom: from mummies, holes and jars to shares with intervals.

Visible parasitism is closed mummies over live aphids and closed mummies. It is no measure of what the enemy does:
at one and the same attack it is low in a growing colony and high in a falling one [1]_. Corrected for the time for
which each kind is there to be seen, and for growth, it becomes the share that will turn into mummies.

References
----------
.. [1] Van Driesche 1983
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from outpace.estimation.intervals import Interval, clopper_pearson
from outpace.language import say

TAN = "tan"


@dataclass(frozen=True, slots=True)
class Share:
    """A share with its interval."""

    share: float
    low: float
    high: float


def visible_parasitism(closed: int, live: int, confidence: float = 0.95) -> Share:
    """Return closed mummies over live aphids and closed mummies, with its exact interval.

    Live aphids include living stung ones, as one sees them. The interval takes the animals as a random sample;
    colonies are not, so the true one is wider.

    Examples
    --------
    >>> found = visible_parasitism(5, 45)
    >>> round(found.share, 2), round(found.low, 3), round(found.high, 3)
    (0.1, 0.033, 0.218)
    """
    ends = clopper_pearson(closed, closed + live, confidence)
    share = closed / (closed + live) if closed + live else 0.0
    return Share(share, *ends)


def _seen_for(days: float, growth: float, after: float = 0.0) -> float:
    """Return how much of a stage is seen that begins so long after birth and lasts so many days, under growth."""
    if abs(growth) < 1e-12:
        return days
    return math.exp(-growth * after) * -math.expm1(-growth * days) / growth


def corrected_for_times(
    apparent: float, days_if_parasitised: float, days_if_not: float, growth: float = 0.0
) -> float:
    """Return the true share from an apparent one where the parasitised are there to be seen for longer.

    The odds are corrected by the ratio of times (a plain ratio of shares would be wrong [1]_); under growth each
    time is weighed by e^(−r·age).

    Parameters
    ----------
    apparent : float
        Parasitised over all that are seen.
    days_if_parasitised, days_if_not : float
        From the start of risk to the end of being seen. [d]
    growth : float, default 0.0
        Rate of increase of the colony, r. [d⁻¹]

    References
    ----------
    .. [1] Russell 1987

    Examples
    --------
    >>> round(corrected_for_times(0.461538, 12, 6), 4)
    0.3
    """
    if not 0 <= apparent <= 1 or days_if_parasitised <= 0 or days_if_not <= 0:
        raise ValueError("a share lies between 0 and 1, and times are above 0")
    if apparent == 1:
        return 1.0
    odds = apparent / (1 - apparent)
    odds *= _seen_for(days_if_not, growth) / _seen_for(days_if_parasitised, growth)
    return odds / (1 + odds)


def mummy_ratio(
    share: float, days_before: float, days_mummy: float, days_healthy: float, growth: float = 0.0
) -> float:
    """Return mummies over mummies and live aphids when a share of the aphids is parasitised at birth.

    Parameters
    ----------
    share : float
        Of aphids that become mummies.
    days_before, days_mummy : float
        Alive after the sting, and as a closed mummy. [d]
    days_healthy : float
        Alive if not stung. [d]
    growth : float, default 0.0
        Of the colony, r. [d⁻¹]

    Examples
    --------
    >>> round(mummy_ratio(0.3, days_before=8, days_mummy=6, days_healthy=20), 4)
    0.0989
    """
    mummies = share * _seen_for(days_mummy, growth, after=days_before)
    live = share * _seen_for(days_before, growth) + (1 - share) * _seen_for(days_healthy, growth)
    return mummies / (mummies + live)


def mummies_at_constant_attack(attack: float, days_before: float, days_mummy: float, growth: float) -> float:
    """Return the visible share of mummies of a colony under constant attack that grows or falls steadily.

    Parameters
    ----------
    attack : float
        Chance per day that a healthy aphid is stung. [d⁻¹]
    days_before, days_mummy : float
        Alive after the sting, and as a closed mummy. [d]
    growth : float
        Rate of increase of the whole colony, r; below 0 when it falls. [d⁻¹]

    Examples
    --------
    >>> [round(mummies_at_constant_attack(0.1, 8, 6, math.log(2) / d), 2) for d in (4.6, 1e9, -6.9)]
    [0.07, 0.25, 0.45]
    """
    stung = attack * _seen_for(days_before, growth)
    mummies = attack * _seen_for(days_mummy, growth, after=days_before)
    return mummies / (1 + stung + mummies)


@dataclass(frozen=True, slots=True)
class Hyperparasitism:
    """Share of tan mummies that gave a hyperparasitoid, or why it cannot be told."""

    ragged: int
    read: int
    share: float
    interval: Interval
    message: str


def hyperparasitism(ragged: int, smooth: int, colour: str, confidence: float = 0.95) -> Hyperparasitism:
    """Return the share of ragged holes among the holes of tan mummies, with its exact interval.

    In black mummies the enemy itself leaves a jagged hole, so they say nothing.

    Examples
    --------
    >>> hyperparasitism(0, 20, "tan").message
    '0 of 20 tan mummies with a ragged hole: still up to 17 % possible'
    >>> hyperparasitism(9, 0, "black").message
    'black mummies cannot tell: their own wasp leaves a jagged hole'
    """
    read = ragged + smooth
    if colour != TAN:
        return Hyperparasitism(
            0,
            0,
            0.0,
            Interval(0.0, 1.0),
            say("{colour} mummies cannot tell: their own wasp leaves a jagged hole", colour=colour),
        )
    if read == 0:
        return Hyperparasitism(0, 0, 0.0, Interval(0.0, 1.0), say("no hole of a tan mummy was read"))
    ends = clopper_pearson(ragged, read, confidence)
    told = say("{ragged} of {read} tan mummies with a ragged hole: ", ragged=ragged, read=read)
    told += (
        say("still up to {high:.0%} possible", high=ends.high)
        if ragged == 0
        else say("{low:.0%} to {high:.0%} likely", low=ends.low, high=ends.high)
    )
    return Hyperparasitism(ragged, read, ragged / read, ends, told.replace("%", " %"))


def cannot_tell(
    *,
    before_first_mummies: bool,
    only_hunted: bool,
    leaves_removed_share: float = 0.0,
    leaves_removed_limit: float,
) -> str | None:
    """Return why a sample cannot tell parasitism, or None.

    Parameters
    ----------
    before_first_mummies : bool
        The walk was made before the first mummies could show, by heat since the release.
    only_hunted : bool
        All plants were looked for where aphids were expected.
    leaves_removed_share : float, default 0.0
        Of the leaves, since the first mummies could show: mummies left the house with them.
    leaves_removed_limit : float
        From this share on the sample is silent.
    """
    if before_first_mummies:
        return say("nothing can be seen yet: the walk was made before the first mummies can show")
    if only_hunted:
        return say("only hunted plants were looked at: they show that mummies are there, not their share")
    if leaves_removed_share >= leaves_removed_limit:
        return say("old leaves were taken out, and mummies with them: the share now seen is too low")
    return None
