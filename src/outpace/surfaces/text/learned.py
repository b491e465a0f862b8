"""What a farm's counts have taught, as text."""

from __future__ import annotations

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

WORDS = {
    "growth": "growth",
    "attack": "attack of the wasps",
    "immigration": "flying in",
    "clumping": "clumping",
}


def render(answer: Answer) -> str:
    """Return the answer of ``outpace facts learned`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    shown = None
    table: list[tuple[str, ...]] = []
    for row in answer["rows"]:
        if shown != (row["pest"], row["crop"]):
            lines += page.columns(table) if table else []
            shown = (row["pest"], row["crop"])
            lines += page.heading(f"{page.name(row['pest'])} on {page.name(row['crop']) or 'any crop'}")
            table = [("", "times the books", "nine in ten", "learned?")]
        table.append(
            (
                WORDS[row["quantity"]],
                f"{row['times']:.2f}",
                f"{row['low']:.2f} to {row['high']:.2f}",
                "yes" if row["learned"] else "not yet, from the books",
            )
        )
    lines += page.columns(table) if table else []
    return "\n".join(lines)
