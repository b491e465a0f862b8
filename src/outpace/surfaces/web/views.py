"""What a page needs beside its answer: the tasks by day, charts in two sizes, tables of the same days."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any
from urllib.parse import quote

from markupsafe import Markup

from outpace.facts.table import Facts, Species
from outpace.language import say, to_say
from outpace.surfaces import chart_series, charts, marks, wording
from outpace.surfaces.text import page, plan_beside
from outpace.surfaces.text.week import sentence as week_sentence
from outpace.surfaces.web.what_if_view import by_unit, enemies_near, strip_of

Answer = Mapping[str, Any]

KINDS = (
    ("pest", to_say("Aphids")),
    ("enemy", to_say("Natural enemies")),
    ("hyperparasitoid", to_say("Hyperparasitoids")),
)
MOST_DRAWN = 4
"""So many zones and pests of a house are drawn, the binding one first; the others have their tables."""

WORST_FIRST = {"Losing": 0, "Unclear": 1, None: 2, "Holding": 3}


def is_invented(*names: str | None) -> bool:
    """Return whether a farm says of itself that it is invented."""
    return any("invented" in str(name).casefold() for name in names if name)


def week_view(answer: Answer) -> dict[str, Any]:
    """Return the week with its tasks by day, the houses worst first."""
    days: dict[str, list[dict[str, Any]]] = {}
    for house in answer["houses"]:
        for task in house["tasks"]:
            days.setdefault(str(task["day"])[:10], []).append({**task, "house": house["house"]})
    houses = sorted(answer["houses"], key=lambda house: WORST_FIRST.get(house.get("verdict"), 2))
    shown = []
    for number, house in enumerate(houses):
        strip = marks.level_strip(house.get("mean_now"), house.get("action_level"), ident=f"strip{number}")
        shown.append({**house, "strip": Markup(strip)})
    return {
        "answer": answer,
        "sentence": week_sentence(answer),
        "days": sorted(days.items()),
        "mind": wording.minded(answer),
        "houses": shown,
    }


def _charts(answer: Answer, pest: Answer, number: int) -> list[dict[str, Any]]:
    drawn = []
    for kind, title in (("aphids", say("Live aphids")), ("mummies", say("Closed mummies"))):
        wide = charts.outlook(answer, pest, kind=kind, size=charts.WIDE, ident=f"{kind}{number}w")  # type: ignore[arg-type]
        narrow = charts.outlook(answer, pest, kind=kind, size=charts.NARROW, ident=f"{kind}{number}n")  # type: ignore[arg-type]
        if wide:
            drawn.append({"kind": kind, "title": title, "wide": Markup(wide), "narrow": Markup(narrow)})
    return drawn


def house_view(answer: Answer, offered: Sequence[Mapping[str, str]] = ()) -> dict[str, Any]:
    """Return one house: what binds, its charts and tables, what to look out for."""
    bound = wording.binding_pest(answer)
    pests = []
    told = sorted(chart_series.pests_of(answer), key=lambda pest: not _binds(pest, bound))
    for number, pest in enumerate(told):
        drawn = _charts(answer, pest, number) if number < MOST_DRAWN else []
        pests.append(
            {
                **pest,
                "binds": _binds(pest, bound),
                "charts": drawn,
                "by_unit": by_unit(pest.get("now_by_unit") or {}),
                "no_mummies": [chart["kind"] for chart in drawn] == ["aphids"]
                and any(day.get("mummies_closed") for day in pest["days"]),
                "dots_of_house": chart_series.tells_of_house(answer, pest),
                "hidden_walks": _before_chart(answer, pest),
            }
        )
    releases = [
        {**release, "label": chart_series.release_label(number)}
        for number, release in enumerate(answer.get("releases") or ())
    ]
    return {
        "answer": answer,
        "pests": pests,
        "releases": releases,
        "look_out": wording.look_out(answer),
        "care": wording.care(answer),
        "clean": ends_clean(answer["walks"]),
        "chart_words": chart_words(),
        "can_ask": bool(answer.get("pests")),
        "strip": strip_of(answer["house"]),
        "enemies": enemies_near(answer, offered),
        "coming": any(
            str(row["date"])[:10] >= str(answer["as_of"])[:10] for row in answer.get("releases") or ()
        ),
    }


def chart_words() -> list[tuple[str, str]]:
    """Return what a chart that zooms says, in the language spoken now; its script fills the braces."""
    return [
        ("how", say("Tap a day to read it. Two fingers stretch the time, one shifts it.")),
        ("today", say("today")),
        ("title-aphids", say("Live aphids")),
        ("title-mummies", say("Closed mummies")),
        ("closer", say("Closer")),
        ("wider", say("Wider")),
        ("day-back", say("A day back")),
        ("day-on", say("A day on")),
        ("save", say("Save as a picture")),
        ("drawing", say("Close")),
        ("read-aphids", say("Live aphids {q50}, one in two {q25} to {q75}, nine in ten {q05} to {q95}")),
        ("read-mummies", say("Closed mummies {q50}, nine in ten {q05} to {q95}")),
        ("read-chance", say("Above your level: {chance}")),
        ("read-walk", say("Counted {mean}, between {low} and {high}")),
        ("read-walk-bare", say("Counted {mean}")),
        ("read-heat", say("Up to {max}")),
    ]


def ends_clean(walks: Sequence[Answer]) -> bool:
    """Return whether the record ends with a walk of plants taken as they came that found nothing.

    Examples
    --------
    >>> clean = {"date": "2026-04-11", "infested": 0, "hunted": False}
    >>> ends_clean([clean]), ends_clean([clean, {**clean, "infested": 2}]), ends_clean([])
    (True, False, False)
    """
    last_find = max((walk["date"] for walk in walks if walk["infested"]), default="")
    return any(walk["date"] > last_find and not walk["hunted"] for walk in walks)


def _binds(pest: Answer, bound: Answer | None) -> bool:
    return bound is not None and (pest["pest"], pest.get("zone")) == (bound["pest"], bound.get("zone"))


def _before_chart(answer: Answer, pest: Answer) -> int:
    as_of = page.as_date(answer["as_of"])
    return sum(
        (as_of - page.as_date(walk["date"])).days > charts.LOOK_BACK_D
        for walk in chart_series.walks_of(answer, pest)
    )


def choices(facts: Facts, kind: str) -> list[Species]:
    """Return the species of a kind for a list to choose from, by their Latin names."""
    return sorted(
        (species for species in facts.species.values() if species.kind == kind),
        key=lambda species: species.latin or "~",
    )


def facts_index(facts: Facts) -> list[tuple[str, list[tuple[Species, int]]]]:
    """Return all species by kind, each with how many figures are known of it."""
    counted: dict[str, int] = {}
    for row in facts.rows():
        counted[row.species] = counted.get(row.species, 0) + 1
    return [
        (say(title), [(species, counted.get(species.key, 0)) for species in choices(facts, kind)])
        for kind, title in KINDS
    ]


def rows_by_quantity(rows: Sequence[Answer]) -> list[tuple[str, list[Answer]]]:
    """Return figures grouped by what they measure, in the order of the tables."""
    grouped: dict[str, list[Answer]] = {}
    for row in rows:
        grouped.setdefault(str(row["quantity"]), []).append(row)
    return list(grouped.items())


ALSO_PAGES = {
    "course": ("course", to_say("weigh the courses")),
    "enemies": ("enemies", to_say("which enemy")),
    "bankers": ("bankers", to_say("how many and when")),
    "standing": ("standing", to_say("change the standing order")),
    "dear": ("course", to_say("weigh what else can be done")),
}
"""The page behind each line that stands beside the packs, and how its link reads."""


def also_path(item: Answer) -> str:
    """Return the address that tells more of a line beside the packs.

    Examples
    --------
    >>> also_path({"topic": "course", "house": "bay 2"}), also_path({"topic": "bankers", "house": ""})
    ('/course/bay%202', '/bankers')
    """
    name = ALSO_PAGES[item["topic"]][0]
    return f"/{name}/{quote(item['house'], safe='')}" if item["house"] else f"/{name}"


def plan_view(plan: Answer, order: Answer) -> dict[str, Any]:
    """Return plan and order, what both say said once."""
    waiting = {
        (item["house"], item["why"], item.get("look_again"))
        for item in (*(plan.get("waiting") or ()), *(order.get("waiting") or ()))
        if item["house"] not in {lost["house"] for lost in plan["infeasible"]}
    }
    cautions = [*wording.minded(plan), *wording.minded(order)]
    rates = plan.get("rates") or ()
    return {
        "plan": plan,
        "order": order,
        "waiting": sorted(waiting, key=lambda item: item[0]),
        "cautions": list(dict.fromkeys(cautions)),
        "houses": list(plan["chance_ever_above"]),
        "instead": [
            (house, list(rows))
            for house, rows in groupby(plan.get("instead") or (), key=lambda one: str(one["house"]))
        ],
        "rates": [[rate for rate in rates if bool(rate.get("against")) is other] for other in (False, True)],
        "also_path": also_path,
        "also_said": lambda item: say(ALSO_PAGES[item["topic"]][1]),
        "span": plan_beside.span,
        "rule_cost": plan_beside.rule_cost,
        "rule_chance": plan_beside.rule_chance,
        "rate_line": plan_beside.rate_line,
        "cited": plan_beside.cited,
    }


def review_view(answer: Answer) -> dict[str, Any]:
    """Return how past forecasts fared, with the picture of where the walks fell."""
    return {
        "answer": answer,
        "pit": Markup(marks.tenths(answer["pit_tenths"], ident="pit")) if answer["cases"] else "",
    }
