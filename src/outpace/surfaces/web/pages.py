"""The pages: each asks the season one question and shows its answer."""

from __future__ import annotations

import secrets
from collections.abc import Awaitable
from typing import Annotated, Any
from urllib.parse import unquote

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from outpace.errors import ExitCode, OutpaceError
from outpace.facts import table as facts_table
from outpace.language import adopt, manner, say
from outpace.measures import read_in, with_farm_units
from outpace.surfaces.calendar import week_calendar
from outpace.surfaces.lan.access import Access
from outpace.surfaces.text.walk_plan import adds_up, limits, looks_at
from outpace.surfaces.typed_counts import counts_of
from outpace.surfaces.web import views
from outpace.surfaces.web.answers import Answers
from outpace.surfaces.web.asking import Answer, Asked
from outpace.surfaces.web.demo_page import answers_for
from outpace.surfaces.web.rendering import query, render
from outpace.units import number

router = APIRouter(include_in_schema=False)

WAIT_S = 6.0
"""A page waits so long for its answer; then it says that the work goes on, and comes back by itself."""


def asked_by(
    farm: Annotated[str | None, Query(max_length=200)] = None,
    as_of: Annotated[str | None, Query(max_length=40)] = None,
) -> Asked:
    """Return whose week is asked for, and as on which day."""
    return Asked(farm=farm or None, as_of=as_of or None)


AskedBy = Annotated[Asked, Depends(asked_by)]


async def answers_of(request: Request) -> Answers:
    """Return where answers come from; asked in the request's own task, so that the page knows of it.

    Whoever chose no units is told things in those of the farm; an address may name its own, for what stands in it.
    """
    answers = answers_for(request)
    if not manner().si:
        asked = asked_by(request.query_params.get("farm"), request.query_params.get("as_of"))
        adopt(with_farm_units(*await answers.farm_units(asked)))
        read_in(request.query_params.get("units", ""))
    return answers


def signed_in(request: Request) -> str | None:
    """Return who is signed in over the local network; on this machine nobody has to."""
    lan: Access | None = getattr(request.app.state, "lan", None)
    return None if lan is None else lan.person(dict(request.scope["headers"]))


AnswersOf = Annotated[Answers, Depends(answers_of)]


async def shown(answers: Answers, answer: Awaitable[Any]) -> Any:
    """Return an answer if it comes soon; else the page that says so comes back by itself."""
    return await answers.soon(answer, WAIT_S)


def page_of(template: str, asked: Asked, here: str, status: int = 200, **values: Any) -> HTMLResponse:
    """Return a page that keeps farm and day in its links."""
    kept = {"farm": asked.farm, "as_of": asked.as_of}
    return HTMLResponse(render(template, kept=kept, here=here, **values), status_code=status)


def _invented(asked: Asked, answer: Answer) -> bool:
    return bool(answer.get("invented")) or views.is_invented(answer.get("farm"), asked.farm)


@router.get("/")
async def week_page(asked: AskedBy, answers: AnswersOf) -> Response:
    """Show this week."""
    if asked.farm is None:
        names = await shown(answers, answers.farms())
        if len(names) > 1:
            return page_of("farms.html", asked, "week", farms=names)
    answer = await shown(answers, answers.week(asked))
    return page_of("week.html", asked, "week", invented=_invented(asked, answer), **views.week_view(answer))


@router.get("/week.ics")
async def week_file(asked: AskedBy, answers: AnswersOf) -> Response:
    """Send the week's tasks as a calendar."""
    content = week_calendar(await answers.week(asked))
    return Response(
        content,
        media_type="text/calendar; charset=utf-8",
        headers={"content-disposition": 'attachment; filename="week.ics"'},
    )


Money = Annotated[str, Query(max_length=20)]


def money_in(text: str) -> float | None:
    """Return an amount that was typed; None where nothing was.

    Raises
    ------
    OutpaceError
        If it is no number, or below 0.
    """
    if not text.strip():
        return None
    where = say("Most that the whole farm may spend")
    value = number(text, where=where)
    if value < 0:
        raise OutpaceError(text, where=where, allowed=say("0 or more"), code=ExitCode.USAGE)
    return value


@router.get("/plan")
async def plan_page(request: Request, asked: AskedBy, answers: AnswersOf, budget: Money = "") -> Response:
    """Show what to buy, and the messages to send; within a budget of the whole farm where one is told."""
    most = money_in(budget)
    plan = await shown(answers, answers.plan(asked, most))
    order = await shown(answers, answers.order(asked, most))
    return page_of(
        "plan.html",
        asked,
        "plan",
        invented=_invented(asked, plan),
        form_id=secrets.token_urlsafe(12),
        by=unquote(request.cookies.get("outpace_by", "")),
        signed_in=bool(signed_in(request)),
        budget=budget.strip(),
        **views.plan_view(plan, order),
    )


@router.get("/house/{house:path}/sheet.pdf")
async def sheet_file(house: str, asked: AskedBy, answers: AnswersOf) -> Response:
    """Send the printed page of one house."""
    content = await answers.sheet(asked, house)
    return Response(
        content,
        media_type="application/pdf",
        headers={"content-disposition": 'inline; filename="week-sheet.pdf"'},
    )


@router.get("/house/{house:path}")
async def house_page(house: str, asked: AskedBy, answers: AnswersOf) -> Response:
    """Show what is ahead in one house."""
    answer = await shown(answers, answers.ahead(asked, house))
    view = views.house_view(answer, await answers.offered(asked))
    return page_of("house.html", asked, "week", invented=_invented(asked, answer), **view)


@router.get("/nofinds/{house:path}")
async def no_finds_page(house: str, asked: AskedBy, answers: AnswersOf) -> Response:
    """Show what it proves that the walks of a house found nothing."""
    answer = await shown(answers, answers.no_finds(asked, house))
    return page_of("no_finds.html", asked, "week", invented=_invented(asked, answer), answer=answer)


@router.get("/trace")
async def trace_page(
    asked: AskedBy, answers: AnswersOf, code: Annotated[str | None, Query(max_length=200)] = None
) -> Response:
    """Show what stands behind a code, and the field to ask in."""
    codes = await shown(answers, answers.codes(asked))
    answer = await shown(answers, answers.trace(asked, code)) if code and code.strip() else None
    invented = views.is_invented(answer["farm"] if answer else None, asked.farm)
    return page_of(
        "trace.html", asked, "trace", invented=invented, answer=answer, codes=codes, code=code or ""
    )


def counts_seen(seen: str | None) -> tuple[int, ...] | None:
    """Return the counts that were typed so far; None where none were."""
    return tuple(counts_of(seen)) if seen and seen.strip() else None


@router.get("/walk")
async def walk_round_page(
    asked: AskedBy, answers: AnswersOf, minutes: Annotated[str | None, Query(max_length=10)] = None
) -> Response:
    """Ask how many minutes there are, and show which houses to walk in them."""
    has = _minutes(minutes)
    answer = await shown(answers, answers.walk_round(asked, has))
    return page_of("walk_round.html", asked, "walk", invented=_invented(asked, answer), answer=answer)


@router.get("/walk/{house:path}")
async def walk_plan_page(
    house: str,
    asked: AskedBy,
    answers: AnswersOf,
    rows: Annotated[str | None, Query(max_length=6)] = None,
    seen: Annotated[str | None, Query(max_length=2000)] = None,
) -> Response:
    """Show which plants of a house to look at, and when the walk may stop."""
    told = int(rows) if rows and rows.isascii() and rows.isdigit() and int(rows) > 0 else None
    answer = await shown(answers, answers.walk_plan(asked, house, rows=told, seen=counts_seen(seen)))
    return page_of(
        "walk_plan.html",
        asked,
        "walk",
        invented=_invented(asked, answer),
        answer=answer,
        seen=seen or "",
        limits=limits,
        adds_up=adds_up,
        looks_at=looks_at,
    )


def _minutes(told: str | None) -> float | None:
    if not told or not told.strip():
        return None
    try:
        has = float(told.replace(",", "."))
    except ValueError:
        has = -1.0
    if not 0 <= has < float("inf"):
        raise OutpaceError(
            say("{told!r} is no number of minutes", told=told),
            where="minutes",
            allowed=say("0 or more"),
            hint=say("for example 30"),
        )
    return has


@router.get("/review")
async def review_page(asked: AskedBy, answers: AnswersOf, replay: bool = False) -> Response:
    """Show how past forecasts fared against later walks."""
    answer = await shown(answers, answers.review(asked, replay))
    return page_of(
        "review.html", asked, "review", invented=_invented(asked, answer), **views.review_view(answer)
    )


@router.get("/facts")
async def facts_page(asked: AskedBy) -> Response:
    """Show of which species something is known."""
    return page_of("facts.html", asked, "facts", index=views.facts_index(facts_table.load()))


@router.get("/facts/{species}")
async def species_page(species: str, asked: AskedBy, answers: AnswersOf) -> Response:
    """Show every figure known of one species, each with its source."""
    key = facts_table.load().resolve(species)
    if key != species:
        return RedirectResponse(f"/facts/{key}{query({'farm': asked.farm, 'as_of': asked.as_of})}")
    answer = await answers.facts(key)
    return page_of(
        "species.html",
        asked,
        "facts",
        answer=answer,
        species=facts_table.load().species[key],
        groups=views.rows_by_quantity(answer["rows"]),
    )
