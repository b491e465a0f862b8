"""How commands speak on this computer, as text."""

from __future__ import annotations

from outpace.language import NAMES, say
from outpace.surfaces.text import page, vocabulary
from outpace.surfaces.text.page import Answer


def render(answer: Answer) -> str:
    """Return the answer of ``outpace settings`` in lines of at most 80 columns."""
    words = vocabulary.manner_words()
    farms = say("as the farm measures")
    untold = {
        "language": say("as the terminal says"),
        "decimal": say("as the language has it"),
        "weeks": words["iso"],
        "temperature": farms,
        "area": farms,
    }
    names = vocabulary.manner_names()
    rows = [
        (
            names[name],
            NAMES.get(answer[name]) or words.get(answer[name], answer[name]) if answer[name] else said,
        )
        for name, said in untold.items()
    ]
    lines = page.fold(say("Commands on this computer speak so; what is recorded stays in °C and m²."))
    lines += page.columns(rows)
    lines += page.fold(say("Kept in {file}.", file=answer["file"]))
    return "\n".join(lines)
