"""Farms and houses as the book has them, as text."""

from __future__ import annotations

from outpace.language import say
from outpace.measures import area, temperature
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render_farms(answer: Answer) -> str:
    """Return the answer of ``outpace farm`` in lines of at most 80 columns."""
    if not answer["farms"]:
        return say("The book holds no farm yet.")
    lines: list[str] = []
    for farm in answer["farms"]:
        houses = farm["houses"]
        rows = [
            (
                say("place"),
                say(
                    "latitude {latitude:g}°, longitude {longitude:g}°",
                    latitude=farm["latitude"],
                    longitude=farm["longitude"],
                ),
            ),
            (say("time zone"), farm["time_zone"]),
            (say("prices in"), farm["currency"]),
        ]
        if farm.get("risk") is not None:
            rows.append((say("risk accepted"), page.chance(farm["risk"])))
        if farm.get("labour_per_h") is not None:
            rows.append((say("an hour of work"), page.money(farm["labour_per_h"], farm["currency"])))
        if farm.get("country"):
            rows.append((say("country"), farm["country"]))
        rows.append((say("houses"), ", ".join(houses) if houses else say("none yet")))
        lines += [*(page.heading(farm["farm"]) if lines else page.fold(farm["farm"])), *page.columns(rows)]
    return "\n".join(lines)


def render_houses(answer: Answer) -> str:
    """Return the answer of ``outpace house`` in lines of at most 80 columns."""
    lines = page.fold(
        say("Farm {farm}: {houses} of its houses.", farm=answer["farm"], houses=len(answer["houses"]))
    )
    for house in answer["houses"]:
        lines += page.heading(house["house"])
        rows = [
            (say("crop"), page.name(house["crop"])),
            (say("area"), area(house["area_m2"])),
            (say("plants"), page.figure(house["plants"])),
        ]
        if house.get("action_level") is not None:
            per = house.get("action_unit") or say("unit not told")
            rows.append(
                (
                    say("your level"),
                    say(
                        "{action_level} live aphids per {per}",
                        action_level=page.figure(house["action_level"]),
                        per=per,
                    ),
                )
            )
        for field, label in (
            ("heating_setpoint_degc", say("heated to")),
            ("vent_setpoint_degc", say("vents open at")),
        ):
            if house.get(field) is not None:
                rows.append((label, temperature(house[field])))
        if house.get("planted"):
            rows.append((say("planted"), page.day(house["planted"], year=True)))
        walked = house.get("last_walk")
        rows.append((say("last walk"), page.moment(walked, year=True) if walked else say("not walked yet")))
        lines += page.columns(rows)
    return "\n".join(lines)
