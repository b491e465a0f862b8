"""How past forecasts fared against later walks."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.surfaces.cli import door
from outpace.surfaces.cli.tails import Asked
from outpace.surfaces.cli.weekly import HousesOption


def review(
    replay: Annotated[
        bool,
        typer.Option(
            "--replay",
            help="Make the forecast of each past walk anew, the future left out, and score that.",
        ),
    ] = False,
    season: Annotated[
        bool,
        typer.Option("--season", help="Look back on a season: planned, done, late, cost, what to change."),
    ] = False,
    first: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="Of --season: its first day.")
    ] = None,
    last: Annotated[str, typer.Option("--to", metavar="DATE", help="Of --season: its last day.")] = "today",
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE", help="Of --season: two pages to print.")
    ] = None,
    houses: HousesOption = None,
    cases: Annotated[bool, typer.Option("--cases", help="Show every forecast with its walk.")] = False,
    *,
    asked: Asked,
) -> None:
    """Show how past forecasts fared against later walks: those kept in the book, or all made anew."""
    from outpace.season.forecasts_scored import review as answer_review
    from outpace.surfaces.text.review import render

    if season:
        _season(first, last, pdf, asked)
        return
    with asked.snapshot(all_climate=replay) as snapshot:
        answer = answer_review(
            snapshot, farm=asked.farm, houses=houses or None, replay=replay, progress=door.say
        )
    asked.show(answer, lambda shown: render(shown, cases=cases))


def _season(first: str | None, last: str, pdf: Path | None, asked: Asked) -> None:
    if first is None:
        raise OutpaceError(
            say("the first day is not told"), hint=say("add `--from DATE`"), code=ExitCode.USAGE
        )
    from outpace.season.season_review import season_review
    from outpace.surfaces.text.season import render

    with asked.snapshot() as snapshot:
        answer = season_review(snapshot, first, last, farm=asked.farm)
    if pdf is not None:
        from outpace.surfaces.cli.week_files import write_whole
        from outpace.surfaces.sheets import season_pages

        write_whole(pdf, season_pages.render(answer))
        door.say(say("written: {file}", file=pdf))
    asked.show(answer, render)
