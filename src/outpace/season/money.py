"""What enemies cost in a span of days: by house, by enemy, by invoice, with the hours that went into it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from outpace.currency import money as amount
from outpace.currency import money_rate
from outpace.errors import ExitCode, OutpaceError
from outpace.facts.table import Fact, load
from outpace.language import say, say_many
from outpace.measures import per_area
from outpace.planning.economics import acting_level, injury_level
from outpace.season.audit_tables import Within, within
from outpace.season.moments import day, local_iso
from outpace.season.names import houses_of, pick_farm, zone_of_farm
from outpace.season.words import weekday
from outpace.terms.enemies import Allocation, Banker, Lot, OrderLine, Release
from outpace.terms.place import Farm, House
from outpace.terms.scouting import Walk
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Spray

Answer = dict[str, Any]

NO_HOUSE = None
COUNTED = ("placed", "arrived")


def money(snapshot: Snapshot, first: str, last: str, *, farm: str | None = None) -> Answer:
    """Return what was spent on enemies in a span of days, and the hours of walks, releases and sprays.

    A line belongs to the day of its delivery. It is shared among houses as its lot was released, else as it was
    meant; what was neither belongs to no house. A line without a price is listed and never taken for nothing.
    """
    begins, ends = day(first, where="`--from`"), day(last, where="`--to`")
    if ends < begins:
        raise OutpaceError(
            say("{ends} lies before {begins}", ends=ends, begins=begins),
            where="`--to`",
            hint=say("swap them"),
            code=ExitCode.USAGE,
        )
    there = pick_farm(snapshot, farm)
    span = within(there, begins, ends)
    houses = houses_of(snapshot, there)
    lines = [
        row
        for row in snapshot.table(OrderLine)
        if row.farm == there.farm and row.status in COUNTED and begins <= row.delivery_date <= ends
    ]
    by_house: dict[str | None, float] = defaultdict(float)
    by_enemy: dict[str, list[float]] = defaultdict(lambda: [0, 0.0])
    invoices: dict[tuple[str, str], list[float]] = defaultdict(lambda: [0, 0.0, 0.0])
    unpriced = []
    packs = freight = 0.0
    for line in lines:
        if line.unit_price is None:
            unpriced.append(
                {"order": line.order, "line": line.line, "enemy": line.enemy, "packs": line.packs}
            )
        price, sent = (line.unit_price or 0.0) * line.packs, line.freight or 0.0
        packs, freight = packs + price, freight + sent
        by_enemy[line.enemy][0] += line.packs
        by_enemy[line.enemy][1] += price
        bill = invoices[line.supplier, line.invoice or ""]
        bill[0], bill[1], bill[2] = bill[0] + 1, bill[1] + price, bill[2] + sent
        for house, share in _shares(snapshot, there, line).items():
            by_house[house] += share * (price + sent)
    hours = _hours(snapshot, there, houses, span)
    labour = None if there.labour_per_h is None else sum(row["hours"] for row in hours) * there.labour_per_h
    goods = packs + freight
    area = sum(house.area_m2 for house in houses)
    return {
        "schema": "outpace.money/1",
        "sentence": _sentence(there, begins, ends, goods, area, len(unpriced)),
        "farm": there.farm,
        "currency": there.currency,
        "from": begins.isoformat(),
        "to": ends.isoformat(),
        "as_of": local_iso(snapshot.as_of, zone_of_farm(there)),
        "packs": packs,
        "freight": freight,
        "goods": goods,
        "labour": labour,
        "area_m2": area,
        "per_m2": goods / area if area else None,
        "houses": _houses(houses, by_house, hours, there.labour_per_h),
        "no_house": by_house.get(NO_HOUSE, 0.0),
        "enemies": [
            {"enemy": enemy, "packs": int(count), "money": spent}
            for enemy, (count, spent) in sorted(by_enemy.items())
        ],
        "invoices": [
            {
                "supplier": supplier,
                "invoice": number or None,
                "lines": int(count),
                "packs": spent,
                "freight": sent,
                "total": spent + sent,
            }
            for (supplier, number), (count, spent, sent) in sorted(invoices.items())
        ],
        "unpriced": unpriced,
        "hours": hours,
        "cautions": [
            *_without_order(snapshot, there, span),
            *_unknown_hours(snapshot, there, span),
            *_cautions(there, unpriced, invoices, hours),
        ],
        "facts": [_fact(fact) for fact in _facts()],
    }


def _shares(snapshot: Snapshot, farm: Farm, line: OrderLine) -> dict[str | None, float]:
    """Return which share of a line each house got; the shares add up to one."""
    lots = {lot.lot for lot in snapshot.table(Lot) if (lot.order, lot.line) == (line.order, line.line)}
    got: dict[str | None, float] = defaultdict(float)
    for row in snapshot.table(Release):
        if row.lot in lots and row.farm == farm.farm:
            got[row.house] += row.number
    if not sum(got.values()):
        for share in snapshot.table(Allocation):
            if (share.order, share.line, share.farm) == (line.order, line.line, farm.farm):
                got[share.house] += share.number
    whole = sum(got.values())
    return {house: number / whole for house, number in got.items()} if whole else {NO_HOUSE: 1.0}


def _facts() -> tuple[Fact, Fact]:
    facts = load()
    return facts.one("", "walk_minutes_per_100_m2"), facts.one("", "release_minutes_per_1000_m2")


def _fact(fact: Fact) -> Answer:
    return {
        "key": fact.key,
        "value": fact.value,
        "low": fact.low,
        "high": fact.high,
        "unit": fact.unit,
        "source": fact.source or None,
        "locator": fact.locator or None,
        "evidence": fact.evidence,
    }


def _hours(snapshot: Snapshot, farm: Farm, houses: Iterable[House], span: Within) -> list[Answer]:
    """Return hours by house: as written down where minutes were, else by the figure for its area, told apart."""
    walking, releasing = _facts()
    found = []
    for house in houses:
        walks = [
            row
            for row in snapshot.table(Walk)
            if (row.farm, row.house) == (farm.farm, house.house) and span.holds(row.time)
        ]
        let_go = [
            row
            for row in snapshot.table(Release)
            if (row.farm, row.house) == (farm.farm, house.house) and span.holds(row.time)
        ]
        releases = {row.time.astimezone(span.zone).date() for row in let_go}
        told = sum(row.minutes for row in walks if row.minutes is not None) / 60
        told += sum(row.minutes for row in let_go if row.minutes is not None) / 60
        told += sum(
            (_spray_hours(row) or 0.0) for row in _sprays(snapshot, farm, span) if row.house == house.house
        )
        told += sum(
            row.minutes / 60
            for row in _bankers(snapshot, farm, span)
            if row.house == house.house and row.minutes is not None
        )
        untold = sum(row.minutes is None for row in walks)
        guessed = untold * walking.value * house.area_m2 / 100 / 60
        # Whoever writes minutes down on a day of several releases writes down the whole round.
        by_area = releases - {
            row.time.astimezone(span.zone).date() for row in let_go if row.minutes is not None
        }
        guessed += len(by_area) * releasing.value * house.area_m2 / 1000 / 60
        found.append(
            {
                "house": house.house,
                "walks": len(walks),
                "releases": len(releases),
                "told": told,
                "reckoned": guessed,
                "hours": told + guessed,
            }
        )
    return found


def _houses(
    houses: Sequence[House], by_house: dict[str | None, float], hours: list[Answer], wage: float | None
) -> list[Answer]:
    worked = {row["house"]: row["hours"] for row in hours}
    return [
        {
            "house": house.house,
            "area_m2": house.area_m2,
            "goods": by_house.get(house.house, 0.0),
            "per_m2": by_house.get(house.house, 0.0) / house.area_m2,
            "hours": worked[house.house],
            "labour": None if wage is None else worked[house.house] * wage,
        }
        for house in houses
    ]


def _sentence(farm: Farm, first: date, last: date, goods: float, area: float, unpriced: int) -> str:
    per = (
        say(", {goods} {per}", goods=money_rate(goods / area, farm.currency), per=per_area()) if area else ""
    )
    missing = (
        say_many("; enter {n} missing price", "; enter {n} missing prices", unpriced) if unpriced else ""
    )
    return say(
        "{farm} spent {goods} on enemies and freight from {first} {year} to {last} {year2}{per}{missing}.",
        farm=farm.farm,
        goods=amount(goods, farm.currency),
        first=weekday(first),
        year=first.year,
        last=weekday(last),
        year2=last.year,
        per=per,
        missing=missing,
    )


def _sprays(snapshot: Snapshot, farm: Farm, span: Within) -> list[Spray]:
    return [row for row in snapshot.table(Spray) if row.farm == farm.farm and span.holds(row.start)]


def _without_order(snapshot: Snapshot, farm: Farm, span: Within) -> list[str]:
    """Return which lots came in without an order line: nobody told what they cost."""
    by_lot: dict[str, set[str]] = defaultdict(set)
    for row in snapshot.table(Release):
        by_lot[row.lot].add(row.farm)
    lots = [
        lot.lot
        for lot in snapshot.table(Lot)
        if lot.order is None
        and lot.arrived is not None
        and span.holds(lot.arrived)
        and (lot.lot not in by_lot or farm.farm in by_lot[lot.lot])
    ]
    if not lots:
        return []
    return [
        say_many(
            "{n} lot came without an order in the book: what it cost is not known and not in the sum ({names}).",
            "{n} lots came without an order in the book: what they cost is not known and not in the sum ({names}).",
            len(lots),
            names=", ".join(lots[:5]) + (" …" if len(lots) > 5 else ""),
        )
    ]


def _bankers(snapshot: Snapshot, farm: Farm, span: Within) -> list[Banker]:
    return [row for row in snapshot.table(Banker) if row.farm == farm.farm and span.holds(row.set_out)]


def _spray_hours(row: Spray) -> float | None:
    """Return the hours of a spray: as written down, else from its start to its end; None where neither is known."""
    if row.minutes is not None:
        return row.minutes / 60
    return None if row.end is None else (row.end - row.start).total_seconds() / 3600


def _unknown_hours(snapshot: Snapshot, farm: Farm, span: Within) -> list[str]:
    """Return which work went in without hours: no figure of the trade stands in for them."""
    sprays = sum(_spray_hours(row) is None for row in _sprays(snapshot, farm, span))
    bankers = sum(row.plants for row in _bankers(snapshot, farm, span) if row.minutes is None)
    told = []
    if sprays:
        told.append(
            say_many(
                "{n} spray has neither an end nor minutes: its hours are unknown and not in the labour. "
                "`outpace spray add HOUSE --spray KEY --minutes N` enters them.",
                "{n} sprays have neither an end nor minutes: their hours are unknown and not in the labour. "
                "`outpace spray add HOUSE --spray KEY --minutes N` enters them.",
                sprays,
            )
        )
    if bankers:
        told.append(
            say_many(
                "{n} banker plant was set out without minutes: its hours are unknown and not in the labour. "
                "`outpace banker add HOUSE --plants N --name NAME --minutes N --correct` enters them.",
                "{n} banker plants were set out without minutes: their hours are unknown and not in the labour. "
                "`outpace banker add HOUSE --plants N --name NAME --minutes N --correct` enters them.",
                bankers,
            )
        )
    return told


def _cautions(farm: Farm, unpriced: Sequence[Any], invoices: Any, hours: Sequence[Answer]) -> list[str]:
    told = []
    if unpriced:
        told.append(say("A line without a price counts as nothing here and did cost something: enter it."))
    if any(not number for _, number in invoices):
        told.append(say("Some lines have no invoice number: they cannot be held against a bill."))
    if farm.labour_per_h is None:
        told.append(
            say("What an hour costs is not told (`outpace farm NAME --labour`): hours are not in money.")
        )
    if any(row["reckoned"] for row in hours):
        told.append(
            say(
                "Hours that nobody wrote down are reckoned by area from figures of the trade; your own "
                "beat them."
            )
        )
    told.append(say("Losses that did not happen are not here: there is no untreated house to compare with."))
    return told


def level(
    *,
    cost: float,
    value: float,
    loss: float,
    aphids: float,
    prevented: float = 1.0,
    growth_per_d: float | None = None,
    delay_d: float | None = None,
    currency: str = "",
) -> Answer:
    """Return the economic injury level from a grower's own figures, with its formula.

    Parameters
    ----------
    cost, value : float
        Of acting once and of the crop, both for the same area. [money]
    loss : float
        Share of the crop that so many ``aphids`` (per the unit that is counted) cost.
    prevented : float
        Share of that loss which acting prevents.
    """
    try:
        found = injury_level(cost, value, loss / aphids, prevented)
    except (ValueError, ZeroDivisionError) as error:
        raise OutpaceError(
            str(error), hint=say("give money and aphids above 0, shares between 0 and 1"), code=ExitCode.USAGE
        ) from error
    act = None if growth_per_d is None or delay_d is None else acting_level(found, growth_per_d, delay_d)
    told = (
        ""
        if act is None
        else say("; act at {act:,.3g}, since help takes {delay_d:g} days", act=act, delay_d=delay_d)
    )
    return {
        "schema": "outpace.level/1",
        "sentence": say(
            "Acting pays from {found:,.3g} aphids in the unit you count{told}.", found=found, told=told
        ),
        "formula": "EIL = C / (V · I·D · K)",
        "figures": {"C": cost, "V": value, "I·D": loss / aphids, "K": prevented},
        "injury_level": found,
        "acting_level": act,
        "currency": currency or None,
        "cautions": [
            say(
                "It holds for damage that rises in a straight line with the aphids: not for a virus, "
                "sticky fruit or a buyer who takes none."
            ),
            say("Your own figures decide it; no published threshold for these crops under cover was found."),
        ],
    }
