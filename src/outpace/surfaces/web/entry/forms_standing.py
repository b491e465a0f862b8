"""What is asked of standing orders: the rhythm that is ordered ahead, and a delivery of it that is changed."""

from __future__ import annotations

from typing import Any

from outpace.language import say
from outpace.surfaces.web.entry.fields import Field, Form
from outpace.surfaces.web.entry.shared_fields import (
    Known,
    enemy_choice,
    house_choice,
    order_and_line,
    order_choice,
    supplier_field,
    these,
)


def standing(known: Known) -> Form:
    """Ask for a fixed rhythm that is ordered ahead."""
    return Form(
        "standing",
        say("Standing order"),
        say("How many packs come on each of how many deliveries?"),
        say("Order it ahead"),
        (
            house_choice(known),
            enemy_choice(known, need=True),
            Field("packs", say("Packs on each delivery"), "whole", need=True, option="--packs"),
            Field("deliveries", say("How many deliveries ahead"), "whole", need=True, option="--deliveries"),
            Field("every", say("Days from one to the next"), "whole", value="7", need=True, option="--every"),
            Field("first", say("First delivery on this day or later"), "day", option="--from"),
            Field(
                "size",
                say("Number in a pack"),
                "whole",
                option="--size",
                note=say("only where several packs of it are on offer"),
            ),
            supplier_field(known, option="--supplier", note=say("only where several sell it")),
        ),
        _make_standing,
        care=(
            say(
                "Each delivery can be changed until its own cut-off; what is past it is fixed, and the plan "
                "counts on it."
            ),
        ),
        onward=((say("See what is on order"), "/standing"), (say("See the plan"), "/plan")),
        here="plan",
    )


def _make_standing(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.orders_ahead import standing_from_words

    return standing_from_words(
        snapshot,
        told["house"],
        every_d=told["every"],
        pack_size=told["size"],
        **these(told, "enemy", "packs", "deliveries", "supplier", "first", "farm"),
    )


def change(known: Known) -> Form:
    """Ask for other packs of a delivery that is on order."""
    return Form(
        "change",
        say("Change an order"),
        say("How many packs of which delivery? 0 cancels it."),
        say("Change it"),
        (
            order_choice("order", say("Delivery"), known["expected"], need=True),
            Field("packs", say("Packs now; 0 cancels it"), "whole", need=True, option="--packs"),
        ),
        _make_change,
        changes=True,
        care=(say("Tell the supplier before the cut-off: nothing is sent from here."),),
        onward=((say("See what is on order"), "/standing"), (say("See the plan"), "/plan")),
        here="plan",
    )


def _make_change(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.orders_ahead import change_from_words

    order, line = order_and_line(told["order"])
    return change_from_words(snapshot, order, line=line, **these(told, "packs", "farm"))
