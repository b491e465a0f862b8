"""Counts typed one after the other, plant by plant."""

from __future__ import annotations

from outpace.errors import ExitCode, OutpaceError


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
            f"{wrong[0]!r} is no count" if wrong else "no counts",
            where="what was seen",
            allowed="whole numbers, 0 or more, with commas between",
            hint="for example 0,0,3",
            code=code,
        )
    return [int(part) for part in told]
