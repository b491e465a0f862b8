"""An order made by hand, as by telephone, and the invoice that came for one: rows of the book."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from outpace.currency import money
from outpace.errors import ExitCode, OutpaceError
from outpace.facts import table as facts_table
from outpace.language import long_date, say, say_many
from outpace.season.enter import Entered, key_from, plain_name
from outpace.season.moments import day, moment
from outpace.season.names import pick_farm, pick_house, zone_of_farm
from outpace.season.offers import packs_in_force
from outpace.season.plan_words import care_of
from outpace.terms.enemies import Allocation, OrderLine, Pack
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot


def order_from_words(
    snapshot: Snapshot,
    told: Mapping[str, Any],
    *,
    delivery: str,
    house: str,
    placed: str | None = None,
    release: str | None = None,
    farm: str | None = None,
) -> Entered:
    """Return the order that a person made without a plan, and where it goes.

    Parameters
    ----------
    told : mapping
        ``supplier``, ``enemy``, ``form``, ``packs``; ``pack_size``, ``unit_price`` and ``freight``, which an offer of
        that supplier fills in where they are None; ``order`` is the supplier's own number, if there is one.
    delivery, release, placed : str, optional
        Days; let go when it comes, and ordered now, where not told.

    Raises
    ------
    OutpaceError
        If the size of a pack is neither told nor on offer, or if a day cannot be.
    """
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    zone = zone_of_farm(there)
    comes = day(delivery, where="`--delivery`")
    goes = day(release, where="`--release`") if release else comes
    if goes < comes:
        raise OutpaceError(
            str(goes),
            where="release",
            allowed=say("on the day it comes, {day}, or later", day=long_date(comes)),
            code=ExitCode.USAGE,
        )
    supplier = plain_name(told["supplier"], "supplier")
    enemy = facts_table.load().resolve(told["enemy"], "enemy")
    offer = _offer(snapshot, supplier, enemy, told["form"], comes, told["pack_size"])
    size = told["pack_size"] or (offer.pack_size if offer else None)
    if size is None:
        raise OutpaceError(
            say("nothing is entered here"),
            where="pack_size",
            allowed=say("this supplier has no offer of it in the book"),
            code=ExitCode.USAGE,
        )
    order = told.get("order") or key_from(
        supplier, there.farm, str(comes), enemy, told["form"], told["packs"], size
    )
    row = OrderLine(
        order=plain_name(order, "order"),
        line=1,
        farm=there.farm,
        placed=moment(placed, zone, where="`--on`"),
        supplier=supplier,
        enemy=enemy,
        form=told["form"],
        packs=told["packs"],
        pack_size=size,
        delivery_date=comes,
        status="placed",
        unit_price=_first(told.get("unit_price"), offer.price if offer else None),
        freight=_first(told.get("freight"), offer.freight_per_parcel if offer else None),
    )
    part = Allocation(
        order=row.order,
        line=1,
        farm=there.farm,
        house=place.house,
        release_date=goes,
        number=row.packs * size,
    )
    sentence = say_many(
        "{n} pack of {enemy} from {supplier} is written down as placed, for {house} on {day}.",
        "{n} packs of {enemy} from {supplier} are written down as placed, for {house} on {day}.",
        row.packs,
        enemy=facts_table.load().species[enemy].latin,
        supplier=supplier,
        house=place.house,
        day=long_date(goes),
    )
    cautions = [
        say("Nothing was sent from here: the supplier knows of it when you told them."),
        *care_of({"decisions": [{"enemy": enemy, "house": place.house}]}, snapshot, there, None),
    ]
    if row.unit_price is None:
        cautions.append(say("No price is told: the money page counts this order as without price."))
    return Entered([row, part], sentence, tuple(cautions))


def _first(*values: float | None) -> float | None:
    return next((value for value in values if value is not None), None)


def _offer(
    snapshot: Snapshot, supplier: str, enemy: str, form: str, when: date, size: int | None
) -> Pack | None:
    """Return the offer that is meant: the only one of that supplier, enemy and form, or that of the size told."""
    found = [
        pack
        for pack in packs_in_force(snapshot, when)
        if (pack.supplier.casefold(), pack.enemy, pack.form) == (supplier.casefold(), enemy, form)
        and size in (None, pack.pack_size)
    ]
    return found[0] if len(found) == 1 else None


def invoice_from_words(
    snapshot: Snapshot,
    order: str,
    line: int,
    *,
    invoice: str | None = None,
    unit_price: float | None = None,
    freight: float | None = None,
    farm: str | None = None,
) -> Entered:
    """Return an order with what its invoice says.

    The number of the invoice goes to all lines of the order, the freight to its first, the price to the line named.

    Raises
    ------
    OutpaceError
        If there is no such line, or nothing was told.
    """
    there = pick_farm(snapshot, farm)
    lines = _lines(snapshot, there, order)
    named = next((row for row in lines if row.line == line), None)
    if named is None:
        raise OutpaceError(
            say("no order {order} with line {line} is in the book", order=order, line=line),
            where="order",
            code=ExitCode.USAGE,
        )
    if invoice is None and unit_price is None and freight is None:
        raise OutpaceError(
            say("nothing is entered here"),
            where="invoice",
            allowed=say("the number of the invoice, a price or the freight"),
            code=ExitCode.USAGE,
        )
    rows = []
    for row in lines:
        changed = replace(
            row,
            invoice=invoice or row.invoice,
            unit_price=unit_price if row is named and unit_price is not None else row.unit_price,
            freight=freight if row is lines[0] and freight is not None else row.freight,
        )
        if changed != row:
            rows.append(changed)
    total = sum((row.unit_price or 0.0) * row.packs + (row.freight or 0.0) for row in _with(lines, rows))
    missing = sum(row.unit_price is None for row in _with(lines, rows))
    cautions = []
    if missing:
        cautions.append(
            say_many(
                "{n} line of this order has no price yet.",
                "{n} lines of this order have no price yet.",
                missing,
            )
        )
    sentence = say(
        "Order of {supplier} for {day}: {total} together.",
        supplier=named.supplier,
        day=long_date(named.delivery_date),
        total=money(total, there.currency),
    )
    return Entered(rows or [named], sentence, tuple(cautions))


def _lines(snapshot: Snapshot, farm: Farm, order: str) -> list[OrderLine]:
    found = [row for row in snapshot.table(OrderLine) if (row.farm, row.order) == (farm.farm, order)]
    return sorted(found, key=lambda row: row.line)


def _with(lines: list[OrderLine], changed: list[OrderLine]) -> list[OrderLine]:
    new = {row.line: row for row in changed}
    return [new.get(row.line, row) for row in lines]
