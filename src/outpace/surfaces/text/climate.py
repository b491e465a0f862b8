"""What a logger's file holds, as text."""

from __future__ import annotations

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

MARKS = {",": "comma", ".": "point", ";": "semicolon", "\t": "tab", "|": "bar"}


def render(answer: Answer) -> str:
    """Return the answer of ``outpace climate preview`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    dialect = answer["dialect"]
    rows = [
        ("file", answer["file"]),
        ("written in", dialect["encoding"]),
        ("columns parted by", MARKS.get(dialect["separator"], repr(dialect["separator"]))),
        ("decimal mark", MARKS.get(dialect["decimal"], dialect["decimal"])),
        ("logger", "seen before, its answers are kept" if answer["known_logger"] else "new"),
    ]
    if answer["from"]:
        span = f"{page.moment(answer['from'], year=True)} to {page.moment(answer['to'], year=True)}"
        rows.append(("readings", span))
    lines += ["", *page.columns(rows)]
    lines += page.heading("Columns")
    for column in answer["columns"]:
        told = ", ".join(str(column[key]) for key in ("role", "unit", "place") if column[key])
        lines += page.fold(f"{column['heading']}: {told or 'not read'}", first="  ", rest="    ")
    if answer["first_rows"]:
        lines += page.heading("First readings, as they would be recorded")
        lines += page.columns(
            [
                (
                    page.moment(row["time"]),
                    row["sensor"] or "",
                    f"{row['temperature_degc']:.1f} °C",
                    row["flag"] or "",
                )
                for row in answer["first_rows"]
            ]
        )
    if answer["warnings"]:
        lines += page.heading("Mind")
        lines += page.bullets(answer["warnings"])
    for question in answer["questions"]:
        lines += page.heading(f"{question['text']}")
        lines += page.columns(
            [(f"{question['option']} {each['value']}", each["meaning"]) for each in question["choices"]]
        )
    return "\n".join(lines)
