"""What people read, in their own language: one door to the catalogues of gettext.

English stands in the code and is the key of every catalogue; a sentence without translation is shown in English.
The language belongs to the task that speaks (a request, a command), never to a whole process.
"""

from __future__ import annotations

import gettext
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache
from pathlib import Path

CATALOGUES = Path(__file__).parent / "catalogues"
SOURCE_LANGUAGE = "en"
RIGHT_TO_LEFT = frozenset({"ar", "fa", "he", "ur"})

_spoken: ContextVar[str] = ContextVar("spoken language", default=SOURCE_LANGUAGE)


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
    told = _catalogue(_spoken.get()).gettext(text) if text else ""
    return told.format(**values) if values else told


def say_many(one: str, many: str, n: float, **values: object) -> str:
    """Return the text for one or for many, the number itself filling ``{n}``.

    Examples
    --------
    >>> say_many("{n} walk", "{n} walks", 1), say_many("{n} walk", "{n} walks", 3)
    ('1 walk', '3 walks')
    """
    whole = int(n) if float(n).is_integer() else 2
    told = _catalogue(_spoken.get()).ngettext(one, many, whole)
    return told.format(**{"n": n, **values})


def spoken_language() -> str:
    """Return the code of the language spoken now."""
    return _spoken.get()


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
    token = _spoken.set(language if language in languages() else SOURCE_LANGUAGE)
    try:
        yield
    finally:
        _spoken.reset(token)


@lru_cache(maxsize=1)
def languages() -> tuple[str, ...]:
    """Return the languages there is a catalogue for, English first."""
    found = (path.parent.parent.name for path in CATALOGUES.glob("*/LC_MESSAGES/outpace.mo"))
    return (SOURCE_LANGUAGE, *sorted(found))


@lru_cache(maxsize=16)
def _catalogue(language: str) -> gettext.NullTranslations:
    return gettext.translation("outpace", CATALOGUES, [language], fallback=True)
