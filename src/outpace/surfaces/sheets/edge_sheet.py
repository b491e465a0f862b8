"""The checklists of a season's edges on paper: a box to tick, the day, the deed, a line for who did it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from outpace.language import say
from outpace.surfaces.sheets import paper
from outpace.surfaces.sheets.forms import LABEL_FIRST
from outpace.surfaces.text import page
from outpace.surfaces.text.edges import MET, TITLES, last_line

Answer = Mapping[str, Any]


def render(answer: Answer, *, head: str = "") -> bytes:
    """Return the checklists, a page a house, as PDF."""
    blocks: list[paper.Block] = []
    for number, row in enumerate(answer["houses"]):
        if number:
            blocks.append({"kind": "break"})
        blocks += _house(answer, row)
    if not answer["houses"]:
        blocks.append(paper.line(answer["sentence"]))
    return paper.document(say("Edges of the season"), blocks, footer=say(LABEL_FIRST), head=head, size=10)


def _house(answer: Answer, row: Answer) -> list[paper.Block]:
    told = row["releases"]
    head = f"{answer['farm']}, {page.day(answer['as_of'], year=True)}"
    blocks = [
        paper.title(say("Edges of the season: {house}", house=row["house"]), head),
        paper.line(f"{told['text'][:1].upper()}{told['text'][1:]}.", bold=True),
        paper.points(f"{say(MET[sign['met']])}: {sign['text']}" for sign in told["signs"]),
    ]
    if told["last_useful_release"] is not None:
        blocks.append(paper.line(last_line(told)))
    for edge, title in TITLES.items():
        tasks = [task for task in row["tasks"] if task["edge"] == edge]
        if not tasks:
            continue
        blocks.append(paper.heading(say(title)))
        blocks.append(
            paper.table(
                ("", say("day"), say("what"), say("why"), say("done by, when")),
                [
                    (
                        "x" if task["on_record"] else "",
                        page.day(task["day"], year=True),
                        task["what"],
                        task["why"],
                        "",
                    )
                    for task in tasks
                ],
                widths=(0.3, 1.2, 3.2, 2.4, 1.4),
            )
        )
    blocks += [paper.line(text) for text in row["asks"]]
    blocks.append(paper.points(answer["cautions"]))
    return blocks
