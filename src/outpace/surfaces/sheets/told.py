"""What every printed sheet is told beside its data: its language, the words of its template, who translated."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from outpace.language import direction, is_reviewed, say, spoken_language

WORDS = re.compile(r'\bsay\("((?:[^"\\]|\\.)*)"\)')
"""How a template names a text: ``#say("Day")``."""


def told(data: Mapping[str, Any], template: str) -> dict[str, Any]:
    """Return the data of a sheet with all that its template says by itself, in the language spoken now.

    Examples
    --------
    >>> told({"house": "south"}, '#say("Day")')["words"]
    {'Day': 'Day'}
    """
    language = spoken_language()
    found = {
        **data,
        "language": language.split("-")[0],
        "rtl": direction(language) == "rtl",
        "words": {text: say(text) for text in WORDS.findall(template)},
    }
    if not is_reviewed(language) and "footer" in found:
        note = say("Machine-made translation, not yet reviewed.")
        found["footer"] = f"{found['footer']} · {note}" if found["footer"] else note
    return found
