"""What records are asked for, by whom and since when: no advice, each rule to be checked with the authority."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from outpace.facts.reading import read_rows
from outpace.language import to_say

ANYWHERE = "any"
CHECK = to_say("check with your authority")


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordRule:
    """Columns of one record that someone asks for, or how many years it is kept.

    ``law`` is "yes" where a law asks, "no" where audit schemes do in general; ``since`` is an ISO date or empty.
    """

    region: str
    record: str
    fields: tuple[str, ...]
    keep_y: float | None
    since: str
    law: str
    driver: str
    source: str
    locator: str
    evidence: str
    note: str

    @property
    def is_law(self) -> bool:
        return self.law == "yes"

    def holds_on(self, day: date) -> bool:
        """Return whether the rule is in force on a day, as far as its beginning is known."""
        return not self.since or date.fromisoformat(self.since) <= day


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordRegion:
    """A country and the region whose rules are kept for it."""

    country: str
    region: str


@lru_cache(maxsize=1)
def record_rules() -> tuple[RecordRule, ...]:
    """Return every rule, in the order of the table."""
    return tuple(read_rows("record_rules.csv", RecordRule))


@lru_cache(maxsize=1)
def record_regions() -> tuple[RecordRegion, ...]:
    """Return the countries of which a region is known."""
    return tuple(read_rows("record_regions.csv", RecordRegion))


def region_of(country: str | None) -> str | None:
    """Return the region of a country by its two letters, or None where no rules are kept for it.

    Examples
    --------
    >>> region_of("ES"), region_of("GB"), region_of(None), region_of("XX")
    ('EU', 'UK', None, None)
    """
    return next((row.region for row in record_regions() if row.country == (country or "").upper()), None)


def rules_for(country: str | None) -> tuple[RecordRule, ...]:
    """Return the rules of a country's region and those asked for anywhere."""
    region = region_of(country)
    return tuple(rule for rule in record_rules() if rule.region in (ANYWHERE, region))
