"""What a lens of ten to fifteen times shows of an aphid, by species, each with its source."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from outpace.facts.reading import read_rows

ORDERS_ONLY = frozenset({"colour", "place"})
"""Features that vary so much that they exclude nobody; they say only which of those left comes first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LensFeature:
    """A species in one state of a feature: ``usual``, or ``may`` where it is met or easily taken for it."""

    species: str
    feature: str
    state: str
    fit: str
    source: str
    locator: str
    evidence: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LensRule:
    """What holds for naming aphids at large: a rule of the trade or a figure, with its source."""

    rule: str
    value: float | None
    unit: str
    source: str
    locator: str
    evidence: str
    note: str


@lru_cache(maxsize=1)
def lens_features() -> tuple[LensFeature, ...]:
    """Return every row, in the order of the table."""
    return tuple(read_rows("lens_features.csv", LensFeature))


@lru_cache(maxsize=1)
def lens_rules() -> dict[str, LensRule]:
    """Return the rules by their names.

    Examples
    --------
    >>> lens_rules()["sample_alcohol"].value
    0.7
    """
    return {row.rule: row for row in read_rows("lens_rules.csv", LensRule)}
