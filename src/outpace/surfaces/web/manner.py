"""In which language a page speaks: as its reader chose, else as the browser asks."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import replace
from typing import Annotated, Any
from urllib.parse import parse_qsl, urlencode

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.requests import HTTPConnection

from outpace.language import NAMES, UNITS, Manner, languages, manner, manner_of, mannered, preferred
from outpace.measures import area_key, temperature_key
from outpace.surfaces.text.vocabulary import manner_names, manner_words
from outpace.surfaces.web.pages import AnswersOf
from outpace.surfaces.web.rendering import render, standing_at

router = APIRouter(include_in_schema=False)

COOKIE = "outpace-manner"
A_YEAR_S = 365 * 24 * 3600

Scope = MutableMapping[str, Any]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]


def manner_asked(request: HTTPConnection) -> Manner:
    """Return how a request wants to be answered; programs that ask the API hear English.

    ``?lang=`` speaks for one request, the cookie for a browser, ``Accept-Language`` for who chose nothing.
    """
    told = request.query_params.get("lang", "")
    if request.url.path.startswith("/api/") and not told:
        return Manner(si=True)
    kept = dict(parse_qsl(request.cookies.get(COOKIE, "")[:200]))
    language = told or kept.pop("language", "") or preferred(request.headers.get("accept-language", "")[:500])
    if language.split("-")[0] not in languages():
        language = preferred(request.headers.get("accept-language", "")[:500])
    chosen = {key: value for key, value in kept.items() if key in UNITS}
    return replace(manner_of(language, **chosen), si=request.url.path.startswith("/api/"))


class Speaking:
    """Answer every request in the manner it asks for."""

    def __init__(self, app: App) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, its manner set for all that is done for it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = HTTPConnection(scope)
        told = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        with mannered(manner_asked(request)), standing_at(told):
            await self.app(scope, receive, send)


def choices() -> dict[str, list[tuple[str, str]]]:
    """Return what can be chosen, each with its words."""
    words = manner_words()
    return {
        "language": [(code, NAMES.get(code, code)) for code in languages()],
        **{key: [(value, words[value]) for value in allowed] for key, allowed in UNITS.items()},
    }


def shown_now() -> dict[str, str]:
    """Return what holds of these choices for the page that is made now."""
    now = manner()
    return {
        "language": now.language,
        "decimal": now.decimal,
        "weeks": now.weeks,
        "temperature": temperature_key(),
        "area": area_key(),
    }


@router.get("/language")
async def language_page(request: Request, _: AnswersOf) -> Response:
    """Show how pages speak, to be chosen otherwise."""
    kept = {key: request.query_params.get(key) for key in ("farm", "as_of")}
    body = render(
        "language.html", kept=kept, here="language", choices=choices(), names=manner_names(), now=shown_now()
    )
    return HTMLResponse(body)


@router.post("/language")
async def choose(
    request: Request,
    language: Annotated[str, Form(max_length=20)],
    back: Annotated[str, Query(max_length=2000)] = "/",
    decimal: Annotated[str, Form(max_length=1)] = "",
    weeks: Annotated[str, Form(max_length=10)] = "",
    temperature: Annotated[str, Form(max_length=10)] = "",
    area: Annotated[str, Form(max_length=10)] = "",
) -> Response:
    """Keep in this browser how pages are to speak, and go back to where it was asked for."""
    chosen = {"decimal": decimal, "weeks": weeks, "temperature": temperature, "area": area}
    before = dict(parse_qsl(request.cookies.get(COOKIE, "")[:200]))
    kept = {**{key: before[key] for key in UNITS if key in before and key != "decimal"}, "language": language}
    kept |= {key: value for key, value in chosen.items() if value in UNITS[key]}
    near = back if back.startswith("/") and not back.startswith(("//", "/\\")) else "/"
    answer = RedirectResponse(near, status_code=303)
    answer.set_cookie(COOKIE, urlencode(kept), max_age=A_YEAR_S, samesite="lax", httponly=True)
    return answer
