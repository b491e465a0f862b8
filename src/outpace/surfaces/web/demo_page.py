"""The invented farm, one press away: a book of its own beside the grower's, left again as easily."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextvars import ContextVar
from datetime import datetime
from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from outpace.language import say
from outpace.surfaces.web.answers import Answers
from outpace.surfaces.web.asking import StillWorking

router = APIRouter(include_in_schema=False)

COOKIE = "outpace_invented"
A_DAY_S = 86_400

_shown: ContextVar[bool] = ContextVar("the invented farm is shown", default=False)


def in_demo() -> bool:
    """Return whether the page that is made now shows the invented farm beside a grower's own book."""
    return _shown.get()


class InventedFarm:
    """The invented farm of today: built once in a thread of its own, then asked as any book.

    Parameters
    ----------
    book_url : str
        The grower's own book, beside which it is kept.
    """

    def __init__(self, book_url: str, *, now: Callable[[], datetime] | None = None) -> None:
        self.book_url = book_url
        self._now = now
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None
        self._answers: Answers | None = None
        self._path: Path | None = None
        self._told = ""

    def answers(self) -> Answers:
        """Return what speaks for the invented farm.

        Raises
        ------
        StillWorking
            While it is being built.
        """
        from outpace.season.demo.beside import folder_beside, place_in

        path = place_in(folder_beside(self.book_url))
        with self._lock:
            if path.exists():
                if self._answers is None or self._path != path:
                    self._answers, self._path = Answers(str(path), now=self._now), path
                return self._answers
            if self._thread is None or not self._thread.is_alive():
                self._thread = threading.Thread(target=self._build, args=(path,), daemon=True)
                self._thread.start()
        raise StillWorking(self._told or say("building the invented farm"))

    def close(self) -> None:
        """Drop what waits to be worked out."""
        if self._answers is not None:
            self._answers.close()

    def _build(self, path: Path) -> None:
        from outpace.season.demo.beside import build_at

        def progress(text: str) -> None:
            self._told = text

        build_at(path, progress)


def answers_for(request: Request) -> Answers:
    """Return where the answers to a request come from: the grower's book, or the invented farm."""
    own: Answers = request.app.state.answers
    invented: InventedFarm | None = getattr(request.app.state, "invented", None)
    if invented is None or request.cookies.get(COOKIE) != "yes":
        _shown.set(False)
        return own
    _shown.set(True)
    return invented.answers()


@router.post("/demo")
async def show() -> Response:
    """Show the invented farm in this browser from now on."""
    answer = RedirectResponse("/", status_code=303)
    answer.set_cookie(COOKIE, "yes", max_age=A_DAY_S, httponly=True, samesite="strict")
    return answer


@router.post("/demo/leave")
async def leave() -> Response:
    """Show the grower's own book again."""
    answer = RedirectResponse("/", status_code=303)
    answer.delete_cookie(COOKIE)
    return answer
