"""Which house gets a parcel now, as text."""

from __future__ import annotations

from outpace.language import say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render(answer: Answer) -> str:
    """Return the answer of ``outpace arrival share`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    lines += page.heading(
        say(
            "{left} {enemy} of lot {lot}, {form}",
            left=page.figure(answer["left"]),
            enemy=page.name(answer["enemy"]),
            lot=answer["lot"],
            form=answer["form"],
        )
    )
    for row in answer["houses"]:
        lines += page.fold(
            say(
                "{house}: {number} (the order meant {meant}); {why}",
                house=row["house"],
                number=page.figure(row["number"]),
                meant=page.figure(row["meant"]),
                why=row["why"],
            ),
            first="  ",
            rest="    ",
        )
    lines += [*page.heading(say("Mind")), *page.bullets(answer["cautions"])]
    lines += ["", *page.evidence_line(answer["evidence_weakest"])]
    return "\n".join(lines)
