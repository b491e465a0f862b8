"""This week for all houses of a farm: verdicts, tasks, orders due; the house that needs most comes first."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from datetime import date
from typing import Any

from outpace.facts.table import Facts
from outpace.language import say
from outpace.season.ahead import ahead
from outpace.season.house_sentence import sentence_of
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm
from outpace.season.order import order
from outpace.season.plan import plan as plan_of
from outpace.season.plan_of_day import Since, keep_plan, standing_plan
from outpace.season.tasks import due_orders, task
from outpace.season.week_part import part_of
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]
Progress = Callable[[str], None]

RANK = {"Losing": 0, None: 1, "Unclear": 2, "Holding": 3}
BY_HAND_MINUTES = 30
TOGETHER = 2
"""Houses looked at side by side; of no effect on the numbers."""


def week(
    snapshot: Snapshot,
    *,
    farm: str | None = None,
    facts: Facts | None = None,
    progress: Progress | None = None,
) -> Answer:
    """Return this week as the answer ``outpace.week/1``; the house that needs most comes first."""
    return week_with_houses(snapshot, farm=farm, facts=facts, progress=progress)[0]


def week_with_houses(
    snapshot: Snapshot,
    *,
    farm: str | None = None,
    facts: Facts | None = None,
    progress: Progress | None = None,
    head: str = "",
) -> tuple[Answer, dict[str, Answer]]:
    """Return this week and each house's forecast with the week's tasks in it, as sheets need them.

    Parameters
    ----------
    head : str, optional
        Of the whole book: with it the plan is kept for the sheets of single houses, see `week_of_houses`.
    """
    there = pick_farm(snapshot, farm)
    houses = houses_of(snapshot, there)
    aheads = _looked_ahead(snapshot, there, houses, facts, progress)
    plan = _planned(snapshot, there, facts, progress, head)
    return _told(snapshot, there, houses, aheads, plan, facts), aheads


def week_of_houses(
    snapshot: Snapshot,
    names: Sequence[str],
    *,
    farm: str | None = None,
    progress: Progress | None = None,
    head: str,
    since: Since,
) -> tuple[Answer, dict[str, Answer]]:
    """Return the week of some houses alone and their forecasts: no other house is looked ahead in.

    What the plan asks for comes from the last plan of the day while it stands, see `plan_of_day`. Where anything was
    entered since, ``plan_of`` of the week and of each forecast says of what moment it is. Else the plan of the whole
    farm is worked out.

    Parameters
    ----------
    head : str
        Of the whole book.
    since : callable
        Returns what was written to since a head.
    """
    there = pick_farm(snapshot, farm)
    houses = tuple(dict.fromkeys(pick_house(snapshot, there, name) for name in names))
    aheads = _looked_ahead(snapshot, there, houses, None, progress)
    found = standing_plan(snapshot, there, head, since)
    plan, older = found or (_planned(snapshot, there, None, progress, head), False)
    answer = part_of(
        _told(snapshot, there, houses, aheads, plan, None),
        [house.house for house in houses_of(snapshot, there)],
        list(aheads),
    )
    if older:
        for told in (answer, *aheads.values()):
            told["plan_of"] = plan["as_of"]
    return answer, aheads


def _looked_ahead(
    snapshot: Snapshot,
    there: Farm,
    houses: Sequence[House],
    facts: Facts | None,
    progress: Progress | None,
) -> dict[str, Answer]:
    def look(house: House) -> Answer:
        if progress:
            progress(say("looking ahead in {house}", house=house.house))
        return ahead(snapshot, house.house, farm=there.farm, facts=facts)

    # The kernel lets other threads run: one house computes while another is put into words. Each thread gets
    # the context of the asker, in which the language stands.
    with ThreadPoolExecutor(max_workers=TOGETHER, thread_name_prefix="house") as together:
        begun = {house.house: together.submit(copy_context().run, look, house) for house in houses}
        return {name: each.result() for name, each in begun.items()}


def _planned(
    snapshot: Snapshot, there: Farm, facts: Facts | None, progress: Progress | None, head: str
) -> Answer:
    plan = plan_of(snapshot, farm=there.farm, facts=facts, others=False, progress=progress)
    if head and facts is None:
        keep_plan(plan, snapshot, there, head)
    return plan


def _told(
    snapshot: Snapshot,
    there: Farm,
    houses: Sequence[House],
    aheads: dict[str, Answer],
    plan: Answer,
    facts: Facts | None,
) -> Answer:
    """Return the week of some houses of a farm by its plan; the tasks of the plan go into their forecasts too."""
    orders = order(snapshot, farm=there.farm, facts=facts, plan=plan)
    rows = []
    for house in houses:
        told = aheads[house.house]
        today = date.fromisoformat(told["as_of"][:10])
        extra = due_orders(orders["orders"], house.house, today)
        hopeless = next((item for item in plan["infeasible"] if item["house"] == house.house), None)
        if hopeless is not None and told["verdict"]["word"] != "Holding" and told["verdict"]["word"]:
            extra.append(task(today, "squash", hopeless["today"][0], BY_HAND_MINUTES, f"{hopeless['why']}"))
        told["tasks"] = sorted([*told["tasks"], *extra], key=lambda item: (item["day"], item["kind"]))
        told["sentence"] = sentence_of(told, told["tasks"])
        rows.append(_row(told, house.area_m2))
    rows.sort(key=lambda row: (RANK[row["verdict_word"]], row["ends_well"] or 0.0, row["house"]))
    answer: Answer = {
        "schema": "outpace.week/1",
        "as_of": snapshot.as_of.astimezone(zone_of_farm(there)).isoformat(timespec="seconds"),
        "farm": there.farm,
        "currency": there.currency,
        "book_head": snapshot.head,
        "houses": rows,
        "orders_due": [
            {
                "supplier": item["supplier"],
                "cutoff": item["cutoff"],
                "delivery_date": item["delivery_date"],
                "text": item["text"],
            }
            for item in orders["orders"]
            if not item["provisional"]
        ],
        "cautions": plan["cautions"],
        "studied": plan.get("studied", []),
    }
    answer["sentence"] = (
        rows[0]["sentence"] if rows else say("Add a first house today: `outpace house NAME`.")
    )
    return answer


def _row(told: Answer, area_m2: float) -> Answer:
    binding = told["binding"]
    pest = None
    if binding is not None:
        pest = next(
            item
            for item in told["pests"]
            if (item["pest"], item["zone"]) == (binding["pest"], binding["zone"])
        )
    now = pest["days"][0]["aphids"] if pest else None
    walks = [walk["date"] for walk in told["walks"]]
    return {
        "house": told["house"],
        "crop": told["crop"],
        "area_m2": area_m2,
        "verdict": told["verdict"]["word"],
        "verdict_word": told["verdict"]["word"],
        "sentence": told["sentence"],
        "last_walk": max(walks) if walks else None,
        "data_age_d": told["data_age_d"],
        "stays_below": told["verdict"]["stays_below"],
        "ends_well": told["verdict"]["ends_well"],
        "pest": pest["pest"] if pest else None,
        "per": pest["unit"] if pest else None,
        "mean_now": {"mean": now["q50"], "low": now["q05"], "high": now["q95"]} if now else None,
        "action_level": pest["action_level"] if pest else None,
        "tasks": told["tasks"],
    }
