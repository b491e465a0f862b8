"""The week as command, pages, sheets and demo ask for it: a kept answer is found before anything heavy is loaded."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any

from outpace.season.worked_out import known_before, once

if TYPE_CHECKING:
    from outpace.season.open_book import Snapshot

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
        self._question = ("week", farm or "", as_of or "", f"{at:%c}" if fixed and at else "")

    def known(self) -> tuple[Answer, dict[str, Answer]] | None:
        """Return the week and its houses where they are kept."""
        found = known_before(self._question, self._head, at=self._at)
        return None if found is None else (found["week"], found["houses"])

    def answer(
        self, read: Callable[[], Snapshot], progress: Progress | None = None
    ) -> tuple[Answer, dict[str, Answer]]:
        """Return the week and its houses, kept or worked out from what the book knew."""

        def work() -> Answer:
            from outpace.season.week import week_with_houses

            answer, houses = week_with_houses(read(), farm=self._farm, progress=progress)
            return {"week": answer, "houses": houses}

        found = once(self._question, self._head, work, at=self._at)
        return found["week"], found["houses"]
