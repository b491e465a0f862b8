"""Questions that need no book: how long a release takes to show, and what is known."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import AsOfOption, BookOption, FarmOption, JsonOption, SourcesOption


def facts(
    species: Annotated[
        str | None,
        typer.Argument(metavar="SPECIES", help="Latin or English name, or EPPO code. Left out: everything."),
    ] = None,
    cite: Annotated[bool, typer.Option("--cite", help="Print also the sources.")] = False,
    step_order: Annotated[
        bool, typer.Option("--step-order", help="Print the order in which the model goes through one day.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Show what is known of aphids and enemies: each figure with source and evidence."""
    from outpace.season.facts import facts_answer
    from outpace.surfaces.text.facts import render

    only_order = step_order and species is None
    answer = facts_answer(species, cite=cite, step_order=step_order)
    door.show(answer, as_json, lambda shown: render(shown, only_order=only_order))


def lag(
    enemy: Annotated[
        str, typer.Option("--enemy", metavar="NAME", help="The enemy: Latin or English name, or EPPO code.")
    ],
    pest: Annotated[
        str, typer.Option("--pest", metavar="NAME", help="The aphid: Latin or English name, or EPPO code.")
    ],
    release: Annotated[str, typer.Option("--release", metavar="DATE", help="Day of the release.")] = "today",
    temperature: Annotated[
        str | None,
        typer.Option("--temperature", metavar="DEG", help="Mean temperature in the crop: 18, or 64F."),
    ] = None,
    swing: Annotated[
        float | None,
        typer.Option("--swing", min=0, max=40, metavar="DEGC", help="Daily maximum less minimum, in °C."),
    ] = None,
    climate: Annotated[
        Path | None,
        typer.Option("--climate", metavar="FILE", help="A logger's file that holds the days of the release."),
    ] = None,
    house: Annotated[
        str | None,
        typer.Option("--house", metavar="HOUSE", help="A house of the book, with its own temperatures."),
    ] = None,
    form: Annotated[
        Literal["mummies", "adults", "pupae", "larvae", "eggs"],
        typer.Option("--form", help="As what it is released."),
    ] = "mummies",
    crop: Annotated[
        str | None,
        typer.Option("--crop", metavar="NAME", help="The crop; left out: one that suits the aphid."),
    ] = None,
    sources: SourcesOption = False,
    book: BookOption = None,
    as_of: AsOfOption = None,
    farm: FarmOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say when a release shows, when its next brood flies, and what the aphid does meanwhile."""
    from outpace.season.lag import lag as answer_lag
    from outpace.season.lag_temperature import degrees, from_house
    from outpace.season.moments import day
    from outpace.surfaces.text.lag import render

    given = [
        name
        for name, value in (("--temperature", temperature), ("--climate", climate), ("--house", house))
        if value is not None
    ]
    if len(given) != 1:
        raise OutpaceError(
            f"{' and '.join(given) or 'no temperature'} given",
            allowed="exactly one of --temperature, --climate, --house",
            hint="say how warm it is in the crop: `--temperature 18`",
            code=ExitCode.USAGE,
        )
    when = day(release, where="`--release`")
    if temperature is not None:
        warmth = degrees(temperature, where="`--temperature`")
        answer = answer_lag(enemy, pest, when, temperature=warmth, swing=swing, form=form, crop=crop)
    elif climate is not None:
        from outpace.season.climate_in import hours_from

        hours, source = hours_from(climate, when)
        answer = answer_lag(enemy, pest, when, hourly=hours, temperature_source=source, form=form, crop=crop)
    else:
        with door.snapshot_at(book, as_of, farm) as snapshot:
            hours, source, grown = from_house(snapshot, str(house), when, farm=farm)
        answer = answer_lag(
            enemy, pest, when, hourly=hours, temperature_source=source, form=form, crop=crop or grown
        )
    door.show(answer, as_json, lambda shown: render(shown, sources=sources))
