"""Enemies that were let go in a house and accept none of the aphids found there."""

from __future__ import annotations

from outpace.language import say
from outpace.season.case import HouseCase
from outpace.season.words import weekday


def wrong_enemies(case: HouseCase) -> list[str]:
    """Return a line for each such enemy: when it was let go, what it does not accept, what follows."""
    days: dict[str, list[str]] = {}
    for row in case.let_go.told:
        matches = [
            case.facts.find(row["enemy"], "host_match", other_species=pest) for pest in case.model.pests
        ]
        if case.found and matches and all(m is not None and m.value <= 0 for m in matches):
            days.setdefault(row["enemy"], []).append(weekday(row["date"]))
    pests = " or ".join(case.facts.species[pest].latin for pest in case.model.pests)
    return [
        say(
            "{latin}, released on {when}, does not accept {pests}; no mummies will come of it",
            latin=case.facts.species[enemy].latin,
            when=", ".join(when),
            pests=pests,
        )
        for enemy, when in days.items()
    ]
