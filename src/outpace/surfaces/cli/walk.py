"""One scouting round of one house, told in one line."""

from __future__ import annotations

from typing import Annotated, Literal

import typer

from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import BookOption, ByOption, CorrectOption, FarmOption, JsonOption, OnOption


def walk(
    line: Annotated[
        str,
        typer.Argument(
            metavar="LINE",
            help='The walk in one line, the house first: "Long tunnel: 20 looked at, 4 with green peach '
            'aphid, about 60, 3 mummies".',
        ),
    ],
    house: Annotated[
        str | None,
        typer.Option("--house", metavar="HOUSE", help="The house, where the line does not name it."),
    ] = None,
    unit: Annotated[
        Literal["leaf", "shoot", "plant"], typer.Option("--unit", help="What one look was at.")
    ] = "plant",
    chosen: Annotated[
        Literal["random", "fixed", "hunted"],
        typer.Option(
            "--chosen",
            help="How they were chosen: at random, the same each week, or hunted where aphids were.",
        ),
    ] = "random",
    on: OnOption = None,
    scout: Annotated[str | None, typer.Option("--scout", metavar="NAME", help="Who walked.")] = None,
    minutes: Annotated[float | None, typer.Option("--minutes", min=0, help="How long it took.")] = None,
    correct: CorrectOption = False,
    book: BookOption = None,
    farm: FarmOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record a walk told in one line. Counts by plant come in with `outpace book import`."""
    from outpace.season.walk_line import walk_from_line

    with door.book_at(book) as opened:
        entered = walk_from_line(
            opened.snapshot(),
            line,
            house=house,
            farm=farm,
            on=on,
            unit=unit,
            chosen=chosen,
            scout=scout,
            minutes=minutes,
            correct=correct,
        )
        door.record(opened, entered, by=by, changes=correct, as_json=as_json)
