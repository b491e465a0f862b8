"""Pages of what stands and what to do next about it: parcels, sprays, plants in, money, settings."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Query
from fastapi.responses import Response

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.measures import per_area
from outpace.surfaces.text.vocabulary import manner_names
from outpace.surfaces.web.entry.fields import Field, Form, Mistakes, NotRead, placed, read
from outpace.surfaces.web.manner import choices, shown_now
from outpace.surfaces.web.pages import AnswersOf, AskedBy, page_of, shown
from outpace.surfaces.web.views import is_invented

router = APIRouter(include_in_schema=False)

Day = Annotated[str, Query(max_length=20)]


@router.get("/arrivals")
async def arrivals_page(asked: AskedBy, answers: AnswersOf) -> Response:
    """Show what is on its way, what came, and what to count when."""
    answer = await shown(answers, answers.arrivals(asked))
    return page_of("arrivals.html", asked, "arrivals", answer=answer, invented=is_invented(answer["farm"]))


@router.get("/sprays")
async def sprays_page(asked: AskedBy, answers: AnswersOf) -> Response:
    """Show what the sprays of the houses hold back, and until when."""
    answer = await shown(answers, answers.sprays(asked))
    known = await answers.choices(asked)
    return page_of(
        "sprays.html", asked, "sprays", answer=answer, known=known, invented=is_invented(answer["farm"])
    )


@router.get("/plants")
async def plants_page(asked: AskedBy, answers: AnswersOf) -> Response:
    """Show the plants that came in, and what their raisers told."""
    answer = await shown(answers, answers.plants(asked))
    return page_of("plants.html", asked, "plants", answer=answer, invented=is_invented(answer["farm"]))


@router.get("/settings")
async def settings_page(asked: AskedBy, answers: AnswersOf) -> Response:
    """Show what was told of the farm itself, to be changed."""
    known = await answers.choices(asked)
    tables = ("farm", "houses", "zones", "action_levels", "packs", "permits")
    rows = {of: (await answers.rows(asked, of=of))["rows"] for of in tables} if known["farm"] else {}
    return page_of(
        "settings.html",
        asked,
        "settings",
        known=known,
        rows=rows,
        choices=choices(),
        names=manner_names(),
        now=shown_now(),
        invented=is_invented(known["farm"]),
    )


def level_form() -> Form:
    """Ask what acting and losing cost, to say from how many aphids acting pays."""
    return Form(
        "level",
        say("Action level"),
        say("From how many aphids does acting pay?"),
        say("Reckon it"),
        (
            Field("cost", say("What acting once costs, {per}", per=per_area()), "number", need=True),
            Field("value", say("What the crop is worth, {per}", per=per_area()), "number", need=True),
            Field("loss", say("Share of the crop that is lost, 0 to 1"), "number", need=True),
            Field("aphids", say("at so many aphids per leaf, plant or m²"), "number", need=True),
            Field("prevented", say("Share of that loss which acting prevents, 0 to 1"), "number", value="1"),
            Field("growth", say("How fast they grow a day, such as 0.1"), "number"),
            Field("delay", say("Days until acting works"), "number"),
        ),
    )


@router.get("/money")
async def money_page(
    asked: AskedBy,
    answers: AnswersOf,
    first: Day = "",
    last: Day = "",
    cost: Day = "",
    value: Day = "",
    loss: Day = "",
    aphids: Day = "",
    prevented: Day = "",
    growth: Day = "",
    delay: Day = "",
) -> Response:
    """Show what enemies cost, and from how many aphids acting pays."""
    today = date.today()
    begins, ends = first or f"{today.year}-01-01", last or today.isoformat()
    wrong, problem, level, answer = Mistakes(), None, None, None
    try:
        answer = await shown(answers, answers.money(asked, begins, ends))
    except OutpaceError as error:
        if error.code is not ExitCode.USAGE:
            raise
        problem = error
    told = {
        "cost": cost, "value": value, "loss": loss, "aphids": aphids,
        "prevented": prevented or "1", "growth": growth, "delay": delay,
    }  # fmt: skip
    form = level_form().filled(told)
    if cost or value or loss or aphids:
        level, wrong = _level(form, told)
    return page_of(
        "money.html",
        asked,
        "money",
        status=422 if wrong or problem else 200,
        answer=answer,
        problem=problem,
        first=begins,
        last=ends,
        form=form,
        wrong=wrong,
        level=level,
        invented=is_invented(answer["farm"] if answer else asked.farm),
    )


def _level(form: Form, told: dict[str, str]) -> tuple[Any, Mistakes]:
    from outpace.season.money import level

    try:
        values = read(form, told)
        return level(
            cost=values["cost"],
            value=values["value"],
            loss=values["loss"],
            aphids=values["aphids"],
            prevented=values["prevented"] if values["prevented"] is not None else 1.0,
            growth_per_d=values["growth"],
            delay_d=values["delay"],
        ), Mistakes()
    except NotRead as fault:
        return None, fault.mistakes
    except OutpaceError as error:
        return None, placed(error, form)
