"""The what-if strip of a house: one thing otherwise, and the chance and the band beside today's."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Request
from fastapi.responses import Response

from outpace import measures
from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.surfaces.web.pages import AnswersOf, AskedBy, page_of, shown
from outpace.surfaces.web.views import is_invented
from outpace.surfaces.web.what_if_view import NAMES, enemies_near, strip_of, told_view
from outpace.units import number

router = APIRouter(include_in_schema=False)

LONGEST = 40


def told_in(request: Request) -> dict[str, str]:
    """Return the strip as it was filled in, nothing read yet."""
    return {name: request.query_params.get(name, "")[:LONGEST].strip() for name in NAMES}


ToldIn = Annotated[dict[str, str], Depends(told_in)]


def read(told: Mapping[str, str]) -> dict[str, Any]:
    """Return what is otherwise, as ``outpace.season.what_if.Changes`` takes it, the spray apart.

    Raises
    ------
    OutpaceError
        If a figure cannot be read.
    """
    read_: dict[str, Any] = {}
    if told["warmer"]:
        read_["warmer"] = measures.read_difference(told["warmer"], where=say("Warmer or colder"))
    if told["times"]:
        read_["times"] = number(told["times"], where=say("What is on its way"))
    if told["later"]:
        read_["later_d"] = _whole(told["later"], say("days later"))
    if told["number"]:
        read_["number"] = _whole(told["number"], say("How many"))
        read_["enemy"] = told["enemy"] or None
        read_["on"] = _day(told["on"]) if told["on"] else None
    if told["spray"]:
        read_["spray"] = {
            name: _share(told[name], label)
            for name, label in (
                ("kill_aphids", say("Aphids it kills at once, %")),
                ("kill_enemies", say("Enemies it kills at once, %")),
            )
        }
    return read_


@router.get("/api/whatif/{house}", include_in_schema=True)
async def what_if(
    house: Annotated[str, Path(max_length=200)], asked: AskedBy, answers: AnswersOf, told: ToldIn
) -> dict[str, Any]:
    """Return a house with something otherwise beside what is foreseen; asked as by the strip, degrees in °C."""
    return dict(await answers.what_if(asked, house, read(told)))


@router.get("/house/{house:path}/whatif")
async def what_if_page(house: str, asked: AskedBy, answers: AnswersOf, told: ToldIn) -> Response:
    """Show what would be if one thing were otherwise; nothing is recorded."""
    answer, problem = None, None
    known = await shown(answers, answers.ahead(asked, house))
    try:
        answer = await shown(answers, answers.what_if(asked, house, read(told)))
    except OutpaceError as error:
        if error.code is not ExitCode.USAGE:
            raise
        problem = error
    return page_of(
        "whatif.html",
        asked,
        "week",
        status=422 if problem else 200,
        invented=is_invented(known.get("farm"), asked.farm),
        house=known["house"],
        strip=strip_of(known["house"], told),
        enemies=answer["enemies"] if answer else enemies_near(known, await answers.offered(asked)),
        coming=answer["coming"] if answer else 1,
        what=told_view(answer) if answer else None,
        problem=problem,
    )


def _whole(text: str, where: str) -> int:
    found = number(text, where=where)
    if not found.is_integer():
        raise OutpaceError(
            f"{text!r}", where=where, allowed=say("must be a whole number"), code=ExitCode.USAGE
        )
    return int(found)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise OutpaceError(
            say("{text_told!r} is no date", text_told=text),
            where=say("Day"),
            allowed=say("a day such as 2026-04-20"),
            code=ExitCode.USAGE,
        ) from None


def _share(text: str, where: str) -> float | None:
    if not text:
        return None
    value = number(text, where=where)
    if not 0 <= value <= 100:
        raise OutpaceError(text, where=where, allowed=say("0 to 100"), code=ExitCode.USAGE)
    return value / 100
