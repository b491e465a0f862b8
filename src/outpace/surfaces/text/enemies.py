"""Which enemy fits a house, and why, as text."""

from __future__ import annotations

from outpace.language import say, to_say
from outpace.measures import temperature
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

STATES = {
    "fits now": to_say("fits now"),
    "fits in part": to_say("fits in part"),
    "fits later": to_say("fits later"),
    "not known": to_say("not known"),
    "does not fit": to_say("does not fit"),
}


def render(answer: Answer, *, sources: bool = False) -> str:
    """Return the answer of ``outpace enemies`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    for row in answer["houses"]:
        lines += _house_lines(row)
    lines += [*page.heading(say("Mind")), *page.bullets(answer["cautions"])]
    if sources:
        lines += page.fact_lines(answer["facts"])
    lines += ["", *page.evidence_line(answer["evidence_weakest"])]
    if not sources:
        lines += page.fact_count(answer["facts"])
    return "\n".join(lines)


def _house_lines(row: Answer) -> list[str]:
    found = ", ".join(page.name(pest) for pest in row["pests"])
    lines = page.heading(
        f"{row['house']}: {found}"
        if row["found"]
        else say("{house}: nothing found yet, reckoned with {pest}", house=row["house"], pest=found)
    )
    ahead = row["window"]
    lines += page.fold(
        say(
            "Coming 14 days, in the light: {mean} on average, {cold} on the coldest day; up to {hot}. "
            "Daylight {first} h, in {days} days {last} h.",
            mean=temperature(ahead["light_mean_degc"]),
            cold=temperature(ahead["light_coldest_degc"]),
            hot=temperature(ahead["hottest_degc"]),
            first=page.figure(ahead["daylight_first_h"]),
            days=ahead["days"],
            last=page.figure(ahead["daylight_last_h"]),
        ),
        first="  ",
    )
    if row["waiting"] is not None:
        lines += page.fold(row["waiting"]["text"], first="  ")
    for item in row["candidates"]:
        lines += candidate_lines(item)
    for pair in row["mixtures"]:
        names = " + ".join(page.name(enemy) for enemy in pair["enemies"])
        lines += page.fold(
            say(
                "Together: {names}: {why} ({evidence})",
                names=names,
                why="; ".join(pair["why"]),
                evidence=pair["evidence"],
            ),
            first="  ",
            rest="    ",
        )
    if row["unknown"] is not None:
        several = ", ".join(
            say("{enemy} takes {n} of {of}", enemy=page.name(item["enemy"]), n=item["accepts"], of=item["of"])
            for item in row["unknown"]["fits_several"]
        )
        lines += page.fold(say("Of the named aphids: {several}.", several=several), first="  ", rest="    ")
        lines += [
            *page.heading(say("How to find out which aphid it is")),
            *page.bullets(row["unknown"]["find_out"]),
        ]
    return lines


def candidate_lines(item: Answer) -> list[str]:
    """Return one enemy with its reasons."""
    when = ""
    if item["state"] == "fits later":
        when = (
            say(", not before the wait is known to end")
            if item["from_date"] is None
            else say(", from {day}", day=page.day(item["from_date"]))
        )
    offer = "" if item["on_offer"] else say("; not on offer")
    lines = page.fold(
        f"{page.name(item['enemy'])}: {say(STATES[item['state']])}{when}{offer} ({item['evidence']})",
        first="  ",
        rest="    ",
    )
    for text in item["for"]:
        lines += page.fold(f"+ {text}", first="    ", rest="      ")
    for text in item["against"]:
        lines += page.fold(f"- {text}", first="    ", rest="      ")
    return lines
