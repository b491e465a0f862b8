"""The audit pack in short, as text."""

from __future__ import annotations

from collections import Counter

from outpace.language import say, say_many
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer
from outpace.surfaces.text.trace import correction_lines


def render(answer: Answer) -> str:
    """Return the answer of ``outpace book audit`` in lines of at most 80 columns."""
    titles = {section["name"]: section["title"] for section in answer["sections"]}
    lines = page.fold(answer["sentence"])
    lines += page.heading(say("Records"))
    lines += page.columns(
        [(page.figure(len(section["rows"])), section["title"]) for section in answer["sections"]], right=(0,)
    )
    lines += page.heading(say("Missing"))
    counted = Counter(
        (not lack["law"], lack["section"], ", ".join(lack["fields"]), lack["rule"])
        for lack in answer["lacks"]
    )
    if not counted:
        lines += page.fold(say("Nothing that the rules below ask for is empty."), first="  ")
    for (by_scheme, section, fields, rule), times in sorted(counted.items()):
        asked = say("audit schemes") if by_scheme else say("by law")
        told = say_many(
            "{section}, {n} time: {fields} ({asked}: {rule})",
            "{section}, {n} times: {fields} ({asked}: {rule})",
            times,
            section=titles.get(section, section),
            fields=fields,
            asked=asked,
            rule=rule,
        )
        lines += page.fold(told, first="  - ", rest="    ")
    lines += page.heading(say("Corrections"))
    lines += correction_lines(answer["corrections"])
    lines += page.heading(say("Rules looked through"))
    for rule in answer["rules"]:
        keep = "" if rule["keep_y"] is None else say("; keep {keep_y:g} years", keep_y=rule["keep_y"])
        since = say("; since {since}", since=rule["since"]) if rule["since"] else ""
        records = titles.get(rule["record"], rule["record"])
        told = f"{rule['region']}, {records}: {rule['driver']}{since}{keep} ({rule['evidence']})"
        lines += page.fold(told, first="  - ", rest="    ")
    lines += page.bullets(answer["cautions"])
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
