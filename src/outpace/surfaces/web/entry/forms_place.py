"""What is asked of a place: the farm, and its houses."""

from __future__ import annotations

from typing import Any

from outpace.errors import ExitCode, ManyErrors, OutpaceError
from outpace.language import say
from outpace.measures import area, area_sign, degree_sign
from outpace.surfaces.web.entry.fields import Field, Form, choice, measured
from outpace.surfaces.web.entry.shared_fields import Known, is_yes, missing, per_units, these, yes_no

CURRENCIES = (
    "EUR",
    "USD",
    "GBP",
    "CAD",
    "AUD",
    "MXN",
    "MAD",
    "TRY",
    "CNY",
    "JPY",
    "KRW",
    "INR",
    "CHF",
    "SEK",
)
"""Offered while typing; any other code may be written."""


def farm(known: Known) -> Form:
    """Ask where the farm lies and what it counts in."""
    from outpace.season.towns import towns

    listed = tuple((town.zone, f"{town.country_name}: {town.name}") for town in towns())
    return Form(
        "farm",
        say("Farm"),
        say("Where is your farm, and what is its money?"),
        say("Keep the farm"),
        (
            Field("name", say("Name of the farm"), need=True),
            choice(
                "town",
                say("Nearest town of this list"),
                listed,
                note=say(
                    "gives place, time zone and country; a far town is near enough for day length. Sent nowhere."
                ),
            ),
            Field(
                "latitude",
                say("Latitude in degrees, if no town is near"),
                "number",
                option="--place",
                note=say("north of the equator above 0, south below"),
            ),
            Field("longitude", say("Longitude in degrees"), "number", note=say("east above 0, west below")),
            Field(
                "currency",
                say("Money prices are in"),
                near=CURRENCIES,
                need=True,
                note=say("three letters, such as EUR"),
                option="--currency",
            ),
            Field("time_zone", say("Time zone, if not that of the town"), option="--time-zone", more=True),
            Field("country", say("Country, two letters"), option="--country", more=True),
            Field(
                "risk",
                say("Chance of passing your level that you accept"),
                "number",
                option="--risk",
                more=True,
                note=say("0.1 means in one such season out of ten; empty: the usual one"),
            ),
            Field("labour_per_h", say("What an hour of work costs"), "number", option="--labour", more=True),
            choice(
                "area_unit",
                say("You measure areas in"),
                [
                    ("m2", say("m²")),
                    ("ft2", say("square feet")),
                    ("decare", say("decare (1,000 m²)")),
                    ("mu", say("mu")),
                    ("ha", say("hectares")),
                    ("acre", say("acres")),
                ],
                more=True,
            ),
            choice(
                "temperature_unit",
                say("You read temperatures in"),
                [("degc", say("°C")), ("degf", say("°F"))],
                more=True,
            ),
        ),
        _make_farm,
        changes=True,
        onward=((say("Tell of a house"), "/enter/house"), (say("Look at this week"), "/")),
        here="settings",
    )


def _make_farm(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.enter import Entered, farm_row
    from outpace.season.moments import time_zone
    from outpace.season.towns import town_of

    values = {key: told[key] for key in told if key not in ("name", "town", "farm", "by")}
    if (told["latitude"] is None) != (told["longitude"] is None):
        raise OutpaceError(
            say("one of two degrees is missing"),
            where="--place",
            allowed=say("latitude and longitude, or a town"),
            code=ExitCode.USAGE,
        )
    if told["town"]:
        town = town_of(told["town"])
        values["time_zone"] = told["time_zone"] or town.zone
        values["country"] = told["country"] or town.country
        if told["latitude"] is None:
            values |= {"latitude": town.latitude, "longitude": town.longitude}
    elif told["latitude"] is not None and told["time_zone"] is None and not _is_known(snapshot, told["name"]):
        raise OutpaceError(
            say("the time zone is not told"),
            where="--time-zone",
            allowed=say("such as Europe/London"),
            hint=say("choose a town above, or write the time zone"),
            code=ExitCode.USAGE,
        )
    elif told["latitude"] is None and not _is_known(snapshot, told["name"]):
        raise OutpaceError(
            say("where the farm lies is not told"),
            where="town",
            allowed=say("a town of the list, or latitude and longitude below"),
            code=ExitCode.USAGE,
        )
    if values["time_zone"]:
        time_zone(values["time_zone"])
    for column in ("currency", "country"):
        values[column] = values[column].upper() if values[column] else None
    row = farm_row(snapshot, told["name"], values)
    return Entered([row], say("Farm {farm} is in the book.", farm=row.farm))


def _is_known(snapshot: Any, name: str) -> bool:
    from outpace.terms.place import Farm

    return any(row.farm.casefold() == name.casefold() for row in snapshot.table(Farm))


def house(known: Known) -> Form:
    """Ask of a house what people know: rows and spacing instead of plants, what costs money instead of a level."""
    degrees = degree_sign()
    return Form(
        "house",
        say("House"),
        say("What grows in the house, on how much ground, and what costs you money?"),
        say("Keep the house"),
        (
            Field("name", say("Name of the house"), need=True),
            Field(
                "crop",
                say("Crop"),
                option="--crop",
                near=tuple(known["crops"]),
                note=say("any may be written"),
            ),
            Field(
                "length",
                say("Length of the house"),
                option="--length",
                note=say("in m, or with its unit: 130 ft"),
            ),
            Field("width", say("Width of the house"), option="--width", note=say("in m, or with its unit")),
            Field(
                "area",
                say("Area, if not length and width"),
                option="--area",
                note=say("in {unit}, or with its unit: 0.5 acre", unit=area_sign()),
            ),
            Field("rows", say("Rows of plants"), "whole", option="--rows"),
            Field(
                "row_length",
                say("Length of one row"),
                option="--row-length",
                note=say("in m; empty: that of the house"),
            ),
            Field(
                "spacing",
                say("From plant to plant in the row"),
                option="--spacing",
                note=say("in cm, or with its unit: 18 inch"),
            ),
            Field("plants", say("Plants, if you counted them"), "whole", option="--plants"),
            choice(
                "costs",
                say("What costs you money?"),
                [
                    ("any live aphid", say("any live aphid on what is sold")),
                    ("sticky fruit", say("sticky fruit")),
                    ("virus", say("a virus that aphids carry")),
                    ("only stunting", say("only weaker plants")),
                ],
                note=say(
                    "gives a first action level, common practice without a source; change it when you know better"
                ),
            ),
            Field(
                "level",
                say("Your own action level"),
                "number",
                option="--level",
                note=say("live aphids from which you act"),
                more=True,
            ),
            choice(
                "per",
                say("counted by"),
                per_units(),
                option="--per",
                more=True,
            ),
            choice("bees", say("Are bees working in the house?"), yes_no(), more=True),
            Field(
                "heating",
                say("Heating begins at, {unit}", unit=degrees),
                option="--heating",
                more=True,
            ),
            Field("venting", say("Vents open at, {unit}", unit=degrees), option="--venting", more=True),
            Field("planted", say("Day of planting"), "day", option="--planted", more=True),
            Field("removed", say("Day the crop goes out"), "day", option="--removed", more=True),
            Field("zones", say("Bays or beds you walk apart"), "whole", option="--zones", more=True),
            Field("leaves", say("Leaves on a plant, if you counted"), "number", option="--leaves", more=True),
            measured("vent_area", say("Open vents and sides"), "small area", option="--vent-area", more=True),
            choice(
                "floor",
                say("What covers the ground?"),
                [
                    ("soil", say("soil")),
                    ("concrete", say("concrete")),
                    ("fabric", say("fabric")),
                    ("mulch", say("mulch")),
                ],
                more=True,
            ),
        ),
        _make_house,
        changes=True,
        onward=(
            (say("Bring its temperatures"), "/climate"),
            (say("Tell of another house"), "/enter/house"),
            (say("Walk it"), "/walk"),
        ),
        here="settings",
    )


def _make_house(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.facts.table import load
    from outpace.season.enter import Entered, house_from_words
    from outpace.season.levels import level_by_cost

    _ask_of_new(snapshot, told)
    level, per, virus = told["level"], told["per"], None
    cautions = []
    if told["costs"]:
        virus = True if told["costs"] == "virus" else None
        if level is None:
            level, per = level_by_cost(load(), told["costs"]), "leaf"
            cautions.append(
                say(
                    "Your first action level is a mean of {level:g} live aphids per leaf: common practice without a "
                    "source, yours to change.",
                    level=level,
                )
            )
        if virus:
            cautions.append(
                say(
                    "Insects do not stop a virus in time: ask what keeps winged aphids out, and which plants to pull."
                )
            )
    values = {
        **these(told, "crop", "plants", "zones", "floor", "planted", "removed"),
        "length_m": told["length"],
        "width_m": told["width"],
        "leaves_per_plant": told["leaves"],
        "heating_setpoint_degc": told["heating"],
        "vent_setpoint_degc": told["venting"],
        "vent_area_m2": told["vent_area"],
        "bees_in": is_yes(told["bees"]),
        "virus_sensitive": virus,
        "action_level": level,
        "action_unit": per,
    }
    measures = these(told, "area", "rows", "row_length", "spacing")
    row, remarks = house_from_words(snapshot, told["name"], values, measures, farm=told["farm"])
    sentence = say(
        "House {house}: {ground}, {plants:,} plants.",
        house=row.house,
        ground=area(row.area_m2),
        plants=row.plants,
    )
    return Entered([row], sentence, (*(f"{line[:1].upper()}{line[1:]}." for line in remarks), *cautions))


def _ask_of_new(snapshot: Any, told: dict[str, Any]) -> None:
    """Refuse a new house of which crop, ground or plants are missing, each beside its field."""
    from outpace.season.names import houses_of, pick_farm

    there = pick_farm(snapshot, told["farm"])
    if told["name"].casefold() in {row.house.casefold() for row in houses_of(snapshot, there)}:
        return
    rows = told["rows"] is not None and told["spacing"] and (told["row_length"] or told["length"])
    wanted = {
        "crop": None if told["crop"] else say("this is needed"),
        "length": None
        if told["area"] or (told["length"] and told["width"])
        else say("length and width, or the area"),
        "rows": None if told["plants"] or rows else say("rows and spacing, or the plants"),
    }
    errors = [missing(name, allowed) for name, allowed in wanted.items() if allowed]
    if errors:
        raise ManyErrors(errors)
