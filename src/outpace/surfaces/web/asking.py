"""How an answer is asked for: in another thread, once for the same question, kept until the book changes."""

from __future__ import annotations

import asyncio
import contextvars
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from outpace.errors import ExitCode, OutpaceError
from outpace.language import manner, say
from outpace.surfaces.web.beforehand import low_priority_pool

if TYPE_CHECKING:
    from outpace.season.open_book import Snapshot

Answer = Mapping[str, Any]
Progress = Callable[[str], None]
Key = tuple[object, ...]
Found = TypeVar("Found")
Told = TypeVar("Told", covariant=True)

KEPT = 128


@dataclass(frozen=True, slots=True)
class Asked:
    """Whose answer, and as on which day; empty means the only farm, and now."""

    farm: str | None = None
    as_of: str | None = None


class Remembered(Protocol[Told]):
    """An answer that may be kept on the disk, for the program that is started next."""

    def known(self) -> Told | None:
        """Return the answer where it is kept."""

    def answer(self, read: Callable[[], Snapshot], progress: Progress | None = None) -> Told:
        """Return the answer from what the book knew."""


class NothingYet(OutpaceError):
    """The book is open and still empty; the hint is the next step."""


class StillWorking(Exception):
    """An answer that takes longer than a page may wait; ``progress`` is its last word."""

    def __init__(self, progress: str) -> None:
        self.progress = progress
        super().__init__(progress)


class Asking:
    """Ask the season, never in the thread that serves the pages.

    The same question on the same book is worked out once, however many ask it, and kept until the book has
    a new head or the hour is over (cut-offs pass).

    Parameters
    ----------
    book_url : str
        Where the book is.
    now : callable, optional
        The clock; a fixed one makes the pages speak as at that moment.
    """

    def __init__(self, book_url: str, *, now: Callable[[], datetime] | None = None) -> None:
        self.book_url = book_url
        self._fixed = now is not None
        self._now = now or (lambda: datetime.now(UTC))
        self._quick = ThreadPoolExecutor(2, thread_name_prefix="book")
        self._heavy = ThreadPoolExecutor(2, thread_name_prefix="season")
        self._behind = low_priority_pool()
        self._kept: OrderedDict[Key, Future[Any]] = OrderedDict()
        self._lags: OrderedDict[Key, Any] = OrderedDict()
        self._told: dict[Key, str] = {}
        self._last: tuple[Key, Snapshot] | None = None
        self._lock = threading.Lock()

    def close(self) -> None:
        """Drop what still waits; what is being worked out ends by itself."""
        for pool in (self._quick, self._heavy, self._behind):
            pool.shutdown(wait=False, cancel_futures=True)

    async def head(self) -> str:
        """Return the head of the book."""
        return await asyncio.wrap_future(self._quick.submit(self._head))

    async def soon(self, answer: Any, seconds: float) -> Any:
        """Return an answer if it comes within some seconds.

        Raises
        ------
        StillWorking
            If it does not; it is still worked out, and the next to ask finds it sooner.
        """
        task = asyncio.ensure_future(answer)
        done, _ = await asyncio.wait({task}, timeout=seconds)
        if done:
            return task.result()
        # The work goes on in its own thread; nobody waits for this task any more, and its failure is told
        # to the next who asks.
        task.add_done_callback(lambda ended: ended.cancelled() or ended.exception())
        with self._lock:
            told = list(self._told.values())
        raise StillWorking(told[-1] if told else "")

    async def _told_by(self, pool: ThreadPoolExecutor, work: Callable[[], Found]) -> Found:
        """Return what a thread of a pool works out, in the language of who asks."""
        speak = contextvars.copy_context()
        return await asyncio.wrap_future(pool.submit(speak.run, work))

    async def _ask(
        self,
        question: Key,
        asked: Asked,
        work: Callable[[Snapshot, Progress], Found],
        *,
        pool: ThreadPoolExecutor | None = None,
        empty: bool = False,
    ) -> Found:
        head, moment = await self.head(), self._now()
        key = self._key(head, moment, asked, question)
        return await self._once(key, lambda: self._work(key, moment, asked, work, empty), pool or self._heavy)

    async def _ask_kept(
        self,
        question: Key,
        asked: Asked,
        kept: Callable[[str, datetime], Remembered[Found]],
        *,
        pool: ThreadPoolExecutor | None = None,
    ) -> Found:
        """Ask what may be kept on the disk; where it is, the book is not even read."""
        head, moment = await self.head(), self._now()
        key = self._key(head, moment, asked, question)
        answer = kept(head, moment)

        def anew(known: Snapshot, progress: Progress) -> Found:
            return answer.answer(lambda: known, progress)

        def work() -> Found:
            before = answer.known()
            return self._work(key, moment, asked, anew, empty=False) if before is None else before

        return await self._once(key, work, pool or self._heavy)

    def _key(self, head: str, moment: datetime, asked: Asked, question: Key) -> Key:
        return (head, f"{moment:%Y-%m-%dT%H}", asked, manner(), *question)

    async def _once(self, key: Key, work: Callable[[], Found], pool: ThreadPoolExecutor) -> Found:
        with self._lock:
            future = self._kept.get(key)
            if future is None or (future.done() and (future.cancelled() or future.exception())):
                future = pool.submit(contextvars.copy_context().run, work)
                self._kept[key] = future
            self._kept.move_to_end(key)
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        found: Found = await asyncio.shield(asyncio.wrap_future(future))
        return found

    def _head(self) -> str:
        from outpace.season.open_book import open_book

        with open_book(self.book_url) as book:
            return str(book.head())

    def _snapshot(self, known_by: Key, moment: datetime, asked: Asked) -> Snapshot:
        """Return what the book knew; the last one read is kept, since questions come in bunches."""
        from outpace.season.open_book import climate_since, open_book, snapshot

        with self._lock:
            if self._last is not None and self._last[0] == known_by:
                return self._last[1]
        with open_book(self.book_url) as book:
            if asked.as_of is not None:
                known = snapshot(book, asked.as_of, asked.farm)
            else:
                at = moment.astimezone(UTC)
                known = book.snapshot(at if self._fixed else None, climate_since=climate_since(at))
        with self._lock:
            self._last = (known_by, known)
        return known

    def _work(
        self,
        key: Key,
        moment: datetime,
        asked: Asked,
        work: Callable[[Snapshot, Progress], Found],
        empty: bool,
    ) -> Found:
        from outpace.terms.place import Farm, House

        def progress(text: str) -> None:
            with self._lock:
                self._told[key] = text

        try:
            known = self._snapshot(key[:3], moment, asked)
            farms, houses = known.table(Farm), known.table(House)
            if not farms and not empty:
                raise NothingYet(
                    say("the book holds no farm yet"),
                    hint=say(
                        "start with `outpace farm NAME --place LATITUDE,LONGITUDE`, or look at `outpace demo`"
                    ),
                )
            if not houses and not empty:
                raise NothingYet(
                    say("the farm has no house yet"),
                    hint=say("add one with `outpace house NAME --crop CROP --area AREA`"),
                )
            return work(known, progress)
        finally:
            with self._lock:
                self._told.pop(key, None)


def is_unknown(error: OutpaceError) -> bool:
    """Return whether an error says that what was asked for does not exist."""
    return error.code is ExitCode.USAGE
