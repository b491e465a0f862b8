"""Standing orders: ordered ahead, looked at, changed until the cut-off."""

from __future__ import annotations

from typing import Annotated

import typer

from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import (
    HouseArgument,
)
from outpace.surfaces.cli.tails import Asked, Change, Entry


def standing(
    house: HouseArgument,
    enemy: Annotated[
        str, typer.Option("--enemy", metavar="NAME", help="The enemy: Latin or English name, or EPPO code.")
    ],
    packs: Annotated[int, typer.Option("--packs", min=1, metavar="N", help="Packs on each delivery.")],
    deliveries: Annotated[
        int, typer.Option("--deliveries", min=1, metavar="N", help="How many deliveries ahead, at most 52.")
    ],
    every: Annotated[
        int, typer.Option("--every", min=1, metavar="DAYS", help="Days from one delivery to the next.")
    ] = 7,
    size: Annotated[
        int | None, typer.Option("--size", min=1, metavar="N", help="Number in a pack, where several fit.")
    ] = None,
    supplier: Annotated[
        str | None, typer.Option("--supplier", metavar="NAME", help="Whose pack, where several fit.")
    ] = None,
    first: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First delivery on this day or later.")
    ] = None,
    *,
    entry: Entry,
) -> None:
    """Order a fixed rhythm ahead; each delivery can be changed until its own cut-off."""
    from outpace.season.orders_ahead import standing_from_words

    with entry.open_book() as opened:
        entered = standing_from_words(
            door.known(opened),
            house,
            enemy=enemy,
            packs=packs,
            deliveries=deliveries,
            every_d=every,
            pack_size=size,
            supplier=supplier,
            first=first,
            farm=entry.farm,
        )
        entry.record(opened, entered)


def change(
    order: Annotated[str, typer.Argument(metavar="ORDER", help="As `outpace order open` names it.")],
    packs: Annotated[int, typer.Option("--packs", min=0, metavar="N", help="Packs now; 0 cancels it.")],
    line: Annotated[
        int | None, typer.Option("--line", min=1, metavar="N", help="Which line, where it has several.")
    ] = None,
    *,
    entry: Change,
) -> None:
    """Change or cancel a delivery that is on order, until its cut-off; what is past it is fixed."""
    from outpace.season.orders_ahead import change_from_words

    with entry.open_book() as opened:
        entered = change_from_words(door.known(opened), order, packs=packs, line=line, farm=entry.farm)
        entry.record(opened, entered)


def open_(
    *,
    asked: Asked,
) -> None:
    """Show what is on order: what is fixed, what can be changed until when, and what leaving it out does."""
    from outpace.season.orders_open import open_orders
    from outpace.surfaces.text.orders_open import render

    with asked.snapshot() as known:
        answer = open_orders(known, farm=asked.farm)
    asked.show(answer, render)
