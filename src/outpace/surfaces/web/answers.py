"""The answers the pages show: one method a question, asked of the season."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from outpace.errors import OutpaceError
from outpace.language import manner, say
from outpace.surfaces.web.asking import KEPT, Answer, Asked, NothingYet, Progress
from outpace.surfaces.web.beforehand import QUIET_S, Beforehand, until_next_hour
from outpace.surfaces.web.deciding import Deciding
from outpace.surfaces.week_asked import HousesAsked, WeekAsked

if TYPE_CHECKING:
    from outpace.season.open_book import Snapshot

SHOWN_D = 28
"""A house's page and its sheet look so far ahead, as the week does."""


class Answers(Deciding):
    """The questions that pages ask.

    Parameters
    ----------
    book_url, now
        As in `Asking`.
    quiet_s : float
        So many seconds after the last entry the week is worked out anew, before anyone asks.
    """

    def __init__(
        self, book_url: str, *, now: Callable[[], datetime] | None = None, quiet_s: float = QUIET_S
    ) -> None:
        super().__init__(book_url, now=now)
        self._asked_last, self._begun = Asked(), False
        self._beforehand = Beforehand(self.begin, quiet_s)

    async def begin(self) -> None:
        """Work out the week with all its houses as it was last asked for, so that the next to ask need not wait.

        What goes wrong here is told to the first who asks. After the first time it stands back behind what is asked,
        and is done again as each hour begins.
        """
        with suppress(OutpaceError):
            await self._week_with_houses(self._asked_last, pool=self._behind if self._begun else None)
        if not self._begun and not self._fixed:
            self._beforehand.turn(lambda: until_next_hour(self._now()))
        self._begun = True

    def entered(self) -> None:
        """Work out the week of the book as it is now, shortly."""
        # By a clock that stands still what is entered now is not known yet.
        if not self._fixed:
            self._beforehand.entered()

    def close(self) -> None:
        """Begin nothing any more."""
        self._beforehand.cancel()
        super().close()

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

            progress(say("{house}: refitting the forecast to the counts", house=house))
            return ahead(snapshot, house, farm=asked.farm, days=days)

        found: Answer = await self._ask(("ahead", house, days), asked, work)
        known = houses.get(found["house"])
        return found if known is None else {**found, "sentence": known["sentence"], "tasks": known["tasks"]}

    async def no_finds(self, asked: Asked, house: str) -> Answer:
        """Return the answer of ``outpace nofinds``."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.no_finds import no_finds

            progress(say("{house}: weighing the walks that found nothing", house=house))
            return no_finds(snapshot, house, farm=asked.farm)

        return await self._ask(("nofinds", house), asked, work)

    async def walk_plan(
        self, asked: Asked, house: str, *, rows: int | None = None, seen: tuple[int, ...] | None = None
    ) -> Answer:
        """Return the answer of ``outpace walk plan HOUSE``."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.walk_plan import walk_plan

            progress(say("{house}: choosing plants and drawing the stop lines", house=house))
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

            progress(say("drawing the stop lines of the houses"))
            return stop_lines(snapshot, asked.farm)

        return await self._ask(("stop lines",), asked, work)

    async def take_walks(self, tables: Mapping[str, Any], *, by: str, device: str, correct: bool) -> Answer:
        """Record walks that a phone sent."""

        def work() -> Answer:
            from outpace.season.open_book import open_book
            from outpace.season.walks_sent import take_walks

            with open_book(self.book_url) as book:
                return take_walks(book, tables, by=by, device=device, correct=correct)

        found = await self._told_by(self._quick, work)
        self.entered()
        return found

    async def keep_photo(self, name: str, content: bytes) -> None:
        """Keep a photo beside the book."""
        from outpace.season.photos import keep_photo

        await self._told_by(self._quick, lambda: keep_photo(self.book_url, name, content))

    async def photo(self, name: str) -> tuple[bytes, str] | None:
        """Return a kept photo and the ending of its name."""
        from outpace.season.photos import photo

        return await self._told_by(self._quick, lambda: photo(self.book_url, name))

    async def what_if(self, asked: Asked, house: str, changes: Mapping[str, Any]) -> Answer:
        """Return the forecast of a house with something otherwise beside today's."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.considered import Figures
            from outpace.season.what_if import Changes, what_if

            told = dict(changes)
            spray = told.pop("spray", None)
            if spray is not None:
                told["spray"] = Figures(spray["kill_aphids"], spray["kill_enemies"])
            progress(say("{house}: looking ahead with something otherwise", house=house))
            return what_if(snapshot, house, Changes(**told), farm=asked.farm)

        return await self._ask(("what if", house, repr(sorted(changes.items()))), asked, work)

    async def review(self, asked: Asked, replay: bool) -> Answer:
        """Return the answer of ``outpace review``."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.forecasts_scored import review

            return review(snapshot, farm=asked.farm, replay=replay, progress=progress)

        return await self._ask(("review", replay), asked, work)

    async def arrivals(self, asked: Asked) -> Answer:
        """Return the answer of ``outpace arrival show``."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.arrival import arrival

            progress(say("reckoning what the parcels are worth"))
            return arrival(snapshot, farm=asked.farm)

        return await self._ask(("arrivals",), asked, work)

    async def sprays(self, asked: Asked) -> Answer:
        """Return the answer of ``outpace spray show``."""

        def work(snapshot: Snapshot, _: Progress) -> Answer:
            from outpace.season.spray_standing import spray_answer

            return spray_answer(snapshot, farm=asked.farm)

        return await self._ask(("sprays",), asked, work, pool=self._quick)

    async def plants(self, asked: Asked) -> Answer:
        """Return the plants that came in."""

        def work(snapshot: Snapshot, _: Progress) -> Answer:
            from outpace.season.batches import plants_answer

            return plants_answer(snapshot, farm=asked.farm)

        return await self._ask(("plants",), asked, work, pool=self._quick)

    async def money(self, asked: Asked, first: str, last: str) -> Answer:
        """Return the answer of ``outpace farm money``."""

        def work(snapshot: Snapshot, _: Progress) -> Answer:
            from outpace.season.money import money

            return money(snapshot, first, last, farm=asked.farm)

        return await self._ask(("money", first, last), asked, work, pool=self._quick)

    async def lag(self, **told: Any) -> Answer:
        """Return the answer of ``outpace lag`` for a mean temperature; needs no book."""
        # It hangs on nothing but what is told, so a page that is loaded again need not draw again.
        key = (manner(), *sorted(told.items()))
        if key not in self._lags:

            def work() -> Answer:
                from outpace.season.lag import lag

                return lag(**told)

            self._lags[key] = await self._told_by(self._quick, work)
            while len(self._lags) > KEPT:
                self._lags.popitem(last=False)
        found: Answer = self._lags[key]
        return found

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

        return await self._told_by(self._quick, work)

    async def facts(self, species: str | None = None) -> Answer:
        """Return the answer of ``outpace facts``; needs no book."""
        from outpace.season.facts import facts_answer

        return await self._told_by(self._quick, lambda: facts_answer(species, cite=True))

    async def trace(self, asked: Asked, code: str) -> Answer:
        """Return the answer of ``outpace trace``; quick, so it is asked anew each time."""

        def work() -> Answer:
            from outpace.season.open_book import open_book
            from outpace.season.trace import trace

            with open_book(self.book_url) as book:
                return trace(book, code, farm=asked.farm, as_of=asked.as_of)

        return await self._told_by(self._quick, work)

    async def codes(self, asked: Asked) -> Answer:
        """Return the last harvest codes and lots, to choose from."""

        def work() -> Answer:
            from outpace.season.open_book import open_book
            from outpace.season.trace import last_codes

            with open_book(self.book_url) as book:
                return last_codes(book, farm=asked.farm, as_of=asked.as_of)

        return await self._told_by(self._quick, work)

    async def sheet(self, asked: Asked, house: str) -> bytes:
        """Return the printed page of one house, as PDF; it does not wait for the week of the others."""

        def alone(head: str, moment: datetime) -> HousesAsked:
            from outpace.season.open_book import open_book

            return HousesAsked(
                [house],
                lambda: open_book(self.book_url),
                head,
                farm=asked.farm,
                as_of=asked.as_of,
                at=moment,
                fixed=self._fixed,
            )

        answer: Answer
        try:
            (answer,) = (await self._ask_kept(("sheet", house), asked, alone))[1].values()
        except NothingYet:
            raise
        except OutpaceError:
            # What hinders the plan may lie in another house.
            answer = await self.ahead(asked, house)
        head = await self.head()

        def work() -> bytes:
            from outpace.surfaces.sheets.week_sheet import render

            return render(answer, head=head)

        return await self._told_by(self._heavy, work)

    async def _week_with_houses(
        self, asked: Asked, pool: ThreadPoolExecutor | None = None
    ) -> tuple[Answer, Mapping[str, Answer]]:
        def week(head: str, moment: datetime) -> WeekAsked:
            return WeekAsked(head, farm=asked.farm, as_of=asked.as_of, at=moment, fixed=self._fixed)

        if asked.as_of is None:
            self._asked_last = asked
        return await self._ask_kept(("week",), asked, week, pool=pool)
