"""Labels for what hangs in the crop: point, house, enemy, lot and day in large print, and the same as a code."""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from outpace.language import say
from outpace.surfaces.sheets.paper import tied, typeset
from outpace.surfaces.sheets.week_sheet import clip
from outpace.surfaces.text import page

TEMPLATE = Path(__file__).with_name("labels.typ")


def render(answer: Mapping[str, Any], *, head: str = "") -> bytes:
    """Return one label a release point, 38 by 21 mm, as PDF; the book's head stands on the sheet's margin."""
    labels = []
    for point in answer["points"]:
        told = say(
            "{lot}; {house}; point {no}; {date}",
            lot=answer["lot"],
            house=answer["house"],
            no=point["no"],
            date=answer["date"],
        )
        labels.append(
            {
                "point": f"{point['no']} · {point['number']}",
                "mark": clip(
                    say("at the {mark}", mark=point["mark"]) if point["mark"] else _part(answer, point), 24
                ),
                "house": clip(answer["house"], 16),
                "enemy": clip(page.name(answer["enemy"]), 22),
                "lot": clip(answer["lot"], 22),
                "day": page.day(answer["date"], year=True),
                "code": code_svg(told),
                "alt": say("Code: {told}", told=page.plain(told)),
            }
        )
    data = {
        "title": say(
            "Labels: {house}, {lot}", house=page.plain(answer["house"]), lot=page.plain(answer["lot"])
        ),
        "labels": labels,
        "footer": tied(head),
    }
    return typeset(TEMPLATE, data)


def _part(answer: Mapping[str, Any], point: Mapping[str, Any]) -> str:
    """Return how much carrier a point gets, for those without a place of their own."""
    if point.get("carrier") is None:
        return ""
    return f"{point['carrier']:g} {answer['carrier_unit']}"


def code_svg(text: str) -> str:
    """Return a text as a square code that a phone reads."""
    import segno

    told = io.BytesIO()
    segno.make(page.plain(text), micro=False, error="m").save(
        told, kind="svg", border=2, xmldecl=False, scale=4
    )
    return told.getvalue().decode()
