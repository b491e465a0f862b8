"""What is on order and not here yet, as text."""

from __future__ import annotations

from outpace.language import say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render(answer: Answer) -> str:
    """Return the answer of ``outpace order open`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    for title, changeable in ((say("Can still be changed"), True), (say("Fixed"), False)):
        found = [row for row in answer["orders"] if row["changeable"] is changeable]
        if found:
            lines += page.heading(title)
        for row in found:
            lines += _row_lines(row, answer["currency"])
    lines += [*page.heading(say("Mind")), *page.bullets(answer["cautions"])]
    return "\n".join(lines)


def _row_lines(row: Answer, currency: str) -> list[str]:
    money = "" if row["money"] is None else f", {page.money(row['money'], currency)}"
    until = say(", until {cutoff}", cutoff=page.moment(row["cutoff"])) if row["changeable"] else ""
    lines = page.fold(
        say(
            "{day}: {packs} × {size} {enemy}, {supplier}{money}{until}: {order}",
            day=page.day(row["delivery_date"]),
            packs=row["packs"],
            size=page.figure(row["pack_size"]),
            enemy=page.name(row["enemy"]),
            supplier=row["supplier"],
            money=money,
            until=until,
            order=row["order"] if row["line"] == 1 else f"{row['order']} --line {row['line']}",
        ),
        first="  ",
        rest="    ",
    )
    for item in row["houses"]:
        lines += page.fold(effect_line(item), first="      ", rest="        ")
    return lines


def effect_line(item: Answer) -> str:
    """Return what a house gets of an order, and what leaving it out would do where that was tried."""
    told = item["without"]
    effect = (
        ""
        if told is None
        else say(
            "; chance above your level {kept} with it, {without} without",
            kept=page.chance(told["chance_with"]),
            without=page.chance(told["chance_without"]),
        )
    )
    return f"{item['house']}: {page.figure(item['number'])}{effect}"
