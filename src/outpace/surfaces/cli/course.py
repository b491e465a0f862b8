"""Changing course in a house, and what a crop is worth to the farm."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from outpace.language import say
from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import (
    HouseArgument,
)
from outpace.surfaces.cli.tails import Asked, AskedWithSources, Change

VALUE_HELP = "What a m² of the crop still standing will bring you."
LOSS_HELP = "What a m² loses in a day for each aphid, as your level counts them, above your level."


def _share(option: str, text: str) -> Any:
    return typer.Option(option, min=0, max=1, metavar="SHARE", help=text)


def _figure(option: str, metavar: str, text: str) -> Any:
    return typer.Option(option, min=0, metavar=metavar, help=text)


def course(
    house: HouseArgument,
    kill_aphids: Annotated[
        float | None, _share("--kill-aphids", "A spray: share of aphids it kills at once, 0 to 1.")
    ] = None,
    kill_enemies: Annotated[
        float | None, _share("--kill-enemies", "A spray: share of enemies it kills at once, 0 to 1.")
    ] = None,
    residue: Annotated[
        float | None, _share("--residue", "A spray: share of enemies its residue kills on the first day.")
    ] = None,
    residue_days: Annotated[
        float | None, _figure("--residue-days", "DAYS", "A spray: days for which it harms enemies.")
    ] = None,
    reentry: Annotated[
        float | None, _figure("--reentry-h", "HOURS", "A spray, by its label: hours to keep out.")
    ] = None,
    harvest: Annotated[
        float | None, _figure("--harvest-days", "DAYS", "A spray, by its label: days not to pick.")
    ] = None,
    spray_cost: Annotated[
        float | None, _figure("--spray-cost", "MONEY", "What spraying the house costs, work included.")
    ] = None,
    spots_kill_aphids: Annotated[
        float | None, _share("--spots-kill-aphids", "A treatment of spots: share of aphids it kills there.")
    ] = None,
    spots_kill_enemies: Annotated[
        float | None, _share("--spots-kill-enemies", "The same of enemies that are wetted there.")
    ] = None,
    spots_residue: Annotated[
        float | None, _share("--spots-residue", "The same by its residue; 0 where none is left once dry.")
    ] = None,
    spots_residue_days: Annotated[
        float | None, _figure("--spots-residue-days", "DAYS", "Days for which that residue harms enemies.")
    ] = None,
    spots_reentry: Annotated[
        float | None, _figure("--spots-reentry-h", "HOURS", "By its label: hours to keep out.")
    ] = None,
    spots_harvest: Annotated[
        float | None, _figure("--spots-harvest-days", "DAYS", "By its label: days not to pick.")
    ] = None,
    spots_cost: Annotated[
        float | None, _figure("--spots-cost", "MONEY", "What treating the spots costs, work included.")
    ] = None,
    plants: Annotated[
        int | None,
        typer.Option(
            "--plants", min=1, metavar="N", help="Plants worked on as spots; left out: those tagged."
        ),
    ] = None,
    clearing: Annotated[
        float | None, _figure("--clearing-cost", "MONEY", "What clearing the crop costs.")
    ] = None,
    value: Annotated[float | None, _figure("--value", "MONEY", VALUE_HELP)] = None,
    loss: Annotated[float | None, _figure("--loss", "MONEY", LOSS_HELP)] = None,
    *,
    asked: AskedWithSources,
) -> None:
    """Weigh wait, by hand, enrich, treat spots, spray and remove: cost, chance, what each destroys."""
    from outpace.season.considered import Figures
    from outpace.season.course import course as answer_course
    from outpace.surfaces.text.course import render

    with asked.snapshot() as snapshot:
        answer = answer_course(
            snapshot,
            house,
            farm=asked.farm,
            spray=Figures(kill_aphids, kill_enemies, residue, residue_days, reentry, harvest, spray_cost),
            spots=Figures(
                spots_kill_aphids,
                spots_kill_enemies,
                spots_residue,
                spots_residue_days,
                spots_reentry,
                spots_harvest,
                spots_cost,
            ),
            plants=plants,
            clearing=clearing,
            value=value,
            loss=loss,
        )
    asked.show(answer, lambda shown: render(shown, sources=asked.sources))


def enemies(
    house: Annotated[str | None, typer.Argument(metavar="[HOUSE]", help="One house; left out: all.")] = None,
    *,
    asked: AskedWithSources,
) -> None:
    """Show which enemy fits a house and why, mixtures too, and the unsuitable ones with the reason."""
    from outpace.season.enemies import enemies as answer_enemies
    from outpace.surfaces.text.enemies import render

    with asked.snapshot() as snapshot:
        answer = answer_enemies(snapshot, house, farm=asked.farm)
    asked.show(answer, lambda shown: render(shown, sources=asked.sources))


def edges(
    house: Annotated[str | None, typer.Argument(metavar="[HOUSE]", help="One house; left out: all.")] = None,
    planting: Annotated[
        str | None, typer.Option("--planting", metavar="DATE", help="A planting that is planned.")
    ] = None,
    end: Annotated[
        str | None, typer.Option("--end", metavar="DATE", help="The day the crop is to go out.")
    ] = None,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE", help="Write the checklists as PDF to print.")
    ] = None,
    *,
    asked: Asked,
) -> None:
    """Say when to stop releasing, with dated checklists for both edges of the season."""
    from outpace.season.edges import edges as answer_edges
    from outpace.season.moments import day
    from outpace.surfaces.text.edges import render

    with asked.snapshot() as snapshot:
        answer = answer_edges(
            snapshot,
            house,
            farm=asked.farm,
            planting=None if planting is None else day(planting, where="`--planting`"),
            end=None if end is None else day(end, where="`--end`"),
        )
    if pdf is not None:
        from outpace.surfaces.cli.week_files import write_whole
        from outpace.surfaces.sheets import edge_sheet

        write_whole(pdf, edge_sheet.render(answer, head=snapshot.head))
        door.say(say("written: {file}", file=pdf))
    asked.show(answer, render)


def worth(
    crop: Annotated[
        str | None, typer.Option("--crop", metavar="NAME", help="The crop; left out: every crop of the farm.")
    ] = None,
    value: Annotated[float | None, _figure("--value", "MONEY", VALUE_HELP)] = None,
    loss: Annotated[float | None, _figure("--loss", "MONEY", LOSS_HELP)] = None,
    *,
    entry: Change,
) -> None:
    """Tell the book what a crop is worth to you, and what aphids above your level cost."""
    from outpace.season.worth import worth_from_words

    with entry.open_book() as opened:
        entered = worth_from_words(opened.snapshot(), crop=crop, value=value, loss=loss, farm=entry.farm)
        entry.record(opened, entered)
