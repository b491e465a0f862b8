"""This week for all houses of a farm: verdicts, tasks, orders due; the house that needs most comes first."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from datetime import date
from typing import Any

from outpace.facts.table import Facts
from outpace.language import say
from outpace.season.ahead import ahead
from outpace.season.house_sentence import sentence_of
from outpace.season.names import houses_of, pick_farm
from outpace.season.order import order
from outpace.season.plan import plan as plan_of
from outpace.season.tasks import due_orders, task
from outpace.terms.place import House
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
) -> tuple[Answer, dict[str, Answer]]:
    """Return this week and each house's forecast with the week's tasks in it, as sheets need them."""
    there = pick_farm(snapshot, farm)
    houses = houses_of(snapshot, there)

    def look(house: House) -> Answer:
        if progress:
            progress(say("looking ahead in {house}", house=house.house))
        return ahead(snapshot, house.house, farm=there.farm, facts=facts)

    # The kernel lets other threads run: one house computes while another is put into words. Each thread gets
    # the context of the asker, in which the language stands.
    with ThreadPoolExecutor(max_workers=TOGETHER, thread_name_prefix="house") as together:
        begun = {house.house: together.submit(copy_context().run, look, house) for house in houses}
        aheads = {name: each.result() for name, each in begun.items()}
    plan = plan_of(snapshot, farm=there.farm, facts=facts, others=False, progress=progress)
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
        "as_of": plan["as_of"],
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
    return answer, aheads


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
