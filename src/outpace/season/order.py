"""One order per supplier and cut-off, from the plan of all houses, with the text to send."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from math import ceil
from typing import Any

from outpace.facts.table import Facts, load
from outpace.language import long_date, say, say_many
from outpace.season.names import pick_farm
from outpace.season.offers import packs_in_force
from outpace.season.plan import Progress
from outpace.season.plan import plan as plan_of
from outpace.season.words import weekday
from outpace.terms.enemies import Pack
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]
Line = tuple[str, str, int]


def order(
    snapshot: Snapshot,
    *,
    farm: str | None = None,
    plan: Mapping[str, Any] | None = None,
    facts: Facts | None = None,
    houses: Sequence[str] | None = None,
    budget: float | None = None,
    below_published: bool = False,
    progress: Progress | None = None,
) -> Answer:
    """Return what to order as the answer ``outpace.order/1``.

    Parameters
    ----------
    plan : dict, optional
        The plan to order from; made anew where it is not given, with the other options.
    """
    there = pick_farm(snapshot, farm)
    known = facts or load()
    made = plan or plan_of(
        snapshot,
        farm=farm,
        facts=facts,
        houses=houses,
        budget=budget,
        below_published=below_published,
        progress=progress,
    )
    packs = {
        (pack.supplier, pack.enemy, pack.form, pack.pack_size): pack
        for pack in packs_in_force(snapshot, _day(made["as_of"]))
    }
    parcels: dict[tuple[str, str, str], list[Answer]] = defaultdict(list)
    for decision in made["decisions"]:
        parcels[decision["cutoff"], decision["supplier"], decision["delivery_date"]].append(decision)
    orders = [
        one
        for place, decisions in sorted(parcels.items())
        for one in _orders(there.farm, there.currency, place, decisions, packs, known)
    ]
    firm = [item for item in orders if not item["provisional"]]
    answer: Answer = {
        "schema": "outpace.order/1",
        "as_of": made["as_of"],
        "farm": there.farm,
        "orders": orders,
        "waiting": [
            *({"house": item["house"], "why": item["why"]} for item in made["infeasible"]),
            *(item for item in made["waiting"] if item["house"] not in _ordered(made)),
        ],
        "cautions": made["cautions"],
        "studied": made.get("studied", []),
    }
    if firm:
        first = firm[0]
        count = sum(line["packs"] for line in first["lines"])
        answer["sentence"] = say_many(
            "Send the order for {n} pack to {supplier} by {cutoff}.",
            "Send the order for {n} packs to {supplier} by {cutoff}.",
            count,
            supplier=first["supplier"],
            cutoff=_words(first["cutoff"]),
        )
    else:
        answer["sentence"] = say(
            "Send nothing on {as_of}: 0 packs are due before the next cut-off.", as_of=weekday(made["as_of"])
        )
    return answer


def _orders(
    farm: str,
    currency: str,
    place: tuple[str, str, str],
    decisions: Sequence[Answer],
    packs: dict[tuple[str, str, str, int], Pack],
    facts: Facts,
) -> list[Answer]:
    """Return what is ordered of a supplier for a delivery: what is firm, then what a walk must confirm first.

    The two share boxes and the supplier's least order, so what is confirmed later costs only what it adds.
    """
    cutoff, supplier, delivery = place
    firm = [decision for decision in decisions if not decision["provisional"]]
    later = [decision for decision in decisions if decision["provisional"]]
    whole = _counts(decisions)
    now = _at_least(_counts(firm), whole, supplier, packs)
    rest = {line: whole[line] - now.get(line, 0) for line in whole}
    found = []
    paid = (0.0, 0.0)
    for parts, counts, provisional in ((firm, now, False), (later, rest, True)):
        if not parts or not any(counts.values()):
            continue
        asked = counts if not provisional else whole
        freight, total = _money(supplier, asked, packs)
        lines = [
            _line(line, counts[line], packs[supplier, *line], parts)
            for line in sorted(counts)
            if counts[line]
        ]
        found.append(
            {
                "supplier": supplier,
                "cutoff": cutoff,
                "delivery_date": delivery,
                "lines": lines,
                "freight": round(freight - paid[0], 2),
                "total": round(total - paid[1], 2),
                "currency": currency,
                "text": _message(farm, delivery, lines, facts),
                "provisional": provisional,
            }
        )
        paid = (freight, total)
    return found


def _counts(decisions: Sequence[Answer]) -> dict[Line, int]:
    """Return how many packs of each line some decisions need.

    A pack shared by several houses is counted with the house that opens it; where that house is not among these, the
    numbers say how many must come.
    """
    opened: dict[Line, int] = defaultdict(int)
    numbers: dict[Line, float] = defaultdict(float)
    for part in decisions:
        line = (part["enemy"], part["form"], part["pack_size"])
        opened[line] += part["opened"] if "opened" in part else part["packs"]
        numbers[line] += part["number"]
    return {line: max(opened[line], ceil(numbers[line] / line[2] - 1e-9)) for line in opened}


def _at_least(
    counts: dict[Line, int],
    whole: Mapping[Line, int],
    supplier: str,
    packs: Mapping[tuple[str, str, str, int], Pack],
) -> dict[Line, int]:
    """Return what is firm, filled up from the rest to the fewest packs that the supplier sends."""
    filled = dict(counts)
    fewest = max((packs[supplier, *line].minimum_order_packs or 0 for line in counts), default=0)
    for line in counts:
        missing = max(0, fewest - sum(filled.values()))
        filled[line] += min(missing, whole[line] - filled[line])
    return filled


def _money(
    supplier: str, counts: Mapping[Line, int], packs: Mapping[tuple[str, str, str, int], Pack]
) -> tuple[float, float]:
    """Return the freight of an order and all that it costs. [farm's money]"""
    bought = [(count, packs[supplier, *line]) for line, count in counts.items() if count]
    goods = sum(count * pack.price for count, pack in bought)
    least = max((pack.minimum_order_money or 0.0 for _, pack in bought), default=0.0)
    per_parcel = min((pack.packs_per_parcel or 10**9 for _, pack in bought), default=1)
    each = max((pack.freight_per_parcel or 0.0 for _, pack in bought), default=0.0)
    freight = ceil(sum(count for count, _ in bought) / per_parcel) * each
    return freight, max(goods, least) + freight


def _line(line: Line, count: int, pack: Pack, decisions: Sequence[Answer]) -> Answer:
    enemy, form, size = line
    parts = [part for part in decisions if (part["enemy"], part["form"], part["pack_size"]) == line]
    return {
        "enemy": enemy,
        "form": form,
        "packs": count,
        "pack_size": size,
        "unit_price": pack.price,
        "price": round(count * pack.price, 2),
        "houses": [
            {"house": part["house"], "number": part["number"], "release_date": part["release_date"]}
            for part in sorted(parts, key=lambda item: str(item["house"]))
        ],
    }


def _message(farm: str, delivery: str, lines: Sequence[Answer], facts: Facts) -> str:
    day = _day(delivery)
    wanted = [
        say_many(
            "{n} pack of {latin}, {pack_size} {form} each",
            "{n} packs of {latin}, {pack_size} {form} each",
            line["packs"],
            latin=facts.species[line["enemy"]].latin,
            pack_size=line["pack_size"],
            form=say(line["form"]),
        )
        for line in lines
    ]
    return "\n".join(
        [
            say("Please send to {farm} for delivery on {day}:", farm=farm, day=long_date(day, year=True)),
            *(f"- {text}" for text in wanted),
            say(
                "Please tell us packing date and lot, and what the label counts. No substitute without a "
                "call."
            ),
        ]
    )


def _ordered(made: Mapping[str, Any]) -> set[str]:
    return {decision["house"] for decision in made["decisions"] if not decision["provisional"]}


def _day(text: str) -> date:
    return date.fromisoformat(text[:10])


def _words(moment: str) -> str:
    when = datetime.fromisoformat(moment)
    return f"{weekday(when.date())} {when:%H:%M}"
