"""The week as command, pages, sheets and demo ask for it: a kept answer is found before anything heavy is loaded."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from datetime import datetime
from typing import TYPE_CHECKING, Any

from outpace.season.week_part import part_of
from outpace.season.worked_out import known_before, once

if TYPE_CHECKING:
    from outpace.season.open_book import Book, Snapshot

Answer = dict[str, Any]
Progress = Callable[[str], None]


class WeekAsked:
    """This week of a farm with the forecasts of its houses, worked out once an hour while the book stays as it is.

    Parameters
    ----------
    head : str
        Of the whole book, also where an earlier day is asked for.
    farm, as_of : str, optional
        Whose week, and as on which day; left out: the only farm, and now.
    at : datetime, optional
        The moment of asking. Left out: now.
    fixed : bool, default False
        Whether ``at`` is told by a clock that stands still, so that its minutes count too.
    """

    def __init__(
        self,
        head: str,
        *,
        farm: str | None = None,
        as_of: str | None = None,
        at: datetime | None = None,
        fixed: bool = False,
    ) -> None:
        self._head, self._at, self._farm = head, at, farm
        self.question = ("week", farm or "", as_of or "", f"{at:%c}" if fixed and at else "")

    def known(self) -> tuple[Answer, dict[str, Answer]] | None:
        """Return the week and its houses where they are kept."""
        found = known_before(self.question, self._head, at=self._at)
        return None if found is None else (found["week"], found["houses"])

    def answer(
        self, read: Callable[[], Snapshot], progress: Progress | None = None
    ) -> tuple[Answer, dict[str, Answer]]:
        """Return the week and its houses, kept or worked out from what the book knew."""

        def work() -> Answer:
            from outpace.season.week import week_with_houses

            answer, houses = week_with_houses(read(), farm=self._farm, progress=progress, head=self._head)
            return {"week": answer, "houses": houses}

        found = once(self.question, self._head, work, at=self._at)
        return found["week"], found["houses"]


class HousesAsked:
    """The week of some houses by themselves: as a kept week says it, or no other house is looked ahead in.

    Parameters
    ----------
    names : sequence of str
        The houses, in any capitals.
    open_book : callable
        Opens the book, to be asked what was entered since the last plan.
    head, farm, as_of, at, fixed
        As in `WeekAsked`.
    """

    def __init__(
        self,
        names: Sequence[str],
        open_book: Callable[[], AbstractContextManager[Book]],
        head: str,
        *,
        farm: str | None = None,
        as_of: str | None = None,
        at: datetime | None = None,
        fixed: bool = False,
    ) -> None:
        self._names, self._open_book, self._head, self._farm = names, open_book, head, farm
        self._week = WeekAsked(head, farm=farm, as_of=as_of, at=at, fixed=fixed)
        self._question, self._at = (*self._week.question, "of", *names), at

    def known(self) -> tuple[Answer, dict[str, Answer]] | None:
        """Return the week of the houses and their forecasts where the whole week is kept, or they are."""
        week, houses = self._week.known() or ({}, {})
        asked = {name.casefold().strip() for name in self._names}
        shown = [house for house in houses if house.casefold() in asked]
        if asked and len(shown) == len(asked):
            return part_of(week, houses, shown), {house: houses[house] for house in shown}
        found = known_before(self._question, self._head, at=self._at)
        return None if found is None else (found["week"], found["houses"])

    def answer(
        self, read: Callable[[], Snapshot], progress: Progress | None = None
    ) -> tuple[Answer, dict[str, Answer]]:
        """Return the week of the houses and their forecasts, kept or worked out from what the book knew."""

        def work() -> Answer:
            from outpace.season.week import week_of_houses

            snapshot = read()
            with self._open_book() as book:
                answer, houses = week_of_houses(
                    snapshot,
                    self._names,
                    farm=self._farm,
                    progress=progress,
                    head=self._head,
                    since=lambda head, after: book.entered_since(head, after=after, until=snapshot.as_of),
                )
            return {"week": answer, "houses": houses}

        known = self.known()
        if known is not None:
            return known
        found = once(self._question, self._head, work, at=self._at)
        return found["week"], found["houses"]
