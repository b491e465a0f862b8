"""Which aphids fit what was seen through a lens, what to look at next, and which enemies suit all that are left."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.facts.lens_features import ORDERS_ONLY, lens_features
from outpace.facts.table import Facts, load, weakest
from outpace.language import say

UNNAMED = "unknown_aphid"


def features() -> dict[str, tuple[str, ...]]:
    """Return the features in the order they are asked, each with its states.

    Examples
    --------
    >>> features()["tail"]
    ('pale', 'dark')
    """
    found: dict[str, dict[str, None]] = {}
    for row in lens_features():
        found.setdefault(row.feature, {})[row.state] = None
    return {feature: tuple(states) for feature, states in found.items()}


def species_key(seen: Mapping[str, str], facts: Facts | None = None) -> dict[str, Any]:
    """Return the aphids that agree with all that was seen, those most usual first.

    Parameters
    ----------
    seen : mapping
        State by feature; a feature left out, or "", is one the grower is unsure of.

    Returns
    -------
    answer : dict
        ``species`` lists all, each with what speaks against it; ``look_next`` the feature that would leave the
        fewest; ``enemies`` what accepts every aphid that still fits.

    Examples
    --------
    >>> [one["species"] for one in species_key({"brow": "inward"})["species"] if one["fits"]]
    ['myzus_persicae']
    """
    known = facts or load()
    asked = features()
    told = {feature: state for feature, state in seen.items() if state}
    for feature, state in told.items():
        if state not in asked.get(feature, ()):
            raise OutpaceError(
                say("nothing called {state!r} can be seen of {feature!r}", state=state, feature=feature),
                where=say("species key"),
                allowed=say("known: {asked}", asked=", ".join(asked.get(feature, asked))),
                hint=say("choose from the page, or leave it at unsure"),
                code=ExitCode.USAGE,
            )
    table = _by_species()
    listed = []
    for number, (species, states) in enumerate(table.items()):
        against = [f for f, state in told.items() if f not in ORDERS_ONLY and state not in states.get(f, {})]
        usual = sum(states.get(f, {}).get(state) == "usual" for f, state in told.items())
        listed.append((bool(against), -usual, number, species, against, usual))
    listed.sort()
    fitting = [species for off, _, _, species, _, _ in listed if not off]
    rows = [row for row in lens_features() if row.species in fitting and told.get(row.feature) == row.state]
    return {
        "told": told,
        "species": [
            {"species": species, "fits": not off, "against": against, "usual": usual}
            for off, _, _, species, against, usual in listed
        ],
        "look_next": look_next(told, fitting),
        "enemies": enemies_for(fitting, known),
        "rows": rows,
        "evidence_weakest": weakest_of(rows),
    }


def look_next(told: Mapping[str, str], fitting: list[str]) -> str | None:
    """Return the open feature after which the fewest aphids would be left on average; None where none parts them."""
    if len(fitting) < 2:
        return None
    table = _by_species()
    best: tuple[float, str] | None = None
    for feature in features():
        if feature in told or feature in ORDERS_ONLY:
            continue
        left = [sum(state in table[species][feature] for species in fitting) for state in features()[feature]]
        # Each aphid shows one of its states: states that fit many are met more often.
        expected = sum(n * n for n in left) / sum(left)
        if best is None or expected < best[0] - 1e-9:
            best = (expected, feature)
    return best[1] if best and best[0] < len(fitting) else None


def enemies_for(aphids: list[str], facts: Facts) -> list[dict[str, Any]]:
    """Return the enemies that accept every one of some aphids, the reliable before the partial.

    Examples
    --------
    >>> [row["enemy"] for row in enemies_for(["myzus_persicae", "macrosiphum_euphorbiae"], load())][:2]
    ['chrysoperla_carnea', 'adalia_bipunctata']
    """
    if not aphids:
        return []
    found = []
    for species in facts.species.values():
        if species.kind != "enemy":
            continue
        rows = [facts.one(species.key, "host_match", other_species=aphid) for aphid in aphids]
        least = min(int(row.value) for row in rows)
        if least:
            found.append({"enemy": species.key, "match": least, "evidence": weakest(rows)})
    return sorted(found, key=lambda row: -row["match"])


def match_table(facts: Facts | None = None) -> dict[str, dict[str, int]]:
    """Return for each aphid of the key what each enemy makes of it: 0 nothing, 1 partly, 2 reliably."""
    known = facts or load()
    enemies = [item.key for item in known.species.values() if item.kind == "enemy"]
    return {
        aphid: {e: int(known.one(e, "host_match", other_species=aphid).value) for e in enemies}
        for aphid in _by_species()
    }


def states_of(species: str) -> dict[str, dict[str, str]]:
    """Return what is known of one aphid: by feature, by state, ``usual`` or ``may``."""
    return _by_species()[species]


def weakest_of(rows: list[Any]) -> str:
    """Return the weakest evidence among rows of the lens."""
    order = ("read", "derived", "recalled", "seller", "practice")
    return max((row.evidence for row in rows), key=order.index, default="")


def _by_species() -> dict[str, dict[str, dict[str, str]]]:
    found: dict[str, dict[str, dict[str, str]]] = {}
    for row in lens_features():
        found.setdefault(row.species, {}).setdefault(row.feature, {})[row.state] = row.fit
    return found
