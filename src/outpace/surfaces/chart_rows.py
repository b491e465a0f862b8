"""The numbers behind a chart, day by day: for a drawing that zooms, and for a table to take along."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Any

from outpace.measures import temperature
from outpace.surfaces import chart_series, charts, wording
from outpace.surfaces.svg import tag
from outpace.surfaces.text import page

Answer = Mapping[str, Any]
QUANTILES = ("q05", "q25", "q50", "q75", "q95")
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def chart_rows(answer: Answer, number: int) -> dict[str, Any]:
    """Return all that one pest's charts show, as lists over the same days.

    Parameters
    ----------
    answer : mapping
        The answer of ``outpace ahead``.
    number : int
        Which pest, the binding one first, as the page of the house counts them.
    """
    pest = pests_in_order(answer)[number]
    aphids = [day for part in chart_series.series(answer, pest, "aphids") for day in part]
    mummies = chart_series.series(answer, pest, "mummies")[1]
    walks = chart_series.walks_of(answer, pest)
    releases = list(answer.get("releases") or ())
    dated = (*aphids, *mummies, *walks, *releases)
    days = sorted({str(row["date"])[:10] for row in dated} | {str(answer["as_of"])[:10]})
    chances = {str(day["date"])[:10]: day.get("chance_above_that_day") for day in pest["days"]}
    scenario = answer.get("scenario_from")
    return {
        "days": days,
        "as_of": str(answer["as_of"])[:10],
        "scenario_from": str(scenario)[:10] if scenario else None,
        "unit": pest.get("unit"),
        "level": pest.get("action_level"),
        "aphids": _over(days, aphids),
        "mummies": _over(days, mummies) if mummies else None,
        "chance": [chances.get(day) for day in days],
        "walks": [
            {
                "date": str(walk["date"])[:10],
                "mean": walk["mean"],
                "low": walk.get("low"),
                "high": walk.get("high"),
                "hunted": bool(walk.get("hunted")),
                "mummies": chart_series.mummies_per_unit(walk),
            }
            for walk in walks
        ],
        "releases": [
            {"date": str(row["date"])[:10], "label": chart_series.release_label(n)}
            for n, row in enumerate(releases)
        ],
        "heat": [
            {"date": str(hot["date"])[:10], "max": hot["max"], "told": temperature(hot["max"], 0)}
            for hot in answer.get("heat_days") or ()
        ],
    }


def pests_in_order(answer: Answer) -> list[Answer]:
    """Return the pests as the page of the house shows them: the binding one first."""
    bound = wording.binding_pest(answer)

    def binds(pest: Answer) -> bool:
        return bound is not None and (pest["pest"], pest.get("zone")) == (bound["pest"], bound.get("zone"))

    return sorted(chart_series.pests_of(answer), key=lambda pest: not binds(pest))


def days_table(answer: Answer) -> str:
    """Return every day of every pest as a table (CSV), safe to open in a spreadsheet."""
    told = io.StringIO()
    table = csv.writer(told, lineterminator="\r\n")
    table.writerow(
        ["house", "pest", "zone", "unit", "date", "forecast"]
        + [f"aphids_{q}" for q in QUANTILES]
        + [f"mummies_closed_{q}" for q in QUANTILES]
        + [
            "chance_above_action_level",
            "action_level",
            "counted_mean",
            "counted_low",
            "counted_high",
            "looked_at",
        ]
    )
    for pest in pests_in_order(answer):
        past, ahead = chart_series.series(answer, pest, "aphids")
        mummies = {str(day["date"])[:10]: day for day in chart_series.series(answer, pest, "mummies")[1]}
        chances = {str(day["date"])[:10]: day.get("chance_above_that_day") for day in pest["days"]}
        walks = {str(walk["date"])[:10]: walk for walk in chart_series.walks_of(answer, pest)}
        aphids = {str(day["date"])[:10]: ("past", day) for day in past}
        aphids |= {str(day["date"])[:10]: ("ahead", day) for day in ahead}
        scenario = str(answer.get("scenario_from") or "9999")[:10]
        for day in sorted({*aphids, *mummies, *walks}):
            kind, row = aphids.get(day, ("", {}))
            walk = walks.get(day, {})
            table.writerow(
                [
                    _safe(answer["house"]),
                    _safe(pest["pest"]),
                    _safe(pest.get("zone") or ""),
                    pest.get("unit") or "",
                ]
                + [day, "scenario" if kind == "ahead" and day >= scenario else kind]
                + [_cell(row.get(q)) for q in QUANTILES]
                + [_cell(mummies.get(day, {}).get(q)) for q in QUANTILES]
                + [_cell(chances.get(day)), _cell(pest.get("action_level"))]
                + [_cell(walk.get(key)) for key in ("mean", "low", "high", "looked_at")]
            )
    return told.getvalue()


def image(answer: Answer, number: int, kind: str) -> str:
    """Return one drawing as a file of its own, or "" where there is none."""
    pest = pests_in_order(answer)[number]
    told = "aphids" if kind == "aphids" else "mummies"
    drawn = charts.outlook(answer, pest, kind=told, size=charts.WIDE, ident="image")  # type: ignore[arg-type]
    title, _ = charts.described(answer, pest, told)  # type: ignore[arg-type]
    if not drawn:
        return ""
    head = f"{answer['house']}: {title}, {page.day(answer['as_of'])}"
    return drawn.replace(
        "<defs>",
        '<rect width="100%" height="100%" fill="#fff"/>' + tag("text", "", head, x=4, y=14) + "<defs>",
        1,
    )


def _over(days: list[str], rows: list[Answer]) -> dict[str, list[float | None]]:
    by_day = {str(row["date"])[:10]: row for row in rows}
    return {q: [by_day[day][q] if day in by_day else None for day in days] for q in QUANTILES}


def _cell(value: Any) -> str:
    return "" if value is None else f"{float(value):.6g}"


def _safe(text: object) -> str:
    """Return a text that no spreadsheet takes for a formula.

    Examples
    --------
    >>> _safe("=1+1"), _safe("north")
    ("'=1+1", 'north')
    """
    told = str(text)
    return f"'{told}" if told.startswith(FORMULA_STARTS) else told
