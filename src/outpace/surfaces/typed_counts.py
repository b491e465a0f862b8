"""Counts typed one after the other, plant by plant."""

from __future__ import annotations

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say


def counts_of(seen: str, *, code: ExitCode = ExitCode.FAILED) -> list[int]:
    """Return the counts of a list as it is typed.

    Examples
    --------
    >>> counts_of("0, 0,3 12")
    [0, 0, 3, 12]
    """
    told = seen.replace(",", " ").split()
    wrong = [part for part in told if not part.isascii() or not part.isdigit()]
    if wrong or not told:
        raise OutpaceError(
            say("{wrong!r} is no count", wrong=wrong[0]) if wrong else say("no counts"),
            where=say("what was seen"),
            allowed=say("whole numbers, 0 or more, with commas between"),
            hint=say("for example 0,0,3"),
            code=code,
        )
    return [int(part) for part in told]
