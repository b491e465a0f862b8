"""A logger's file: sent, looked into, asked about, and only then written down."""

from __future__ import annotations

import secrets
from collections import OrderedDict
from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import UploadFile

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.surfaces.web.asking import Answer, Asked, NothingYet
from outpace.surfaces.web.entry.fields import Field, Form, Mistakes, choice, placed
from outpace.surfaces.web.entry.page import (
    FIELD_BYTES,
    FORM_ID,
    asked_in,
    new_id,
    person_of,
    remember,
    sent_by,
)
from outpace.surfaces.web.entry.shared_fields import house_choice, zone_field
from outpace.surfaces.web.lag_page import LARGEST_BYTES, file_name
from outpace.surfaces.web.pages import AnswersOf, AskedBy, page_of, signed_in
from outpace.surfaces.web.rendering import query
from outpace.surfaces.web.views import is_invented

router = APIRouter(include_in_schema=False)

WAITING = 6
"""So many files wait in memory to be accepted, the oldest makes room; none is kept after that."""

ANSWERS = {
    "--temperature-unit": "temperature_unit",
    "--date-order": "date_order",
    "--decimal": "decimal",
    "--clock": "clock",
    "--duplicates": "duplicates",
    "--column": "columns",
}
"""Which answer about a file fills which field of what is told."""

Files = OrderedDict[str, tuple[str, bytes]]


def _files(answers: Any) -> Files:
    if not hasattr(answers, "files"):
        answers.files = OrderedDict()
    found: Files = answers.files
    return found


def _form(known: Answer) -> Form:
    size = f"{LARGEST_BYTES / 1e6:.0f} MB"
    return Form(
        "climate",
        say("Temperatures"),
        "",
        "",
        (
            house_choice(dict(known)),
            Field(
                "file",
                say("The logger's file"),
                "file",
                note=say("a text table (CSV), at most {size}", size=size),
            ),
            zone_field(dict(known)),
        ),
    )


def _none_yet(known: Answer) -> None:
    if not known["farms"]:
        raise NothingYet(say("the book holds no farm yet"), hint=say("tell the book of your farm first"))
    if not known["houses"]:
        raise NothingYet(say("the farm has no house yet"), hint=say("tell the book of a house first"))


def _page(asked: Asked, known: Answer, form: Form, status: int = 200, **values: Any) -> Response:
    shown = {"answer": None, "file": "", "wrong": Mistakes(), "conflicts": (), "refused": (), **values}
    return page_of(
        "climate.html", asked, "enter", status=status, form=form, invented=is_invented(known["farm"]), **shown
    )


@router.get("/climate")
async def ask_file(request: Request, asked: AskedBy, answers: AnswersOf) -> Response:
    """Ask for a logger's file and the house it hung in."""
    known = await answers.choices(asked)
    _none_yet(known)
    return _page(asked, known, _form(known).filled(dict(request.query_params)))


@router.post("/climate")
async def take_file(request: Request, answers: AnswersOf) -> Response:
    """Keep a file until it was looked at, and go to what it holds."""
    told, file = await _read(request)
    asked = asked_in(told)
    known = await answers.choices(asked)
    _none_yet(known)
    form = _form(known).filled(told)
    wrong = Mistakes()
    if file is None:
        wrong.by_field["file"] = OutpaceError(
            say("no file was sent"), allowed=say("a text table (CSV) below 8 MB"), hint=say("choose it again")
        )
    if not told.get("house"):
        wrong.by_field["house"] = OutpaceError(say("nothing is entered here"), allowed=say("this is needed"))
    if file is None or wrong:
        return _page(asked, known, form, 422, wrong=wrong)
    token = secrets.token_urlsafe(12)
    waiting = _files(answers)
    waiting[token] = file
    while len(waiting) > WAITING:
        waiting.popitem(last=False)
    kept = {"farm": asked.farm, "house": told["house"], "zone": told.get("zone")}
    return RedirectResponse(f"/climate/{token}{query(kept)}", status_code=303)


@router.get("/climate/{token}")
async def look_into(token: str, request: Request, asked: AskedBy, answers: AnswersOf) -> Response:
    """Show what a file holds, what is refused and what is still to be answered."""
    return await _shown(token, dict(request.query_params), request, asked, answers)


@router.post("/climate/{token}")
async def accept(token: str, request: Request, answers: AnswersOf) -> Response:
    """Write the readings of a file that was looked at."""
    told = await sent_by(request)
    asked = Asked(farm=told.get("farm") or None)
    person = person_of(request, told)
    sent = told.get("form_id", "")
    form_id = sent if FORM_ID.fullmatch(sent) else new_id()
    if not person:
        wrong = Mistakes(
            {"by": OutpaceError(say("nobody is named"), allowed=say("every entry says who made it"))}
        )
        return await _shown(token, told, request, asked, answers, wrong=wrong, status=422, form_id=form_id)
    if answers.written(form_id) is None:
        name, content = _waiting(answers, token)
        how = {
            "house": told.get("house", ""),
            "zone": told.get("zone") or None,
            "by": person,
            "changes": bool(told.get("replace")),
        }
        answer = await answers.once(
            form_id, lambda: answers.take_file(name, content, _told(told), asked, **how)
        )
        if answer["conflicts"]:
            return await _shown(
                token,
                told,
                request,
                asked,
                answers,
                conflicts=answer["conflicts"],
                status=409,
                form_id=form_id,
            )
    where = f"/written/{form_id}{query({'farm': asked.farm}, of='temperature')}"
    return remember(RedirectResponse(where, status_code=303), person)


async def _shown(
    token: str,
    told: Mapping[str, str],
    request: Request,
    asked: Asked,
    answers: Any,
    *,
    wrong: Mistakes | None = None,
    conflicts: Any = (),
    status: int = 200,
    form_id: str = "",
) -> Response:
    known = await answers.choices(asked)
    _none_yet(known)
    name, content = _waiting(answers, token)
    try:
        answer, refused = await answers.look_into(name, content, _told(told), known["time_zone"])
    except OutpaceError as error:
        form = _form(known).filled(dict(told))
        mistakes = placed(error, form)
        mistakes.by_field.setdefault("file", mistakes.whole.pop(0) if mistakes.whole else error)
        return _page(asked, known, form, 422, wrong=mistakes)
    questions = [
        _question(question, told) for question in answer["questions"] if question["option"] in ANSWERS
    ]
    form = Form("climate", say("Temperatures"), "", "", tuple(questions))
    kept = {key: told.get(key, "") for key in ("farm", "house", "zone", *dict.fromkeys(ANSWERS.values()))}
    return _page(
        asked,
        known,
        form,
        status,
        answer=answer,
        sentence=answer["sentence"],
        refused=refused,
        file=name,
        token=token,
        told=kept,
        asked_for={field.name for field in questions},
        wrong=wrong or Mistakes(),
        conflicts=conflicts,
        form_id=form_id or new_id(),
        by=person_of(request, told),
        signed_in=bool(signed_in(request)),
    )


def _question(question: Mapping[str, Any], told: Mapping[str, str]) -> Field:
    name = ANSWERS[question["option"]]
    choices = [(each["value"].strip('"'), each["meaning"]) for each in question["choices"]]
    return choice(
        name,
        question["text"][:1].upper() + question["text"][1:],
        choices,
        option=question["option"],
        need=True,
        value=told.get(name, ""),
    )


def _told(told: Mapping[str, str]) -> dict[str, Any]:
    values: dict[str, Any] = {name: told.get(name) or None for name in ANSWERS.values()}
    values["columns"] = (told["columns"],) if told.get("columns") else ()
    return values


def _waiting(answers: Any, token: str) -> tuple[str, bytes]:
    found = _files(answers).get(token)
    if found is None:
        raise OutpaceError(
            say("this file is not here any more"),
            allowed=say("a file waits here until a few others came"),
            hint=say("choose it again on the page “Temperatures”"),
            code=ExitCode.USAGE,
        )
    return found


async def _read(request: Request) -> tuple[dict[str, str], tuple[str, bytes] | None]:
    told = request.headers.get("content-length", "")
    if not told.isdigit() or int(told) > LARGEST_BYTES + 10 * FIELD_BYTES:
        seen = 0
        async for part in request.stream():  # read to its end, or a browser shows no answer
            seen += len(part)
            if seen > 20 * LARGEST_BYTES:
                break
        return {}, None
    fields: dict[str, str] = {}
    file = None
    async with request.form(max_files=1, max_fields=20, max_part_size=FIELD_BYTES) as form:
        for key, value in form.multi_items():
            if isinstance(value, UploadFile):
                content = await value.read()
                if content:
                    file = (file_name(value.filename or ""), content)
            elif value:
                fields[key] = str(value)
    return fields, file
