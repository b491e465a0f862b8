"""The pages as one application: this machine only, nothing loaded from elsewhere."""

from __future__ import annotations

import asyncio
import os
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import datetime

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.middleware.gzip import GZipMiddleware
from fastapi.responses import HTMLResponse, JSONResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from outpace.errors import ManyErrors, OutpaceError
from outpace.language import mannered, say
from outpace.surfaces.lan.access import Access
from outpace.surfaces.web import (
    api,
    chart_page,
    count_page,
    course_page,
    deciding_pages,
    demo_page,
    lag_page,
    manner,
    pages,
    sign_in_page,
    species_key_page,
    standing_pages,
    what_if_page,
)
from outpace.surfaces.web.answers import Answers
from outpace.surfaces.web.asking import NothingYet, StillWorking, is_unknown
from outpace.surfaces.web.entry import book_page, climate_page, start
from outpace.surfaces.web.entry import page as entry_page
from outpace.surfaces.web.entry.start import start_page
from outpace.surfaces.web.guard import HEADERS, Guard
from outpace.surfaces.web.rendering import STATIC, render, static_version


class KeptFiles(StaticFiles):
    """Our own files; their addresses change with their content, so a browser may keep them."""

    def lookup_path(self, path: str) -> tuple[str, os.stat_result | None]:
        """Return the file under an address that begins with the version of all files, which is no folder."""
        version, _, name = path.partition("/")
        return super().lookup_path(name if version == static_version() else path)

    def file_response(self, *args: object, **kwargs: object) -> Response:
        """Return the file, to be kept."""
        response = super().file_response(*args, **kwargs)  # type: ignore[arg-type]
        response.headers["cache-control"] = "public, max-age=31536000, immutable"
        return response


def create_app(
    book_url: str,
    *,
    now: Callable[[], datetime] | None = None,
    answers: Answers | None = None,
    lan: Access | None = None,
) -> FastAPI:
    """Return the application that shows one book.

    Parameters
    ----------
    book_url : str
        Where the book is; pages that need none work without it.
    now : callable, optional
        The clock; left out, the clock of this machine.
    answers : Answers, optional
        Where answers come from, if not from the season.
    lan : Access, optional
        The door of the local network; left out, the pages are for this machine only.
    """
    provider = answers or Answers(book_url, now=now)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        ahead_of_time = asyncio.create_task(provider.begin())
        yield
        ahead_of_time.cancel()
        provider.close()
        app.state.invented.close()

    app = FastAPI(
        title="outpace", docs_url=None, redoc_url=None, openapi_url="/api/openapi.json", lifespan=lifespan
    )
    app.state.answers = provider
    app.state.lan = lan
    app.state.invented = demo_page.InventedFarm(book_url, now=now)
    app.mount("/static", KeptFiles(directory=STATIC), name="static")
    app.include_router(api.router)
    app.include_router(chart_page.router)
    app.include_router(what_if_page.router)
    app.include_router(pages.router)
    app.include_router(lag_page.router)
    app.include_router(count_page.router)
    app.include_router(course_page.router)
    app.include_router(deciding_pages.router)
    app.include_router(manner.router)
    app.include_router(demo_page.router)
    app.include_router(entry_page.router)
    app.include_router(climate_page.router)
    app.include_router(start.router)
    app.include_router(book_page.router)
    app.include_router(standing_pages.router)
    app.include_router(species_key_page.router)
    app.include_router(sign_in_page.router)
    app.add_exception_handler(OutpaceError, _told)
    app.add_exception_handler(StillWorking, _working)
    app.add_exception_handler(RequestValidationError, _unread)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(Exception, _broken)
    app.add_middleware(manner.Speaking)
    app.add_middleware(GZipMiddleware, minimum_size=2000)
    app.add_middleware(Guard, lan=lan)
    return app


def _is_api(request: Request) -> bool:
    return request.url.path.startswith("/api/")


def _kept(request: Request) -> dict[str, str | None]:
    return {key: request.query_params.get(key) for key in ("farm", "as_of")}


def _problem(request: Request, status: int, error: OutpaceError) -> Response:
    if _is_api(request):
        told = {"what": error.what, "where": error.where, "allowed": error.allowed, "hint": error.hint}
        return JSONResponse({"error": told}, status_code=status)
    errors = error.errors[:20] if isinstance(error, ManyErrors) else [error]
    body = render("problem.html", errors=errors, hint=error.hint, status=status, kept=_kept(request), here="")
    return HTMLResponse(body, status_code=status)


async def _told(request: Request, error: Exception) -> Response:
    assert isinstance(error, OutpaceError)
    if isinstance(error, NothingYet) and not _is_api(request):
        return await start_page(request, error)
    if isinstance(error, NothingYet) or is_unknown(error):
        return _problem(request, 404, error)
    return _problem(request, 400, error)


async def _working(request: Request, error: Exception) -> Response:
    assert isinstance(error, StillWorking)
    body = render("working.html", progress=error.progress, kept=_kept(request), here="")
    return HTMLResponse(body, status_code=503, headers={"retry-after": "2", "refresh": "2"})


async def _unread(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    place = ".".join(str(part) for part in first["loc"][1:]) or "address"
    return _problem(request, 422, OutpaceError(str(first["msg"]), where=place, hint=say("mend the address")))


async def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 404:
        return _problem(
            request,
            404,
            OutpaceError(say("no page here"), where=request.url.path, hint=say("go to this week")),
        )
    known = OutpaceError(str(error.detail), where=request.url.path)
    response = _problem(request, error.status_code, known)
    response.headers.update(error.headers or {})
    return response


async def _broken(request: Request, error: Exception) -> Response:
    # This answer is made outside of all that stands around an answer: it finds its language itself.
    with mannered(manner.manner_asked(request)):
        fault = OutpaceError(
            say("something broke in outpace itself"),
            where=request.url.path,
            hint=say("what you recorded is safe; the terminal that serves the pages shows what broke"),
        )
        response = _problem(request, 500, fault)
    # This answer is made outside the guard, which would have added them.
    for key, value in HEADERS:
        response.headers[key.decode()] = value.decode()
    return response
