"""What is asked of orders: one made without the plan, and the invoice that came for one."""

from __future__ import annotations

from typing import Any

from outpace.language import say
from outpace.surfaces.web.entry.fields import Field, Form
from outpace.surfaces.web.entry.shared_fields import (
    Known,
    came_as_choice,
    enemy_choice,
    house_choice,
    order_and_line,
    order_choice,
    supplier_field,
    these,
    when_field,
)


def order(known: Known) -> Form:
    """Ask what was ordered by hand, and for which house."""
    currency = known.get("currency", "")
    empty = say("empty: as on offer, if it is")
    return Form(
        "order",
        say("Order made by hand"),
        say("What did you order, and for which house?"),
        say("Keep the order"),
        (
            supplier_field(known, need=True),
            enemy_choice(known, need=True),
            came_as_choice(say("It comes as"), option="--form", need=True),
            Field("packs", say("Packs"), "whole", need=True),
            Field("pack_size", say("Number in a pack"), "whole", note=empty),
            Field("delivery", say("It comes on"), "day", option="--delivery", need=True),
            house_choice(known),
            Field("unit_price", say("Price of a pack, {money}", money=currency), "number", note=empty),
            Field("freight", say("Freight of the order, {money}", money=currency), "number", note=empty),
            Field(
                "release",
                say("Let go on"),
                "day",
                option="--release",
                note=say("empty: on the day it comes"),
                more=True,
            ),
            Field("order", say("Number of the order, if it has one"), more=True),
            when_field(known, label=say("Ordered")),
        ),
        _make_order,
        care=(say("A living organism may need a permit or stand on a list: once per enemy and country."),),
        onward=(
            (say("See all parcels"), "/arrivals"),
            (say("Note the permit"), "/enter/permit"),
            (say("See the plan"), "/plan"),
        ),
        here="plan",
    )


def _make_order(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.ordered import order_from_words

    return order_from_words(
        snapshot,
        told,
        placed=told["on"],
        **these(told, "delivery", "house", "release", "farm"),
    )


def invoice(known: Known) -> Form:
    """Ask what an invoice says of an order."""
    currency = known.get("currency", "")
    return Form(
        "invoice",
        say("Invoice"),
        say("What did the order cost, and which number has its invoice?"),
        say("Keep the invoice"),
        (
            order_choice("ordered", say("Order"), known.get("ordered", []), need=True),
            Field("invoice", say("Number of the invoice"), note=say("for all lines of this order")),
            Field("unit_price", say("Price of a pack, {money}", money=currency), "number"),
            Field("freight", say("Freight of the order, {money}", money=currency), "number"),
        ),
        _make_invoice,
        changes=True,
        onward=((say("Another invoice"), "/enter/invoice"), (say("Money"), "/money")),
        here="more",
    )


def _make_invoice(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.ordered import invoice_from_words

    order, line = order_and_line(told["ordered"])
    prices = these(told, "invoice", "unit_price", "freight", "farm")
    return invoice_from_words(snapshot, order, line, **prices)
