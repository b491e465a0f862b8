"""A season looked back on, as text."""

from __future__ import annotations

from collections.abc import Sequence

from outpace.language import say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render(answer: Answer) -> str:
    """Return the answer of ``outpace review --season`` in lines of at most 80 columns."""
    planned, parcels, money = answer["planned"], answer["parcels"], answer["money"]
    lines = page.fold(answer["sentence"])
    lines += page.bullets(f"{change['what']}: {change['why']}" for change in answer["changes"])
    lines += page.heading(say("Planned and done"))
    lines += page.columns(
        [
            (
                say("releases meant"),
                say(
                    "{meant}: {in_time} in time, {late} late, {not_done} not written down",
                    meant=planned["meant"],
                    in_time=planned["in_time"],
                    late=planned["late"],
                    not_done=planned["not_done"],
                ),
            ),
            (
                say("parcels ordered"),
                say(
                    "{ordered}: {came} came, {late} late, {short} short",
                    ordered=parcels["ordered"],
                    came=parcels["came"],
                    late=parcels["late"],
                    short=parcels["short"],
                ),
            ),
            (say("enemies and freight"), page.money(money["goods"], answer["currency"])),
            (
                say("work"),
                say("hours not in money")
                if money["labour"] is None
                else page.money(money["labour"], answer["currency"]),
            ),
            (say("sprays"), page.figure(answer["sprays"])),
            (say("lots"), _lots(answer["lots"])),
        ]
    )
    for house in answer["houses"]:
        lines += page.heading(f"{house['house']} ({page.name(house['crop'])})")
        find, peak = house["first_find"], house["peak"]
        rows = [
            (
                say("walks"),
                say(
                    "{walks}, longest gap {longest_gap_d} days",
                    walks=house["walks"],
                    longest_gap_d=house["longest_gap_d"] or 0,
                ),
            )
        ]
        if find:
            rows.append(
                (say("first find"), f"{page.day(find['date'], year=True)}, {page.name(find['pest'])}")
            )
        if house["first_release"]:
            rows.append((say("first release"), page.day(house["first_release"], year=True)))
        if peak and not peak["mean"]:
            rows.append((say("highest"), say("no live aphid on plants taken as they came")))
        elif peak:
            rows.append(
                (
                    say("highest"),
                    say(
                        "{mean} per {unit}, {date}",
                        mean=page.figure(float(peak["mean"])),
                        unit=say(house["unit"]),
                        date=page.day(peak["date"]),
                    ),
                )
            )
            rows.append(
                (
                    say("turned"),
                    page.day(house["turned"]) if house["turned"] else say("had not turned by the last walk"),
                )
            )
        lines += page.columns(rows)
    lines += page.heading(say("Forecasts"))
    lines += page.fold(answer["forecasts"]["sentence"], first="  ")
    lines += page.heading(say("Not tested"))
    lines += page.bullets(answer["untested"])
    return "\n".join(lines)


def _lots(lots: Sequence[Answer]) -> str:
    """Return how many lots were counted, and what of them was below its guideline for sure."""
    counted = [lot for lot in lots if lot["looked_at"] is not None]
    standing = sum(lot["count_on"] is not None for lot in lots)
    poor = sum(bool(lot["guideline"]) and lot["high"] < lot["guideline"] for lot in counted)
    told = say(
        "{lots}: {counted} counted, {poor} below the guideline",
        lots=len(lots),
        counted=len(counted),
        poor=poor,
    )
    return told + (say(", {standing} with a pot that still stands", standing=standing) if standing else "")
