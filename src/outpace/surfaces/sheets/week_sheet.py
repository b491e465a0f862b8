"""The week sheet: one printed page for one house."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.measures import area as area_told
from outpace.surfaces import chart_series, charts, marks, wording
from outpace.surfaces.sheets.paper import tied
from outpace.surfaces.sheets.told import told
from outpace.surfaces.text import page

Answer = Mapping[str, Any]

TEMPLATE = Path(__file__).with_name("week_sheet.typ")

MOST_TASKS = 7
MOST_REASONS = 3
MOST_LINES = 5
WHY_LETTERS = 130
"""Letters of why something is to be done, in two lines of small print."""


def write(answer: Answer, path: Path, *, week_row: Answer | None = None, head: str = "") -> None:
    """Write the sheet of one house as a tagged PDF of one A4 page.

    Parameters
    ----------
    answer : mapping
        The answer of ``outpace ahead``.
    path : Path
        Where to; the file is there whole or not at all.
    week_row : mapping, optional
        The house's row of ``outpace week``, for its area.
    head : str
        The head of the book, printed so that a sheet can be tied to what was recorded.

    Raises
    ------
    OutpaceError
        If the PDF extra is not installed, or the file cannot be written.
    """
    content = render(answer, week_row=week_row, head=head)
    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_bytes(content)
        os.replace(beside, path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise OutpaceError(
            say("cannot write it: {strerror}", strerror=error.strerror),
            where=f"`{path}`",
            hint=say("choose another place"),
        ) from error


def render(answer: Answer, *, week_row: Answer | None = None, head: str = "") -> bytes:
    """Return the sheet of one house as the bytes of a PDF; parameters as in `write`."""
    try:
        import typst
    except ModuleNotFoundError:
        raise OutpaceError(
            say("printed sheets need the PDF extra, which is not installed"),
            hint="`pip install outpace[pdf]`",
        ) from None
    template = TEMPLATE.read_bytes()
    data = told(sheet_data(answer, week_row=week_row, head=head), template.decode())
    inputs = {"sheet": json.dumps(data)}
    fonts = _fonts()
    try:
        return bytes(typst.compile(template, font_paths=fonts, sys_inputs=inputs, pdf_standards=["ua-1"]))
    except typst.TypstError as error:
        if "could not be displayed" not in str(error):
            raise
        # A letter that no font here can draw rules out the accessible standard; a sheet with an empty
        # box in a name, still tagged, is better than no sheet.
        return bytes(typst.compile(template, font_paths=fonts, sys_inputs=inputs))


@lru_cache(maxsize=1)
def _fonts() -> Any:
    """Return the fonts of this machine and those that come along, looked for once for all sheets of a week."""
    import typst

    return typst.Fonts()


def clip(text: object, most: int) -> str:
    """Return a text of at most so many letters, in one line, an ellipsis where it was cut.

    Examples
    --------
    >>> clip("a  long word", 8)
    'a long …'
    """
    whole = page.plain(text)
    return whole if len(whole) <= most else whole[: most - 1] + "…"


def sheet_data(answer: Answer, *, week_row: Answer | None = None, head: str = "") -> dict[str, Any]:
    """Return what the sheet says, as text; the template only sets it."""
    house = clip(answer["house"], 60)
    verdict = answer.get("verdict") or {}
    about = [page.name(answer.get("crop"))]
    area = (week_row or answer).get("area_m2")
    if area:
        about.append(area_told(area))
    age = answer.get("data_age_d")
    about.append(say("not walked yet") if age is None else say("last walk {age}", age=page.days_ago(age)))
    tasks = list(answer.get("tasks") or ())
    more = len(tasks) - MOST_TASKS
    stale = answer.get("stale") or {}
    week = page.week_of(answer["as_of"])
    # A house with too old a count has one reason, and the line of the verdict says it.
    reasons = () if stale.get("message") else verdict.get("reasons") or ()
    mind = [*wording.care(answer), *(answer.get("cautions") or ())]
    return {
        "title": f"{house}, {week}",
        "house": house,
        "farm": clip(answer.get("farm", ""), 40),
        "week": week,
        "about": clip(" · ".join(about), 120),
        "verdict": verdict.get("word") or say("No verdict"),
        "verdict_line": clip(stale.get("message") or wording.verdict_line(verdict), 300),
        "mark": marks.verdict_mark(verdict.get("word")),
        "mark_alt": say("Verdict: {word}", word=verdict.get("word") or "none"),
        "reasons": [clip(reason, 160) for reason in reasons][:MOST_REASONS],
        "sentence": clip(answer.get("sentence") or "", 220),
        "tasks": [_task(task) for task in tasks[:MOST_TASKS]],
        "more_tasks": say("And {more} more: see the page of this house.", more=more) if more > 0 else "",
        "plan_of": clip(wording.plan_moment(answer), 200),
        **_chart(answer),
        "look_out": [[clip(seen, 140), clip(then, 180)] for seen, then in wording.look_out(answer)],
        "mind": [clip(line, 260) for line in mind][:MOST_LINES],
        "footer": clip(
            say(
                "Known until {as_of}; weakest evidence {evidence_weakest}. Labels and local codes come "
                "first.",
                as_of=page.moment(answer["as_of"], year=True),
                evidence_weakest=answer.get("evidence_weakest") or say("not told"),
            ),
            150,
        ),
        "head": tied(head),
    }


def _task(task: Answer) -> dict[str, str]:
    minutes = task.get("minutes")
    return {
        "day": page.day(task["day"]),
        "what": clip(task["what"], 170),
        "why": clip(task.get("why") or "", WHY_LETTERS),
        "minutes": "" if minutes is None else page.figure(minutes),
    }


def _chart(answer: Answer) -> dict[str, str]:
    pest = wording.binding_pest(answer) or next(iter(chart_series.pests_of(answer)), None)
    drawn = charts.outlook(answer, pest, kind="aphids", size=charts.PRINT, ident="sheet") if pest else ""
    if not pest or not drawn:
        return {"chart": "", "chart_title": "", "chart_alt": "", "chart_note": ""}
    title, told = charts.described(answer, pest, "aphids")
    releases = [
        f"{chart_series.release_label(number)} {page.day(release['date'])}: {page.figure(release['number'])} "
        f"{page.name(release['enemy'])}"
        for number, release in enumerate(answer.get("releases") or ())
        if (page.as_date(answer["as_of"]) - page.as_date(release["date"])).days <= charts.LOOK_BACK_D
    ]
    note = say("Dots: walks. Dark band: one in two; light band: nine in ten.")
    if pest["days"]:
        note += say(" Hatched: hot day. Grey: scenario.")
    if chart_series.tells_of_house(answer, pest):
        note += say(" Dots: the whole house; ahead: {zone}.", zone=page.plain(pest["zone"]))
    return {
        "chart": drawn,
        "chart_title": clip(title, 90),
        "chart_alt": f"{title}. {told}",
        "chart_note": clip(" ".join([note, *(f"{one}." for one in releases[-4:])]), 330),
    }
