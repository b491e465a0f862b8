"""Standing orders: a rhythm ordered ahead, each delivery of which can be changed until its own cut-off."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.facts.table import load
from outpace.language import long_date, say, say_many
from outpace.planning.delivery_calendar import Slot, slots
from outpace.season.enter import Entered, key_from
from outpace.season.moments import day as day_of_words
from outpace.season.names import pick_farm, pick_house, zone_of_farm
from outpace.season.offers import packs_in_force
from outpace.season.sprayed import release_hold, sprays_of
from outpace.season.words import weekday
from outpace.terms.enemies import Allocation, Lot, OrderLine, Pack
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Permit

LONGEST_D = 366
MOST_DELIVERIES = 52
EARLY_D = 2
"""A delivery so many days before the rhythm asks for one still keeps it, as the calendars of the trade do."""


def standing_from_words(
    snapshot: Snapshot,
    house: str,
    *,
    enemy: str,
    packs: int,
    deliveries: int,
    every_d: int = 7,
    pack_size: int | None = None,
    supplier: str | None = None,
    first: str | None = None,
    farm: str | None = None,
) -> Entered:
    """Return the orders of a standing order: the same packs for a house on each of so many deliveries.

    Parameters
    ----------
    every_d : int
        Days from one delivery to the next; the supplier's own days of delivery come nearest.
    first : str, optional
        The first delivery comes on this day or later; the next one that can be ordered where not told.

    Raises
    ------
    OutpaceError
        If no pack on offer is meant, or more than one, or there are not so many deliveries to order.
    """
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    zone = zone_of_farm(there)
    now = snapshot.as_of.astimezone(zone).replace(tzinfo=None)
    for option, value, most in (
        ("--packs", packs, 10_000),
        ("--deliveries", deliveries, MOST_DELIVERIES),
        ("--every", every_d, LONGEST_D),
    ):
        if not 1 <= value <= most:
            raise OutpaceError(
                f"{value}",
                where=f"`{option}`",
                allowed=say("1 to {most}", most=most),
                code=ExitCode.USAGE,
            )
    pack = _pack(snapshot, load().resolve(enemy, "enemy"), pack_size, supplier, now.date())
    begins = now.date() if first is None else day_of_words(first, where="`--from`")
    chosen = _every(slots(pack, now, begins + timedelta(days=LONGEST_D)), begins, every_d, deliveries)
    if len(chosen) < deliveries:
        raise OutpaceError(
            say("{n} deliveries can be ordered ahead, not {asked}", n=len(chosen), asked=deliveries),
            where="`--deliveries`",
            hint=say("ask for fewer, or for an earlier first day"),
            code=ExitCode.USAGE,
        )
    placed = snapshot.as_of.astimezone(UTC).replace(microsecond=0)
    rows: list[Any] = []
    for slot in chosen:
        name = key_from(
            f"standing {pack.supplier}",
            there.farm,
            place.house,
            pack.enemy,
            pack.form,
            pack.pack_size,
            slot.delivery,
        )
        rows += [
            OrderLine(
                order=name,
                line=1,
                farm=there.farm,
                placed=placed,
                supplier=pack.supplier,
                enemy=pack.enemy,
                form=pack.form,
                packs=packs,
                pack_size=pack.pack_size,
                delivery_date=slot.delivery,
                status="placed",
                unit_price=pack.price,
                freight=pack.freight_per_parcel,
            ),
            Allocation(
                order=name,
                line=1,
                farm=there.farm,
                house=place.house,
                release_date=slot.delivery,
                number=packs * pack.pack_size,
            ),
        ]
    known = {(row.order, row.line) for row in snapshot.table(OrderLine)}
    if all((row.order, row.line) in known for row in rows if isinstance(row, OrderLine)):
        raise OutpaceError(
            say("these deliveries are ordered already"),
            hint=say("`outpace order change` changes one of them"),
        )
    sentence = say_many(
        "Standing order: {packs} × {size} {enemy} for {house}, {n} delivery, from {first} to {last}.",
        "Standing order: {packs} × {size} {enemy} for {house}, {n} deliveries, from {first} to {last}.",
        len(chosen),
        packs=packs,
        size=pack.pack_size,
        enemy=load().species[pack.enemy].latin,
        house=place.house,
        first=weekday(chosen[0].delivery),
        last=weekday(chosen[-1].delivery),
    )
    return Entered(rows, sentence, tuple(_cautions(snapshot, there, place.house, pack, packs, chosen)))


def change_from_words(
    snapshot: Snapshot,
    order: str,
    *,
    packs: int,
    line: int | None = None,
    farm: str | None = None,
) -> Entered:
    """Return an ordered delivery with other packs, none of them cancelling it; only until its cut-off.

    Raises
    ------
    OutpaceError
        If there is no such order, it came already, its cut-off has passed or is not known.
    """
    there = pick_farm(snapshot, farm)
    if packs < 0:
        raise OutpaceError(
            f"{packs}", where="`--packs`", allowed=say("0 or more; 0 cancels it"), code=ExitCode.USAGE
        )
    row = _line(snapshot, there, order, line)
    if any((lot.order, lot.line) == (row.order, row.line) for lot in snapshot.table(Lot)):
        raise OutpaceError(
            say("this parcel has arrived: what came stands"),
            where=row.order,
            hint=say("correct its lot with `outpace arrival record`"),
            code=ExitCode.USAGE,
        )
    cutoff = cutoff_of(snapshot, there, row)
    now = snapshot.as_of.astimezone(zone_of_farm(there)).replace(tzinfo=None)
    if cutoff is None or cutoff < now:
        raise OutpaceError(
            say("its cut-off has passed: what is ordered is fixed")
            if cutoff is not None or row.delivery_date <= now.date()
            else say("its cut-off is not known, or has passed: what is ordered is fixed"),
            where=row.order,
            hint=say("call the supplier; if they agree, correct the row on the page of the book"),
            code=ExitCode.USAGE,
        )
    changed = dataclasses.replace(row, packs=packs or row.packs, status="placed" if packs else "cancelled")
    rows: list[Any] = [changed]
    if packs:
        rows += [
            dataclasses.replace(part, number=round(part.number * packs / row.packs))
            for part in snapshot.table(Allocation)
            if (part.order, part.line, part.farm) == (row.order, row.line, there.farm)
        ]
    enemy = load().species[row.enemy].latin
    if packs:
        sentence = say(
            "{day}: {packs} × {size} {enemy} instead of {before}; tell {supplier} before {cutoff}.",
            day=weekday(row.delivery_date),
            packs=packs,
            size=row.pack_size,
            enemy=enemy,
            before=row.packs,
            supplier=row.supplier,
            cutoff=f"{cutoff:%a %-d %b %H:%M}",
        )
    else:
        sentence = say(
            "{day}: {packs} × {size} {enemy} cancelled; tell {supplier} before {cutoff}.",
            day=weekday(row.delivery_date),
            packs=row.packs,
            size=row.pack_size,
            enemy=enemy,
            supplier=row.supplier,
            cutoff=f"{cutoff:%a %-d %b %H:%M}",
        )
    return Entered(
        rows, sentence, (say("Nothing was sent from here: the supplier knows of it when you tell them."),)
    )


def cutoff_of(snapshot: Snapshot, farm: Farm, row: OrderLine) -> datetime | None:
    """Return until when an ordered delivery can still be changed, by the farm's clock; None where that is over.

    None too where the pack is no longer on offer, for then nobody can tell.
    """
    now = snapshot.as_of.astimezone(zone_of_farm(farm)).replace(tzinfo=None)
    for pack in packs_in_force(snapshot, now.date()):
        if (pack.supplier, pack.enemy, pack.form, pack.pack_size) == (
            row.supplier,
            row.enemy,
            row.form,
            row.pack_size,
        ):
            for slot in slots(pack, now, row.delivery_date):
                if slot.delivery == row.delivery_date:
                    return slot.cutoff
    return None


def open_lines(snapshot: Snapshot, farm: Farm) -> list[OrderLine]:
    """Return the lines that are ordered and not here yet, the first delivery first."""
    came = {(lot.order, lot.line) for lot in snapshot.table(Lot) if lot.arrived is not None}
    today = snapshot.as_of.astimezone(zone_of_farm(farm)).date()
    return sorted(
        (
            row
            for row in snapshot.table(OrderLine)
            if row.farm == farm.farm
            and row.status == "placed"
            and (row.order, row.line) not in came
            and row.delivery_date >= today
        ),
        key=lambda row: (row.delivery_date, row.supplier, row.order, row.line),
    )


def _pack(snapshot: Snapshot, enemy: str, pack_size: int | None, supplier: str | None, today: date) -> Pack:
    found = [
        pack
        for pack in packs_in_force(snapshot, today)
        if pack.enemy == enemy
        and pack_size in (None, pack.pack_size)
        and (supplier is None or pack.supplier.casefold() == supplier.strip().casefold())
    ]
    latin = load().species[enemy].latin
    told = "; ".join(f"{pack.supplier}, {pack.pack_size} {pack.form}" for pack in found)
    if not found:
        raise OutpaceError(
            say("no such pack of {enemy} is on offer", enemy=latin),
            hint=say("bring in the price list of your supplier with `outpace book import packs.csv`"),
            code=ExitCode.USAGE,
        )
    if len(found) > 1:
        raise OutpaceError(
            say("{n} packs of {enemy} are on offer: which one?", n=len(found), enemy=latin),
            allowed=told,
            hint=say("add `--size N` or `--supplier NAME`"),
            code=ExitCode.USAGE,
        )
    return found[0]


def _every(found: Sequence[Slot], first: date, every_d: int, most: int) -> list[Slot]:
    """Return the deliveries that keep the rhythm, from the first day on."""
    chosen: list[Slot] = []
    for slot in found:
        if len(chosen) == most:
            break
        due = first if not chosen else chosen[-1].delivery + timedelta(days=max(1, every_d - EARLY_D))
        if slot.delivery >= due:
            chosen.append(slot)
    return chosen


def _line(snapshot: Snapshot, farm: Farm, order: str, line: int | None) -> OrderLine:
    rows = [row for row in snapshot.table(OrderLine) if row.farm == farm.farm and row.status == "placed"]
    found = [row for row in rows if row.order == order.strip()] or [
        row for row in rows if order.strip() and row.order.startswith(order.strip())
    ]
    found = [row for row in found if line in (None, row.line)]
    if len(found) == 1:
        return found[0]
    known = ", ".join(f"{row.order} ({row.line})" for row in open_lines(snapshot, farm)[:8])
    raise OutpaceError(
        say("no placed order {order}", order=repr(order))
        if not found
        else say("more than one line is meant by {order}", order=repr(order)),
        allowed=say("known: {known}", known=known) if known else say("nothing is on order"),
        hint=say("`outpace order open` lists them; add `--line N` where an order has several"),
        code=ExitCode.USAGE,
    )


def _cautions(
    snapshot: Snapshot, farm: Farm, house: str, pack: Pack, packs: int, chosen: Sequence[Slot]
) -> list[str]:
    told = [
        say(
            "Send this to {supplier}: {packs} × {size} {enemy}, {form}, on {days}. Nothing was sent from here.",
            supplier=pack.supplier,
            packs=packs,
            size=pack.pack_size,
            enemy=load().species[pack.enemy].latin,
            form=say(pack.form),
            days=", ".join(long_date(slot.delivery) for slot in chosen),
        ),
        say("Each delivery can be changed until its own cut-off: look at it after every walk."),
        say(
            "By itself a steady rhythm does no better than a calendar: the plan tells when to leave one out."
        ),
    ]
    if pack.minimum_order_packs and packs < pack.minimum_order_packs:
        told.append(say("The supplier asks for at least {n} packs in an order.", n=pack.minimum_order_packs))
    if pack.minimum_order_money and packs * pack.price < pack.minimum_order_money:
        told.append(
            say(
                "The supplier asks for at least {money:.2f} {currency} in an order.",
                money=pack.minimum_order_money,
                currency=farm.currency,
            )
        )
    place = pick_house(snapshot, farm, house)
    sprays = sprays_of(snapshot, load(), farm, place)
    held = [slot for slot in chosen if release_hold(sprays, slot.delivery) is not None]
    if held:
        told.append(
            say(
                "A spray holds releases back there on {days}: leave those out or send them elsewhere.",
                days=", ".join(long_date(slot.delivery) for slot in held),
            )
        )
    if not any(
        row.enemy == pack.enemy and row.seen for row in snapshot.table(Permit) if row.farm == farm.farm
    ):
        told.append(
            say("Before the first order of an enemy: look up the permit or list entry of your country.")
        )
    return told
