"""Temperatures of a house: from a logger's file, or read off a thermometer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import (
    BookOption,
    FileArgument,
    HouseArgument,
    JsonOption,
    ZoneOption,
)
from outpace.surfaces.cli.tails import Correction

if TYPE_CHECKING:
    from outpace.season.climate_in import Told

UnitOption = Annotated[
    Literal["degc", "degf"] | None,
    typer.Option("--temperature-unit", help="The unit of the file, where it does not say."),
]
OrderOption = Annotated[
    Literal["day", "month", "year"] | None,
    typer.Option("--date-order", help="What comes first in its dates, where it could be read both ways."),
]
DecimalOption = Annotated[
    Literal["comma", "point"] | None, typer.Option("--decimal", help="Its decimal mark.")
]
ClockOption = Annotated[
    str | None,
    typer.Option(
        "--clock",
        metavar="CLOCK",
        help="farm: its clock changes with the farm's; winter: it never does; or +01:00.",
    ),
]
DuplicatesOption = Annotated[
    Literal["first", "last", "mean", "drop"] | None,
    typer.Option("--duplicates", help="What to do with two different readings of one time."),
]
ColumnOption = Annotated[
    list[str] | None,
    typer.Option(
        "--column",
        metavar="HEADING[=PLACE[:SENSOR]]",
        help="A column of temperatures and where its sensor hangs: canopy, air or outside. Repeatable.",
    ),
]
HumidityOption = Annotated[
    str | None, typer.Option("--humidity", metavar="HEADING", help="The column of relative humidity.")
]
RadiationOption = Annotated[
    str | None, typer.Option("--radiation", metavar="HEADING", help="The column of sunlight in W/m².")
]
LoggerOption = Annotated[
    str, typer.Option("--logger", metavar="NAME", help="What you call this logger; its answers are kept.")
]


def _told(
    unit: str | None,
    order: str | None,
    decimal: str | None,
    clock: str | None,
    duplicates: str | None,
    columns: list[str] | None,
    humidity: str | None,
    radiation: str | None,
    logger: str,
) -> Told:
    from outpace.season.climate_in import Told

    return Told(
        temperature_unit=unit,
        date_order=order,
        decimal=decimal,
        clock=clock,
        duplicates=duplicates,
        columns=tuple(columns or ()),
        humidity=humidity,
        radiation=radiation,
        name=logger,
    )


def preview(
    file: FileArgument,
    unit: UnitOption = None,
    order: OrderOption = None,
    decimal: DecimalOption = None,
    clock: ClockOption = None,
    duplicates: DuplicatesOption = None,
    columns: ColumnOption = None,
    humidity: HumidityOption = None,
    radiation: RadiationOption = None,
    logger: LoggerOption = "",
    time_zone: Annotated[
        str, typer.Option("--time-zone", metavar="NAME", help="Of the farm, for times without an offset.")
    ] = "UTC",
    book: BookOption = None,
    as_json: JsonOption = False,
) -> None:
    """Look at a logger's file without importing it: what it holds, what is not clear."""
    from outpace.season.climate_in import preview_answer, shelf_of
    from outpace.season.moments import time_zone as check_time_zone
    from outpace.surfaces.text.climate import render

    check_time_zone(time_zone)
    told = _told(unit, order, decimal, clock, duplicates, columns, humidity, radiation, logger)
    answer = preview_answer(file, told, time_zone=time_zone, shelf=shelf_of(book))
    door.show(answer, as_json, render)


def import_file(
    file: FileArgument,
    house: Annotated[str, typer.Option("--house", metavar="HOUSE", help="The house the logger hangs in.")],
    unit: UnitOption = None,
    order: OrderOption = None,
    decimal: DecimalOption = None,
    clock: ClockOption = None,
    duplicates: DuplicatesOption = None,
    columns: ColumnOption = None,
    humidity: HumidityOption = None,
    radiation: RadiationOption = None,
    logger: LoggerOption = "",
    zone: ZoneOption = None,
    *,
    entry: Correction,
) -> None:
    """Import a logger's file into a house; how the logger writes is kept for next time."""
    from outpace.season.climate_in import climate_from_file, shelf_of

    told = _told(unit, order, decimal, clock, duplicates, columns, humidity, radiation, logger)
    with entry.open_book() as opened:
        entered = climate_from_file(
            door.known(opened), file, house, told, farm=entry.farm, zone=zone, shelf=shelf_of(entry.book)
        )
        entry.record(opened, entered)


def typed(
    house: HouseArgument,
    low: Annotated[str, typer.Option("--min", metavar="DEG", help="The day's minimum: 12, 12C or 54F.")],
    high: Annotated[str, typer.Option("--max", metavar="DEG", help="The day's maximum.")],
    on: Annotated[str, typer.Option("--on", metavar="DATE", help="The day.")] = "yesterday",
    zone: ZoneOption = None,
    *,
    entry: Correction,
) -> None:
    """Record a day's minimum and maximum, read off a thermometer among the leaves."""
    from outpace.season.climate_typed import climate_from_day

    with entry.open_book() as opened:
        entered = climate_from_day(door.known(opened), house, on, low, high, farm=entry.farm, zone=zone)
        entry.record(opened, entered)
