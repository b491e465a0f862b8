"""Banker plants: set out, renewed, taken out."""

from __future__ import annotations

from typing import Annotated

import typer

from outpace.surfaces.cli.options import (
    HouseArgument,
    MinutesOption,
    OnOption,
    ZoneOption,
)
from outpace.surfaces.cli.tails import Asked, Change, Correction


def add(
    house: HouseArgument,
    plants: Annotated[int, typer.Option("--plants", min=1, metavar="N", help="How many pots.")],
    set_out: Annotated[
        str | None, typer.Option("--set-out", metavar="DATE", help="When; left out: now.")
    ] = None,
    name: Annotated[
        str | None, typer.Option("--name", metavar="NAME", help="A name for them; left out: one is made.")
    ] = None,
    note: Annotated[str | None, typer.Option("--note", metavar="TEXT", help="What else to know.")] = None,
    minutes: MinutesOption = None,
    zone: ZoneOption = None,
    *,
    entry: Correction,
) -> None:
    """Record banker plants set out in a house."""
    from outpace.season.bankers import add_banker

    with entry.open_book() as opened:
        entered = add_banker(
            opened.snapshot(),
            house,
            plants,
            set_out=set_out,
            zone=zone,
            name=name,
            note=note,
            minutes=minutes,
            farm=entry.farm,
        )
        entry.record(opened, entered)


def withdraw(
    banker: Annotated[str, typer.Argument(metavar="NAME", help="The name of the bankers.")],
    on: OnOption = None,
    *,
    entry: Change,
) -> None:
    """Record that banker plants were taken out."""
    from outpace.season.bankers import withdraw_banker

    with entry.open_book() as opened:
        entered = withdraw_banker(opened.snapshot(), banker, on=on, farm=entry.farm)
        entry.record(opened, entered)


def show(
    house: Annotated[str | None, typer.Argument(metavar="[HOUSE]", help="One house; left out: all.")] = None,
    *,
    asked: Asked,
) -> None:
    """Show bankers: wasps a day, from when to when, when to renew, when to take them out."""
    from outpace.season.bankers import bankers_answer
    from outpace.surfaces.text.banker import render

    with asked.snapshot() as known:
        answer = bankers_answer(known, house, farm=asked.farm)
    asked.show(answer, render)


def plan(
    house: Annotated[str | None, typer.Argument(metavar="[HOUSE]", help="One house; left out: all.")] = None,
    aphids_from: Annotated[
        str | None,
        typer.Option("--aphids-from", metavar="DATE", help="The day from which you expect aphids."),
    ] = None,
    *,
    asked: Asked,
) -> None:
    """Plan bankers: whether they serve, how many by each density, when to order, renew, take out."""
    from outpace.season.banker_plan import banker_plan
    from outpace.surfaces.text.banker import render_plan

    with asked.snapshot() as known:
        answer = banker_plan(known, house, farm=asked.farm, aphids_from=aphids_from)
    asked.show(answer, render_plan)
