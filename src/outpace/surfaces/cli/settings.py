"""How this computer's commands speak: language, decimal mark, weeks, degrees, areas."""

from __future__ import annotations

from typing import Annotated, Literal

import typer

from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import JsonOption

Degrees = Literal["degc", "degf", "none"]
Area = Literal["m2", "ft2", "decare", "mu", "ha", "acre", "none"]


def settings(
    language: Annotated[
        str | None, typer.Option("--language", metavar="CODE", help="en or es; `none`: as the terminal says.")
    ] = None,
    decimal: Annotated[
        Literal[".", ",", "none"] | None,
        typer.Option("--decimal", help="The decimal mark; `none`: as the language has it."),
    ] = None,
    weeks: Annotated[
        Literal["iso", "us", "none"] | None,
        typer.Option("--weeks", help="ISO weeks from Monday, or US weeks from Sunday."),
    ] = None,
    temperature: Annotated[
        Degrees | None,
        typer.Option("--temperature", help="What degrees are told and typed in; `none`: as the farm does."),
    ] = None,
    area: Annotated[
        Area | None,
        typer.Option("--area", help="What areas and rates are told and typed in; `none`: as the farm does."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Show or choose language, decimal mark, weeks, degrees and areas; what is recorded stays SI."""
    from outpace.season.reader_settings import keep, settings_answer
    from outpace.surfaces.text.settings import render

    chosen = {
        "language": language,
        "decimal": decimal,
        "weeks": weeks,
        "temperature": temperature,
        "area": area,
    }
    if any(value is not None for value in chosen.values()):
        keep(chosen)
    door.show(settings_answer(), as_json, render)
