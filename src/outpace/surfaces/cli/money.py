"""What enemies cost, and from how many aphids acting pays."""

from __future__ import annotations

from typing import Annotated

import typer

from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import JsonOption
from outpace.surfaces.cli.tails import AskedWithSources


def money(
    first: Annotated[str, typer.Option("--from", metavar="DATE", help="The first day.")],
    last: Annotated[str, typer.Option("--to", metavar="DATE", help="The last day.")] = "today",
    *,
    asked: AskedWithSources,
) -> None:
    """Show what enemies cost: by m², house, enemy and invoice, with the hours."""
    from outpace.season.money import money as answer_of
    from outpace.surfaces.text.money import render

    with asked.snapshot() as snapshot:
        answer = answer_of(snapshot, first, last, farm=asked.farm)
    asked.show(answer, lambda shown: render(shown, sources=asked.sources))


def level(
    cost: Annotated[float, typer.Option("--cost", metavar="MONEY", help="What acting once costs per m².")],
    value: Annotated[float, typer.Option("--value", metavar="MONEY", help="What the crop is worth per m².")],
    loss: Annotated[
        float, typer.Option("--loss", metavar="SHARE", help="Which share of it is lost, 0 to 1 ...")
    ],
    aphids: Annotated[
        float, typer.Option("--aphids", metavar="N", help="... at so many aphids per leaf, plant or m².")
    ],
    prevented: Annotated[
        float, typer.Option("--prevents", metavar="SHARE", help="Share of the loss that acting prevents.")
    ] = 1.0,
    growth: Annotated[
        float | None,
        typer.Option("--growth", metavar="PER_DAY", help="How fast they grow a day, such as 0.1."),
    ] = None,
    delay: Annotated[
        float | None, typer.Option("--delay", metavar="D", help="Days until acting works.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Say from how many aphids acting pays, from your own prices."""
    from outpace.season.money import level as answer_of
    from outpace.surfaces.text.money import render_level

    answer = answer_of(
        cost=cost,
        value=value,
        loss=loss,
        aphids=aphids,
        prevented=prevented,
        growth_per_d=growth,
        delay_d=delay,
    )
    door.show(answer, as_json, render_level)
