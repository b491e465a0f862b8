"""What enemies cost, and when acting pays, as text."""

from __future__ import annotations

from outpace.currency import money_rate
from outpace.language import say
from outpace.measures import area_figure, area_sign, per_area
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render(answer: Answer, *, sources: bool = False) -> str:
    """Return the answer of ``outpace farm money`` in lines of at most 80 columns."""
    currency = answer["currency"]
    lines = page.fold(answer["sentence"])
    lines += page.columns(
        [
            (say("packs"), page.money(answer["packs"], currency)),
            (say("freight"), page.money(answer["freight"], currency)),
            (
                say("hours"),
                say("not in money") if answer["labour"] is None else page.money(answer["labour"], currency),
            ),
        ]
    )
    lines += page.heading(say("By house"))
    lines += page.columns(
        [(say("house"), area_sign(), say("goods"), per_area(), say("hours")), *_houses(answer)],
        right=(1, 2, 3),
    )
    if answer["no_house"]:
        lines += page.fold(
            say("for no house: {no_house}", no_house=page.money(answer["no_house"], currency)), first="  "
        )
    if answer["enemies"]:
        lines += page.heading(say("By enemy"))
        lines += page.columns(
            [
                (
                    page.name(row["enemy"]),
                    say("{packs} packs", packs=row["packs"]),
                    page.money(row["money"], currency),
                )
                for row in answer["enemies"]
            ],
            right=(1,),
        )
        lines += page.heading(say("By invoice"))
        lines += page.columns(
            [
                (
                    row["supplier"],
                    row["invoice"] or say("number not entered"),
                    say(
                        "packs {packs} + freight {freight} = {total}",
                        packs=page.money(row["packs"], currency),
                        freight=page.money(row["freight"], currency),
                        total=page.money(row["total"], currency),
                    ),
                )
                for row in answer["invoices"]
            ]
        )
    for row in answer["unpriced"]:
        told = say(
            "no price: order {order} line {line}, {packs} packs {enemy}",
            order=row["order"],
            line=row["line"],
            packs=row["packs"],
            enemy=page.name(row["enemy"]),
        )
        lines += page.fold(told, first="  ! ", rest="    ")
    lines += ["", *page.bullets(answer["cautions"])]
    lines += ["", *page.fact_lines(answer["facts"])] if sources else page.fact_count(answer["facts"])
    return "\n".join(lines)


def _houses(answer: Answer) -> list[tuple[str, ...]]:
    worked = {row["house"]: row for row in answer["hours"]}
    return [
        (
            row["house"],
            area_figure(row["area_m2"]),
            page.money(row["goods"], answer["currency"]),
            money_rate(row["per_m2"], answer["currency"]),
            say(
                "{hours:.1f} h, {told:.1f} written down",
                hours=row["hours"],
                told=worked[row["house"]]["told"],
            ),
        )
        for row in answer["houses"]
    ]


def render_level(answer: Answer) -> str:
    """Return the answer of ``outpace farm level`` in lines of at most 80 columns."""
    figures = answer["figures"]
    lines = page.fold(answer["sentence"])
    names = {
        "C": say("acting once, money"),
        "V": say("crop, money for the same area"),
        "I·D": say("share of the crop that one aphid costs"),
        "K": say("share of the loss that acting prevents"),
    }
    lines += page.heading(answer["formula"])
    lines += page.columns([(key, page.figure(figures[key]), names[key]) for key in names], right=(1,))
    lines += ["", *page.bullets(answer["cautions"])]
    return "\n".join(lines)
