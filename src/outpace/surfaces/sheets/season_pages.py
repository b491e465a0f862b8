"""A season on two pages: pictures of each house, what was planned and done, money, lots, and what to change."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from outpace.currency import amount, money_rate
from outpace.language import say
from outpace.measures import per_area, rate_value
from outpace.surfaces.sheets import paper
from outpace.surfaces.svg import Scale, tag
from outpace.surfaces.text import page

Answer = Mapping[str, Any]

WIDE, HIGH, LEFT, LOW = 300.0, 110.0, 34.0, 16.0
DRAWN = 8
"""So many houses have a picture; the others stand in the table. The worst against their level come first."""
MOST_LOTS, MOST_HOUSES = 14, 20


def render(answer: Answer) -> bytes:
    """Return the review of a season as a PDF of two pages."""
    span = say(
        "{from_} to {to}", from_=page.day(answer["from"], year=True), to=page.day(answer["to"], year=True)
    )
    drawn = sorted((house for house in answer["houses"] if house["means"]), key=_worst)[:DRAWN]
    blocks = [
        paper.title(say("{farm}: the season", farm=answer["farm"]), span),
        paper.heading(say("Change next year")),
        paper.points(
            [f"{change['what']}: {change['why']}." for change in answer["changes"]]
            or [say("Nothing stands out in what was written down.")]
        ),
        paper.heading(
            say("How the houses went: mean live aphids a walk, releases as ticks below, your level dashed")
        ),
    ]
    for at in range(0, len(drawn), 2):
        pair = drawn[at : at + 2]
        told = [(picture(house, answer), _alt(house), _caption(house)) for house in pair]
        blocks.append(
            paper.pictures(told if len(told) == 2 else [*told, (EMPTY, say("Nothing drawn here"), "")])
        )
    if not drawn:
        blocks.append(paper.line(say("No walk of plants taken as they come is written down in this span.")))
    blocks.append(paper.new_page())
    blocks += [*_done(answer), *_houses(answer), *_lots(answer)]
    blocks += [
        paper.heading(say("Forecasts against later walks")),
        paper.line(
            answer["forecasts"]["sentence"]
            if answer["forecasts"]["by_days_ahead"]
            else say("None was kept that a later walk could judge.")
        ),
        paper.heading(say("Not tested")),
        paper.points(answer["untested"]),
    ]
    footer = say(
        "As known {as_of} · book {head}",
        as_of=page.moment(answer["as_of"], year=True),
        head=answer["head"][:16],
    )
    return paper.document(say("The season of {farm}", farm=answer["farm"]), blocks, footer=footer, size=9)


EMPTY = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {HIGH:g}"></svg>'


def _worst(house: Answer) -> float:
    return -float(house["peak"]["mean"]) / max(float(house["level"]["value"]), 1e-9)


def picture(house: Answer, answer: Answer) -> str:
    """Return the drawing of one house: means with their range, releases, level; black on white."""
    first, last = page.as_date(answer["from"]), page.as_date(answer["to"])
    dates = [page.as_date(row["date"]) for row in house["means"]]
    start, end = max(first, min(dates)), min(last, max(dates))
    days = max((end - start).days, 1)
    level = float(house["level"]["value"])
    same_unit = house["level"]["unit"] == house["unit"]
    top = max([float(row["high"]) for row in house["means"]] + ([level] if same_unit else []))
    scale = Scale(top * 1.05 or 1.0, level)

    def across(when: date) -> float:
        return LEFT + (WIDE - LEFT - 8) * (when - start).days / days

    def up(value: float) -> float:
        return 6 + (HIGH - LOW - 12) * (1 - scale.share(value))

    parts = []
    for value in scale.marks(0.3):
        parts.append(
            tag("line", x1=LEFT, x2=WIDE - 8, y1=up(value), y2=up(value), stroke="#bbb", stroke_width=0.5)
        )
        parts.append(
            tag("text", text=page.figure(value), x=LEFT - 4, y=up(value) + 3, font_size=8, text_anchor="end")
        )
    if same_unit:
        parts.append(
            tag(
                "line",
                x1=LEFT,
                x2=WIDE - 8,
                y1=up(level),
                y2=up(level),
                stroke="#000",
                stroke_dasharray="5 3",
            )
        )
    points = " ".join(
        f"{across(page.as_date(row['date'])):.1f},{up(float(row['mean'])):.1f}" for row in house["means"]
    )
    parts.append(tag("polyline", points=points, fill="none", stroke="#000", stroke_width=1.2))
    for row in house["means"]:
        x = across(page.as_date(row["date"]))
        parts.append(
            tag("line", x1=x, x2=x, y1=up(float(row["low"])), y2=up(float(row["high"])), stroke="#555")
        )
        parts.append(tag("circle", cx=x, cy=up(float(row["mean"])), r=2, fill="#000"))
    for row in house["releases"]:
        when = page.as_date(row["date"])
        if start <= when <= end:
            x = across(when)
            parts.append(
                tag("line", x1=x, x2=x, y1=HIGH - LOW - 4, y2=HIGH - LOW + 3, stroke="#000", stroke_width=2)
            )
    for when, anchor in ((start, "start"), (end, "end")):
        parts.append(
            tag("text", text=page.day(when), x=across(when), y=HIGH - 2, font_size=8, text_anchor=anchor)
        )
    inner = "".join(parts)
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {HIGH:g}">{inner}</svg>'


def _alt(house: Answer) -> str:
    return say(
        "{house}: {means} walks; {house2}",
        house=page.plain(house["house"]),
        means=len(house["means"]),
        house2=_caption(house),
    )


def _caption(house: Answer) -> str:
    turned = (
        say("turned {turned}", turned=page.day(house["turned"]))
        if house["turned"]
        else say("had not turned by the last walk")
    )
    peak, level = house["peak"], house["level"]
    if not peak["mean"]:
        return say("{house}: nothing found on plants taken as they came", house=house["house"])
    highest = say(
        "{mean} per {unit} on {date}",
        mean=page.figure(float(peak["mean"])),
        unit=say(house["unit"]),
        date=page.day(peak["date"]),
    )
    shown = {"value": page.figure(level["value"]), "unit": say(level["unit"])}
    limit = (
        say("level {value} per {unit}", **shown)
        if level["told"]
        else say("provisional level {value} per {unit}", **shown)
    )
    return say(
        "{house}, {pest}: highest {highest} ({limit}), {turned}",
        house=house["house"],
        pest=page.name(house["pest"]),
        highest=highest,
        limit=limit,
        turned=turned,
    )


def _done(answer: Answer) -> list[paper.Block]:
    planned, parcels, money = answer["planned"], answer["parcels"], answer["money"]
    currency = answer["currency"]
    labour = say("hours not in money") if money["labour"] is None else page.money(money["labour"], currency)
    per = (
        ""
        if money["per_m2"] is None
        else say(", {goods} {per}", goods=money_rate(money["per_m2"], currency), per=per_area())
    )
    return [
        paper.heading(say("Planned, done, late; cost")),
        paper.points(
            [
                say(
                    "Releases meant: {meant}; in time {in_time}, late {late}, not written down {not_done}.",
                    meant=planned["meant"],
                    in_time=planned["in_time"],
                    late=planned["late"],
                    not_done=planned["not_done"],
                ),
                say(
                    "Parcels ordered: {ordered}; came {came}, late {late}, short {short}. Sprays: {sprays}.",
                    ordered=parcels["ordered"],
                    came=parcels["came"],
                    late=parcels["late"],
                    short=parcels["short"],
                    sprays=answer["sprays"],
                ),
                say(
                    "Enemies and freight {goods}{per}; work {labour}.",
                    goods=page.money(money["goods"], currency),
                    per=per,
                    labour=labour,
                )
                + (
                    say(" {unpriced} lines have no price.", unpriced=money["unpriced"])
                    if money["unpriced"]
                    else ""
                ),
            ]
        ),
    ]


def _houses(answer: Answer) -> list[paper.Block]:
    spent = {row["house"]: row for row in answer["money"]["houses"]}
    rows = []
    for house in answer["houses"][:MOST_HOUSES]:
        find, own = house["first_find"], spent[house["house"]]
        rows.append(
            (
                house["house"],
                house["walks"],
                "" if house["longest_gap_d"] is None else f"{house['longest_gap_d']} d",
                say("none") if find is None else f"{page.day(find['date'])}, {page.name(find['pest'])}",
                page.day(house["first_release"]) if house["first_release"] else say("none"),
                page.day(house["turned"]) if house["turned"] else "",
                amount(own["goods"], answer["currency"]),
                page.figure(rate_value(own["per_m2"])),
                f"{own['hours']:.1f}",
            )
        )
    header = (
        say("house"),
        say("walks"),
        say("longest gap"),
        say("first find"),
        say("first release"),
        say("turned"),
        answer["currency"],
        per_area(),
        "h",
    )
    more = len(answer["houses"]) - MOST_HOUSES
    blocks = [paper.table(header, rows, widths=(2, 0, 0, 2.4, 0, 0, 0, 0, 0), size=8)]
    return [*blocks, paper.line(say("and {more} more houses", more=more))] if more > 0 else blocks


def _lots(answer: Answer) -> list[paper.Block]:
    lots: Sequence[Answer] = answer["lots"]
    rows = [
        (
            lot["lot"],
            page.name(lot["enemy"]),
            page.day(lot["arrived"]) if lot["arrived"] else "",
            say("pot until {day}", day=page.day(lot["count_on"]))
            if lot["count_on"] is not None
            else say("not checked")
            if lot["looked_at"] is None
            else say("{positive} of {looked_at}", positive=lot["positive"], looked_at=lot["looked_at"]),
            ""
            if lot["low"] is None
            else say("{low} to {high}", low=page.share(lot["low"]), high=page.share(lot["high"])),
            "" if lot["guideline"] is None else page.share(lot["guideline"]),
        )
        for lot in lots[-MOST_LOTS:]
    ]
    if not rows:
        return [paper.heading(say("Lots")), paper.line(say("No lot was released in this span."))]
    header = (
        say("lot"),
        say("enemy"),
        say("arrived"),
        say("emerged or alive"),
        say("exact 95 % range"),
        say("guideline"),
    )
    more = len(lots) - MOST_LOTS
    told = [paper.heading(say("Lots")), paper.table(header, rows, widths=(2, 2, 0, 0, 0, 0), size=8)]
    return [*told, paper.line(say("and {more} earlier lots", more=more))] if more > 0 else told
