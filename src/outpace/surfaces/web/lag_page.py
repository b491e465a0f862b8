"""The page that asks how long a release takes to show: by a mean temperature, a house, or a logger's file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import UploadFile

from outpace import measures
from outpace.errors import ExitCode, ManyErrors, OutpaceError
from outpace.facts import table as facts_table
from outpace.language import listed, say
from outpace.surfaces.web import views
from outpace.surfaces.web.answers import Answers
from outpace.surfaces.web.asking import Answer, Asked
from outpace.surfaces.web.pages import AnswersOf, AskedBy, page_of, shown
from outpace.surfaces.web.rendering import query

router = APIRouter(include_in_schema=False)

LARGEST_BYTES = 8_000_000
"""Of a file sent to the page: a year of readings every five minutes is below this."""

MOST_SWING_DEGC = 40.0
FORM_BYTES = 10_000
FIELDS = 20
LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class Told:
    """The form as it was filled in, nothing read yet."""

    enemy: str = ""
    pest: str = ""
    release: str = ""
    temperature: str = ""
    swing: str = ""
    house: str = ""
    form: str = ""
    crop: str = ""

    @property
    def is_empty(self) -> bool:
        """Whether nothing was asked yet."""
        return not (self.enemy or self.pest or self.temperature or self.house)


Short = Annotated[str, Query(max_length=40)]
Name = Annotated[str, Query(max_length=80)]


def told_by(
    enemy: Name = "",
    pest: Name = "",
    release: Short = "",
    temperature: Annotated[str, Query(max_length=20, description="mean in the crop: 18, or 64F")] = "",
    swing: Annotated[str, Query(max_length=20, description="daily maximum less minimum")] = "",
    house: Annotated[str, Query(max_length=200, description="a house of the book, instead")] = "",
    form: Short = "",
    crop: Name = "",
) -> Told:
    """Return what an address tells of a release."""
    return Told(enemy, pest, release, temperature, swing, house, form, crop)


ToldBy = Annotated[Told, Depends(told_by)]


@dataclass(frozen=True, slots=True)
class LoggerFile:
    """A file as it was sent; it is read once and not kept."""

    name: str
    content: bytes


async def answer_of(answers: Answers, asked: Asked, told: Told, file: LoggerFile | None = None) -> Answer:
    """Return the answer to a form: by mean temperature, by house or by file, exactly one of them.

    Raises
    ------
    OutpaceError
        If none or several were told, or one of them cannot be read.
    """
    given = [
        said
        for said, is_told in (
            ("temperature", told.temperature),
            ("house", told.house),
            ("file", file is not None),
        )
        if is_told
    ]
    if len(given) != 1:
        raise OutpaceError(
            say("{given} were told", given=listed(given)) if given else say("no temperature was told"),
            where=say("how warm it is"),
            allowed=say("exactly one of mean temperature, house and logger's file"),
            hint=say("empty the others") if given else say("write the mean of day and night, such as 18"),
            code=ExitCode.USAGE,
        )
    release: dict[str, Any] = {"enemy": told.enemy, "pest": told.pest, "release": _day(told.release)}
    if told.form:
        release["form"] = told.form
    if told.crop:
        release["crop"] = told.crop
    if told.temperature:
        degrees = measures.read_temperature(told.temperature)
        return await answers.lag(**release, temperature=degrees, swing=_swing(told.swing))
    if told.swing:
        raise OutpaceError(
            say("a daily swing and a {given} were told", given=given[0]),
            where="swing",
            allowed=say("a swing beside a mean temperature only"),
            hint=say("empty the swing: the {given} knows its own days", given=given[0]),
            code=ExitCode.USAGE,
        )
    if file is not None:
        return await answers.lag_from_file(file.name, file.content, **release)
    answer: Answer = await shown(answers, answers.lag_in_house(asked, told.house, **release))
    return answer


@router.get("/lag")
async def lag_page(answers: AnswersOf, asked: AskedBy, told: ToldBy) -> Response:
    """Ask and show how long a release takes to show."""
    if told.is_empty:
        return await _page(answers, asked, told)
    try:
        answer = await answer_of(answers, asked, told)
    except OutpaceError as error:
        return await _page(answers, asked, told, error=error, status=422)
    return await _page(answers, asked, told, answer=answer)


@router.post("/lag")
async def lag_form(request: Request, answers: AnswersOf) -> Response:
    """Answer the form as it was sent; without a file the answer has an address of its own."""
    try:
        fields, file = await _read_form(request)
    except OutpaceError as error:
        return await _page(answers, Asked(), Told(), error=error, status=413)
    asked = Asked(farm=fields.pop("farm", None) or None, as_of=fields.pop("as_of", None) or None)
    if file is None:
        kept = {"farm": asked.farm, "as_of": asked.as_of}
        return RedirectResponse(f"/lag{query(kept, **fields)}", status_code=303)
    told = Told(**{key: value for key, value in fields.items() if key in Told.__dataclass_fields__})
    try:
        answer = await answer_of(answers, asked, told, file)
    except OutpaceError as error:
        return await _page(answers, asked, told, error=error, file=file.name, status=422)
    return await _page(answers, asked, told, answer=answer, file=file.name)


async def _page(
    answers: Answers,
    asked: Asked,
    told: Told,
    *,
    answer: Answer | None = None,
    error: OutpaceError | None = None,
    file: str = "",
    status: int = 200,
) -> Response:
    facts = facts_table.load()
    return page_of(
        "lag.html",
        asked,
        "lag",
        status=status,
        told=told,
        day=told.release or date.today().isoformat(),
        enemies=[species for species in views.choices(facts, "enemy") if species.guild == "wasp"],
        pests=[species for species in views.choices(facts, "pest") if species.latin],
        crops=sorted(facts.crops.values(), key=lambda crop: crop.english),
        houses=await answers.houses(asked),
        largest=say("{largest_bytes:.0f} MB", largest_bytes=LARGEST_BYTES / 1e6),
        answer=answer,
        errors=error.errors[:20] if isinstance(error, ManyErrors) else [error] if error else [],
        hint=error.hint if error else "",
        file=file,
    )


async def _read_form(request: Request) -> tuple[dict[str, str], LoggerFile | None]:
    """Return the fields of a form and the file in it, if one was chosen.

    Raises
    ------
    OutpaceError
        If the whole is larger than a file may be.
    """
    told = request.headers.get("content-length", "")
    if not told.isdigit() or int(told) > LARGEST_BYTES + FORM_BYTES:
        # Read to its end, keeping nothing: a browser shows no answer that comes while it still sends.
        seen = 0
        async for part in request.stream():
            seen += len(part)
            if seen > 20 * LARGEST_BYTES:
                break
        raise OutpaceError(
            say("{told:,.0f} MB", told=int(told) / 1e6) if told.isdigit() else say("a file of untold size"),
            where=say("logger's file"),
            allowed=say("at most {largest_bytes:.0f} MB", largest_bytes=LARGEST_BYTES / 1e6),
            hint=say("export the weeks about the release only"),
        )
    fields: dict[str, str] = {}
    file = None
    async with request.form(max_files=1, max_fields=FIELDS, max_part_size=FORM_BYTES) as form:
        for key, value in form.multi_items():
            if isinstance(value, UploadFile):
                content = await value.read()
                if value.filename or content:
                    file = LoggerFile(file_name(value.filename or ""), content)
            elif value:
                fields[key] = value
    return _short(fields), file


def _short(fields: Mapping[str, str]) -> dict[str, str]:
    """Return the fields that the form has, no longer than an address may hold them."""
    known = {*Told.__dataclass_fields__, "farm", "as_of", "units"}
    return {key: value[:200] for key, value in fields.items() if key in known}


def file_name(told: str) -> str:
    """Return the last part of a file's name as a browser told it, fit to be shown and to be a file here.

    Examples
    --------
    >>> file_name("C:\\\\data\\\\bay 2.csv"), file_name("../../x"), file_name("..")
    ('bay 2.csv', 'x', 'logger.csv')
    """
    last = re.split(r"[/\\]", told)[-1]
    plain = re.sub(r"[^\w .()+-]", "_", last).strip(" .")
    return plain[-LONGEST_NAME:] or "logger.csv"


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text) if text else date.today()
    except ValueError:
        raise OutpaceError(
            say("{text_told!r} is no date", text_told=text),
            where="release",
            allowed=say("a day such as 2026-04-20"),
            hint=say("write the year first"),
            code=ExitCode.USAGE,
        ) from None


def _swing(text: str) -> float | None:
    if not text:
        return None
    swing = measures.read_difference(text, where="swing")
    if not 0 <= swing <= MOST_SWING_DEGC:
        raise OutpaceError(
            say("swing {told}", told=measures.difference(swing)),
            where="swing",
            allowed=say("0 to {most}", most=measures.difference(MOST_SWING_DEGC)),
            hint=say("tell the daily maximum less the minimum"),
            code=ExitCode.USAGE,
        )
    return swing
