"""This week for every house, as text."""

from __future__ import annotations

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def sentence(answer: Answer) -> str:
    """Return the one sentence: that of the house with the first deed of the week."""
    busy = [house for house in answer["houses"] if house["tasks"]]
    if not busy:
        return str(answer.get("sentence") or f"Do nothing on {page.day(answer['as_of'])}: 0 tasks are due.")
    first = min(busy, key=lambda house: min(str(task["day"]) for task in house["tasks"]))
    told = str(answer.get("sentence") or first["sentence"])
    here = next((house["house"] for house in answer["houses"] if house["sentence"] == told), first["house"])
    return told if here in told else f"{here} first. {told}"


def _standing(house: Answer) -> list[str]:
    lines: list[str] = []
    if house.get("pest") and house.get("mean_now") is not None:
        per = house.get("per") or "unit"
        level = house.get("action_level")
        own = f"; your level {page.figure(level)}" if level is not None else ""
        lines += page.fold(
            f"{page.name(house['pest'])}: {page.between(house['mean_now'], f'live aphids per {per}')}{own}",
            first="  ",
        )
    if house.get("stays_below") is not None:
        lines += page.fold(
            f"chance of staying at or under your level every day {page.chance(house['stays_below'])}, "
            f"of ending well {page.chance(house.get('ends_well'))} "
            f"({page.such_houses(house.get('ends_well') or 0.0)})",
            first="  ",
        )
    if house.get("last_walk"):
        age = house.get("data_age_d")
        ago = f", {page.days_ago(age)}" if age is not None else ""
        lines += page.fold(f"last walk {page.moment(house['last_walk'])}{ago}", first="  ")
    else:
        lines.append("  not walked yet")
    return lines


def house_lines(house: Answer) -> list[str]:
    """Return one house: verdict, sentence, numbers, tasks."""
    word = house.get("verdict_word") or house.get("verdict") or "No verdict"
    parts = [page.name(house.get("crop"))]
    if house.get("area_m2"):
        parts.append(f"{page.figure(house['area_m2'])} m²")
    lines = page.heading(f"{house['house']} ({', '.join(parts)}): {word}")
    lines += page.fold(house["sentence"], first="  ")
    lines += _standing(house)
    lines += page.task_lines(house["tasks"])
    return lines


def _due_lines(order: Answer) -> list[str]:
    """Return an order that is due: until when, from whom, what. The message itself is that of `outpace order`."""
    delivery = f", delivery {page.day(order['delivery_date'])}" if order.get("delivery_date") else ""
    lines = page.fold(
        f"by {page.moment(order['cutoff'])} from {order['supplier']}{delivery}", first="  ", rest="    "
    )
    wanted = [line for line in str(order["text"]).splitlines() if line.startswith("- ")]
    for line in wanted or [str(order["text"])]:
        lines += page.fold(line.removeprefix("- "), first="    ", rest="      ")
    return lines


def render(answer: Answer) -> str:
    """Return the answer of ``outpace week`` in lines of at most 80 columns."""
    lines = page.fold(sentence(answer))
    lines += ["", *page.fold(f"{page.week_of(answer['as_of'])}, farm {answer['farm']}.")]
    due = answer.get("orders_due", ())
    if due:
        lines += page.heading("To order")
        for order in due:
            lines += _due_lines(order)
    for house in answer["houses"]:
        lines += house_lines(house)
    if answer.get("cautions"):
        lines += [*page.heading("Mind"), *page.bullets(answer["cautions"])]
    lines += [""]
    lines += page.fold(f"From all that was recorded until {page.moment(answer['as_of'], year=True)}.")
    if answer.get("book_head"):
        lines += page.fold(f"Head of the book: {str(answer['book_head'])[:16]}")
    return "\n".join(lines)
