"""Towns to choose a place by, offline: one for every time zone of the tz database, with its coordinates.

The table `zone.tab` of the tz database (public domain) comes with Python's tzdata; nothing is looked up elsewhere.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say


@dataclass(frozen=True, slots=True)
class Town:
    """A town that gives its name to a time zone."""

    zone: str
    name: str
    country: str
    country_name: str
    latitude: float
    longitude: float


def _table(name: str) -> list[list[str]]:
    text = (files("tzdata") / "zoneinfo" / name).read_text(encoding="utf-8")
    return [line.split("\t") for line in text.splitlines() if line and not line.startswith("#")]


def degrees(text: str) -> tuple[float, float]:
    """Return latitude and longitude of a place written as ISO 6709 does.

    Examples
    --------
    >>> degrees("+513030-0000731")
    (51.5083, -0.1253)
    >>> degrees("-3436-05827")
    (-34.6, -58.45)
    """
    parts = re.findall(r"([+-])(\d+)", text)
    found = []
    for (sign, digits), whole in zip(parts, (2, 3), strict=True):
        pieces = [int(digits[:whole]), int(digits[whole : whole + 2]), int(digits[whole + 2 :] or 0)]
        value = pieces[0] + pieces[1] / 60 + pieces[2] / 3600
        found.append(round(-value if sign == "-" else value, 4))
    return found[0], found[1]


@lru_cache(maxsize=1)
def towns() -> tuple[Town, ...]:
    """Return the towns by the name of their country."""
    countries = dict(row[:2] for row in _table("iso3166.tab"))
    found = []
    for country, place, zone, *_ in _table("zone.tab"):
        name = zone.rpartition("/")[2].replace("_", " ")
        found.append(Town(zone, name, country, countries.get(country, country), *degrees(place)))
    return tuple(sorted(found, key=lambda town: (town.country_name, town.name)))


def town_of(zone: str) -> Town:
    """Return the town of a time zone.

    Raises
    ------
    OutpaceError
        If the table knows none.
    """
    for town in towns():
        if town.zone == zone:
            return town
    raise OutpaceError(
        say("no town called {zone!r}", zone=zone), allowed=say("one of the list"), code=ExitCode.USAGE
    )
