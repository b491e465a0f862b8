"""What was done with the book as a whole, as text."""

from __future__ import annotations

from outpace.language import say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render(answer: Answer) -> str:
    """Return the answer of a ``book`` command in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    lines += page.bullets(answer.get("problems", ()))
    lines += page.bullets(answer.get("conflicts", ()))
    if answer.get("head"):
        lines += page.fold(say("head {head}", head=answer["head"]))
    for head in answer.get("devices", ()):
        lines += page.fold(
            say(
                "device {device}, event {seq}, {hash}",
                device=head["device"],
                seq=head["seq"],
                hash=head["hash"],
            ),
            first="  ",
            rest="    ",
        )
    return "\n".join(lines)
