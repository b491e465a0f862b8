"""A season looked back on, as text."""

from __future__ import annotations

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render(answer: Answer) -> str:
    """Return the answer of ``outpace review --season`` in lines of at most 80 columns."""
    planned, parcels, money = answer["planned"], answer["parcels"], answer["money"]
    lines = page.fold(answer["sentence"])
    lines += page.bullets(f"{change['what']}: {change['why']}" for change in answer["changes"])
    lines += page.heading("Planned and done")
    lines += page.columns(
        [
            (
                "releases meant",
                f"{planned['meant']}: {planned['in_time']} in time, {planned['late']} late, {planned['not_done']} not "
                "written down",
            ),
            (
                "parcels ordered",
                f"{parcels['ordered']}: {parcels['came']} came, {parcels['late']} late, {parcels['short']} short",
            ),
            ("goods", page.money(money["goods"], answer["currency"])),
        ]
    )
    for house in answer["houses"]:
        lines += page.heading(f"{house['house']} ({page.name(house['crop'])})")
        find, peak = house["first_find"], house["peak"]
        rows = [("walks", f"{house['walks']}, longest gap {house['longest_gap_d'] or 0} days")]
        if find:
            rows.append(("first find", f"{page.day(find['date'], year=True)}, {page.name(find['pest'])}"))
        if house["first_release"]:
            rows.append(("first release", page.day(house["first_release"], year=True)))
        if peak:
            rows.append(
                (
                    "highest",
                    f"{page.figure(float(peak['mean']))} per {house['unit']}, {page.day(peak['date'])}",
                )
            )
            rows.append(
                ("turned", page.day(house["turned"]) if house["turned"] else "not in what was walked")
            )
        lines += page.columns(rows)
    lines += page.heading("Forecasts")
    lines += page.fold(answer["forecasts"]["sentence"], first="  ")
    lines += page.heading("Not tested")
    lines += page.bullets(answer["untested"])
    return "\n".join(lines)
