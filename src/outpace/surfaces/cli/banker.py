"""Banker plants: set out, renewed, taken out."""

from __future__ import annotations

from typing import Annotated

import typer

from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import (
    AsOfOption,
    BookOption,
    ByOption,
    CorrectOption,
    FarmOption,
    HouseArgument,
    JsonOption,
    MinutesOption,
    OnOption,
    WhyOption,
    ZoneOption,
)


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
    correct: CorrectOption = False,
    why: WhyOption = None,
    book: BookOption = None,
    farm: FarmOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record banker plants set out in a house."""
    from outpace.season.bankers import add_banker

    with door.book_at(book) as opened:
        entered = add_banker(
            opened.snapshot(),
            house,
            plants,
            set_out=set_out,
            zone=zone,
            name=name,
            note=note,
            minutes=minutes,
            farm=farm,
        )
        door.record(opened, entered, by=by, changes=correct, as_json=as_json, why=why)


def withdraw(
    banker: Annotated[str, typer.Argument(metavar="NAME", help="The name of the bankers.")],
    on: OnOption = None,
    why: WhyOption = None,
    book: BookOption = None,
    farm: FarmOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record that banker plants were taken out."""
    from outpace.season.bankers import withdraw_banker

    with door.book_at(book) as opened:
        entered = withdraw_banker(opened.snapshot(), banker, on=on, farm=farm)
        door.record(opened, entered, by=by, changes=True, as_json=as_json, why=why)


def show(
    house: Annotated[str | None, typer.Argument(metavar="[HOUSE]", help="One house; left out: all.")] = None,
    book: BookOption = None,
    as_of: AsOfOption = None,
    farm: FarmOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show bankers: wasps a day, from when to when, when to renew, when to take them out."""
    from outpace.season.bankers import bankers_answer
    from outpace.surfaces.text.banker import render

    with door.snapshot_at(book, as_of, farm) as known:
        answer = bankers_answer(known, house, farm=farm)
    door.show(answer, as_json, render)


def plan(
    house: Annotated[str | None, typer.Argument(metavar="[HOUSE]", help="One house; left out: all.")] = None,
    aphids_from: Annotated[
        str | None,
        typer.Option("--aphids-from", metavar="DATE", help="The day from which you expect aphids."),
    ] = None,
    book: BookOption = None,
    as_of: AsOfOption = None,
    farm: FarmOption = None,
    as_json: JsonOption = False,
) -> None:
    """Plan bankers: whether they serve, how many by each density, when to order, renew, take out."""
    from outpace.season.banker_plan import banker_plan
    from outpace.surfaces.text.banker import render_plan

    with door.snapshot_at(book, as_of, farm) as known:
        answer = banker_plan(known, house, farm=farm, aphids_from=aphids_from)
    door.show(answer, as_json, render_plan)
