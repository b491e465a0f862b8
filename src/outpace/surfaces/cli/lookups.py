"""Questions that need no book: how long a release takes to show, and what is known."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.language import listed, say
from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import (
    ByOption,
    FileArgument,
    JsonOption,
)
from outpace.surfaces.cli.tails import Asked, AskedWithSources


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


def facts_learned(
    keep: Annotated[
        bool,
        typer.Option("--keep", help="Write what ended crops have taught, for the next season to start from."),
    ] = False,
    by: ByOption = None,
    *,
    asked: Asked,
) -> None:
    """What your counts have taught of your aphids: growth, attack, flying in, clumping."""
    from outpace.season.learned import kept_rows, learned_answer
    from outpace.surfaces.text.learned import render

    if keep:
        with door.book_at(asked.book) as opened:
            rows = kept_rows(door.known(opened), asked.farm)
            door.record(opened, rows, by=by, changes=True, as_json=asked.as_json)
        return
    with asked.snapshot() as snapshot:
        asked.show(learned_answer(snapshot, asked.farm), render)


def facts_fit(
    file: FileArgument,
    columns: Annotated[
        list[str] | None,
        typer.Option(
            "--column",
            metavar="HEADING=FIELD",
            help="What a column is, where its heading does not tell: temperature, days, hours, rate, offered, "
            "eaten, trial_days, trial_hours, or ignore. Repeatable.",
        ),
    ] = None,
    only: Annotated[
        list[str] | None,
        typer.Option("--only", metavar="HEADING=VALUE", help="Read these rows alone. Repeatable."),
    ] = None,
    unit: Annotated[
        Literal["degc", "degf"] | None,
        typer.Option("--temperature-unit", help="The unit of the file, where it does not say."),
    ] = None,
    decimal: Annotated[
        Literal["comma", "point"] | None, typer.Option("--decimal", help="Its decimal mark.")
    ] = None,
    days: Annotated[
        float | None,
        typer.Option("--days", min=0.001, metavar="DAYS", help="How long a feeding trial ran, in days."),
    ] = None,
    replaced: Annotated[
        bool | None,
        typer.Option("--replaced/--not-replaced", help="Whether eaten prey was put back at once."),
    ] = None,
    species: Annotated[
        str | None, typer.Option("--species", metavar="NAME", help="Whose trial it is, for own facts.")
    ] = None,
    on: Annotated[
        str | None, typer.Option("--on", metavar="NAME", help="The aphid it was on, where that matters.")
    ] = None,
    crop: Annotated[
        str | None, typer.Option("--crop", metavar="NAME", help="The crop, where that matters.")
    ] = None,
    seasons: Annotated[int, typer.Option("--seasons", min=1, help="Seasons the trial spans.")] = 1,
    own: Annotated[
        Path | None,
        typer.Option("--own-facts", metavar="FILE", help="Write what may stand before the books as a table."),
    ] = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write every parameter as a table.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Fit curves to a trial of your own: development at temperatures, or prey eaten at densities."""
    from outpace.season.facts_fit import fit_answer, own_facts_csv, parameters_csv, told_of_trial
    from outpace.surfaces.cli.week_files import write_whole
    from outpace.surfaces.text.facts_fit import render

    told = told_of_trial(
        _pairs(columns, "--column", "HEADING=FIELD"),
        _pairs(only, "--only", "HEADING=VALUE"),
        temperature_unit=unit,
        decimal=decimal,
        days=days,
    )
    answer = fit_answer(
        file, told, replaced=replaced, species=species, other_species=on, crop=crop, seasons=seasons
    )
    for path, make in ((own, own_facts_csv), (csv, parameters_csv)):
        if path is not None:
            write_whole(path, make(answer).encode())
            door.say(say("written: {file}", file=path))
    door.show(answer, as_json, render)


def _pairs(words: list[str] | None, option: str, form: str) -> dict[str, str]:
    """Return what was told as HEADING=VALUE; the heading may hold equal signs itself."""
    told = {}
    for word in words or ():
        heading, mark, value = word.rpartition("=")
        if not mark or not heading.strip() or not value.strip():
            raise OutpaceError(
                f"{word!r}",
                where=f"`{option}`",
                allowed=say("must be {form}", form=form),
                hint=say('write it such as `{option} "{form}"`', option=option, form=form),
                code=ExitCode.USAGE,
            )
        told[heading.strip()] = value.strip()
    return told


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
    *,
    asked: AskedWithSources,
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
            say("{options} given", options=listed(given)) if given else say("no temperature given"),
            allowed=say("exactly one of --temperature, --climate, --house"),
            hint=say("say how warm it is in the crop: `--temperature 18`"),
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
        with asked.snapshot() as snapshot:
            hours, source, grown = from_house(snapshot, str(house), when, farm=asked.farm)
        answer = answer_lag(
            enemy, pest, when, hourly=hours, temperature_source=source, form=form, crop=crop or grown
        )
    asked.show(answer, lambda shown: render(shown, sources=asked.sources))
