"""Words that are keys in data and are read by people too: told in their language where they are shown."""

from __future__ import annotations

from outpace.language import say, to_say

UNITS_OF_MANY = {
    "leaf": to_say("leaves"),
    "shoot": to_say("shoots"),
    "plant": to_say("plants"),
    "share_infested": to_say("plants"),
}


def said(word: object) -> str:
    """Return a word of the data as it is read; what is no such word stays as it is.

    Examples
    --------
    >>> said("share_infested"), said("leaf"), said(None)
    ('share_infested', 'leaf', '')
    """
    return "" if word is None else say(str(word))


def many_units(unit: str) -> str:
    """Return what many of a unit that is looked at are called.

    Examples
    --------
    >>> many_units("leaf")
    'leaves'
    """
    return say(UNITS_OF_MANY.get(unit, f"{unit}s"))
