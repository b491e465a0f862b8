"""Which houses to walk in the minutes there are, as text."""

from __future__ import annotations

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

HEADINGS = (
    ("full", "In full"),
    ("glance", "By a glance"),
    ("no time", "No time left for"),
    ("wait", "May wait"),
)


def render(answer: Answer) -> str:
    """Return the answer of ``outpace walk plan`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    has = "as long as it takes" if answer["minutes"] is None else f"{page.figure(answer['minutes'])} minutes"
    cutoff = f"; next order closes {page.moment(answer['next_cutoff'])}" if answer["next_cutoff"] else ""
    lines += page.heading(
        f"{answer['farm']}, {page.day(answer['as_of'])}: {has}, {answer['minutes_planned']} planned{cutoff}"
    )
    for look, title in HEADINGS:
        rows = [row for row in answer["houses"] if row["look"] == look]
        if not rows:
            continue
        lines += page.heading(title)
        for row in rows:
            lines += page.fold(_line(row), first="  ", rest="      ")
    lines += page.heading("Mind")
    lines += page.bullets(answer["cautions"])
    lines += ["", "`outpace walk plan HOUSE` shows which plants, and when to stop."]
    lines += page.evidence_line(answer.get("evidence_weakest"))
    return "\n".join(lines)


def _line(row: Answer) -> str:
    if row["look"] == "full":
        what = f"about {row['plants']} plants ({row['most_plants']} at most), {row['minutes']} min"
    elif row["look"] == "glance":
        what = f"{row['plants']} plants, {row['minutes']} min"
    elif row["look"] == "no time":
        what = f"by {page.day(row['by'])} at the latest"
    else:
        what = f"until {page.day(row['by'])}"
    return f"{page.plain(row['house'])}: {what}; {page.plain(row['why'])}"
