"""The same answers as JSON, each with the schema it names."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Query

from outpace.language import to_say
from outpace.surfaces.web.answers import SHOWN_D
from outpace.surfaces.web.lag_page import ToldBy, answer_of
from outpace.surfaces.web.pages import AnswersOf, AskedBy, counts_seen

router = APIRouter(prefix="/api")

Json = dict[str, Any]

PROBLEM = {
    "description": to_say("what is wrong, where, what is allowed, and what to do next"),
    "content": {"application/json": {"schema": {"type": "object", "required": ["error"]}}},
}
RESPONSES: dict[int | str, dict[str, Any]] = {400: PROBLEM, 404: PROBLEM, 422: PROBLEM, 503: PROBLEM}


@router.get("/week", responses=RESPONSES)
async def week(asked: AskedBy, answers: AnswersOf) -> Json:
    """Return this week for every house."""
    return dict(await answers.week(asked))


@router.get("/ahead/{house}", responses=RESPONSES)
async def ahead(
    house: Annotated[str, Path(max_length=200)],
    asked: AskedBy,
    answers: AnswersOf,
    days: Annotated[int, Query(ge=1, le=60)] = SHOWN_D,
) -> Json:
    """Return the forecast of one house."""
    return dict(await answers.ahead(asked, house, days))


Budget = Annotated[float | None, Query(ge=0)]


@router.get("/plan", responses=RESPONSES)
async def plan(asked: AskedBy, answers: AnswersOf, budget: Budget = None) -> Json:
    """Return what to release, where, when and at what cost; ``budget`` is the most that the whole farm may spend."""
    return dict(await answers.plan(asked, budget))


@router.get("/order", responses=RESPONSES)
async def order(asked: AskedBy, answers: AnswersOf, budget: Budget = None) -> Json:
    """Return the orders that follow from the plan, by supplier."""
    return dict(await answers.order(asked, budget))


@router.get("/lag", responses=RESPONSES)
async def lag(answers: AnswersOf, asked: AskedBy, told: ToldBy) -> Json:
    """Return how long a release takes to show, by a mean temperature or by a house of the book."""
    return dict(await answer_of(answers, asked, told))


@router.get("/nofinds/{house}", responses=RESPONSES)
async def no_finds(house: Annotated[str, Path(max_length=200)], asked: AskedBy, answers: AnswersOf) -> Json:
    """Return what it proves that the walks of a house found nothing."""
    return dict(await answers.no_finds(asked, house))


@router.get("/review", responses=RESPONSES)
async def review(asked: AskedBy, answers: AnswersOf, replay: bool = False) -> Json:
    """Return how past forecasts fared: those kept, or all made anew without the future."""
    return dict(await answers.review(asked, replay))


@router.get("/trace", responses=RESPONSES)
async def trace(
    asked: AskedBy, answers: AnswersOf, code: Annotated[str, Query(min_length=1, max_length=200)]
) -> Json:
    """Return what stands behind a harvest code, or where a lot or a spray went."""
    return dict(await answers.trace(asked, code))


@router.get("/walk", responses=RESPONSES)
async def walk_round(
    asked: AskedBy, answers: AnswersOf, minutes: Annotated[float | None, Query(ge=0)] = None
) -> Json:
    """Return which houses to walk in the minutes there are."""
    return dict(await answers.walk_round(asked, minutes))


@router.get("/walk/{house}", responses=RESPONSES)
async def walk_plan(
    house: Annotated[str, Path(max_length=200)],
    asked: AskedBy,
    answers: AnswersOf,
    rows: Annotated[int | None, Query(ge=1)] = None,
    seen: Annotated[str | None, Query(max_length=2000)] = None,
) -> Json:
    """Return which plants to look at and the totals at which the walk may stop; with ``seen`` where it stands."""
    return dict(await answers.walk_plan(asked, house, rows=rows, seen=counts_seen(seen)))


@router.get("/facts", responses=RESPONSES)
async def facts(answers: AnswersOf, species: Annotated[str | None, Query(max_length=80)] = None) -> Json:
    """Return what is known, of one species or of all."""
    return dict(await answers.facts(species))
