"""Which houses to walk in the minutes there are, as text."""

from __future__ import annotations

from outpace.language import say, to_say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

HEADINGS = (
    ("full", to_say("In full")),
    ("glance", to_say("By a glance")),
    ("no time", to_say("No time left for")),
    ("wait", to_say("May wait")),
)


def render(answer: Answer) -> str:
    """Return the answer of ``outpace walk plan`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    has = (
        say("as long as it takes")
        if answer["minutes"] is None
        else say("{minutes} minutes", minutes=page.figure(answer["minutes"]))
    )
    cutoff = (
        say("; next order closes {next_cutoff}", next_cutoff=page.moment(answer["next_cutoff"]))
        if answer["next_cutoff"]
        else ""
    )
    lines += page.heading(
        say(
            "{farm}, {as_of}: {has}, {minutes_planned} planned{cutoff}",
            farm=answer["farm"],
            as_of=page.day(answer["as_of"]),
            has=has,
            minutes_planned=answer["minutes_planned"],
            cutoff=cutoff,
        )
    )
    for look, title in HEADINGS:
        rows = [row for row in answer["houses"] if row["look"] == look]
        if not rows:
            continue
        lines += page.heading(say(title))
        for row in rows:
            lines += page.fold(_line(row), first="  ", rest="      ")
    lines += page.heading(say("Mind"))
    lines += page.bullets(answer["cautions"])
    lines += ["", say("`outpace walk plan HOUSE` shows which plants, and when to stop.")]
    lines += page.evidence_line(answer.get("evidence_weakest"))
    return "\n".join(lines)


def _line(row: Answer) -> str:
    if row["look"] == "full":
        what = say(
            "about {plants} plants ({most_plants} at most), {minutes} min",
            plants=row["plants"],
            most_plants=row["most_plants"],
            minutes=row["minutes"],
        )
    elif row["look"] == "glance":
        what = say("{plants} plants, {minutes} min", plants=row["plants"], minutes=row["minutes"])
    elif row["look"] == "no time":
        what = say("by {by} at the latest", by=page.day(row["by"]))
    else:
        what = say("until {by}", by=page.day(row["by"]))
    return f"{page.plain(row['house'])}: {what}; {page.plain(row['why'])}"
