"""Enemies that were let go in a house and accept none of the aphids found there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from outpace.facts.table import load
from outpace.language import say
from outpace.season.case import HouseCase
from outpace.season.words import weekday


def wrong_enemies(case: HouseCase) -> list[str]:
    """Return a line for each such enemy: when it was let go, what it does not accept, what follows.

    Of an aphid without a name nobody knows what accepts it, so nothing is said then.
    """
    named = tuple(pest for pest in case.model.pests if case.facts.species[pest].latin)
    days: dict[str, list[str]] = {}
    for row in case.let_go.told:
        matches = [case.facts.find(row["enemy"], "host_match", other_species=pest) for pest in named]
        if (
            case.found
            and named == case.model.pests
            and matches
            and all(m is not None and m.value <= 0 for m in matches)
        ):
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


def refused(releases: Sequence[Mapping[str, Any]], pest: str) -> list[Mapping[str, Any]]:
    """Return the releases whose enemy does not accept an aphid; of one without a name nobody knows."""
    facts = load()
    if pest not in facts.species or not facts.species[pest].latin:
        return []
    enemies = {row["enemy"] for row in releases if row["enemy"] is not None}
    matches = {enemy: facts.find(enemy, "host_match", other_species=pest) for enemy in enemies}
    return [row for row in releases if (match := matches.get(row["enemy"])) is not None and match.value <= 0]
