"""What a farm's counts have taught, as text."""

from __future__ import annotations

from outpace.language import say, to_say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

WORDS = {
    "growth": "growth",
    "attack": to_say("attack of the wasps"),
    "immigration": to_say("flying in"),
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
            lines += page.heading(
                say(
                    "{pest} on {crop}",
                    pest=page.name(row["pest"]),
                    crop=page.name(row["crop"]) or say("any crop"),
                )
            )
            table = [("", say("times the books"), say("nine in ten"), "learned?")]
        table.append(
            (
                say(WORDS[row["quantity"]]),
                f"{row['times']:.2f}",
                say("{low:.2f} to {high:.2f}", low=row["low"], high=row["high"]),
                say("yes") if row["learned"] else say("not yet, from the books"),
            )
        )
    lines += page.columns(table) if table else []
    return "\n".join(lines)
