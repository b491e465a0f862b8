"""What is shown beside a plan, as text: what else could be done, and the rates that others go by."""

from __future__ import annotations

from outpace.language import say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def instead_lines(answer: Answer) -> list[str]:
    """Return what else could be done in each house, with cost, chance, days above the level and hours."""
    currency = answer["cost"]["currency"]
    lines: list[str] = []
    for one in answer.get("instead", ()):
        lines += page.fold(
            say(
                "{house}, {what}: {cost} if it orders by itself; chance above your level {chance}, {days} crop-days "
                "above it, {hours} h",
                house=one["house"],
                what=one["what"],
                cost=page.money(one["cost"], currency),
                chance=page.chance(one["chance_ever_above"]),
                days=page.figure(one["days_above"]),
                hours=page.figure(one["hours"]),
            ),
            first="  ",
            rest="    ",
        )
    return lines


def rate_lines(answer: Answer) -> list[str]:
    """Return every rate that is published, sold with or practised, with where it is from."""
    lines: list[str] = []
    for rate in answer.get("rates", ()):
        lines += page.fold(
            say(
                "{enemy}, {use}: {low} to {high} per m² ({evidence}, {source})",
                enemy=page.name(rate["enemy"]),
                use=rate["use"],
                low=page.figure(rate["low_per_m2"]),
                high=page.figure(rate["high_per_m2"]),
                evidence=rate["evidence"],
                source=rate["source"],
            ),
            first="  ",
            rest="    ",
        )
    return lines


def search_lines(answer: Answer) -> list[str]:
    """Return how the plan was searched for and what is not proved of it."""
    told = (answer.get("search") or {}).get("text")
    return page.fold(told[:1].upper() + told[1:] + ".") if told else []
