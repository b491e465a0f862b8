"""The page that weighs the courses open to a house, with the grower's own figures in a form above it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Request
from fastapi.responses import Response

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say, to_say
from outpace.measures import read_rate
from outpace.surfaces.text.course import detail_lines, money_line
from outpace.surfaces.web import views
from outpace.surfaces.web.pages import AnswersOf, AskedBy, page_of, shown
from outpace.units import number

router = APIRouter(include_in_schema=False)

LONGEST = 12
WORTH = {
    "loss": to_say("What is lost in a day for each aphid above your level, {per}"),
    "value": to_say("What the crop still standing will bring, {per}"),
    "clearing": to_say("What clearing the crop costs"),
    "plants": to_say("Plants to work on as spots; empty: those tagged"),
}
TREATMENT = {
    "kill_aphids": to_say("Aphids it kills at once, %"),
    "kill_enemies": to_say("Enemies it kills at once, %"),
    "residue": to_say("Enemies its residue kills on the first day, %"),
    "residue_days": to_say("Days for which it harms enemies"),
    "reentry_h": to_say("Label: hours to keep out"),
    "harvest_days": to_say("Label: days not to pick"),
    "cost": to_say("What it costs, work included"),
}
RATES = ("loss", "value")
SHARES = ("kill_aphids", "kill_enemies", "residue")
KINDS = ("spray", "spots")
NAMES = (*WORTH, *(f"{kind}_{name}" for kind in KINDS for name in TREATMENT))


def figures_in(request: Request) -> dict[str, str]:
    """Return the form as it was filled in, nothing read yet."""
    return {name: request.query_params.get(name, "")[:LONGEST].strip() for name in NAMES}


FilledIn = Annotated[dict[str, str], Depends(figures_in)]


def read(told: Mapping[str, str]) -> dict[str, float | None]:
    """Return the figures of a form; percentages become shares, what is empty stays unknown.

    Raises
    ------
    OutpaceError
        If one is no number, or out of its range.
    """
    found: dict[str, float | None] = {}
    for name, text in told.items():
        if not text:
            found[name] = None
            continue
        where = name.replace("_", " ")
        value = read_rate(text, where=where) if name in RATES else number(text, where=where)
        share = name.partition("_")[2] in SHARES
        if value < 0 or (share and value > 100):
            raise OutpaceError(
                text,
                where=name.replace("_", " "),
                allowed="0 to 100" if share else say("0 or above"),
                code=ExitCode.USAGE,
            )
        found[name] = value / 100 if share else value
    return found


@router.get("/course/{house:path}")
async def course_page(house: str, asked: AskedBy, answers: AnswersOf, told: FilledIn) -> Response:
    """Show what each course costs and brings."""
    answer = await shown(answers, answers.course(asked, house, read(told)))
    return page_of(
        "course.html",
        asked,
        "week",
        invented=views.is_invented(answer.get("farm"), asked.farm),
        answer=answer,
        told=told,
        worth=WORTH,
        treatment=TREATMENT,
        money_line=money_line,
        detail_lines=detail_lines,
    )


@router.get("/api/course/{house}", include_in_schema=True)
async def course(
    house: Annotated[str, Path(max_length=200)],
    asked: AskedBy,
    answers: AnswersOf,
    told: FilledIn,
) -> dict[str, Any]:
    """Return what each course costs and brings; figures as in the form of the page, shares in per cent."""
    return dict(await answers.course(asked, house, read(told)))
