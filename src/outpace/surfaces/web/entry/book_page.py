"""The book as pages: its rows, found by a word; one row with its history; a correction, added to it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.surfaces.web.asking import Answer
from outpace.surfaces.web.entry.fields import Field, Form, Mistakes, choice, placed
from outpace.surfaces.web.entry.page import FORM_ID, asked_in, new_id, person_of, remember, sent_by
from outpace.surfaces.web.entry.shared_fields import yes_no
from outpace.surfaces.web.pages import AnswersOf, AskedBy, page_of, signed_in
from outpace.surfaces.web.rendering import query
from outpace.surfaces.web.views import is_invented

router = APIRouter(include_in_schema=False)

Table = Annotated[str, Query(max_length=40)]


def tables() -> dict[str, str]:
    """Return the tables of the book by what people call them."""
    return {
        "farm": say("farm"),
        "houses": say("houses"),
        "zones": say("zones"),
        "action_levels": say("action levels"),
        "crop_stages": say("crop stages"),
        "plants_in": say("plants in"),
        "walks": say("walks"),
        "counts": say("counts"),
        "mummies": say("mummies"),
        "seen": say("other finds"),
        "walk_lines": say("walks in one line"),
        "cards": say("sticky cards"),
        "packs": say("packs on offer"),
        "orders": say("orders"),
        "allocations": say("who gets what"),
        "lots": say("lots"),
        "checks": say("checks of lots"),
        "releases": say("releases"),
        "bankers": say("bankers"),
        "sprays": say("sprays"),
        "harvests": say("harvests"),
        "decisions": say("decisions"),
        "permits": say("permits"),
        "own_facts": say("own facts"),
    }


@router.get("/book")
async def book_page(
    asked: AskedBy,
    answers: AnswersOf,
    table: Table = "",
    search: Annotated[str, Query(max_length=200)] = "",
    first: Annotated[int, Query(ge=0, le=1_000_000)] = 0,
) -> Response:
    """Show the rows of the book that hold the words searched for."""
    answer = await answers.rows(asked, of=table, search=search, first=first)
    return page_of(
        "book.html",
        asked,
        "book",
        answer=answer,
        tables=tables(),
        table=table,
        search=search,
        invented=is_invented(answer["farm"]),
    )


@router.get("/book/row")
async def row_page(
    request: Request,
    asked: AskedBy,
    answers: AnswersOf,
    table: Table,
    key: Annotated[str, Query(max_length=2000)],
) -> Response:
    """Show one row as it can be corrected, and all it ever said."""
    row = await answers.row(asked, table, key)
    return _page(request, {"farm": asked.farm or ""}, asked, row, _form(row), new_id())


@router.post("/book/row")
async def correct(request: Request, answers: AnswersOf) -> Response:
    """Add a correction to the book, or withdraw a row; what stood there stays in the history."""
    told = await sent_by(request)
    asked = asked_in(told)
    of, key = told.get("table", ""), told.get("key", "")
    row = await answers.row(asked, of, key)
    form = _form(row)
    person = person_of(request, told)
    sent = told.get("form_id", "")
    form_id = sent if FORM_ID.fullmatch(sent) else new_id()

    def again(wrong: Mistakes) -> Response:
        filled = form.filled({each.name: told.get(f"is_{each.name}", each.value) for each in form.fields})
        return _page(request, told, asked, row, filled, form_id, wrong=wrong, status=422)

    wrong = Mistakes()
    why = told.get("why", "").strip()
    if not person:
        wrong.by_field["by"] = OutpaceError(
            say("nobody is named"), allowed=say("every entry says who made it")
        )
    if not why:
        wrong.by_field["why"] = OutpaceError(
            say("no reason is told"), allowed=say("a correction says why"), hint=say("such as “miscounted”")
        )
    if wrong:
        return again(wrong)
    values = {name.removeprefix("is_"): value for name, value in told.items() if name.startswith("is_")}
    withdraws = told.get("deed") == "withdraw"
    try:
        answer = await answers.once(
            form_id,
            lambda: (
                answers.withdraw_row(of, key, by=person, why=why)
                if withdraws
                else answers.correct_row(asked, of, key, values, by=person, why=why)
            ),
        )
    except OutpaceError as error:
        return again(placed(error, form))
    if answer["conflicts"]:
        return again(Mistakes(whole=[OutpaceError(text["text"]) for text in answer["conflicts"]]))
    return remember(
        RedirectResponse(f"/written/{form_id}{query({'farm': asked.farm})}", status_code=303), person
    )


def _form(row: Answer) -> Form:
    return Form(
        "row",
        str(tables().get(row["table"], row["table"])),
        "",
        "",
        tuple(_field(column) for column in row["columns"] if not column["key"] and column["name"] != "farm"),
    )


def _field(column: Mapping[str, Any]) -> Field:
    words = column["words"][:1].upper() + column["words"][1:]
    more: dict[str, Any] = {"value": column["value"], "need": column["needed"]}
    if column["kind"] == "yesno":
        return choice(column["name"], words, yes_no(), **more)
    if column["one_of"]:
        return choice(
            column["name"], words, [(each, each.replace("_", " ")) for each in column["one_of"]], **more
        )
    return Field(column["name"], words, column["kind"], **more)


def _page(
    request: Request,
    told: Mapping[str, str],
    asked: Any,
    row: Answer,
    form: Form,
    form_id: str,
    *,
    wrong: Mistakes | None = None,
    status: int = 200,
) -> Response:
    return page_of(
        "row.html",
        asked,
        "book",
        status=status,
        row=row,
        form=form,
        title=tables().get(row["table"], row["table"]),
        told=told,
        form_id=form_id,
        wrong=wrong or Mistakes(),
        by=person_of(request, told),
        signed_in=bool(signed_in(request)),
    )
