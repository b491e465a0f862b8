"""One scouting round of one house: told in one line, planned, and ended as soon as enough is known."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import (
    HouseArgument,
)
from outpace.surfaces.cli.tails import Asked, Correction, Happening
from outpace.surfaces.typed_counts import counts_of


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
    scout: Annotated[str | None, typer.Option("--scout", metavar="NAME", help="Who walked.")] = None,
    minutes: Annotated[float | None, typer.Option("--minutes", min=0, help="How long it took.")] = None,
    *,
    entry: Happening,
) -> None:
    """Record a walk told in one line. Counts by plant come in with `outpace book import`."""
    from outpace.season.walk_line import walk_from_line

    with entry.open_book() as opened:
        entered = walk_from_line(
            door.known(opened),
            line,
            house=house,
            farm=entry.farm,
            on=entry.on,
            unit=unit,
            chosen=chosen,
            scout=scout,
            minutes=minutes,
            correct=entry.correct,
        )
        entry.record(opened, entered)


def jar(
    house: HouseArgument,
    put_in: Annotated[
        int | None,
        typer.Option("--put-in", min=1, metavar="N", help="Closed mummies that you put into the jar."),
    ] = None,
    wasps: Annotated[
        int | None, typer.Option("--wasps", min=0, metavar="N", help="Wasps of the crop that came out of it.")
    ] = None,
    hyperparasitoids: Annotated[
        int | None,
        typer.Option("--hyperparasitoids", min=0, metavar="N", help="Hyperparasitoids that came out of it."),
    ] = None,
    walked: Annotated[
        str | None,
        typer.Option(
            "--walked",
            metavar="DATE",
            help="Day of the walk on which you took them. Left out: the last jar of which nothing came out "
            "yet, else the last walk.",
        ),
    ] = None,
    *,
    entry: Correction,
) -> None:
    """Record a jar of closed mummies from the crop, and later what came out."""
    from outpace.season.crop_jar import crop_jar

    with entry.open_book() as opened:
        entered = crop_jar(
            door.known(opened),
            house,
            put_in=put_in,
            wasps=wasps,
            hyperparasitoids=hyperparasitoids,
            walked=walked,
            farm=entry.farm,
        )
        entry.record(opened, entered)


RowsOption = Annotated[
    int | None,
    typer.Option("--rows", min=1, help="Plant rows of the house. Left out: guessed from its size."),
]
SeedOption = Annotated[
    int | None,
    typer.Option(
        "--seed", min=0, help="Other plants than those of the day; the same number, the same plants."
    ),
]


def plan(
    house: Annotated[
        str | None, typer.Argument(metavar="HOUSE", help="The house. Left out: which houses to walk.")
    ] = None,
    minutes: Annotated[
        float | None,
        typer.Option("--minutes", min=0, help="How many minutes you have, for all houses together."),
    ] = None,
    seen: Annotated[
        str | None,
        typer.Option("--seen", metavar="0,0,3", help="Aphids plant by plant so far: may the walk stop?"),
    ] = None,
    rows: RowsOption = None,
    seed: SeedOption = None,
    whole: Annotated[bool, typer.Option("--all", help="Show all plants up to the maximum.")] = False,
    sheet: Annotated[
        Path | None, typer.Option("--sheet", metavar="FILE", help="Write the way as a printed sheet, PDF.")
    ] = None,
    *,
    asked: Asked,
) -> None:
    """Say which houses to walk in the minutes you have; with HOUSE which plants, and when to stop."""
    if house is None:
        given = [
            name
            for name, value in (("--seen", seen), ("--rows", rows), ("--seed", seed), ("--sheet", sheet))
            if value is not None
        ]
        if given:
            raise OutpaceError(
                say("no house named"),
                where=given[0],
                hint=say("name it: `outpace walk plan HOUSE`"),
                code=ExitCode.USAGE,
            )
        _round(minutes, asked)
        return
    from outpace.season.walk_plan import walk_plan
    from outpace.surfaces.text.walk_plan import render

    with asked.snapshot() as snapshot:
        answer = walk_plan(
            snapshot,
            house,
            farm=asked.farm,
            rows=rows,
            seed=seed,
            seen=None if seen is None else counts_of(seen, code=ExitCode.USAGE),
        )
    if sheet is not None:
        from outpace.surfaces.sheets.walk_plan import write

        write(answer, sheet, head=snapshot.head)
        door.say(say("written: {file}", file=sheet))
    asked.show(answer, lambda shown: render(shown, whole=whole))


def _round(minutes: float | None, asked: Asked) -> None:
    from outpace.season.walk_round import walk_round
    from outpace.surfaces.text.walk_round import render

    if minutes is None and not asked.as_json and door.at_a_terminal():
        minutes = (
            typer.prompt(
                say("How many minutes do you have? (0: no limit)"), type=float, default=0.0, err=True
            )
            or None
        )
    with asked.snapshot() as snapshot:
        answer = walk_round(snapshot, farm=asked.farm, minutes=minutes, progress=door.say)
    asked.show(answer, render)


def stop(
    house: HouseArgument,
    seen: Annotated[
        str,
        typer.Option("--seen", metavar="0,0,3", help="Aphids plant by plant, in the order of looking."),
    ],
    *,
    asked: Asked,
) -> None:
    """Say whether a walk that is being made may stop, or how many more to look at."""
    from outpace.season.walk_plan import walk_plan
    from outpace.surfaces.text.walk_plan import render_stop

    with asked.snapshot() as snapshot:
        answer = walk_plan(snapshot, house, farm=asked.farm, seen=counts_of(seen, code=ExitCode.USAGE))
    asked.show(answer, render_stop)


def import_table(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Your table: XLSX, ODS or CSV.")],
    columns: Annotated[
        list[str] | None,
        typer.Option(
            "--column",
            metavar="HEADING=FIELD",
            help="What a column is, where its heading does not tell: date, house, aphids, looked_at ... Repeatable.",
        ),
    ] = None,
    date_order: Annotated[
        Literal["day", "month", "year"] | None,
        typer.Option("--date-order", help="What comes first in its dates, where both ways are possible."),
    ] = None,
    preview: Annotated[
        bool, typer.Option("--preview", help="Only look: how each column is read. Nothing is recorded.")
    ] = False,
    unit: Annotated[
        Literal["leaf", "shoot", "plant"], typer.Option("--unit", help="What one row looked at.")
    ] = "plant",
    chosen: Annotated[
        Literal["random", "fixed", "hunted"], typer.Option("--chosen", help="How they were chosen.")
    ] = "random",
    house: Annotated[
        str | None, typer.Option("--house", metavar="HOUSE", help="The house, where no column tells.")
    ] = None,
    pest: Annotated[
        str, typer.Option("--pest", metavar="NAME", help="The aphid, where no column tells.")
    ] = "unknown",
    *,
    entry: Correction,
) -> None:
    """Import counts from your own table; its columns are named once and remembered."""
    from outpace.season.walk_table import MapShelf, counts_from_table, preview_counts, told_map
    from outpace.surfaces.text.table import render

    told, shelf = told_map(columns or (), date_order), MapShelf.of(entry.book)
    how: dict[str, Any] = {"unit": unit, "chosen": chosen, "house": house, "pest": pest, "farm": entry.farm}
    if preview:
        with entry.open_book() as opened:
            answer = preview_counts(door.known(opened), file, told, shelf, **how)
        door.show(answer, entry.as_json, render)
        if not answer["ready"]:
            raise typer.Exit(int(ExitCode.ACTION_DUE))
        return
    with entry.open_book() as opened:
        entered = counts_from_table(door.known(opened), file, told, shelf, **how)
        entry.record(opened, entered)
