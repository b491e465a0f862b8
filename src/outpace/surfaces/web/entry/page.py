"""The pages that take entries: one form a page, sent once, read with its mistakes beside their fields."""

from __future__ import annotations

import re
import secrets
from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from urllib.parse import quote, unquote

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.measures import read_in
from outpace.surfaces.web.asking import Answer, Asked, NothingYet
from outpace.surfaces.web.entry.catalogue import WITHOUT_FARM, WITHOUT_HOUSE, form_of, groups
from outpace.surfaces.web.entry.fields import Form, Mistakes, NotRead, in_page_words, placed, read
from outpace.surfaces.web.pages import AnswersOf, AskedBy, money_in, page_of, signed_in
from outpace.surfaces.web.rendering import query
from outpace.surfaces.web.views import is_invented

router = APIRouter(include_in_schema=False)

MOST_FIELDS = 80
FIELD_BYTES = 8_000
FORM_ID = re.compile(r"[A-Za-z0-9_-]{8,40}")
WHO = "outpace_by"
A_YEAR_S = 366 * 86_400
NOT_FIELDS = ("form_id", "by", "replace", "why", "farm_name", "as_of")


def new_id() -> str:
    """Return an id for a form that is about to be filled in."""
    return secrets.token_urlsafe(12)


def person_of(request: Request, told: Mapping[str, str] | None = None) -> str:
    """Return who writes: signed in, as the form says, or as this browser said last time."""
    known = signed_in(request)
    if known:
        return known
    return ((told or {}).get("by") or unquote(request.cookies.get(WHO, ""))).strip()[:100]


def remember(response: Response, person: str) -> Response:
    """Keep who writes in this browser for the next form."""
    response.set_cookie(WHO, quote(person), max_age=A_YEAR_S, httponly=True, samesite="strict", path="/")
    return response


async def sent_by(request: Request) -> dict[str, str]:
    """Return the fields of a form that was sent, files left out."""
    async with request.form(max_files=0, max_fields=MOST_FIELDS, max_part_size=FIELD_BYTES) as form:
        told: dict[str, str] = {}
        for key, value in form.multi_items():
            text = str(value).replace("\r\n", "\n")[:FIELD_BYTES]
            # What may be ticked several times comes several times under one name.
            told[key] = f"{told[key]} {text}" if key in told else text
        # The fields were filled in under the units they were shown with.
        read_in(told.pop("units", ""))
        return told


def asked_in(told: Mapping[str, str]) -> Asked:
    """Return which farm a form that was sent belongs to."""
    return Asked(farm=told.get("farm_name") or None)


@router.get("/enter")
async def all_entries(asked: AskedBy, answers: AnswersOf) -> Response:
    """Show everything that can be written down."""
    known = await answers.choices(asked)
    listed = [(title, [form_of(key, known) for key in keys]) for title, keys in groups()]
    return page_of("enter.html", asked, "enter", groups=listed, invented=is_invented(known["farm"]))


@router.get("/enter/{form}")
async def entry_page(form: str, request: Request, asked: AskedBy, answers: AnswersOf) -> Response:
    """Show an empty form; what its address tells stands in it already."""
    known = await answers.choices(asked)
    made = _reached(form, known).filled({key: value[:400] for key, value in request.query_params.items()})
    minds: tuple[str, ...] = ()
    if form == "release" and made.fields[0].value:
        minds = await answers.before_release(asked, {each.name: each.value for each in made.fields})
    return _form_page(request, asked, made, known, new_id(), minds=minds)


@router.post("/enter/{form}")
async def take_entry(form: str, request: Request, answers: AnswersOf) -> Response:
    """Record what a form was filled with, and show what was written."""
    told = await sent_by(request)
    asked = asked_in(told)
    known = await answers.choices(asked)
    made = _reached(form, known)
    person = person_of(request, told)
    form_id = told.get("form_id", "")
    form_id = form_id if FORM_ID.fullmatch(form_id) else new_id()

    def again(mistakes: Mistakes, status: int, conflicts: Any = ()) -> Response:
        filled = made.filled({each.name: told.get(each.name, "") for each in made.fields})
        return _form_page(
            request,
            asked,
            filled,
            known,
            form_id,
            mistakes=mistakes,
            told=told,
            conflicts=conflicts,
            status=status,
        )

    try:
        values = read(made, told)
    except NotRead as fault:
        mistakes = fault.mistakes
        _need_person(mistakes, person)
        return again(mistakes, 422)
    mistakes = Mistakes()
    _need_person(mistakes, person)
    if mistakes:
        return again(mistakes, 422)
    values |= {"farm": asked.farm or known["farm"], "by": person}
    changes = made.changes or bool(told.get("replace"))
    assert made.make is not None
    make = made.make
    try:
        answer = await answers.once(
            form_id,
            lambda: answers.enter(
                make, values, by=person, changes=changes, why=told.get("why", "").strip()[:400]
            ),
        )
    except OutpaceError as error:
        return again(placed(error, made), 422)
    if answer["conflicts"]:
        return again(Mistakes(), 409, conflicts=answer["conflicts"])
    where = f"/written/{form_id}{query({'farm': asked.farm}, of=made.key)}"
    return remember(RedirectResponse(where, status_code=303), person)


@router.get("/written/{form_id}")
async def written_page(form_id: str, asked: AskedBy, answers: AnswersOf, of: str | None = None) -> Response:
    """Show what a form wrote, what to mind about it, and where to go on."""
    known = await answers.choices(asked)
    form = form_of(of, known) if of else None
    answer = answers.written(form_id)
    cautions = [in_page_words(line, form) for line in answer["cautions"]] if answer else []
    return page_of(
        "written.html",
        asked,
        form.here if form else "enter",
        answer=answer,
        form=form,
        sentence=in_page_words(answer["sentence"], form) if answer else "",
        cautions=cautions,
        invented=is_invented(known["farm"]),
    )


@router.post("/plan/place")
async def place(request: Request, answers: AnswersOf) -> Response:
    """Accept the plan: write the orders that are due down as placed."""
    told = await sent_by(request)
    asked = asked_in(told)
    person = person_of(request, told)
    if not person:
        raise OutpaceError(
            say("nobody is named"),
            where=say("Your name or initials"),
            allowed=say("every entry says who made it"),
            hint=say("go back and write your initials"),
        )
    sent = told.get("form_id", "")
    form_id = sent if FORM_ID.fullmatch(sent) else new_id()
    if answers.written(form_id) is None:
        order = await answers.order(asked, money_in(told.get("budget", "")))
        await answers.once(form_id, lambda: answers.place_orders(asked, order, by=person))
    where = f"/written/{form_id}{query({'farm': asked.farm})}"
    return remember(RedirectResponse(where, status_code=303), person)


def _reached(key: str, known: dict[str, Any]) -> Form:
    """Return a form, or say what has to be told before it can be filled in."""
    form = form_of(key, known)
    if key not in WITHOUT_FARM and not known["farms"]:
        raise NothingYet(say("the book holds no farm yet"), hint=say("tell the book of your farm first"))
    if key not in WITHOUT_HOUSE and not known["houses"]:
        raise NothingYet(say("the farm has no house yet"), hint=say("tell the book of a house first"))
    return form


def _need_person(mistakes: Mistakes, person: str) -> None:
    if not person:
        mistakes.by_field["by"] = OutpaceError(
            say("nobody is named"), allowed=say("every entry says who made it"), hint=say("initials will do")
        )


def _form_page(
    request: Request,
    asked: Asked,
    form: Form,
    known: Answer,
    form_id: str,
    *,
    mistakes: Mistakes | None = None,
    told: Mapping[str, str] | None = None,
    conflicts: Any = (),
    minds: tuple[str, ...] = (),
    status: int = 200,
) -> Response:
    wrong = mistakes or Mistakes()
    shown = {each.name for each in form.fields}
    lost = [error for name, error in wrong.by_field.items() if name not in shown and name != "by"]
    wrong = replace(wrong, whole=[*wrong.whole, *lost])
    behind = [each for each in form.fields if each.more]
    return page_of(
        "entry.html",
        asked,
        form.here,
        status=status,
        form=form,
        first=[each for each in form.fields if not each.more],
        behind=behind,
        open_more=any(each.name in wrong.by_field or (told or {}).get(each.name) for each in behind),
        form_id=form_id,
        by=person_of(request, told),
        signed_in=bool(signed_in(request)),
        wrong=wrong,
        told=told or {},
        conflicts=conflicts,
        minds=[f"{in_page_words(line, form)}." for line in minds],
        invented=is_invented(known["farm"]),
    )
