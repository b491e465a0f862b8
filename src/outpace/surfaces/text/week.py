"""This week for every house, as text."""

from __future__ import annotations

from outpace.language import say
from outpace.measures import area
from outpace.surfaces import wording
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def sentence(answer: Answer) -> str:
    """Return the one sentence: that of the house with the first deed of the week."""
    busy = [house for house in answer["houses"] if house["tasks"]]
    if not busy:
        return str(
            answer.get("sentence")
            or say("Do nothing on {as_of}: 0 tasks are due.", as_of=page.day(answer["as_of"]))
        )
    first = min(busy, key=lambda house: min(str(task["day"]) for task in house["tasks"]))
    told = str(answer.get("sentence") or first["sentence"])
    here = next((house["house"] for house in answer["houses"] if house["sentence"] == told), first["house"])
    return told if here in told else say("{here} first. {told}", here=here, told=told)


def _standing(house: Answer) -> list[str]:
    lines: list[str] = []
    if house.get("pest") and house.get("mean_now") is not None:
        per = house.get("per") or "unit"
        level = house.get("action_level")
        own = say("; your level {level}", level=page.figure(level)) if level is not None else ""
        lines += page.fold(
            f"{page.name(house['pest'])}: "
            f"{page.between(house['mean_now'], say('live aphids per {unit}', unit=say(per)))}{own}",
            first="  ",
        )
    if house.get("stays_below") is not None:
        lines += page.fold(
            say(
                "chance of staying at or under your level every day {stays_below}, of ending well "
                "{ends_well} ({ends_well2})",
                stays_below=page.chance(house["stays_below"]),
                ends_well=page.chance(house.get("ends_well")),
                ends_well2=page.such_houses(house.get("ends_well") or 0.0),
            ),
            first="  ",
        )
    if house.get("last_walk"):
        age = house.get("data_age_d")
        ago = f", {page.days_ago(age)}" if age is not None else ""
        lines += page.fold(
            say("last walk {last_walk}{ago}", last_walk=page.moment(house["last_walk"]), ago=ago), first="  "
        )
    else:
        lines.append(say("  not walked yet"))
    return lines


def house_lines(house: Answer) -> list[str]:
    """Return one house: verdict, sentence, numbers, tasks."""
    word = house.get("verdict_word") or house.get("verdict") or say("No verdict")
    parts = [page.name(house.get("crop"))]
    if house.get("area_m2"):
        parts.append(area(house["area_m2"]))
    lines = page.heading(f"{house['house']} ({', '.join(parts)}): {word}")
    lines += page.fold(house["sentence"], first="  ")
    lines += _standing(house)
    lines += page.task_lines(house["tasks"])
    return lines


def _due_lines(order: Answer) -> list[str]:
    """Return an order that is due: until when, from whom, what. The message itself is that of `outpace order`."""
    delivery = (
        say(", delivery {delivery_date}", delivery_date=page.day(order["delivery_date"]))
        if order.get("delivery_date")
        else ""
    )
    lines = page.fold(
        say(
            "by {cutoff} from {supplier}{delivery}",
            cutoff=page.moment(order["cutoff"]),
            supplier=order["supplier"],
            delivery=delivery,
        ),
        first="  ",
        rest="    ",
    )
    wanted = [line for line in str(order["text"]).splitlines() if line.startswith("- ")]
    for line in wanted or [str(order["text"])]:
        lines += page.fold(line.removeprefix("- "), first="    ", rest="      ")
    return lines


def render(answer: Answer) -> str:
    """Return the answer of ``outpace week`` in lines of at most 80 columns."""
    lines = page.fold(sentence(answer))
    lines += [
        "",
        *page.fold(say("{as_of}, farm {farm}.", as_of=page.week_of(answer["as_of"]), farm=answer["farm"])),
    ]
    due = answer.get("orders_due", ())
    if due:
        lines += page.heading(say("To order"))
        for order in due:
            lines += _due_lines(order)
    for house in answer["houses"]:
        lines += house_lines(house)
    mind = wording.minded(answer)
    if mind:
        lines += [*page.heading(say("Mind")), *page.bullets(mind)]
    lines += [""]
    lines += page.fold(wording.plan_moment(answer)) if answer.get("plan_of") else []
    lines += page.fold(
        say("From all that was recorded until {as_of}.", as_of=page.moment(answer["as_of"], year=True))
    )
    if answer.get("book_head"):
        lines += page.fold(say("Head of the book: {book_head}", book_head=str(answer["book_head"])[:16]))
    return "\n".join(lines)
