"""The book, opened where the settings say, and what it knew at a moment."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from outpace.errors import OutpaceError
from outpace.facts import table as facts_table
from outpace.records.cells import Resolvers
from outpace.records.store import Book, data_folder, default_book_url
from outpace.season.moments import end_of
from outpace.season.names import pick_farm, zone_of_farm
from outpace.terms.place import House
from outpace.terms.tables import Snapshot

__all__ = ["Book", "Snapshot", "book_url", "data_folder", "moment_of", "open_book", "resolvers", "snapshot"]


CLIMATE_BACK = timedelta(days=400)
"""So far back temperatures are read: this season, and the same weeks of the last one."""
CROP_CLIMATE_BACK = timedelta(days=153)
"""So far back they are read where only the crops that stand are asked of: no simulated past is longer (150 days)."""


def book_url(url: str | None = None) -> str:
    """Return where the book is: as told, else by ``OUTPACE_BOOK``, else in the user's data folder."""
    return url or str(default_book_url())


def open_book(url: str | None = None, *, create: bool = False) -> Book:
    """Return the open book; it closes at the end of a ``with``.

    Parameters
    ----------
    url : str, optional
        A file, or the URL of a database.
    create : bool, default False
        Begin a new book where there is none.
    """
    return Book.open(book_url(url), create=create)


def resolvers() -> Resolvers:
    """Return how names of species and crops in files become the keys of the facts tables."""
    facts = facts_table.load()

    def species(name: str) -> str:
        return facts.resolve(name)

    def crop(name: str) -> str:
        # A crop that no table knows may still be grown: its name is kept as it was written.
        return facts.resolve_crop(name) or name

    return Resolvers(species=species, crop=crop)


def snapshot(
    book: Book, as_of: str | None = None, farm: str | None = None, *, all_climate: bool = False
) -> Snapshot:
    """Return what the book knew by the end of a day of the farm, or knows now where no day is given.

    Parameters
    ----------
    all_climate : bool, default False
        Read temperatures of all years; else those of the last year and a month, which is all that a forecast uses.

    Raises
    ------
    OutpaceError
        If the day cannot be read or lies in the future.
    """
    moment = moment_of(book, as_of, farm)
    return book.snapshot(moment, climate_since=None if all_climate else climate_since(moment))


def of_this_crop(
    book: Book, as_of: str | None = None, farm: str | None = None, *, at: datetime | None = None
) -> Snapshot:
    """Return the same as :func:`snapshot`, without what only earlier crops tell: their counts, old temperatures.

    What is told of the week, of a house ahead and of the plan reads walks from planting on and no past longer than
    it simulates: ten seasons of counts are left where they lie. Where of any house it is not told when it was
    planted, all counts are read.

    Parameters
    ----------
    at : aware datetime, optional
        The moment, where it is no day's end and not now.
    """
    moment = at or moment_of(book, as_of, farm)
    houses = book.snapshot(moment, only={"houses": {}}).table(House)
    planted = [house.planted for house in houses if house.planted is not None]
    whole = len(planted) < len(houses) or not houses
    since = (moment or datetime.now(UTC)) - CROP_CLIMATE_BACK
    return book.snapshot(moment, climate_since=since, walked_since=None if whole else min(planted))


def climate_since(moment: datetime | None = None) -> datetime:
    """Return from when on temperatures are read for what is asked at a moment; None: now."""
    return (moment or datetime.now(UTC)) - CLIMATE_BACK


def moment_of(book: Book, as_of: str | None = None, farm: str | None = None) -> datetime | None:
    """Return the moment that a day of the farm ends; None for now, and for today.

    Raises
    ------
    OutpaceError
        If the day cannot be read or lies in the future.
    """
    if as_of is None:
        return None
    try:
        zone = zone_of_farm(pick_farm(book.snapshot(only={"farm": {}}), farm))
    except OutpaceError:
        zone = ZoneInfo("UTC")
    moment = end_of(as_of, zone)
    return None if moment is None else moment.astimezone(UTC)
