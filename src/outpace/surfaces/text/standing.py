"""Farms and houses as the book has them, as text."""

from __future__ import annotations

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render_farms(answer: Answer) -> str:
    """Return the answer of ``outpace farm`` in lines of at most 80 columns."""
    if not answer["farms"]:
        return "The book holds no farm yet."
    lines: list[str] = []
    for farm in answer["farms"]:
        houses = farm["houses"]
        rows = [
            ("place", f"latitude {farm['latitude']:g}°, longitude {farm['longitude']:g}°"),
            ("time zone", farm["time_zone"]),
            ("prices in", farm["currency"]),
        ]
        if farm.get("risk") is not None:
            rows.append(("risk accepted", page.chance(farm["risk"])))
        if farm.get("labour_per_h") is not None:
            rows.append(("an hour of work", page.money(farm["labour_per_h"], farm["currency"])))
        if farm.get("country"):
            rows.append(("country", farm["country"]))
        rows.append(("houses", ", ".join(houses) if houses else "none yet"))
        lines += [*(page.heading(farm["farm"]) if lines else page.fold(farm["farm"])), *page.columns(rows)]
    return "\n".join(lines)


def render_houses(answer: Answer) -> str:
    """Return the answer of ``outpace house`` in lines of at most 80 columns."""
    lines = page.fold(f"Farm {answer['farm']}: {len(answer['houses'])} of its houses.")
    for house in answer["houses"]:
        lines += page.heading(house["house"])
        rows = [
            ("crop", page.name(house["crop"])),
            ("area", f"{page.figure(house['area_m2'])} m²"),
            ("plants", page.figure(house["plants"])),
        ]
        if house.get("action_level") is not None:
            per = house.get("action_unit") or "unit not told"
            rows.append(("your level", f"{page.figure(house['action_level'])} live aphids per {per}"))
        for field, label in (("heating_setpoint_degc", "heated to"), ("vent_setpoint_degc", "vents open at")):
            if house.get(field) is not None:
                rows.append((label, f"{page.figure(house[field])} °C"))
        if house.get("planted"):
            rows.append(("planted", page.day(house["planted"], year=True)))
        walked = house.get("last_walk")
        rows.append(("last walk", page.moment(walked, year=True) if walked else "not walked yet"))
        lines += page.columns(rows)
    return "\n".join(lines)
