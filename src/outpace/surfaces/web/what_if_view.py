"""What the what-if strip of a house offers to choose from, and how its answer is shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

from outpace import measures
from outpace.language import say
from outpace.surfaces import charts
from outpace.surfaces.text import page

Answer = Mapping[str, Any]

NAMES = ("warmer", "times", "later", "enemy", "number", "on", "spray", "kill_aphids", "kill_enemies")
STEPS = {"degc": (-5, -3, -2, -1, 1, 2, 3, 5), "degf": (-10, -5, -3, 3, 5, 10)}
"""So many degrees can be chosen, in the reader's own: whole ones are what a person thinks in."""
LATER_D = (3, 7, 14)
TABLE_D = (0, 7, 14, 21, 28)


def strip_of(house: str, told: Mapping[str, str] | None = None) -> dict[str, Any]:
    """Return what the strip offers to choose from, and what was chosen."""
    steps = STEPS[measures.temperature_key()]
    sign = measures.degree_sign()
    warmer = [
        (
            str(step),
            say("{degrees} colder", degrees=f"{-step} {sign}")
            if step < 0
            else say("{degrees} warmer", degrees=f"{step} {sign}"),
        )
        for step in steps
    ]
    middle = sum(step < 0 for step in steps)
    return {
        "house": house,
        "told": told or dict.fromkeys(NAMES, ""),
        "warmer": [*warmer[:middle], ("", say("as foreseen")), *warmer[middle:]],
        "times": [
            ("", say("all of it")),
            ("0", say("none of it")),
            ("0.5", say("half of it")),
            ("2", say("twice as much")),
        ],
        "later": [
            ("", say("on its day")),
            *((str(days), say("{n} days later", n=days)) for days in LATER_D),
        ],
    }


def enemies_near(ahead: Answer, offered: Sequence[Mapping[str, str]]) -> list[Mapping[str, str]]:
    """Return the enemies that were let go in a house or are on offer: what may be asked of."""
    keys = dict.fromkeys(row["enemy"] for row in ahead.get("releases") or ())
    let_go = [{"key": key, "latin": page.name(key)} for key in keys]
    return [*let_go, *(one for one in offered if one["key"] not in keys)]


def told_view(answer: Answer) -> dict[str, Any]:
    """Return a what-if with its table and its drawings: what would be as bands, what is foreseen dashed."""
    if not answer["pests"]:
        return {"answer": answer, "pest": None, "rows": [], "wide": "", "narrow": ""}
    first = answer["pests"][0]
    then = {**first, "days": first["then"]["days"]}
    seen = {**answer, "walks": [], "past": [], "releases": []}
    beside = [{"date": day["date"], **day["aphids"]} for day in first["now"]["days"]]

    def drawn(size: charts.Size, ident: str) -> Markup:
        return Markup(charts.outlook(seen, then, kind="aphids", size=size, ident=ident, beside=beside))

    rows = [
        {"date": now["date"], "now": now, "then": then_day}
        for day, (now, then_day) in enumerate(zip(first["now"]["days"], then["days"], strict=True))
        if day in TABLE_D
    ]
    return {
        "answer": answer,
        "pest": first,
        "rows": rows,
        "wide": drawn(charts.WIDE, "whatifw"),
        "narrow": drawn(charts.NARROW, "whatifn"),
    }


def by_unit(bands: Answer) -> list[tuple[str, str, Answer]]:
    """Return today's density by unit, each with its name; that of a small area as the reader measures it."""
    told = []
    for unit, band in bands.items():
        shown, said = band, say(unit)
        if unit == "m2":
            size = measures.area_value(1.0, small=True)
            shown, said = {name: value / size for name, value in band.items()}, measures.area_sign(small=True)
        told.append((unit, said, shown))
    return told
