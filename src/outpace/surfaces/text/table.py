"""What a person's own table seems to hold, as text."""

from __future__ import annotations

from outpace.language import say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render(answer: Answer) -> str:
    """Return the answer of ``outpace walk import --preview`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    known = (
        say("remembered from a table with the same headings")
        if answer["remembered"]
        else say("guessed from the headings")
    )
    lines += page.heading(say("Columns, {known}", known=known))
    lines += page.columns([(row["heading"], row["field"] or say("left out")) for row in answer["columns"]])
    lines += page.heading(say("First rows"))
    lines += [
        line for row in answer["first_rows"] for line in page.fold(" | ".join(row), first="  ", rest="    ")
    ]
    if answer["refused"]:
        lines += page.heading(say("What cannot be read"))
        lines += page.bullets(answer["refused"])
    for question in answer["questions"]:
        lines += page.heading(question["text"])
        lines += page.columns(
            [(f"{question['option']} {each['value']}", each["meaning"]) for each in question["choices"]]
        )
    return "\n".join(lines)
