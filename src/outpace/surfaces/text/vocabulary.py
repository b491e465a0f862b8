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


def manner_names() -> dict[str, str]:
    """Return what a reader may choose of how things are told, each by its name."""
    return {
        "language": say("Language"),
        "decimal": say("Decimal mark"),
        "weeks": say("Weeks"),
        "temperature": say("Temperatures"),
        "area": say("Areas and rates"),
    }


def manner_words() -> dict[str, str]:
    """Return the choices of ``outpace.language.UNITS`` in words."""
    return {
        "iso": say("ISO: from Monday, the first holds the first Thursday"),
        "us": say("US: from Sunday, the first holds 1 January"),
        ".": say("a point: 1.5"),
        ",": say("a comma: 1,5"),
        "degc": say("°C"),
        "degf": say("°F"),
        "m2": say("m²"),
        "ft2": say("ft²"),
        "decare": say("decare (1,000 m²)"),
        "mu": say("mu (15 are a hectare)"),
        "ha": say("hectare"),
        "acre": say("acre"),
    }
