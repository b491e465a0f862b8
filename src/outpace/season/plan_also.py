"""What bears on a plan beside its packs, a line each: changing course, bankers, the enemy that fits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

from outpace.facts.table import Facts
from outpace.language import say
from outpace.season.banker_plan import banker_plan
from outpace.season.course import course
from outpace.season.farm_packs import Planned
from outpace.season.judged import house_verdicts
from outpace.season.names import houses_of
from outpace.season.observed import UNKNOWN as UNNAMED
from outpace.season.orders_open import leave_out_words, open_orders
from outpace.season.words import percent
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]
Topic = Literal["course", "enemies", "bankers", "standing", "dear"]

LOSING = "Losing"
NEARLY = 0.05  # so much more chance above the level is told as nearly the same
DEAR = 0.5  # where a plan of at most so much of the cost does nearly as well


def also_told(
    snapshot: Snapshot,
    farm: Farm,
    planned: Sequence[Planned],
    instead: Sequence[Answer],
    frontier: Sequence[Answer],
    facts: Facts | None,
) -> list[Answer]:
    """Return one line a topic and house, only where it bears.

    Courses are weighed where no packs hold the house or its verdict is Losing; bankers are named for the house that
    has to order first, or has to take them out. Where work on the worst plants alone does as well as the packs for less
    money, that is said, and so is a plan at half the cost or less that does nearly as well.
    """
    told = [
        line("course", item.name, course(snapshot, item.name, farm=farm.farm, facts=facts)["sentence"])
        for item in planned
        if not item.done.feasible or _is_losing(item)
    ]
    told += [
        line("course", house, text)
        for house, text in _by_hand_as_well(instead, farm.currency)
        if house not in {item["house"] for item in told}
    ]
    told += [line("dear", house, text) for house, text in _nearly_as_well(instead, frontier, farm.currency)]
    told += [
        line(
            "enemies",
            item.name,
            say("Name the aphid of {house}: what fits several, and how to find out.", house=item.name),
        )
        for item in planned
        if UNNAMED in item.found.case.model.pests
    ]
    told += [
        line("standing", "", leave_out_words(row, item["house"], item["without"]))
        for row in open_orders(snapshot, farm=farm.farm, facts=facts)["orders"]
        for item in row["houses"]
        if item["without"] is not None and item["house"] in {one.name for one in planned}
    ]
    bankers = banker_plan(snapshot, farm=farm.farm, facts=facts)
    mine = {item.name for item in planned}
    rows = [row for row in bankers["houses"] if row["house"] in mine]
    if any(row["withdraw_now"] or (row["serves"] and not row["standing"]) for row in rows) and len(
        rows
    ) == len(houses_of(snapshot, farm)):
        told.append(line("bankers", "", bankers["sentence"]))
    return told


def _by_hand_as_well(instead: Sequence[Answer], currency: str) -> list[tuple[str, str]]:
    """Return the houses in which hands do no worse than the packs of the plan, and cost less, with what is said."""
    rows = {(row["house"], row["key"]): row for row in instead}
    found = []
    for (house, key), hand in rows.items():
        plan = rows.get((house, "plan"))
        if key != "hand" or plan is None or not plan["cost"] or hand["cost"] is None:
            continue
        if hand["cost"] < plan["cost"] and hand["chance_ever_above"] <= plan["chance_ever_above"]:
            found.append(
                (
                    house,
                    say(
                        "By hand may do as well in {house}: {hours:.1f} hours on the worst plants today, "
                        "{money:.2f} {currency} of work, leave {chance} chance above your level; the packs leave "
                        "{other}.",
                        house=house,
                        hours=hand["hours"],
                        money=hand["cost"],
                        currency=currency,
                        chance=percent(hand["chance_ever_above"]),
                        other=percent(plan["chance_ever_above"]),
                    ),
                )
            )
    return found


def _nearly_as_well(
    instead: Sequence[Answer], frontier: Sequence[Answer], currency: str
) -> list[tuple[str, str]]:
    """Return the houses whose last points of chance are dear, with the much cheaper plan that does nearly as well.

    Examples
    --------
    >>> frontier = [
    ...     {"house": "bay 2", "cost": cost, "chance_ever_above": {"bay 2": chance}}
    ...     for cost, chance in ((0.0, 0.4), (281.0, 0.19), (420.0, 0.18), (1560.0, 0.17))
    ... ]
    >>> plan = {"house": "bay 2", "key": "plan", "cost": 1560.0, "chance_ever_above": 0.17}
    >>> [text[:71] for _, text in _nearly_as_well([plan], frontier, "EUR")]
    ['The last points are dear in bay 2: 281.00 EUR would leave 19 % chance a']
    >>> _nearly_as_well([plan | {"cost": 400.0}], frontier, "EUR")
    []
    """
    found = []
    for plan in instead:
        house, chance = plan["house"], plan["chance_ever_above"]
        if plan["key"] != "plan" or not plan["cost"]:
            continue
        near = [
            (row["cost"], row["chance_ever_above"][house])
            for row in frontier
            if row["house"] == house
            and row["cost"] <= DEAR * plan["cost"]
            and row["chance_ever_above"][house] <= chance + NEARLY
        ]
        if near:
            near_plan = min(near)
            found.append((house, _dear_words(house, near_plan, plan, currency)))
    return found


def _dear_words(house: str, near: tuple[float, float], plan: Answer, currency: str) -> str:
    money, other = near
    told = {
        "house": house,
        "currency": currency,
        "other": percent(other),
        "all_money": plan["cost"],
        "chance": percent(plan["chance_ever_above"]),
    }
    if not money:
        return say(
            "The last points are dear in {house}: buying nothing would leave {other} chance above your level, the "
            "{all_money:.2f} {currency} of the plan leave {chance}.",
            **told,
        )
    return say(
        "The last points are dear in {house}: {money:.2f} {currency} would leave {other} chance above your level, the "
        "{all_money:.2f} {currency} of the plan leave {chance}.",
        money=money,
        **told,
    )


def line(topic: Topic, house: str, text: str) -> Answer:
    """Return one line: its topic, the house it is of, empty for the farm, and the sentence."""
    return {"topic": topic, "house": house, "text": text}


def _is_losing(item: Planned) -> bool:
    if item.found.stale:
        return False
    return any(level.word == LOSING for level in house_verdicts(item.found)[1])
