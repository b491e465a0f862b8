"""The answers the pages show: asked of the season in other threads, kept until the book changes."""

from __future__ import annotations

import asyncio
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, TypeVar

from outpace.errors import ExitCode, OutpaceError

if TYPE_CHECKING:
    from outpace.season.open_book import Snapshot

Answer = Mapping[str, Any]
Progress = Callable[[str], None]
Key = tuple[object, ...]
Found = TypeVar("Found")

KEPT = 128
SHOWN_D = 28
"""A house's page and its sheet look so far ahead, as the week does."""


@dataclass(frozen=True, slots=True)
class Asked:
    """Whose answer, and as on which day; empty means the only farm, and now."""

    farm: str | None = None
    as_of: str | None = None


class NothingYet(OutpaceError):
    """The book is open and still empty; the hint is the next step."""


class StillWorking(Exception):
    """An answer that takes longer than a page may wait; ``progress`` is its last word."""

    def __init__(self, progress: str) -> None:
        self.progress = progress
        super().__init__(progress)


class Answers:
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
        self._kept: OrderedDict[Key, Future[Any]] = OrderedDict()
        self._told: dict[Key, str] = {}
        self._last: tuple[Key, Snapshot] | None = None
        self._lock = threading.Lock()

    def close(self) -> None:
        """Drop what still waits; what is being worked out ends by itself."""
        for pool in (self._quick, self._heavy):
            pool.shutdown(wait=False, cancel_futures=True)

    async def begin(self) -> None:
        """Work out the week with all its houses, so that the first to ask need not wait.

        What goes wrong here is told to the first who asks.
        """
        try:
            await self.week(Asked())
        except OutpaceError:
            return

    async def head(self) -> str:
        """Return the head of the book."""
        return await asyncio.wrap_future(self._quick.submit(self._head))

    async def farms(self) -> list[str]:
        """Return the names of the farms in the book."""
        from outpace.season.standing import farms_answer

        found = await self._ask(("farms",), Asked(), lambda book, _: farms_answer(book))
        return [str(farm["farm"]) for farm in found["farms"]]

    async def houses(self, asked: Asked) -> list[str]:
        """Return the names of a farm's houses; none without a book, or where it is open which farm is meant."""
        from outpace.season.standing import houses_answer

        try:
            found = await self._ask(
                ("houses",), asked, lambda book, _: houses_answer(book, farm=asked.farm), pool=self._quick
            )
        except OutpaceError:
            return []
        return [str(house["house"]) for house in found["houses"]]

    async def week(self, asked: Asked) -> Answer:
        """Return the answer of ``outpace week``."""
        return (await self._week_with_houses(asked))[0]

    async def ahead(self, asked: Asked, house: str, days: int = SHOWN_D) -> Answer:
        """Return the answer of ``outpace ahead``, with the sentence and the tasks that the week gives the house.

        The week works out every house; its answer is taken where it looks as many days ahead, so that the
        page of a house never differs from the page of the week.
        """
        try:
            houses = (await self._week_with_houses(asked))[1]
        except NothingYet:
            raise
        except OutpaceError:
            # What hinders the week may lie in another house, or in an order: this house can still be shown.
            houses = {}
        if house in houses and days == SHOWN_D:
            return houses[house]

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.ahead import ahead

            progress(f"{house}: refitting the forecast to the counts")
            return ahead(snapshot, house, farm=asked.farm, days=days)

        found: Answer = await self._ask(("ahead", house, days), asked, work)
        known = houses.get(found["house"])
        return found if known is None else {**found, "sentence": known["sentence"], "tasks": known["tasks"]}

    async def no_finds(self, asked: Asked, house: str) -> Answer:
        """Return the answer of ``outpace nofinds``."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.no_finds import no_finds

            progress(f"{house}: weighing the walks that found nothing")
            return no_finds(snapshot, house, farm=asked.farm)

        return await self._ask(("nofinds", house), asked, work)

    async def walk_plan(
        self, asked: Asked, house: str, *, rows: int | None = None, seen: tuple[int, ...] | None = None
    ) -> Answer:
        """Return the answer of ``outpace walk plan HOUSE``."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.walk_plan import walk_plan

            progress(f"{house}: choosing plants and drawing the stop lines")
            return walk_plan(snapshot, house, farm=asked.farm, rows=rows, seen=seen)

        return await self._ask(("walk", house, rows, seen), asked, work, pool=self._quick)

    async def walk_round(self, asked: Asked, minutes: float | None = None) -> Answer:
        """Return the answer of ``outpace walk plan``."""

        from outpace.season.walk_round import Weighed, share_minutes

        def work(snapshot: Snapshot, progress: Progress) -> Weighed:
            from outpace.season.walk_round import weigh_houses

            return weigh_houses(snapshot, farm=asked.farm, progress=progress)

        # Other minutes are another sharing out of the same weights.
        return share_minutes(await self._ask(("walks",), asked, work), minutes)

    async def walk_kit(self, asked: Asked) -> Answer:
        """Return what a phone needs to walk a farm without signal."""

        def work(snapshot: Snapshot, _: Progress) -> Answer:
            from outpace.season.walk_kit import walk_kit

            return walk_kit(snapshot, asked.farm)

        return await self._ask(("walk kit",), asked, work, pool=self._quick)

    async def stop_lines(self, asked: Asked) -> Answer:
        """Return for each house when a walk may stop."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.walk_kit import stop_lines

            progress("drawing the stop lines of the houses")
            return stop_lines(snapshot, asked.farm)

        return await self._ask(("stop lines",), asked, work)

    async def take_walks(self, tables: Mapping[str, Any], *, by: str, device: str, correct: bool) -> Answer:
        """Record walks that a phone sent."""

        def work() -> Answer:
            from outpace.season.open_book import open_book
            from outpace.season.walks_sent import take_walks

            with open_book(self.book_url) as book:
                return take_walks(book, tables, by=by, device=device, correct=correct)

        return await asyncio.wrap_future(self._quick.submit(work))

    async def keep_photo(self, name: str, content: bytes) -> None:
        """Keep a photo beside the book."""
        from outpace.season.photos import keep_photo

        await asyncio.wrap_future(self._quick.submit(lambda: keep_photo(self.book_url, name, content)))

    async def photo(self, name: str) -> tuple[bytes, str] | None:
        """Return a kept photo and the ending of its name."""
        from outpace.season.photos import photo

        return await asyncio.wrap_future(self._quick.submit(lambda: photo(self.book_url, name)))

    async def plan(self, asked: Asked) -> Answer:
        """Return the answer of ``outpace plan``."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.plan import plan

            return plan(snapshot, farm=asked.farm, progress=progress)

        return await self._ask(("plan",), asked, work)

    async def order(self, asked: Asked) -> Answer:
        """Return the answer of ``outpace order``, made from the plan."""
        planned = await self.plan(asked)

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.order import order

            return order(snapshot, farm=asked.farm, plan=planned)

        return await self._ask(("order",), asked, work)

    async def review(self, asked: Asked, replay: bool) -> Answer:
        """Return the answer of ``outpace review``."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.forecasts_scored import review

            return review(snapshot, farm=asked.farm, replay=replay, progress=progress)

        return await self._ask(("review", replay), asked, work)

    async def lag(self, **told: Any) -> Answer:
        """Return the answer of ``outpace lag`` for a mean temperature; needs no book."""
        from outpace.season.lag import lag

        return await asyncio.wrap_future(self._quick.submit(lambda: lag(**told)))

    async def lag_in_house(self, asked: Asked, house: str, **told: Any) -> Answer:
        """Return the answer of ``outpace lag`` for the temperatures, and the crop, of a house of the book."""

        def work(snapshot: Snapshot, _: Progress) -> Answer:
            from outpace.season.lag import lag
            from outpace.season.lag_temperature import from_house

            hours, source, grown = from_house(snapshot, house, told["release"], farm=asked.farm)
            crop = told.get("crop") or grown
            return lag(**{**told, "crop": crop}, hourly=hours, temperature_source=source)

        question = ("lag", house, *sorted(told.items()))
        return await self._ask(question, asked, work, pool=self._quick)

    async def lag_from_file(self, name: str, content: bytes, **told: Any) -> Answer:
        """Return the answer of ``outpace lag`` for a logger's file; needs no book and keeps no file."""

        def work() -> Answer:
            from outpace.season.climate_in import hours_from
            from outpace.season.lag import lag

            with TemporaryDirectory(prefix="outpace-") as folder:
                path = Path(folder, name)
                path.write_bytes(content)
                hours, source = hours_from(path, told["release"])
            return lag(**told, hourly=hours, temperature_source=source)

        return await asyncio.wrap_future(self._quick.submit(work))

    async def facts(self, species: str | None = None) -> Answer:
        """Return the answer of ``outpace facts``; needs no book."""
        from outpace.season.facts import facts_answer

        return await asyncio.wrap_future(self._quick.submit(lambda: facts_answer(species, cite=True)))

    async def trace(self, asked: Asked, code: str) -> Answer:
        """Return the answer of ``outpace trace``; quick, so it is asked anew each time."""

        def work() -> Answer:
            from outpace.season.open_book import open_book
            from outpace.season.trace import trace

            with open_book(self.book_url) as book:
                return trace(book, code, farm=asked.farm, as_of=asked.as_of)

        return await asyncio.wrap_future(self._quick.submit(work))

    async def codes(self, asked: Asked) -> Answer:
        """Return the last harvest codes and lots, to choose from."""

        def work() -> Answer:
            from outpace.season.open_book import open_book
            from outpace.season.trace import last_codes

            with open_book(self.book_url) as book:
                return last_codes(book, farm=asked.farm, as_of=asked.as_of)

        return await asyncio.wrap_future(self._quick.submit(work))

    async def sheet(self, asked: Asked, house: str) -> bytes:
        """Return the printed page of one house, as PDF."""
        answer = await self.ahead(asked, house)
        head = await self.head()

        def work() -> bytes:
            from outpace.surfaces.sheets.week_sheet import render

            return render(answer, head=head)

        return await asyncio.wrap_future(self._heavy.submit(work))

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

    async def _week_with_houses(self, asked: Asked) -> tuple[Answer, Mapping[str, Answer]]:
        def work(snapshot: Snapshot, progress: Progress) -> tuple[Answer, Mapping[str, Answer]]:
            from outpace.season.week import week_with_houses

            return week_with_houses(snapshot, farm=asked.farm, progress=progress)

        return await self._ask(("week",), asked, work)

    async def _ask(
        self,
        question: Key,
        asked: Asked,
        work: Callable[[Snapshot, Progress], Found],
        *,
        pool: ThreadPoolExecutor | None = None,
    ) -> Found:
        head = await self.head()
        moment = self._now()
        key = (head, f"{moment:%Y-%m-%dT%H}", asked, *question)
        with self._lock:
            future = self._kept.get(key)
            if future is None or (future.done() and (future.cancelled() or future.exception())):
                future = (pool or self._heavy).submit(self._work, key, moment, asked, work)
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
        self, key: Key, moment: datetime, asked: Asked, work: Callable[[Snapshot, Progress], Found]
    ) -> Found:
        from outpace.terms.place import Farm, House

        def progress(text: str) -> None:
            with self._lock:
                self._told[key] = text

        try:
            known = self._snapshot(key[:3], moment, asked)
            farms, houses = known.table(Farm), known.table(House)
            if not farms:
                raise NothingYet(
                    "the book holds no farm yet",
                    hint="start with `outpace farm NAME --place LATITUDE,LONGITUDE`, or look at `outpace demo`",
                )
            if not houses:
                raise NothingYet(
                    "the farm has no house yet",
                    hint="add one with `outpace house NAME --crop CROP --area AREA`",
                )
            return work(known, progress)
        finally:
            with self._lock:
                self._told.pop(key, None)


def is_unknown(error: OutpaceError) -> bool:
    """Return whether an error says that what was asked for does not exist."""
    return error.code is ExitCode.USAGE
