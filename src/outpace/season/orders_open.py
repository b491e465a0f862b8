"""What is on order and not here yet: what is fixed, what can still be changed, and what leaving it out would do."""

from __future__ import annotations

from dataclasses import replace
from math import floor
from typing import Any

from outpace.facts.table import Facts, load
from outpace.language import say, say_many
from outpace.planning.course import Fate, fate
from outpace.season.names import pick_farm, pick_house, zone_of_farm
from outpace.season.orders_ahead import cutoff_of, open_lines
from outpace.season.outlook import Outlook, for_planning, outlook
from outpace.season.released import OnTheWay
from outpace.season.words import percent, weekday
from outpace.simulation.model import Release
from outpace.terms.enemies import Allocation, OrderLine
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]

HORIZON_D = 28


def open_orders(snapshot: Snapshot, *, farm: str | None = None, facts: Facts | None = None) -> Answer:
    """Return what is on order as the answer ``outpace.openorders/1``.

    Of each house the next delivery that can still be changed is tried with and without, on the same luck.
    """
    there = pick_farm(snapshot, farm)
    zone = zone_of_farm(there)
    rows, tried = [], set[str]()
    for line in open_lines(snapshot, there):
        cutoff = cutoff_of(snapshot, there, line)
        houses = _houses(snapshot, there, line)
        for item in houses:
            item["without"] = None
            if cutoff is not None and item["house"] not in tried:
                tried.add(item["house"])
                item["without"] = without(snapshot, there, item["house"], line, facts)
        rows.append(
            {
                "order": line.order,
                "line": line.line,
                "supplier": line.supplier,
                "enemy": line.enemy,
                "form": line.form,
                "packs": line.packs,
                "pack_size": line.pack_size,
                "delivery_date": str(line.delivery_date),
                "cutoff": None if cutoff is None else cutoff.isoformat(timespec="minutes"),
                "changeable": cutoff is not None,
                "money": None if line.unit_price is None else round(line.unit_price * line.packs, 2),
                "houses": houses,
            }
        )
    return {
        "schema": "outpace.openorders/1",
        "as_of": snapshot.as_of.astimezone(zone).isoformat(timespec="seconds"),
        "farm": there.farm,
        "currency": there.currency,
        "horizon_d": HORIZON_D,
        "sentence": _sentence(rows, str(snapshot.as_of.astimezone(zone).date())),
        "orders": rows,
        "cautions": [
            say("What is past its cut-off is fixed: the plan counts on it."),
            say("Nothing is sent from here: tell the supplier of every change before the cut-off."),
        ],
    }


def without(
    snapshot: Snapshot, farm: Farm, house: str, line: OrderLine, facts: Facts | None = None
) -> Answer | None:
    """Return the chance above the level with a delivery and without it; None where no fresh walk tells."""
    found = outlook(snapshot, farm, pick_house(snapshot, farm, house), facts=facts)
    if found.case.rows.last is None or found.stale:
        return None
    planner = for_planning(found, HORIZON_D)
    levels = [level.value for level in found.case.levels]
    kept = fate(planner, levels)
    left_out = fate(planner, levels, committed=_but(found, planner.committed, line))
    risk = farm.risk if farm.risk is not None else found.case.facts.one("", "accepted_risk").value
    return {
        "chance_with": round(kept.chance_ever_above, 3),
        "chance_without": round(left_out.chance_ever_above, 3),
        "leave_out": left_out.chance_ever_above <= risk and _near(kept, left_out),
        "risk": risk,
    }


def _near(kept: Fate, left_out: Fate) -> bool:
    """Return whether leaving it out costs at most two points of chance: less cannot be told from the luck of draws."""
    return left_out.chance_ever_above - kept.chance_ever_above <= 0.02


def _but(found: Outlook, committed: tuple[Release, ...], line: OrderLine) -> tuple[Release, ...]:
    """Return what is on its way less one line; of several lines of an enemy on a day its share by number."""
    case = found.case

    def same_day(item: OnTheWay) -> int:
        return max(int(case.day_of(item.release_date)), case.today)

    mine = [
        item for item in case.let_go.coming if (item.line.order, item.line.line) == (line.order, line.line)
    ]
    kept = list(committed)
    for item in mine:
        if item.line.enemy not in case.model.agents:
            continue
        index, day = case.model.agents.index(item.line.enemy), same_day(item)
        beside = [
            other
            for other in case.let_go.coming
            if other.line.enemy == item.line.enemy and same_day(other) == day
        ]
        share = item.number / max(sum(other.number for other in beside), 1)
        kept = [
            replace(one, number=one.number * (1 - share))
            if one.enemy == index and floor(one.day) == day
            else one
            for one in kept
        ]
    return tuple(one for one in kept if one.number > 1e-9)


def _houses(snapshot: Snapshot, farm: Farm, line: OrderLine) -> list[Answer]:
    parts: dict[str, int] = {}
    for row in snapshot.table(Allocation):
        if (row.order, row.line, row.farm) == (line.order, line.line, farm.farm):
            parts[row.house] = parts.get(row.house, 0) + row.number
    return [{"house": house, "number": number} for house, number in sorted(parts.items())]


def leave_out_words(row: Answer, house: str, told: Answer) -> str:
    """Return whether a delivery that can still be changed may be left out of a house, in one sentence."""
    said = {
        "packs": row["packs"],
        "size": row["pack_size"],
        "enemy": load().species[row["enemy"]].latin,
        "day": weekday(row["delivery_date"]),
        "house": house,
        "cutoff": f"{weekday(row['cutoff'])}, {row['cutoff'][11:16]}",
        "without": percent(told["chance_without"]),
        "kept": percent(told["chance_with"]),
    }
    if told["leave_out"]:
        return say(
            "Leave out the {packs} × {size} {enemy} of {day} in {house}, until {cutoff}: {without} chance above "
            "your level without them, {kept} with them.",
            **said,
        )
    return say(
        "Keep the {packs} × {size} {enemy} of {day} in {house}, changeable until {cutoff}: {without} chance above "
        "your level without them, {kept} with them.",
        **said,
    )


def _sentence(rows: list[Answer], today: str) -> str:
    for row in rows:
        for item in row["houses"]:
            if item["without"] is not None:
                return leave_out_words(row, item["house"], item["without"])
    if rows:
        first = rows[0]
        return (
            say_many(
                "Expect {n} pack of {enemy} on {day}: it is fixed.",
                "Expect {n} packs of {enemy} on {day}: they are fixed.",
                first["packs"],
                enemy=load().species[first["enemy"]].latin,
                day=weekday(first["delivery_date"]),
            )
            if not first["changeable"]
            else say(
                "Look at the order for {day} before {cutoff}: {packs} packs can still be changed.",
                day=weekday(first["delivery_date"]),
                cutoff=weekday(first["cutoff"]),
                packs=first["packs"],
            )
        )
    return say("Expect nothing on {day}: 0 packs are on order.", day=weekday(today))
