"""What a chart is made of, to take along or to zoom in: numbers by day, a table, a picture."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse, Response

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.surfaces import chart_rows
from outpace.surfaces.web.asking import Answer
from outpace.surfaces.web.pages import AnswersOf, AskedBy

router = APIRouter(include_in_schema=False)

Number = Annotated[int, Query(ge=0, le=200)]


@router.get("/house/{house:path}/days.csv")
async def days_file(house: str, asked: AskedBy, answers: AnswersOf) -> Response:
    """Send every day of a house as a table."""
    content = chart_rows.days_table(await answers.ahead(asked, house))
    return Response(
        content,
        media_type="text/csv; charset=utf-8",
        headers={"content-disposition": 'attachment; filename="days.csv"'},
    )


@router.get("/house/{house:path}/chart.json")
async def chart_numbers(house: str, asked: AskedBy, answers: AnswersOf, pest: Number = 0) -> Response:
    """Send the numbers behind the charts of one pest."""
    answer = await answers.ahead(asked, house)
    _check(answer, house, pest)
    return JSONResponse(chart_rows.chart_rows(answer, pest))


@router.get("/house/{house:path}/chart.svg")
async def chart_image(
    house: str,
    asked: AskedBy,
    answers: AnswersOf,
    pest: Number = 0,
    kind: Literal["aphids", "mummies"] = "aphids",
) -> Response:
    """Send one drawing as a picture."""
    answer = await answers.ahead(asked, house)
    _check(answer, house, pest)
    content = chart_rows.image(answer, pest, kind)
    if not content:
        raise OutpaceError(
            say("nothing to draw"), where=house, code=ExitCode.USAGE, hint=say("see the table")
        )
    return Response(
        content,
        media_type="image/svg+xml",
        headers={"content-disposition": f'attachment; filename="{kind}.svg"'},
    )


def _check(answer: Answer, house: str, number: int) -> None:
    count = len(chart_rows.pests_in_order(answer))
    if number >= count:
        raise OutpaceError(
            say("no chart number {number}", number=number),
            where=house,
            allowed=say("{low} to {high}", low=0, high=count - 1),
            code=ExitCode.USAGE,
        )
