"""What enemies cost, and when acting pays, as text."""

from __future__ import annotations

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render(answer: Answer, *, sources: bool = False) -> str:
    """Return the answer of ``outpace farm money`` in lines of at most 80 columns."""
    currency = answer["currency"]
    lines = page.fold(answer["sentence"])
    lines += page.columns(
        [
            ("packs", page.money(answer["packs"], currency)),
            ("freight", page.money(answer["freight"], currency)),
            ("hours", "not in money" if answer["labour"] is None else page.money(answer["labour"], currency)),
        ]
    )
    lines += page.heading("By house")
    lines += page.columns([("house", "m²", "goods", "per m²", "hours"), *_houses(answer)], right=(1, 2, 3))
    if answer["no_house"]:
        lines += page.fold(f"for no house: {page.money(answer['no_house'], currency)}", first="  ")
    if answer["enemies"]:
        lines += page.heading("By enemy")
        lines += page.columns(
            [
                (page.name(row["enemy"]), f"{row['packs']} packs", page.money(row["money"], currency))
                for row in answer["enemies"]
            ],
            right=(1,),
        )
        lines += page.heading("By invoice")
        lines += page.columns(
            [
                (
                    row["supplier"],
                    row["invoice"] or "number not entered",
                    f"packs {row['packs']:,.2f} + freight {row['freight']:,.2f} = {row['total']:,.2f}",
                )
                for row in answer["invoices"]
            ]
        )
    for row in answer["unpriced"]:
        told = f"no price: order {row['order']} line {row['line']}, {row['packs']} packs {page.name(row['enemy'])}"
        lines += page.fold(told, first="  ! ", rest="    ")
    lines += ["", *page.bullets(answer["cautions"])]
    lines += ["", *page.fact_lines(answer["facts"])] if sources else page.fact_count(answer["facts"])
    return "\n".join(lines)


def _houses(answer: Answer) -> list[tuple[str, ...]]:
    worked = {row["house"]: row for row in answer["hours"]}
    return [
        (
            row["house"],
            page.figure(row["area_m2"]),
            f"{row['goods']:,.2f}",
            f"{row['per_m2']:.3f}",
            f"{row['hours']:.1f} h, {worked[row['house']]['told']:.1f} written down",
        )
        for row in answer["houses"]
    ]


def render_level(answer: Answer) -> str:
    """Return the answer of ``outpace farm level`` in lines of at most 80 columns."""
    figures = answer["figures"]
    lines = page.fold(answer["sentence"])
    names = {
        "C": "acting once, money",
        "V": "crop, money for the same area",
        "I·D": "share of the crop that one aphid costs",
        "K": "share of the loss that acting prevents",
    }
    lines += page.heading(answer["formula"])
    lines += page.columns([(key, page.figure(figures[key]), names[key]) for key in names], right=(1,))
    lines += ["", *page.bullets(answer["cautions"])]
    return "\n".join(lines)
