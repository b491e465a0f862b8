"""Pages that end in something to do: which enemy, when to stop, where to hang it, who gets a parcel, bankers."""

from __future__ import annotations

from collections.abc import Awaitable, Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Query
from fastapi.responses import RedirectResponse, Response

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.surfaces.text import edges as edge_text
from outpace.surfaces.text import enemies as enemy_text
from outpace.surfaces.text.orders_open import effect_line
from outpace.surfaces.text.plan_beside import span
from outpace.surfaces.web import views
from outpace.surfaces.web.answers import Answers
from outpace.surfaces.web.asking import Answer, Asked
from outpace.surfaces.web.pages import AnswersOf, AskedBy, money_in, page_of, shown
from outpace.surfaces.web.rendering import house_path, query
from outpace.units import number as number_in

router = APIRouter(include_in_schema=False)

Word = Annotated[str, Query(max_length=200)]
Short = Annotated[str, Query(max_length=20)]


def amount(text: str, where: str, *, least: float = 0.0) -> float | None:
    """Return a number that was typed; None where nothing was.

    Raises
    ------
    OutpaceError
        If it is no number, or below the least that makes sense.
    """
    if not text.strip():
        return None
    value = number_in(text, where=where)
    if value < least:
        raise OutpaceError(
            text.strip(), where=where, allowed=say("{least:g} or more", least=least), code=ExitCode.USAGE
        )
    return value


def whole(text: str, where: str) -> int | None:
    """Return a whole number from 1 on that was typed; None where nothing was.

    Raises
    ------
    OutpaceError
        If it is something else.
    """
    value = amount(text, where, least=1)
    if value is None:
        return None
    if value != round(value) or value > 10_000_000:
        raise OutpaceError(
            text.strip(), where=where, allowed=say("a whole number from 1"), code=ExitCode.USAGE
        )
    return round(value)


def kept_of(asked: Asked) -> dict[str, str | None]:
    """Return what the links of a page keep."""
    return {"farm": asked.farm, "as_of": asked.as_of}


async def first_house(answers: Answers, asked: Asked, page: str) -> Response:
    """Lead to the page of the first house; to the first steps where there is none."""
    houses = await answers.houses(asked)
    where = house_path(houses[0], page=page) if houses else "/start"
    return RedirectResponse(f"{where}{query(kept_of(asked))}")


async def told(answer: Awaitable[Answer]) -> tuple[Answer | None, OutpaceError | None]:
    """Return an answer, or what was wrong with what was typed."""
    try:
        return await answer, None
    except OutpaceError as error:
        if error.code is not ExitCode.USAGE:
            raise
        return None, error


def _page(
    template: str,
    asked: Asked,
    answer: Answer | None,
    problem: OutpaceError | None = None,
    **values: Any,
) -> Response:
    return page_of(
        template,
        asked,
        "plan",
        status=422 if problem else 200,
        answer=answer,
        problem=problem,
        invented=views.is_invented(answer.get("farm") if answer else None, asked.farm),
        **values,
    )


@router.get("/enemies")
async def enemies_first(asked: AskedBy, answers: AnswersOf) -> Response:
    """Lead to the enemies of the first house."""
    return await first_house(answers, asked, "enemies")


@router.get("/enemies/{house:path}")
async def enemies_page(house: str, asked: AskedBy, answers: AnswersOf) -> Response:
    """Show which enemy fits a house, and why."""
    answer = await shown(answers, answers.enemies(asked, house))
    row = answer["houses"][0]
    groups: dict[str, list[Answer]] = {}
    # Those that can be bought stand first in each group; else the order of the answer is kept.
    for item in sorted(row["candidates"], key=lambda one: not one["on_offer"]):
        groups.setdefault(item["state"], []).append(item)
    return _page(
        "enemies.html",
        asked,
        answer,
        row=row,
        groups=[
            (say(words), state, groups[state])
            for state, words in enemy_text.STATES.items()
            if state in groups
        ],
        houses=await answers.houses(asked),
    )


@router.get("/edges")
async def edges_first(asked: AskedBy, answers: AnswersOf) -> Response:
    """Lead to the edges of the first house."""
    return await first_house(answers, asked, "edges")


def _day(text: str) -> str | None:
    return text.strip() or None


@router.get("/edges/{house:path}/checklist.pdf")
async def edges_sheet(
    house: str, asked: AskedBy, answers: AnswersOf, planting: Short = "", end: Short = ""
) -> Response:
    """Send the checklists of a house to print."""
    from outpace.surfaces.sheets import edge_sheet

    answer = await answers.edges(asked, house, _day(planting), _day(end))
    return _pdf(await answers.printed(edge_sheet.render, answer), "checklist")


@router.get("/edges/{house:path}")
async def edges_page(
    house: str, asked: AskedBy, answers: AnswersOf, planting: Short = "", end: Short = ""
) -> Response:
    """Show when to stop releasing, and the dated lists of both edges of the season."""
    answer, problem = await told(shown(answers, answers.edges(asked, house, _day(planting), _day(end))))
    if answer is None:
        answer = await shown(answers, answers.edges(asked, house))
    row = answer["houses"][0]
    return _page(
        "edges.html",
        asked,
        answer,
        problem,
        row=row,
        lists=[
            (say(title), [task for task in row["tasks"] if task["edge"] == edge])
            for edge, title in edge_text.TITLES.items()
        ],
        planting=planting,
        end=end,
        houses=await answers.houses(asked),
        met=edge_text.MET,
        last_line=edge_text.last_line,
    )


def _pdf(content: bytes, name: str) -> Response:
    return Response(
        content,
        media_type="application/pdf",
        headers={"content-disposition": f'inline; filename="{name}.pdf"'},
    )


async def _points(answers: Answers, asked: Asked, house: str, lot: str, number: str, carrier: str) -> Answer:
    return await answers.points(
        asked,
        house,
        lot,
        whole(number, say("How many of the lot are for the house")),
        amount(carrier, say("Carrier they come in, ml")),
    )


@router.get("/points")
async def points_page(
    asked: AskedBy,
    answers: AnswersOf,
    house: Word = "",
    lot: Word = "",
    number: Short = "",
    carrier: Short = "",
) -> Response:
    """Show where a lot is let go in a house, and the fields to ask in."""
    answer, problem = None, None
    if house and lot.strip():
        answer, problem = await told(
            shown(answers, _points(answers, asked, house, lot.strip(), number, carrier))
        )
    return _page(
        "points.html",
        asked,
        answer,
        _without_option(problem, say("write how many of the lot are for the house")),
        houses=await answers.houses(asked),
        lots=await answers.lots(asked),
        told={"house": house, "lot": lot, "number": number, "carrier": carrier},
        papers=query(kept_of(asked), house=house, lot=lot, number=number, carrier=carrier),
    )


def _without_option(problem: OutpaceError | None, hint: str) -> OutpaceError | None:
    """Return what was wrong with a hint that names the field of the page, where it named an option of the command."""
    if problem is None or "`--" not in (problem.hint or ""):
        return problem
    return OutpaceError(
        problem.what, where=problem.where, allowed=problem.allowed, hint=hint, code=ExitCode.USAGE
    )


@router.get("/points/map.pdf")
async def points_map(
    asked: AskedBy, answers: AnswersOf, house: Word, lot: Word, number: Short = "", carrier: Short = ""
) -> Response:
    """Send the release map to print."""
    from outpace.surfaces.sheets import forms

    answer = await _points(answers, asked, house, lot.strip(), number, carrier)
    return _pdf(await answers.printed(forms.release_sheet, answer), "release-map")


@router.get("/points/labels.pdf")
async def points_labels(
    asked: AskedBy, answers: AnswersOf, house: Word, lot: Word, number: Short = "", carrier: Short = ""
) -> Response:
    """Send the labels of the points to print, 38 by 21 mm."""
    from outpace.surfaces.sheets import labels

    answer = await _points(answers, asked, house, lot.strip(), number, carrier)
    return _pdf(await answers.printed(labels.render, answer), "labels")


@router.get("/share")
async def share_page(asked: AskedBy, answers: AnswersOf, lot: Word = "", number: Short = "") -> Response:
    """Show which house gets a parcel that came late, hot or short, and the fields to ask in."""
    answer, problem = None, None
    if lot.strip():
        answer, problem = await told(shown(answers, _share(answers, asked, lot.strip(), number)))
    return _page(
        "share.html",
        asked,
        answer,
        _without_option(problem, say("write how many there are to share")),
        lots=await answers.lots(asked),
        told={"lot": lot, "number": number},
    )


async def _share(answers: Answers, asked: Asked, lot: str, number: str) -> Answer:
    return await answers.share(asked, lot, whole(number, say("How many there are to share")))


@router.get("/bankers")
async def bankers_page(asked: AskedBy, answers: AnswersOf, expected: Short = "") -> Response:
    """Show whether bankers serve, how many by each density, and when."""
    answer, problem = await told(shown(answers, answers.banker_plan(asked, None, _day(expected))))
    if answer is None:
        answer = await shown(answers, answers.banker_plan(asked))
    return _page("bankers.html", asked, answer, problem, expected=expected, span=span)


@router.get("/plan/order.pdf")
async def order_sheet(asked: AskedBy, answers: AnswersOf, budget: Short = "") -> Response:
    """Send the orders of the plan as a sheet to print."""
    from outpace.surfaces.sheets import forms

    order = dict(await answers.order(asked, money_in(budget)))
    return _pdf(await answers.printed(forms.order_sheet, order), "orders")


@router.get("/plan/order.csv")
async def order_file(asked: AskedBy, answers: AnswersOf, budget: Short = "") -> Response:
    """Send every line of the orders of the plan as a table."""
    from outpace.surfaces.order_files import order_table
    from outpace.surfaces.tables import csv_bytes

    return Response(
        csv_bytes(order_table(await answers.order(asked, money_in(budget)))),
        media_type="text/csv; charset=utf-8",
        headers={"content-disposition": 'attachment; filename="orders.csv"'},
    )


@router.get("/standing")
async def standing_page(asked: AskedBy, answers: AnswersOf) -> Response:
    """Show what is on order: what is fixed, and what can be changed until when."""
    answer = await shown(answers, answers.open_orders(asked))
    return _page("standing.html", asked, answer, effect_line=effect_line)


@router.get("/api/standing", include_in_schema=True)
async def standing_json(asked: AskedBy, answers: AnswersOf) -> Mapping[str, Any]:
    """Return what is on order: what is fixed, and what can be changed until when."""
    return dict(await answers.open_orders(asked))


@router.get("/api/enemies/{house:path}", include_in_schema=True)
async def enemies_json(house: str, asked: AskedBy, answers: AnswersOf) -> Mapping[str, Any]:
    """Return which enemy fits a house, with the reasons for and against each."""
    return dict(await answers.enemies(asked, house))


@router.get("/api/edges/{house:path}", include_in_schema=True)
async def edges_json(house: str, asked: AskedBy, answers: AnswersOf) -> Mapping[str, Any]:
    """Return when to stop releasing in a house, and the dated lists of its season's edges."""
    return dict(await answers.edges(asked, house))


@router.get("/api/points", include_in_schema=True)
async def points_json(
    asked: AskedBy, answers: AnswersOf, house: Word, lot: Word, number: Short = "", carrier: Short = ""
) -> Mapping[str, Any]:
    """Return where a lot is let go in a house."""
    return dict(await _points(answers, asked, house, lot, number, carrier))


@router.get("/api/share", include_in_schema=True)
async def share_json(asked: AskedBy, answers: AnswersOf, lot: Word, number: Short = "") -> Mapping[str, Any]:
    """Return which house gets how many of a lot today."""
    return dict(await _share(answers, asked, lot, number))


@router.get("/api/bankers", include_in_schema=True)
async def bankers_json(asked: AskedBy, answers: AnswersOf, expected: Short = "") -> Mapping[str, Any]:
    """Return whether bankers serve each house, how many by each density, and when."""
    return dict(await answers.banker_plan(asked, None, _day(expected)))
