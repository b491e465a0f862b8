"""What a plan says in words: its one sentence, and what must be minded with its orders."""

from __future__ import annotations

from typing import Any

from outpace.facts.table import Facts, load
from outpace.language import say, say_many
from outpace.season.leaf_crops import EATEN_AS_LEAVES
from outpace.season.names import houses_of
from outpace.season.words import weekday
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Permit

Answer = dict[str, Any]


def care_of(answer: Answer, snapshot: Snapshot, farm: Farm, facts: Facts | None) -> list[str]:
    """Return what must be said with these orders: permits not seen yet, and wasps in a crop that is eaten as leaves."""
    known = facts or load()
    seen = {row.enemy for row in snapshot.table(Permit) if row.farm == farm.farm and row.seen}
    country = say(" of {country}", country=farm.country) if farm.country else say(" of your country")
    told = [
        say(
            "Before the first order of {latin}: look up the permit or list entry{country} and note its "
            "number",
            latin=known.species[enemy].latin,
            country=country,
        )
        for enemy in sorted({decision["enemy"] for decision in answer["decisions"]} - seen)
    ]
    crops = {house.house: house.crop for house in houses_of(snapshot, farm)}
    leafy = sorted(
        {
            decision["house"]
            for decision in answer["decisions"]
            if (known.resolve_crop(crops[decision["house"]]) or "") in EATEN_AS_LEAVES
        }
    )
    told += [
        say("{house}: mummies are contaminants in a leaf crop; stop wasps well before harvest", house=house)
        for house in leafy
    ]
    return told


def sentence_of(answer: Answer) -> str:
    firm = [d for d in answer["decisions"] if not d["provisional"]]
    if firm:
        first = min(firm, key=lambda d: d["cutoff"])
        same = [d for d in firm if (d["supplier"], d["cutoff"]) == (first["supplier"], first["cutoff"])]
        packs = sum(d["opened"] if "opened" in d else d["packs"] for d in same)
        clock = first["cutoff"].partition("T")[2]
        return say_many(
            "Order {n} pack from {supplier} by {cutoff}, {clock}.",
            "Order {n} packs from {supplier} by {cutoff}, {clock}.",
            packs,
            supplier=first["supplier"],
            cutoff=weekday(first["cutoff"]),
            clock=clock,
        )
    day = weekday(answer["as_of"])
    if answer["infeasible"]:
        names = ", ".join(item["house"] for item in answer["infeasible"])
        count = len(answer["infeasible"])
        return say_many(
            "Act by hand on {day} in {n} house: no release plan holds {names}.",
            "Act by hand on {day} in {n} houses: no release plan holds {names}.",
            count,
            day=day,
            names=names,
        )
    return say("Buy nothing on {day}: 0 packs are due before the next cut-off.", day=day)
