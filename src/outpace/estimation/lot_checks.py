"""Which checks of a lot count: an early look at a pot is neither pass nor reject, a recount is no second pot."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from outpace.facts.table import Facts
from outpace.terms.enemies import Check, Lot

GIVES_ADULTS = ("emergence", "live count", "jar")
"""Kinds of check whose positive ones are living adults, or larvae where these are sold."""

RIPENS = ("emergence", "jar")
"""Kinds that take time: what has not come out yet may still."""


class Counted(NamedTuple):
    """Positive ones of those looked at."""

    positive: int
    looked_at: int


def heat_needed(facts: Facts, enemy: str) -> float:
    """Return the heat above the lower threshold that an emergence check takes to its end. [°C d]

    The days of the guideline at the cool end of the warmth they are meant for.

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> round(heat_needed(load(), "aphidius_colemani"), 1)  # 7 d × (21 - 2.8)
    127.4
    """
    days = facts.one(enemy, "guideline_check_days").value
    warmth = facts.one(enemy, "check_warmth").value
    return days * max(warmth - facts.one(enemy, "lower_threshold").value, 0.0)


def share_due(facts: Facts, enemy: str, heat: float) -> float:
    """Return the share of all that will emerge that is out after so much heat, by the figures of the enemy.

    Parameters
    ----------
    heat : float
        Above the lower threshold, since the parcel came into the warm. [°C d]

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> share_due(load(), "aphidius_colemani", 45.0)
    0.5
    """
    middle = facts.one(enemy, "emergence_heat").value
    spread = facts.one(enemy, "emergence_spread").value
    if spread <= 0:
        return 1.0 if heat >= middle else 0.0
    return 0.5 * (1 + math.erf((heat - middle) / (spread * math.sqrt(2))))


def is_early(facts: Facts, lot: Lot, check: Check) -> bool:
    """Return whether a check was read before its end; where its days were not told it counts as ended.

    Where its temperature was told the end is a matter of heat, but never sooner than the days of the guideline.
    """
    if check.kind not in RIPENS or lot.form in ("adults", "larvae") or check.days is None:
        return False
    if check.positive == check.looked_at:
        return False
    if check.days < facts.one(lot.enemy, "guideline_check_days").value:
        return True
    if check.degc is None:
        return False
    above = check.degc - facts.one(lot.enemy, "lower_threshold").value
    return check.days * max(above, 0.0) < heat_needed(facts, lot.enemy) * (1 - 1e-9)


def finished(
    facts: Facts, lot: Lot, checks: Iterable[Check], kinds: Sequence[str] = GIVES_ADULTS
) -> tuple[Check, ...]:
    """Return the checks of a lot that say how good it is, by time.

    Early looks are left out. Of several looks of one kind at equally many units after different numbers of
    days only the last stands: it is the same pot, counted again.
    """
    latest: dict[object, Check] = {}
    for check in sorted(checks, key=lambda item: item.time):
        if check.lot != lot.lot or check.kind not in kinds or is_early(facts, lot, check):
            continue
        place: object = (check.kind, check.time)
        if check.kind in RIPENS and check.days is not None:
            place = (check.kind, check.looked_at)
            if place in latest and latest[place].days == check.days:
                place = (check.kind, check.time)  # read on the same day of its run: another pot
        latest[place] = check
    return tuple(sorted(latest.values(), key=lambda item: item.time))


def counted(checks: Iterable[Check]) -> Counted:
    """Return the sum of some checks."""
    each = tuple(checks)
    return Counted(sum(check.positive for check in each), sum(check.looked_at for check in each))
