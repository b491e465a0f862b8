"""How a chance and a day are written in the sentences of an answer."""

from __future__ import annotations

from datetime import date

from outpace.language import day as written_day
from outpace.language import say


def percent(probability: float) -> str:
    """Return a probability as a percentage; the ends are never called certain.

    Examples
    --------
    >>> [percent(p) for p in (0.0, 0.034, 0.5, 0.999)]
    ['under 1 %', '3 %', '50 %', 'over 99 %']
    """
    if probability < 0.005:
        return say("under 1 %")
    if probability > 0.995:
        return say("over 99 %")
    return f"{100 * probability:.0f} %"


def weekday(day: date | str) -> str:
    """Return a day as people say it.

    Examples
    --------
    >>> weekday("2026-11-25")
    'Wed 25 Nov'
    """
    when = date.fromisoformat(day[:10]) if isinstance(day, str) else day
    return written_day(when)
