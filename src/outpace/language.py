"""What people read, in their own language: one door to the catalogues of gettext.

English stands in the code and is the key of every catalogue; a sentence without translation is shown in English.
The language belongs to the task that speaks (a request, a command), never to a whole process.
"""

from __future__ import annotations

import gettext
import re
import string
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

CATALOGUES = Path(__file__).parent / "catalogues"
SOURCE_LANGUAGE = "en"
RIGHT_TO_LEFT = frozenset({"ar", "fa", "he", "ur"})
NAMES = {"en": "English", "es": "Español"}
"""A language in its own words, for those who look for it."""
REVIEWED = frozenset({SOURCE_LANGUAGE})
"""Languages whose catalogue a person who speaks them has read through; pages in any other say so."""
POINT_LANDS = frozenset({"MX", "US", "GT", "HN", "NI", "PA", "SV", "DO", "PR", "CU"})
"""Lands where Spanish is written with a decimal point; common practice, recalled."""
COMMA_LANGUAGES = frozenset({"es", "fr", "de", "it", "nl", "pt", "pl", "ru", "tr", "sv", "da", "nb", "fi"})
UNITS = {
    "decimal": (".", ","),
    "weeks": ("iso", "us"),
    "temperature": ("degc", "degf"),
    "area": ("m2", "ft2", "decare", "mu", "ha", "acre"),
}
"""What a reader may choose beside the language."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How a reader wants to be told things; what is stored is never changed by it.

    ``temperature`` and ``area`` are empty where nobody chose: then the farm's own units hold. ``si`` tells a program,
    which reads °C and m² whatever people chose.
    """

    language: str = SOURCE_LANGUAGE
    decimal: str = "."
    weeks: str = "iso"
    temperature: str = ""
    area: str = ""
    si: bool = False


PLAIN = Manner()

_manner: ContextVar[Manner] = ContextVar("manner of speaking", default=PLAIN)


def say(text: str, **values: object) -> str:
    """Return a text in the language spoken now, its braces filled.

    Parameters
    ----------
    text : str
        English, with named braces: ``"{n} plants looked at"``. A whole sentence wherever it can be, since word
        order differs between languages; never an f-string, which no catalogue could hold.
    **values : object
        What fills the braces, with the format written in the text: ``"{days:.0f} days"``.

    Examples
    --------
    >>> say("{house}: {n} plants looked at", house="north", n=20)
    'north: 20 plants looked at'
    """
    manner = _manner.get()
    told = _catalogue(manner.language).gettext(text) if text else ""
    return _filled(told, values, manner) if values else told


def to_say(text: str) -> str:
    """Return a text as it is, marked for the catalogues; ``say`` gives it its language where it is told.

    Examples
    --------
    >>> to_say("Holding")
    'Holding'
    """
    return text


def say_many(one: str, many: str, n: float, **values: object) -> str:
    """Return the text for one or for many, the number itself filling ``{n}``.

    Examples
    --------
    >>> say_many("{n} walk", "{n} walks", 1), say_many("{n} walk", "{n} walks", 3)
    ('1 walk', '3 walks')
    """
    whole = int(n) if float(n).is_integer() else 2
    manner = _manner.get()
    told = _catalogue(manner.language).ngettext(one, many, whole)
    return _filled(told, {"n": n, **values}, manner)


def listed(words: Iterable[str]) -> str:
    """Return some words as a sentence lists them.

    Examples
    --------
    >>> listed(["a"]), listed(["a", "b"]), listed(["a", "b", "c"])
    ('a', 'a and b', 'a, b and c')
    """
    *most, last = words
    return say("{most} and {last}", most=", ".join(most), last=last) if most else last


def _filled(told: str, values: Mapping[str, Any], manner: Manner) -> str:
    return told.format(**values) if manner.decimal == "." else _COMMA.vformat(told, (), values)


class _WithComma(string.Formatter):
    """Fills braces, the numbers among the values written with a decimal comma."""

    def format_field(self, value: Any, format_spec: str) -> str:
        """Return one value as it is written."""
        made = format(value, format_spec)
        number = isinstance(value, int | float) and not isinstance(value, bool)
        return with_comma(made) if number else made


_COMMA = _WithComma()


def with_comma(number: str) -> str:
    """Return a written number with a decimal comma, its thousands set apart by a space that does not break.

    Examples
    --------
    >>> with_comma("1,204.50"), with_comma("-0.5")
    ('1\\xa0204,50', '-0,5')
    """
    return number.translate(_COMMA_MARKS)


_COMMA_MARKS = str.maketrans({",": "\u00a0", ".": ","})


def written(number: str) -> str:
    """Return a number that was written with a decimal point in the reader's way.

    Examples
    --------
    >>> written("1,204.50")
    '1,204.50'
    """
    return number if _manner.get().decimal == "." else with_comma(number)


def day(when: date) -> str:
    """Return a day as people write it, with the day of the week.

    Examples
    --------
    >>> day(date(2026, 4, 21))
    'Tue 21 Apr'
    """
    weekdays = say("Mon Tue Wed Thu Fri Sat Sun").split()
    return say("{weekday} {date}", weekday=weekdays[when.weekday()], date=short_date(when))


def short_date(when: date) -> str:
    """Return day and month as briefly as they are written.

    Examples
    --------
    >>> short_date(date(2026, 4, 21))
    '21 Apr'
    """
    # All names are one text: "May" alone would be both a short and a long name.
    months = say("Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec").split()
    return say("{day} {short_month}", day=when.day, short_month=months[when.month - 1])


def long_date(when: date, *, year: bool = False) -> str:
    """Return day and month in full.

    Examples
    --------
    >>> long_date(date(2026, 4, 21)), long_date(date(2026, 4, 21), year=True)
    ('21 April', '21 April 2026')
    """
    months = say(
        "January February March April May June July August September October November December"
    ).split()
    told = say("{day} {month}", day=when.day, month=months[when.month - 1])
    return say("{date} {year}", date=told, year=str(when.year)) if year else told


def week_of(when: date) -> str:
    """Return the week of a day with its number, its first and its last day.

    Examples
    --------
    >>> week_of(date(2026, 4, 22))
    'ISO week 17, Mon 20 Apr to Sun 26 Apr 2026'
    """
    first = week_start(when)
    last = first + timedelta(days=6)
    said = (
        to_say("Week {n} (US), {first} to {last}")
        if _manner.get().weeks == "us"
        else to_say("ISO week {n}, {first} to {last}")
    )
    return say(said, n=week_number(when), first=day(first), last=f"{day(last)} {last.year}")


def week_start(when: date) -> date:
    """Return the first day of a week: its Monday, or its Sunday in US weeks."""
    return when - timedelta(days=when.isoweekday() % 7 if _manner.get().weeks == "us" else when.weekday())


def week_year(when: date) -> int:
    """Return the year that counts a day's week: the last days of December may lie in the first week of the next.

    Examples
    --------
    >>> week_year(date(2027, 1, 1)), week_year(date(2026, 4, 22))
    (2026, 2026)
    """
    if _manner.get().weeks != "us":
        return when.isocalendar().year
    return (week_start(when) + timedelta(days=6)).year


def week_number(when: date) -> int:
    """Return the number of a week: by ISO 8601, or from Sunday with the first holding 1 January.

    Examples
    --------
    >>> week_number(date(2026, 1, 4))
    1
    """
    if _manner.get().weeks != "us":
        return when.isocalendar().week
    last = week_start(when) + timedelta(days=6)
    if last.year > when.year:
        return 1
    first = date(when.year, 1, 1)
    return ((when - first).days + first.isoweekday() % 7) // 7 + 1


def spoken_language() -> str:
    """Return the code of the language spoken now."""
    return _manner.get().language


def manner() -> Manner:
    """Return how the reader of now wants to be told things."""
    return _manner.get()


def direction(language: str) -> str:
    """Return ``ltr`` or ``rtl``, as a page's root says it."""
    return "rtl" if language.split("-")[0] in RIGHT_TO_LEFT else "ltr"


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Speak a language until the block ends; an unknown one is English.

    Examples
    --------
    >>> with speaking("en"):
    ...     spoken_language()
    'en'
    """
    with mannered(manner_of(language)):
        yield


@contextmanager
def mannered(told: Manner) -> Iterator[None]:
    """Tell things in a manner until the block ends."""
    token = _manner.set(told)
    try:
        yield
    finally:
        _manner.reset(token)


def adopt(told: Manner) -> None:
    """Tell things in a manner from now on, in this request or this command alone."""
    _manner.set(told)


def manner_of(language: str, **chosen: str | None) -> Manner:
    """Return the manner of a language's readers, with what one of them chose otherwise.

    Parameters
    ----------
    language : str
        ``es``, ``es-MX``, ``es_ES.UTF-8``; one without catalogue is English.
    **chosen : str, optional
        ``decimal``, ``weeks``, ``temperature`` and ``area``; what is not among ``UNITS`` counts as not chosen.

    Examples
    --------
    >>> manner_of("en-US", weeks="us", decimal="none").weeks
    'us'
    """
    base, _, rest = language.replace("_", "-").partition(".")[0].partition("-")
    base = base.lower()
    if base not in languages():
        told = PLAIN
    else:
        comma = base in COMMA_LANGUAGES and rest.upper() not in POINT_LANDS
        told = Manner(language=base, decimal="," if comma else ".")
    good: dict[str, Any] = {
        key: value for key, value in chosen.items() if value and value in UNITS.get(key, ())
    }
    return replace(told, **good)


def preferred(accepted: str) -> str:
    """Return the first language of an ``Accept-Language`` header that there is a catalogue for.

    Examples
    --------
    >>> preferred("xx, en-GB;q=0.5"), preferred("")
    ('en-GB', 'en')
    """
    told = []
    for number, part in enumerate(accepted.split(",")):
        found = re.fullmatch(r"\s*([A-Za-z-]{1,20})\s*(?:;\s*q\s*=\s*([01](?:\.\d{0,3})?))?\s*", part)
        if found and float(found.group(2) or 1):
            told.append((-float(found.group(2) or 1), number, found.group(1)))
    known = (name for _, _, name in sorted(told) if name.split("-")[0].lower() in languages())
    return next(known, SOURCE_LANGUAGE)


@lru_cache(maxsize=1)
def languages() -> tuple[str, ...]:
    """Return the languages there is a catalogue for, English first."""
    found = (path.parent.parent.name for path in CATALOGUES.glob("*/LC_MESSAGES/outpace.mo"))
    return (SOURCE_LANGUAGE, *sorted(found))


def is_reviewed(language: str) -> bool:
    """Return whether a person who speaks a language has read its catalogue through."""
    return language in REVIEWED


@lru_cache(maxsize=16)
def _catalogue(language: str) -> gettext.NullTranslations:
    return gettext.translation("outpace", CATALOGUES, [language], fallback=True)
