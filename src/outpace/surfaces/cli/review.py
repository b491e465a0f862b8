"""How past forecasts fared against later walks."""

from __future__ import annotations

from typing import Annotated

import typer

from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import AsOfOption, BookOption, FarmOption, JsonOption
from outpace.surfaces.cli.weekly import HousesOption


def review(
    replay: Annotated[
        bool,
        typer.Option(
            "--replay",
            help="Make the forecast of each past walk anew, the future left out, and score that.",
        ),
    ] = False,
    houses: HousesOption = None,
    cases: Annotated[bool, typer.Option("--cases", help="Show every forecast with its walk.")] = False,
    book: BookOption = None,
    as_of: AsOfOption = None,
    farm: FarmOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show how past forecasts fared against later walks: those kept in the book, or all made anew."""
    from outpace.season.forecasts_scored import review as answer_review
    from outpace.surfaces.text.review import render

    with door.snapshot_at(book, as_of, farm) as snapshot:
        answer = answer_review(snapshot, farm=farm, houses=houses or None, replay=replay, progress=door.say)
    door.show(answer, as_json, lambda shown: render(shown, cases=cases))
