"""Banker plants as text."""

from __future__ import annotations

from outpace.language import say
from outpace.measures import area, per_wide_area, sparse_figure
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render(answer: Answer) -> str:
    """Return the bankers of a farm in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    for row in answer["bankers"]:
        where = (
            say("{house}, zone {zone}", house=row["house"], zone=row["zone"]) if row["zone"] else row["house"]
        )
        lines += page.heading(
            say("{banker}: {plants} pots in {where}", banker=row["banker"], plants=row["plants"], where=where)
        )
        lines += page.fold(say("Set out {set_out}.", set_out=page.day(row["set_out"], year=True)), first="  ")
        fewest, most = row["wasps_per_day"]
        first, last = (
            " to ".join(page.day(day) for day in row[key]) for key in ("wasps_from", "wasps_until")
        )
        lines += page.fold(
            say(
                "Wasps: {fewest} to {most} a day, from {first}, until {last}.",
                fewest=fewest,
                most=most,
                first=first,
                last=last,
            ),
            first="  ",
        )
        if row["withdrawn_on"]:
            lines += page.fold(
                say("Taken out {withdrawn_on}.", withdrawn_on=page.day(row["withdrawn_on"], year=True)),
                first="  ",
            )
        else:
            lines += page.fold(say("Renew by {renew_by}.", renew_by=page.day(row["renew_by"])), first="  ")
            lines += page.fold(
                say(
                    "Take out by {withdraw_by}, or at the first ragged holes.",
                    withdraw_by=page.day(row["withdraw_by"], year=True),
                ),
                first="  ",
            )
    lines += page.heading(say("How many: what others advise, pots {per}", per=per_wide_area()))
    for row in answer["densities"]:
        low, high = row["low_per_1000_m2"], row["high_per_1000_m2"]
        number = (
            sparse_figure(low)
            if low == high
            else say("{low} to {high}", low=sparse_figure(low), high=sparse_figure(high))
        )
        lines += page.fold(f"{number}: {row['case']} ({row['evidence']})", first="  ", rest="    ")
    lines += page.fold(
        say(
            "Weakest evidence among these figures: {evidence_weakest}.",
            evidence_weakest=say(answer["evidence_weakest"]),
        )
    )
    lines += page.bullets(answer["cautions"])
    return "\n".join(lines)


def render_plan(answer: Answer) -> str:
    """Return the answer of ``outpace banker plan`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    for row in answer["houses"]:
        lines += page.heading(f"{row['house']}, {area(row['area_m2'])}")
        lines += page.bullets(row["why"])
        for way in row["how_many"]:
            number = f"{way['low']}" if way["low"] == way["high"] else f"{way['low']} to {way['high']}"
            lines += page.fold(
                say(
                    "{number} pots: {case} ({evidence}, {source})",
                    number=number,
                    case=way["case"],
                    evidence=way["evidence"],
                    source=way["source"] or say("no source"),
                ),
                first="  ",
                rest="    ",
            )
        if row["serves"] is False:
            continue
        first, last = (page.day(day) for day in row["wasps_from"])
        lines += page.fold(
            say(
                "Order by {order}, set out on {out}; first wasps {first} to {last}.",
                order=page.day(row["order_by"]),
                out=page.day(row["set_out"], year=True),
                first=first,
                last=last,
            ),
            first="  ",
        )
        if row["late"]:
            lines += page.fold(say("Late for the day you expect aphids: wasps come after them."), first="  ")
        if row["renew"]:
            days = ", ".join(page.day(day) for day in row["renew"])
            lines += page.fold(say("Renew on {days}.", days=days), first="  ", rest="    ")
        lines += page.fold(
            say(
                "Take out by {day}, or at the first ragged holes.",
                day=page.day(row["withdraw_by"], year=True),
            ),
            first="  ",
        )
    lines += [*page.heading(say("How")), *page.bullets(answer["steps"])]
    lines += [*page.heading(say("Mind")), *page.bullets(answer["cautions"])]
    lines += ["", *page.evidence_line(answer["evidence_weakest"])]
    return "\n".join(lines)
