"""The sprays of a house, and what they hold back, as text."""

from __future__ import annotations

from outpace.language import say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

CLOCKS = (("reentry", "people"), ("picking", "picking"), ("bees", "bees"), ("release", "releases"))


def render(answer: Answer, *, sources: bool = False) -> str:
    """Return the answer of ``outpace spray show`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    for house in answer["houses"]:
        own = [spray for spray in answer["sprays"] if spray["house"] == house["house"]]
        lines += page.heading(house["house"])
        if not own:
            lines += page.fold(say("No spray is written down."), first="  ")
            continue
        lines += page.columns([(label, house[name]["words"]) for name, label in CLOCKS])
        for spray in own:
            lines += ["", *_spray(spray)]
    if answer["clashes"]:
        lines += page.heading(say("In the way of each other"))
        lines += page.bullets(
            f"{clash['house']}, {page.day(clash['date'])}: {clash['what']} ({clash['why']})"
            for clash in answer["clashes"]
        )
    if answer["cautions"]:
        lines += page.heading(say("Mind"))
        lines += page.bullets(answer["cautions"])
    if sources:
        lines += ["", *page.fact_lines(answer["facts"])]
    else:
        lines += page.fact_count(answer["facts"])
    return "\n".join(lines)


def _spray(spray: Answer) -> list[str]:
    planned = say("planned: ") if spray["planned"] else ""
    lines = page.fold(f"{planned}{spray['sentence']}", first="  ", rest="  ")
    lines += page.fold(
        say("airing: {ventilation}", ventilation=spray["ventilation"]), first="    ", rest="    "
    )
    for effect in spray["side_effects"]:
        lines += page.fold(effect, first="    ", rest="    ")
    for found in spray["efficacy"]:
        lines += page.fold(f"{page.name(found['pest'])}: {found['words']}", first="    ", rest="    ")
    if spray["efficacy_lacks"]:
        lines += page.fold(spray["efficacy_lacks"], first="    ", rest="    ")
    if spray["record_lacks"]:
        lacks = ", ".join(spray["record_lacks"])
        lines += page.fold(say("not in the record yet: {lacks}", lacks=lacks), first="    ", rest="    ")
    return [*lines, *page.fold(say("key {spray}", spray=spray["spray"]), first="    ")]
