"""What stands behind a code, as text."""

from __future__ import annotations

from collections.abc import Sequence

from outpace.language import say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

MOST_WALKS = 12
"""A crop of many months has many walks; the first ones are counted, the last ones shown."""


def render(answer: Answer, *, whole: bool = False) -> str:
    """Return the answer of ``outpace trace`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    lines += page.bullets(answer["cautions"])
    if answer["harvests"]:
        lines += page.heading(say("Harvests"))
        lines += page.columns(
            [
                (page.day(row["time"], year=True), row["code"], f"{_place(row)}{_amount(row)}")
                for row in answer["harvests"]
            ]
        )
    if answer["lots"]:
        lines += page.heading(say("Lots of enemies"))
        for lot in answer["lots"]:
            lines += page.fold(f"{lot['lot']}: {lot['what']}", first="  ", rest="    ")
    if answer["entries"]:
        lines += page.heading(say("In their order"))
        lines += _entries(answer["entries"], whole, several=len(answer["houses"]) > 1)
    lines += page.heading(say("Corrections"))
    lines += correction_lines(answer["corrections"])
    lines += [
        "",
        *page.fold(
            say(
                "Book {head}, as known {as_of}.",
                head=answer["head"][:16],
                as_of=page.moment(answer["as_of"], year=True),
            )
        ),
    ]
    return "\n".join(lines)


def correction_lines(corrections: Sequence[Answer]) -> list[str]:
    """Return what was changed later, by whom, when and why."""
    if not corrections:
        return page.fold(say("None: everything above stands as it was first written."), first="  ")
    lines: list[str] = []
    for change in corrections:
        why = say(", because {why}", why=change["why"]) if change["why"] else say(", no reason told")
        told = (
            f"{page.moment(change['at'], year=True)}, {change['by']}{why}: {change['key']}: {change['text']}"
        )
        lines += page.fold(told, first="  ", rest="    ")
    return lines


def _entries(entries: Sequence[Answer], whole: bool, *, several: bool) -> list[str]:
    walks = [entry for entry in entries if entry["kind"] == "walk"]
    hidden = [] if whole else [id(entry) for entry in walks[:-MOST_WALKS]]
    lines: list[str] = []
    for entry in entries:
        if id(entry) in hidden:
            continue
        where = f"{_place(entry)}: " if several or entry["zone"] else ""
        changed = "" if not entry["corrections"] else say(" (corrected later, see below)")
        start = f"  {page.day(entry['time']):<11} {entry['kind']:<10} "
        lines += page.fold(f"{where}{entry['what']}{changed}", first=start, rest=" " * 16)
        for mind in entry["minds"]:
            lines += page.fold(f"! {mind}", first=" " * 16, rest=" " * 18)
    if hidden:
        lines += page.fold(
            say("and {hidden} earlier walks: `--whole` shows them", hidden=len(hidden)), first="  "
        )
    return lines


def _place(row: Answer) -> str:
    house = row["house"] or say("no house told")
    return f"{house}, {page.zone(row['zone'])}" if row["zone"] else house


def _amount(row: Answer) -> str:
    return "" if row["amount"] is None else f", {page.figure(row['amount'])} {row['unit'] or ''}".rstrip()
