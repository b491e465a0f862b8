"""What else is asked of a house: its bays, its own level for one aphid, its crop, a day's temperatures."""

from __future__ import annotations

from typing import Any

from outpace.language import say
from outpace.measures import area_sign, degree_sign, read_area
from outpace.surfaces.web.entry.fields import Field, Form, choice
from outpace.surfaces.web.entry.shared_fields import (
    Known,
    house_choice,
    is_yes,
    per_units,
    these,
    when_field,
    yes_no,
    zone_field,
)


def zone(known: Known) -> Form:
    """Ask of a bay, bed or block that is walked apart."""
    return Form(
        "zone",
        say("Bay, bed or block"),
        say("Which part of the house do you walk apart, and how large is it?"),
        say("Keep it"),
        (
            house_choice(known),
            Field("zone", say("Its name"), need=True),
            Field(
                "area",
                say("Its area"),
                note=say("in {unit}, or with its unit", unit=area_sign()),
            ),
            Field("plants", say("Plants in it"), "whole"),
            Field("crop", say("Crop, if not that of the house"), near=tuple(known["crops"])),
            choice("door", say("Is there a door?"), yes_no()),
            choice("vent", say("Is there a vent?"), yes_no()),
        ),
        _make_zone,
        changes=True,
        onward=((say("Another bay or bed"), "/enter/zone"), (say("Settings"), "/settings")),
        here="settings",
    )


def _make_zone(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.facts.table import load
    from outpace.season.enter import Entered, plain_name
    from outpace.season.names import pick_farm, pick_house
    from outpace.terms.place import Zone

    there = pick_farm(snapshot, told["farm"])
    place = pick_house(snapshot, there, told["house"])
    crop = told["crop"] and (load().resolve_crop(told["crop"]) or plain_name(told["crop"], "crop"))
    row = Zone(
        farm=there.farm,
        house=place.house,
        zone=plain_name(told["zone"], "zone"),
        crop=crop,
        area_m2=read_area(told["area"], farm=there.area_unit) if told["area"] else None,
        plants=told["plants"],
        door=is_yes(told["door"]),
        vent=is_yes(told["vent"]),
    )
    return Entered([row], say("{house}: {zone} is in the book.", house=row.house, zone=row.zone))


def level(known: Known) -> Form:
    """Ask from how many of one aphid the grower acts."""
    pests = [("any", say("all aphids")), *((row["key"], row["latin"]) for row in known["pests"])]
    return Form(
        "level",
        say("Action level"),
        say("From how many live aphids do you act?"),
        say("Keep the level"),
        (
            house_choice(known),
            choice("pest", say("Of which aphid"), pests, need=True, value="any"),
            Field("level", say("Level"), "number", need=True),
            choice("unit", say("counted by"), per_units(), need=True, value="leaf"),
            Field("since", say("Holds from"), "day", note=say("empty: from the beginning")),
        ),
        _make_level,
        changes=True,
        care=(say("Not sure? The page “Money” reckons it from your own prices."),),
        onward=((say("Look at this week"), "/"), (say("Reckon with money"), "/money")),
        here="settings",
    )


def _make_level(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.enter import Entered
    from outpace.season.moments import day
    from outpace.season.names import pick_farm, pick_house
    from outpace.terms.place import ActionLevel

    there = pick_farm(snapshot, told["farm"])
    place = pick_house(snapshot, there, told["house"])
    row = ActionLevel(
        farm=there.farm,
        house=place.house,
        **these(told, "pest", "unit", "level"),
        since=day(told["since"], where="since") if told["since"] else None,
    )
    return Entered([row], say("{house}: you act from {level:g}.", house=row.house, level=row.level))


def stage(known: Known) -> Form:
    """Ask how the crop stands."""
    return Form(
        "stage",
        say("Crop stage"),
        say("How many leaves has a plant, and how many were taken off?"),
        say("Keep the stage"),
        (
            house_choice(known),
            Field("leaves_per_plant", say("Leaves on a plant"), "number"),
            Field("height_m", say("Height, m"), "number"),
            Field(
                "leaves_removed_share",
                say("Share of leaves taken off since, 0 to 1"),
                "number",
                note=say("mummies leave with the leaves"),
            ),
            Field("bbch", say("Growth stage, BBCH"), "whole", more=True),
            when_field(known),
        ),
        _make_stage,
        onward=((say("Another house"), "/enter/stage"),),
    )


def _make_stage(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.enter import Entered
    from outpace.season.moments import moment
    from outpace.season.names import pick_farm, pick_house, zone_of_farm
    from outpace.terms.place import CropStage

    there = pick_farm(snapshot, told["farm"])
    place = pick_house(snapshot, there, told["house"])
    row = CropStage(
        farm=there.farm,
        house=place.house,
        time=moment(told["on"], zone_of_farm(there), where="`--on`"),
        **these(told, "leaves_per_plant", "height_m", "leaves_removed_share", "bbch"),
    )
    return Entered([row], say("{house}: crop stage written down.", house=row.house))


def typed_day(known: Known) -> Form:
    """Ask the day's lowest and highest temperature, read off a thermometer."""
    degrees = degree_sign()
    return Form(
        "temperature",
        say("Thermometer"),
        say("How cold and how warm was it among the leaves on 1 day?"),
        say("Keep the day"),
        (
            house_choice(known),
            Field("on", say("Day"), "day", option="--on", need=True, value=known.get("today", "")),
            Field("low", say("Lowest, {unit}", unit=degrees), option="--min", need=True),
            Field("high", say("Highest, {unit}", unit=degrees), option="--max", need=True),
            zone_field(known),
        ),
        _make_day,
        onward=((say("Another day"), "/enter/temperature"), (say("A logger's file"), "/climate")),
    )


def _make_day(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.climate_typed import climate_from_day

    return climate_from_day(
        snapshot, told["house"], told["on"], told["low"], told["high"], **these(told, "farm", "zone")
    )
