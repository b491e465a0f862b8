"""What was written into the book, as text."""

from __future__ import annotations

from outpace.language import say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def rows(number: int) -> str:
    """Return a number of rows in words."""
    return f"{page.figure(number)} {'row' if number == 1 else 'rows'}"


def counts(answer: Answer) -> str:
    """Return the counts in words.

    Examples
    --------
    >>> counts({"new": 2, "same": 1, "corrected": 0, "conflicts": []})
    '2 rows new, 1 known already'
    """
    new = answer["new"]
    parts = [say("{new} new", new=rows(new))]
    if answer["same"]:
        parts.append(say("{same} known already", same=page.figure(answer["same"])))
    if answer["corrected"]:
        parts.append(say("{corrected} corrected", corrected=page.figure(answer["corrected"])))
    if answer["conflicts"]:
        parts.append(say("{conflicts} in conflict", conflicts=page.figure(len(answer["conflicts"]))))
    return ", ".join(parts)


def render(answer: Answer) -> str:
    """Return the answer of a recording command in lines of at most 80 columns."""
    lines = page.fold(answer.get("sentence") or say("Recorded."))
    lines += page.fold(f"{counts(answer)}.")
    if answer.get("tables"):
        lines += page.columns([(name, rows(number)) for name, number in answer["tables"].items()])
    if answer["conflicts"]:
        lines += page.heading(say("The book holds something else"))
        for conflict in answer["conflicts"][:20]:
            lines += page.fold(conflict["text"], first="  ", rest="    ")
        if len(answer["conflicts"]) > 20:
            lines.append(say("  and {conflicts} more", conflicts=len(answer["conflicts"]) - 20))
        lines += ["", *page.fold(say("To replace what is there, run it again with `--correct`."))]
    lines += page.bullets(answer.get("cautions", ()))
    return "\n".join(lines)
