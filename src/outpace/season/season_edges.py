"""The dated checklists of a season's two edges: before and at planting, and when the crop goes out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from outpace.facts.table import Fact, Facts
from outpace.language import say, to_say
from outpace.measures import temperature
from outpace.terms.enemies import Banker
from outpace.terms.place import Farm, House, PlantsIn
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Spray

Answer = dict[str, Any]

BEGINNING, END, EMPTY = "beginning", "end", "empty"

AT_PLANTING = {
    "residue audit": (
        to_say("Write down what was sprayed in this house and by the plant raiser in the last four months"),
        to_say("old residues under cover can kill what you release; not told counts as danger"),
    ),
    "bankers ordered": (
        to_say("Order banker plants, if you want them, and ask which cereals grow nearby"),
        to_say("they run weeks later, and carry a cereal aphid that is a pest there"),
    ),
    "empty house inspected": (
        to_say("Walk the empty house inside and out: weeds, pet plants, leftovers, drains, neighbours"),
        to_say("aphids of the last crop wait there"),
    ),
    "house cleared and washed": (
        to_say("Clear, wash, and mend screens and doors; a disinfectant is a spray: write it down"),
        to_say("what is left starves or is washed off"),
    ),
    "forward order": (
        to_say("Order forward, and name who takes parcels in on which day"),
        to_say("scarce species need weeks; permits come first"),
    ),
    "plants looked at": (
        to_say("Look at the plants as they come, apart from the crop, and ask what they were sprayed with"),
        to_say("most failures are decided before the first release"),
    ),
    "baseline walk": (
        to_say("Walk the first time, write down the clean plants too, and hang the first cards"),
        to_say("without a first count nothing can be compared"),
    ),
}
AT_THE_END = {
    "last count": (
        to_say("Walk the last time, and read empty mummies"),
        to_say("the review and next year's plan rest on it"),
    ),
    "bankers out": (
        to_say("Bag the banker plants and take them out"),
        to_say("their cereal aphid and hyperparasitoids stay behind otherwise"),
    ),
    "pests killed": (
        to_say("Kill what aphids are left before anything is pulled; a spray needs its label and its waits"),
        to_say("pulled plants send them flying to the next house"),
    ),
    "crop pulled": (
        to_say("Pull the crop, bagged or covered on its way, and carry it away from the houses"),
        to_say("no heap beside a door"),
    ),
    "weeds and leftovers": (
        to_say("Take out weeds, pet plants, cards, hooks, labels and carriers; count them"),
        to_say("one weed keeps a colony"),
    ),
    "season reviewed": (
        to_say("Look back: `outpace review --season`, and keep what the counts taught"),
        to_say("`outpace facts learned --keep` carries it into the next crop"),
    ),
}


@dataclass(frozen=True, slots=True)
class EdgeTask:
    """One task of an edge: its day, the span it may fall in, and the fact it rests on."""

    edge: str
    name: str
    day: date
    first: date
    last: date
    what: str
    why: str
    fact: Fact


def edge_tasks(
    snapshot: Snapshot, facts: Facts, farm: Farm, house: House, *, planting: date | None, end: date | None
) -> tuple[EdgeTask, ...]:
    """Return the tasks of both edges in the order of their days; of an edge without a day there are none."""
    found = []
    for edge, around, texts in ((BEGINNING, planting, AT_PLANTING), (END, end, AT_THE_END)):
        if around is None:
            continue
        for name, (what, why) in texts.items():
            if name == "bankers out" and not _bankers(snapshot, farm, house):
                continue
            found.append(_task(facts, edge, name, around, say(what), say(why)))
    if end is not None:
        found.append(_empty(facts, end))
    return tuple(sorted(found, key=lambda item: (item.day, item.edge, item.name)))


def _task(facts: Facts, edge: str, name: str, around: date, what: str, why: str) -> EdgeTask:
    fact = facts.one("", "edge_day", stage=name)
    low = fact.value if fact.low is None else fact.low
    high = fact.value if fact.high is None else fact.high
    if name == "plants looked at":
        share = facts.one("", "incoming_share_inspected")
        what += " " + say("(at least {share:.0%} of them)", share=share.value)
    day, first, last = (around + timedelta(days=round(value)) for value in (fact.value, low, high))
    return EdgeTask(edge, name, day, first, last, what, why, fact)


def _empty(facts: Facts, end: date) -> EdgeTask:
    """Return until when the house should stand empty: days if it is kept warm, longer where it is cool."""
    warm, cool = facts.one("", "empty_days", stage="warm"), facts.one("", "empty_days", stage="cool")
    limit = facts.one("", "empty_warm_limit")
    last = end + timedelta(days=round(cool.high or cool.value))
    return EdgeTask(
        EMPTY,
        "house empty",
        end + timedelta(days=1),
        end + timedelta(days=round(warm.value)),
        last,
        say(
            "Keep it empty of every plant: {warm:g} days shut and above {limit}, or up to {cool:g} days cool",
            warm=warm.value,
            limit=temperature(limit.value),
            cool=cool.high or cool.value,
        ),
        say("aphids left behind starve, slowly in the cool"),
        warm,
    )


def checked(snapshot: Snapshot, farm: Farm, house: House, item: EdgeTask) -> bool | None:
    """Return whether the book shows that a task was done; None where no record could show it."""
    if item.name == "plants looked at":
        rows = [row for row in snapshot.table(PlantsIn) if (row.farm, row.house) == (farm.farm, house.house)]
        return any(row.looked_at for row in rows if row.time is not None and row.time.date() >= item.first)
    if item.name == "residue audit":
        rows_in = [
            row for row in snapshot.table(PlantsIn) if (row.farm, row.house) == (farm.farm, house.house)
        ]
        told = any(row.sprays_told in ("yes", "no") for row in rows_in)
        sprayed = any(
            (row.farm, row.house) == (farm.farm, house.house) and row.start.date() >= item.first
            for row in snapshot.table(Spray)
        )
        return told or sprayed
    if item.name == "bankers out":
        return not _bankers(snapshot, farm, house)
    return None


def due_within(tasks: Sequence[EdgeTask], today: date, days: int) -> list[EdgeTask]:
    """Return the tasks whose day falls in the coming days, and those whose span is not over."""
    return [
        item
        for item in tasks
        if item.day < today + timedelta(days=days) and max(item.last, item.day) >= today
    ]


def _bankers(snapshot: Snapshot, farm: Farm, house: House) -> list[Banker]:
    return [
        row
        for row in snapshot.table(Banker)
        if (row.farm, row.house) == (farm.farm, house.house) and row.withdrawn_on is None
    ]
