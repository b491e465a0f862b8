"""One order per supplier and cut-off, from the plan of all houses, with the text to send."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from math import ceil
from typing import Any

from outpace.facts.table import Facts, load
from outpace.language import say
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
        _one(there.farm, there.currency, place, decisions, packs, known)
        for place, decisions in sorted(parcels.items())
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
        noun = say("pack") if count == 1 else say("packs")
        answer["sentence"] = say(
            "Send the order for {count} {noun} to {supplier} by {cutoff}.",
            count=count,
            noun=noun,
            supplier=first["supplier"],
            cutoff=_words(first["cutoff"]),
        )
    else:
        answer["sentence"] = say(
            "Send nothing on {as_of}: 0 packs are due before the next cut-off.", as_of=weekday(made["as_of"])
        )
    return answer


def _one(
    farm: str,
    currency: str,
    place: tuple[str, str, str],
    decisions: Sequence[Answer],
    packs: dict[tuple[str, str, str, int], Pack],
    facts: Facts,
) -> Answer:
    cutoff, supplier, delivery = place
    by_line: dict[Line, list[Answer]] = defaultdict(list)
    for decision in decisions:
        by_line[decision["enemy"], decision["form"], decision["pack_size"]].append(decision)
    lines: list[Answer] = []
    goods, least, per_parcel, freight = 0.0, 0.0, 10**9, 0.0
    for (enemy, form, size), parts in sorted(by_line.items()):
        pack = packs[supplier, enemy, form, size]
        # A pack shared by several houses is counted with the house that opens it.
        count = sum(part["opened"] if "opened" in part else part["packs"] for part in parts)
        goods += count * pack.price
        least = max(least, pack.minimum_order_money or 0.0)
        per_parcel = min(per_parcel, pack.packs_per_parcel or 10**9)
        freight = max(freight, pack.freight_per_parcel or 0.0)
        lines.append(
            {
                "enemy": enemy,
                "form": form,
                "packs": count,
                "pack_size": size,
                "unit_price": pack.price,
                "price": round(count * pack.price, 2),
                "houses": [
                    {
                        "house": part["house"],
                        "number": part["number"],
                        "release_date": part["release_date"],
                    }
                    for part in sorted(parts, key=lambda item: str(item["house"]))
                ],
            }
        )
    boxes = ceil(sum(line["packs"] for line in lines) / per_parcel)
    provisional = all(decision["provisional"] for decision in decisions)
    return {
        "supplier": supplier,
        "cutoff": cutoff,
        "delivery_date": delivery,
        "lines": lines,
        "freight": round(boxes * freight, 2),
        "total": round(max(goods, least) + boxes * freight, 2),
        "currency": currency,
        "text": _message(farm, delivery, lines, facts),
        "provisional": provisional,
    }


def _message(farm: str, delivery: str, lines: Sequence[Answer], facts: Facts) -> str:
    day = _day(delivery)
    wanted = [
        say(
            "{packs} {value} of {latin}, {pack_size} {form} each",
            packs=line["packs"],
            value="pack" if line["packs"] == 1 else "packs",
            latin=facts.species[line["enemy"]].latin,
            pack_size=line["pack_size"],
            form=line["form"],
        )
        for line in lines
    ]
    return "\n".join(
        [
            say("Please send to {farm} for delivery on {day:%A %-d %B %Y}:", farm=farm, day=day),
            *(f"- {text}" for text in wanted),
            say(
                "Please tell us packing date and lot, and what the label counts. No substitute without a "
                "call."
            ),
        ]
    )


def _ordered(made: Mapping[str, Any]) -> set[str]:
    return {decision["house"] for decision in made["decisions"]}


def _day(text: str) -> date:
    return date.fromisoformat(text[:10])


def _words(moment: str) -> str:
    when = datetime.fromisoformat(moment)
    return f"{when:%a %-d %b %H:%M}"
