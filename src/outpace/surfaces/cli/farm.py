"""The farm and its houses: show them, add one, change what was told."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.measures import area as area_told
from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import AsOfOption, BookOption, ByOption, JsonOption, WhyOption
from outpace.surfaces.cli.tails import Change

AreaUnit = Literal["m2", "ft2", "decare", "mu", "ha", "acre"]
Floor = Literal["soil", "concrete", "fabric", "mulch"]
PerUnit = Literal["leaf", "shoot", "plant", "share_infested"]
YesNo = Literal["yes", "no"]


def _place(text: str | None) -> tuple[float, float] | tuple[None, None]:
    if text is None:
        return None, None
    try:
        latitude, longitude = (float(part) for part in text.replace(";", ",").split(","))
    except ValueError:
        raise OutpaceError(
            say("{typed!r} is no place", typed=text),
            where="`--place`",
            allowed=say("latitude and longitude in degrees, south and west negative"),
            hint=say("write it such as `--place 54.1,-3.2`"),
            code=ExitCode.USAGE,
        ) from None
    return latitude, longitude


def _flag(answer: str | None) -> bool | None:
    return None if answer is None else answer == "yes"


def farm(
    name: Annotated[str | None, typer.Argument(metavar="NAME", help="The farm. Left out: show all.")] = None,
    place: Annotated[
        str | None,
        typer.Option("--place", metavar="LAT,LON", help="Latitude and longitude in degrees: 54.1,-3.2"),
    ] = None,
    time_zone: Annotated[
        str | None, typer.Option("--time-zone", metavar="NAME", help="Such as Europe/London.")
    ] = None,
    currency: Annotated[
        str | None, typer.Option("--currency", metavar="CODE", help="What prices are in: EUR, GBP, USD ...")
    ] = None,
    risk: Annotated[
        float | None,
        typer.Option(
            "--risk", min=0, max=1, help="The chance of passing your level that you accept, 0 to 1."
        ),
    ] = None,
    labour: Annotated[
        float | None, typer.Option("--labour", min=0, metavar="MONEY", help="What an hour of work costs.")
    ] = None,
    area_unit: Annotated[
        AreaUnit | None, typer.Option("--area-unit", help="What you measure areas in.")
    ] = None,
    temperature_unit: Annotated[
        Literal["degc", "degf"] | None, typer.Option("--temperature-unit", help="degc or degf.")
    ] = None,
    country: Annotated[
        str | None, typer.Option("--country", metavar="CODE", help="Two letters; permits go by country.")
    ] = None,
    book: BookOption = None,
    as_of: AsOfOption = None,
    why: WhyOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show the farm, or tell the book where it lies and what it counts in."""
    latitude, longitude = _place(place)
    told: dict[str, Any] = {
        "latitude": latitude,
        "longitude": longitude,
        "time_zone": time_zone,
        "currency": currency.upper() if currency else None,
        "risk": risk,
        "labour_per_h": labour,
        "area_unit": area_unit,
        "temperature_unit": temperature_unit,
        "country": country.upper() if country else None,
    }
    if all(value is None for value in told.values()):
        from outpace.season.standing import farms_answer
        from outpace.surfaces.text.standing import render_farms

        with door.snapshot_at(book, as_of, name) as snapshot:
            door.show(farms_answer(snapshot, name), as_json, render_farms)
        return
    _need(name, "farm")
    from outpace.season.enter import Entered, farm_row
    from outpace.season.moments import time_zone as check_time_zone

    if time_zone is not None:
        check_time_zone(time_zone)
    with door.book_at(book, create=True) as opened:
        row = farm_row(door.known(opened), str(name), told)
        entered = Entered([row], say("Farm {farm} is in the book.", farm=row.farm))
        door.record(opened, entered, by=by, changes=True, as_json=as_json, why=why)


def house(
    name: Annotated[str | None, typer.Argument(metavar="NAME", help="The house. Left out: show all.")] = None,
    crop: Annotated[str | None, typer.Option("--crop", metavar="NAME", help="What grows there.")] = None,
    area: Annotated[
        str | None,
        typer.Option(
            "--area", metavar="AREA", help="In the farm's unit, or with one: 240, 2600ft2, 0.5acre."
        ),
    ] = None,
    length: Annotated[
        str | None, typer.Option("--length", metavar="M", help="Length of the house in m, or 130ft.")
    ] = None,
    width: Annotated[
        str | None, typer.Option("--width", metavar="M", help="Width of the house in m, or 26ft.")
    ] = None,
    plants: Annotated[int | None, typer.Option("--plants", min=1, help="How many plants.")] = None,
    rows: Annotated[
        int | None, typer.Option("--rows", min=1, help="Rows of plants, where you have not counted plants.")
    ] = None,
    row_length: Annotated[
        str | None,
        typer.Option("--row-length", metavar="M", help="Length of one row; left out: that of the house."),
    ] = None,
    spacing: Annotated[
        str | None,
        typer.Option("--spacing", metavar="CM", help="From plant to plant in the row, in cm, or 18inch."),
    ] = None,
    leaves: Annotated[
        float | None, typer.Option("--leaves", min=0, help="Leaves on a plant, where you have counted them.")
    ] = None,
    zones: Annotated[
        int | None, typer.Option("--zones", min=1, max=16, help="Bays, beds or blocks you walk apart.")
    ] = None,
    heating: Annotated[
        str | None,
        typer.Option("--heating", metavar="DEG", help="Heating set-point, in the farm's unit: 12, 12C, 54F."),
    ] = None,
    venting: Annotated[
        str | None,
        typer.Option("--venting", metavar="DEG", help="Temperature at which the vents open, likewise."),
    ] = None,
    vent_area: Annotated[
        float | None, typer.Option("--vent-area", min=0, metavar="M2", help="Open vents and sides in m².")
    ] = None,
    floor: Annotated[Floor | None, typer.Option("--floor", help="What covers the ground.")] = None,
    planted: Annotated[str | None, typer.Option("--planted", metavar="DATE", help="Day of planting.")] = None,
    removed: Annotated[
        str | None, typer.Option("--removed", metavar="DATE", help="Day the crop goes out.")
    ] = None,
    bees: Annotated[YesNo | None, typer.Option("--bees", help="Are bees working in the house?")] = None,
    virus: Annotated[
        YesNo | None, typer.Option("--virus", help="Does a virus that aphids carry cost you the crop?")
    ] = None,
    level: Annotated[
        float | None,
        typer.Option("--level", min=0, help="Your action level: live aphids per leaf, shoot or plant."),
    ] = None,
    per: Annotated[PerUnit | None, typer.Option("--per", help="What the action level counts by.")] = None,
    as_of: AsOfOption = None,
    *,
    entry: Change,
) -> None:
    """Show the houses, add one, or change what was told of it."""
    told: dict[str, Any] = {
        "crop": crop,
        "length_m": length,
        "width_m": width,
        "plants": plants,
        "leaves_per_plant": leaves,
        "zones": zones,
        "heating_setpoint_degc": heating,
        "vent_setpoint_degc": venting,
        "vent_area_m2": vent_area,
        "floor": floor,
        "planted": planted,
        "removed": removed,
        "bees_in": _flag(bees),
        "virus_sensitive": _flag(virus),
        "action_level": level,
        "action_unit": per,
    }
    measures = {"area": area, "rows": rows, "row_length": row_length, "spacing": spacing}
    if all(value is None for value in (*told.values(), *measures.values())):
        from outpace.season.standing import houses_answer
        from outpace.surfaces.text.standing import render_houses

        with door.snapshot_at(entry.book, as_of, entry.farm) as snapshot:
            door.show(houses_answer(snapshot, name, farm=entry.farm), entry.as_json, render_houses)
        return
    _need(name, "house")
    from outpace.season.enter import Entered, house_from_words

    with entry.open_book() as opened:
        row, remarks = house_from_words(door.known(opened), str(name), told, measures, farm=entry.farm)
        for remark in remarks:
            door.say(remark)
        told_area = area_told(row.area_m2)
        entered = Entered(
            [row],
            say(
                "House {house}: {area}, {plants:,} plants.",
                house=row.house,
                area=told_area,
                plants=row.plants,
            ),
        )
        entry.record(opened, entered)


def _need(name: str | None, what: str) -> None:
    if name is None:
        raise OutpaceError(
            say("the house is not named") if what == "house" else say("the farm is not named"),
            hint=say("begin with its name: `outpace {what} NAME ...`", what=what),
            code=ExitCode.USAGE,
        )
