"""What to do with a parcel: how many to keep back for which question, when to count them, how long it keeps."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.acceptance import chance_of_at_least, passing_number, smallest_sample
from outpace.estimation.intervals import Interval, clopper_pearson
from outpace.facts.table import Fact, Facts
from outpace.language import say, to_say

Array = NDArray[np.float64]

Question = Literal["disaster", "guideline", "claim", "figure"]

QUESTIONS: dict[Question, str] = {
    "disaster": to_say("is the parcel dead or half dead?"),
    "guideline": to_say("is it a good lot, or one that only just meets the guideline?"),
    "claim": to_say("is it below the guideline, so that a claim stands?"),
    "figure": to_say("how many emerge, to ten points either way?"),
}

USUAL_SIZES = (20, 50, 100)
"""Sizes of a pot that are told beside each other; a pot for any question holds the first at least."""
WITHIN = 0.10
"""What "to ten points" means."""

GUIDELINE_WORDS = {
    "guideline_emergence": "emergence",
    "guideline_share_female": to_say("share of females"),
    "guideline_adult_mortality": to_say("adults dead on arrival"),
    "guideline_mummies_per_female": to_say("mummies of a female"),
    "guideline_eggs_per_female": to_say("eggs of a female"),
    "guideline_prey_per_larva": to_say("aphids eaten by a larva"),
    "guideline_larval_survival": to_say("larvae that reach the next instar"),
}
"""The criteria of the quality guidelines by quantity."""

CHECKED_BY_USERS = ("guideline_emergence", "guideline_adult_mortality")
"""Users are expected to check emergence or the live count; the rest is the producer's work."""


@dataclass(frozen=True, slots=True)
class Sample:
    """So many units in a pot: the exact 95 % ends of the share seen, and the minutes it takes."""

    size: int
    ends: Interval
    minutes: float


def sample_of(facts: Facts, enemy: str, size: int, share: float) -> Sample:
    """Return what a pot of some size tells where this share emerges.

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> [round(end, 2) for end in sample_of(load(), "aphidius_colemani", 20, 0.6).ends]
    [0.36, 0.81]
    """
    minutes = facts.one(enemy, "check_minutes_to_set_up").value
    minutes += size * facts.one(enemy, "check_minutes_per_unit").value
    return Sample(size, clopper_pearson(round(share * size), size), minutes)


def sample_for(facts: Facts, enemy: str, question: Question, expected: float, units: int) -> int | None:
    """Return how many units answer a question; None where even the whole lot does not, or no guideline is known.

    A good lot is told from a bad one with a chance of at most 5 % to be wrong either way.

    Parameters
    ----------
    expected : float
        Emergence of a good lot.
    units : int
        Units in the lot.

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> [sample_for(load(), "aphidius_colemani", each, 0.8, 1000) for each in ("disaster", "guideline", "claim")]
    [20, 21, 262]
    """
    least = USUAL_SIZES[0]
    if units < 1:
        return None
    if question == "figure":
        for size in range(1, units + 1):
            low, high = clopper_pearson(round(expected * size), size)
            if high - low <= 2 * WITHIN:
                return max(size, least)
        return None
    if question == "disaster":
        good, bad = expected, facts.one(enemy, "dead_lot_emergence").value
    else:
        criterion = facts.find(enemy, "guideline_emergence")
        if criterion is None:
            return None
        good, bad = (
            (expected, criterion.value)
            if question == "guideline"
            else (criterion.value, max(criterion.value - WITHIN, 0.0))
        )
    if good <= bad:
        return None
    found = smallest_sample(good, bad, most=units)
    if found is None:
        return None
    return min(max(found[0], least), units)


def passing_table(
    facts: Facts, enemy: str, looked_at: int, expected: float
) -> tuple[tuple[str, float, float], ...]:
    """Return how often lots of several true shares reach the guideline in a pot of one size.

    Returns
    -------
    rows : tuple of (words, true share, chance to pass)
        Empty where no guideline is known.
    """
    criterion = facts.find(enemy, "guideline_emergence")
    if criterion is None or looked_at < 1:
        return ()
    needed = passing_number(criterion.value, looked_at)
    lots = (
        (say("a good lot"), expected),
        (say("a lot just at the guideline"), criterion.value),
        (say("a lot ten points below it"), max(criterion.value - WITHIN, 0.0)),
        (say("a spoilt lot"), facts.one(enemy, "dead_lot_emergence").value),
    )
    return tuple((words, share, float(chance_of_at_least(needed, looked_at, share))) for words, share in lots)


def heat_so_far(facts: Facts, enemy: str, hours: Array) -> float:
    """Return the heat above the enemy's lower threshold in some hours, in the mean of the members. [°C d]"""
    above = np.clip(hours - facts.one(enemy, "lower_threshold").value, 0.0, None)
    return float(above.sum(axis=0).mean() / 24) if len(hours) else 0.0


def criteria(facts: Facts, enemy: str) -> tuple[Fact, ...]:
    """Return what the quality guideline asks of an enemy, what users check first."""
    rows = [row for row in facts.rows(enemy) if row.quantity in GUIDELINE_WORDS]
    return tuple(sorted(rows, key=lambda row: row.quantity not in CHECKED_BY_USERS))


def storage_views(facts: Facts, enemy: str) -> tuple[Fact, ...]:
    """Return every view of how long and how cold the enemy may be stored: they do not agree."""
    held = (enemy, *facts.species[enemy].groups)
    rows = [
        row
        for each in held
        for row in facts.rows(each)
        if row.quantity in ("storage_life", "storage_coldest")
    ]
    return tuple(rows)


def days_left(life_d: float, packed: date, today: date) -> float:
    """Return how many days of its life a parcel has left; below zero when it is past it.

    Examples
    --------
    >>> days_left(3.0, date(2026, 11, 20), date(2026, 11, 25))
    -2.0
    """
    return life_d - (today - packed).days
