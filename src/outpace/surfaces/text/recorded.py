"""What was written into the book, as text."""

from __future__ import annotations

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
    parts = [f"{rows(new)} new"]
    if answer["same"]:
        parts.append(f"{page.figure(answer['same'])} known already")
    if answer["corrected"]:
        parts.append(f"{page.figure(answer['corrected'])} corrected")
    if answer["conflicts"]:
        parts.append(f"{page.figure(len(answer['conflicts']))} in conflict")
    return ", ".join(parts)


def render(answer: Answer) -> str:
    """Return the answer of a recording command in lines of at most 80 columns."""
    lines = page.fold(answer.get("sentence") or "Recorded.")
    lines += page.fold(f"{counts(answer)}.")
    if answer.get("tables"):
        lines += page.columns([(name, rows(number)) for name, number in answer["tables"].items()])
    if answer["conflicts"]:
        lines += page.heading("The book holds something else")
        for conflict in answer["conflicts"][:20]:
            lines += page.fold(conflict["text"], first="  ", rest="    ")
        if len(answer["conflicts"]) > 20:
            lines.append(f"  and {len(answer['conflicts']) - 20} more")
        lines += ["", *page.fold("To replace what is there, run it again with `--correct`.")]
    lines += page.bullets(answer.get("cautions", ()))
    return "\n".join(lines)
