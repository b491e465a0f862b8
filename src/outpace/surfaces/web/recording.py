"""How entries get into the book from the pages: what can be chosen, rows made and written, once for each form sent."""

from __future__ import annotations

import asyncio
import dataclasses
from collections import OrderedDict
from collections.abc import Awaitable, Callable, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from outpace.errors import OutpaceError
from outpace.surfaces.web.asking import Answer, Asked, Asking

if TYPE_CHECKING:
    from outpace.season.enter import Entered
    from outpace.season.open_book import Book, Snapshot

Make = Callable[["Snapshot", dict[str, Any]], "Entered"]

SENT_KEPT = 400
"""So many forms are remembered by their ids: sent again, each gives the same answer and writes nothing."""


class Recording(Asking):
    """The entries that pages take."""

    sent: OrderedDict[str, asyncio.Task[Answer]]

    def entered(self) -> None:
        """Hear that the book has a new head: answers that many ask for may be worked out now."""

    async def choices(self, asked: Asked) -> dict[str, Any]:
        """Return what the forms of a farm offer to choose from; also of an empty book."""
        from outpace.season.choices import choices

        found = await self._ask(
            ("choices",),
            Asked(farm=asked.farm),
            lambda book, _: choices(book, asked.farm),
            pool=self._quick,
            empty=True,
        )
        known = dict(found)
        if known["farm"]:
            now = self._now().astimezone(ZoneInfo(known["time_zone"]))
            known |= {"now": f"{now:%Y-%m-%dT%H:%M}", "today": now.date().isoformat()}
        return known

    async def farm_units(self, asked: Asked) -> tuple[str | None, str | None]:
        """Return the degrees and the areas that a farm measures in; None where it tells none."""
        from outpace.season.choices import units_of

        try:
            found = await self._ask(
                ("units",), asked, lambda book, _: units_of(book, asked.farm), pool=self._quick, empty=True
            )
        except OutpaceError:
            # Without a book, or where it is open which farm is meant, nobody has told any.
            return None, None
        return found

    async def offered(self, asked: Asked) -> list[dict[str, str]]:
        """Return the enemies that a supplier has on offer."""
        from outpace.season.choices import offered

        try:
            return await self._ask(("offered",), asked, lambda book, _: offered(book), pool=self._quick)
        except OutpaceError:
            return []

    async def enter(
        self, make: Make, told: Mapping[str, Any], *, by: str, changes: bool = False, why: str = ""
    ) -> Answer:
        """Make rows of what a form told and record them; with a conflict nothing is written."""

        def work(book: Book, known: Snapshot) -> Answer:
            from outpace.season.recorded import record

            return record(book, make(known, dict(told)), by=by, changes=changes, why=why)

        return await self.write(work)

    async def before_release(self, asked: Asked, told: Mapping[str, str]) -> tuple[str, ...]:
        """Return what to mind before enemies are let go, as far as house and lot are told."""

        def work(_: Book, known: Snapshot) -> Answer:
            from outpace.season.release_warnings import before_release

            lot, zone = told.get("lot") or None, told.get("zone") or None
            return {"minds": before_release(known, told.get("house", ""), lot, zone=zone, farm=asked.farm)}

        found: tuple[str, ...] = (await self.write(work))["minds"]
        return found

    async def write(self, work: Callable[[Book, Snapshot], Answer]) -> Answer:
        """Do a piece of work on the open book, with what it knows now."""

        new = False

        def done() -> Answer:
            from outpace.season.open_book import climate_since, open_book

            nonlocal new
            moment = self._now()
            with open_book(self.book_url) as book:
                head = str(book.head())
                key = (head, f"{moment:%Y-%m-%dT%H}", Asked())
                known = self._snapshot(key, moment, Asked()) if not self._fixed else None
                if known is None:
                    known = book.snapshot(None, climate_since=climate_since(moment))
                answer = work(book, dataclasses.replace(known, as_of=max(known.as_of, moment)))
                new = str(book.head()) != head
                return answer

        found = await self._told_by(self._quick, done)
        if new:
            self.entered()
        return found

    async def once(self, form_id: str, work: Callable[[], Awaitable[Answer]]) -> Answer:
        """Do what a form asks, once however often it is sent; what failed may be sent again."""
        if not hasattr(self, "sent"):
            self.sent = OrderedDict()
        task = self.sent.get(form_id)
        if task is None or (
            task.done() and (task.cancelled() or task.exception() or task.result()["conflicts"])
        ):
            task = asyncio.ensure_future(work())
            if form_id:
                self.sent[form_id] = task
                while len(self.sent) > SENT_KEPT:
                    self.sent.popitem(last=False)
        return await asyncio.shield(task)

    def written(self, form_id: str) -> Answer | None:
        """Return what a form of this session wrote, if it is remembered."""
        task = getattr(self, "sent", {}).get(form_id)
        if task is None or not task.done() or task.cancelled() or task.exception():
            return None
        answer: Answer = task.result()
        return answer

    async def look_into(
        self, name: str, content: bytes, told: Mapping[str, Any], time_zone: str
    ) -> tuple[Answer, list[tuple[int, str]]]:
        """Return what a logger's file holds, and its rows that cannot be read; nothing is written."""

        def work() -> tuple[Answer, list[tuple[int, str]]]:
            from outpace.season.climate_in import Told, looked_into, shelf_of

            with TemporaryDirectory(prefix="outpace-") as folder:
                path = Path(folder, name)
                path.write_bytes(content)
                return looked_into(path, Told(**told), time_zone=time_zone, shelf=shelf_of(self.book_url))

        return await self._told_by(self._quick, work)

    async def take_file(
        self, name: str, content: bytes, told: Mapping[str, Any], asked: Asked, **how: Any
    ) -> Answer:
        """Write the readings of a logger's file into a house.

        Parameters
        ----------
        how
            ``house``, ``zone``, ``by`` and ``changes``.
        """

        def work(book: Book, known: Snapshot) -> Answer:
            from outpace.season.climate_in import Told, climate_from_file, shelf_of
            from outpace.season.recorded import record

            with TemporaryDirectory(prefix="outpace-") as folder:
                path = Path(folder, name)
                path.write_bytes(content)
                entered = climate_from_file(
                    known,
                    path,
                    how["house"],
                    Told(**told),
                    farm=asked.farm,
                    zone=how["zone"],
                    shelf=shelf_of(self.book_url),
                )
            return record(book, entered, by=how["by"], changes=how["changes"])

        return await self.write(work)

    async def rows(self, asked: Asked, **how: Any) -> Answer:
        """Return the rows of the book that hold the words searched for."""

        def work(known: Snapshot, _: Any) -> Answer:
            from outpace.season.book_rows import rows_answer

            return rows_answer(known, farm=asked.farm, **how)

        return await self._ask(("rows", *sorted(how.items())), asked, work, pool=self._quick)

    async def row(self, asked: Asked, of: str, key: str) -> Answer:
        """Return one row of the book with all it ever said."""
        from outpace.season.book_rows import row_answer

        return await self.write(lambda book, known: row_answer(book, known, of, key, farm=asked.farm))

    async def correct_row(
        self, asked: Asked, of: str, key: str, told: Mapping[str, str], *, by: str, why: str
    ) -> Answer:
        """Add a correction of a row to the book."""

        def work(book: Book, known: Snapshot) -> Answer:
            from outpace.season.book_rows import corrected
            from outpace.season.recorded import record

            entered = corrected(book, known, of, key, told, farm=asked.farm)
            return record(book, entered, by=by, changes=True, why=why)

        return await self.write(work)

    async def withdraw_row(self, of: str, key: str, *, by: str, why: str) -> Answer:
        """Withdraw a row of the book; it stays in the history."""
        from outpace.season.book_rows import withdraw

        return await self.write(lambda book, _: withdraw(book, of, key, by=by, why=why))

    async def place_orders(self, asked: Asked, order: Answer, *, by: str) -> Answer:
        """Write the orders that are due down as placed, with the messages to send; nothing is sent from here."""

        def work(book: Book, known: Snapshot) -> Answer:
            from outpace.season.parcels import place_orders

            return place_orders(book, known, order, by=by, farm=asked.farm)

        return await self.write(work)
