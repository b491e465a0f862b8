"""Signing in from another machine, and how a phone comes to trust these pages."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import RedirectResponse, Response
from markupsafe import Markup

from outpace.errors import OutpaceError
from outpace.language import say, say_many
from outpace.surfaces.lan.access import Access, cookie_of, inside, token_of
from outpace.surfaces.lan.people import TooOften
from outpace.surfaces.web.asking import Answer
from outpace.surfaces.web.pages import AskedBy, page_of

router = APIRouter(include_in_schema=False)

AT_ONCE = asyncio.Semaphore(2)
"""So many passwords are weighed at once: each takes some tens of megabytes."""


def _lan(request: Request) -> Access:
    found: Access | None = request.app.state.lan
    if found is None:
        raise OutpaceError(
            say("these pages are for this machine only"),
            where=request.url.path,
            hint=say("`outpace serve --lan` serves phones on the local network"),
        )
    return found


@router.get("/sign-in")
async def sign_in_page(
    request: Request, asked: AskedBy, to: Annotated[str | None, Query(max_length=600)] = None
) -> Response:
    """Ask for name and password."""
    _lan(request)
    return page_of("sign_in.html", asked, "", to=inside(to), fault="", name="")


@router.post("/sign-in")
async def sign_in(
    request: Request,
    asked: AskedBy,
    name: Annotated[str, Form(max_length=100)] = "",
    password: Annotated[str, Form(max_length=1000)] = "",
    to: Annotated[str, Form(max_length=600)] = "/",
) -> Response:
    """Begin a session, or say that name and password do not belong together."""
    people = _lan(request).people
    address = request.client.host if request.client else ""
    try:
        async with AT_ONCE:
            token = await asyncio.to_thread(people.sign_in, name, password, address)
    except TooOften as often:
        wait = max(1, round(often.wait_s))
        fault = say_many(
            "Too many wrong tries: wait {n} second.", "Too many wrong tries: wait {n} seconds.", wait
        )
        response: Response = page_of("sign_in.html", asked, "", 429, to=inside(to), fault=fault, name=name)
        response.headers["retry-after"] = str(wait)
        return response
    if token is None:
        fault = say("Name and password do not belong together.")
        return page_of("sign_in.html", asked, "", 401, to=inside(to), fault=fault, name=name)
    response = RedirectResponse(inside(to), status_code=303)
    response.headers["set-cookie"] = cookie_of(token)
    return response


@router.post("/sign-out")
async def sign_out(request: Request) -> Response:
    """End the session of this browser."""
    _lan(request).people.sign_out(token_of(dict(request.scope["headers"])))
    response = RedirectResponse("/sign-in", status_code=303)
    response.headers["set-cookie"] = cookie_of("")
    return response


@router.get("/trust")
async def trust_page(request: Request, asked: AskedBy) -> Response:
    """Show how a phone opens these pages and comes to trust them."""
    return page_of("trust.html", asked, "more", **_trust_view(_lan(request)))


@router.get("/trust/outpace.crt")
async def authority_file(request: Request) -> Response:
    """Send the certificate of this machine's own authority, without its key."""
    return Response(
        _lan(request).papers.authority.read_bytes(),
        media_type="application/x-x509-ca-cert",
        headers={"content-disposition": 'attachment; filename="outpace.crt"'},
    )


def _trust_view(lan: Access) -> Mapping[str, Any]:
    import segno

    addresses = lan.addresses
    code = segno.make(f"{addresses[0]}trust", error="m").svg_inline(scale=5, border=3, light="#fff")
    shown: Answer = {"address": addresses[0], "others": addresses[1:], "fingerprint": lan.papers.fingerprint}
    return {**shown, "code": Markup(code)}
