"""When to stop releasing, and the checklists of a season's edges, as text."""

from __future__ import annotations

from outpace.language import say, say_many, to_say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

MET = {True: to_say("yes"), False: to_say("no"), None: to_say("not known")}
TITLES = {
    "beginning": to_say("Before and at planting"),
    "end": to_say("When the crop goes out"),
    "empty": to_say("The empty house"),
}


def render(answer: Answer) -> str:
    """Return the answer of ``outpace edges`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    for row in answer["houses"]:
        lines += _house_lines(row)
    lines += [*page.heading(say("Mind")), *page.bullets(answer["cautions"])]
    lines += ["", *page.evidence_line(answer["evidence_weakest"])]
    return "\n".join(lines)


def _house_lines(row: Answer) -> list[str]:
    told = row["releases"]
    lines = page.heading(f"{row['house']}: {told['text']}")
    for sign in told["signs"]:
        lines += page.fold(f"{say(MET[sign['met']])}: {sign['text']}", first="  ", rest="    ")
    if told["last_useful_release"] is not None:
        lines += page.fold(last_line(told), first="  ", rest="    ")
    for edge, title in TITLES.items():
        mine = [task for task in row["tasks"] if task["edge"] == edge]
        tasks = [task for task in mine if not task["past"]]
        if mine:
            lines += page.fold(say(title), first="  ")
        for task in tasks:
            lines += page.fold(task_line(task), first="    ", rest="      ")
        if len(mine) > len(tasks):
            over = len(mine) - len(tasks)
            lines += page.fold(
                say_many("{n} task whose days are over", "{n} tasks whose days are over", over), first="    "
            )
    for text in row["asks"]:
        lines += page.fold(text, first="  ", rest="    ")
    return lines


def last_line(told: Answer) -> str:
    """Return the last day on which a release still makes mummies."""
    return say(
        "Last release of wasps that still makes mummies before the crop is out: {day} ({n} days before).",
        day=page.day(told["last_useful_release"], year=True),
        n=told["lag_d"],
    )


def task_line(task: Answer) -> str:
    """Return one task with its day, whether it is on record, and how well it is known."""
    done = ""
    if task["on_record"]:
        done = say(" (on record)")
    return f"{page.day(task['day'], year=True)}: {task['what']}; {task['why']}{done} ({task['evidence']})"
