"""What a logger's file holds, as text."""

from __future__ import annotations

from outpace.language import say
from outpace.measures import temperature
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

MARKS = {",": "comma", ".": "point", ";": "semicolon", "\t": "tab", "|": "bar"}


def _written(dialect: Answer) -> list[tuple[str, str]]:
    """Return how the file was written: a workbook has cells, a text file an encoding and marks between columns."""
    rows: list[tuple[str, str]] = [
        (say("kind"), say("workbook, read from its first sheet that holds a table"))
    ]
    if dialect["kind"] == "text":
        parted = MARKS.get(dialect["separator"], repr(dialect["separator"]))
        rows = [(say("written in"), str(dialect["encoding"])), (say("columns parted by"), parted)]
    if dialect["decimal"] is not None:
        rows.append((say("decimal mark"), MARKS.get(dialect["decimal"], str(dialect["decimal"]))))
    return rows


def render(answer: Answer) -> str:
    """Return the answer of ``outpace climate preview`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    dialect = answer["dialect"]
    rows = [
        (say("file"), answer["file"]),
        *_written(dialect),
        (say("logger"), say("seen before, its answers are kept") if answer["known_logger"] else say("new")),
    ]
    if answer["from"]:
        span = say(
            "{from_} to {to}",
            from_=page.moment(answer["from"], year=True),
            to=page.moment(answer["to"], year=True),
        )
        rows.append((say("readings"), span))
    lines += ["", *page.columns(rows)]
    lines += page.heading(say("Columns"))
    for column in answer["columns"]:
        told = ", ".join(str(column[key]) for key in ("role", "unit", "place") if column[key])
        lines += page.fold(f"{column['heading']}: {told or say('not read')}", first="  ", rest="    ")
    if answer["first_rows"]:
        lines += page.heading(say("First readings, as they would be recorded"))
        lines += page.columns(
            [
                (
                    page.moment(row["time"]),
                    row["sensor"] or "",
                    temperature(row["temperature_degc"]),
                    row["flag"] or "",
                )
                for row in answer["first_rows"]
            ]
        )
    if answer["warnings"]:
        lines += page.heading(say("Mind"))
        lines += page.bullets(answer["warnings"])
    for question in answer["questions"]:
        lines += page.heading(f"{question['text']}")
        lines += page.columns(
            [(f"{question['option']} {each['value']}", each["meaning"]) for each in question["choices"]]
        )
    return "\n".join(lines)
