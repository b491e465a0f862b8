"""Paper to be filled by pen or carried along: walk form, arrival card, release map, order sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from outpace.surfaces.sheets import paper
from outpace.surfaces.svg import tag
from outpace.surfaces.text import page

Answer = Mapping[str, Any]

UNITS_ON_FORM = 20
LABEL_FIRST = "Labels, local codes and licensed practice come first."

#: The same order as the screen for counting asks in.
WALK_COLUMNS = (
    ("no.", 0.5),
    ("zone, plant", 1.3),
    ("which aphid", 1.6),
    ("0", 0.5),
    ("1 to 3", 0.6),
    ("4 to 10", 0.6),
    ("11 to 30", 0.65),
    ("31 to 100", 0.7),
    ("over 100", 0.65),
    ("number", 0.8),
    ("tan mummies, closed", 0.9),
    ("tan, smooth hole", 0.8),
    ("tan, ragged hole", 0.8),
    ("black mummies", 0.9),
    ("winged", 0.8),
    ("worst place", 0.6),
    ("also here; note", 2.2),
)


def walk_form(house: Answer, farm: str, day: str) -> bytes:
    """Return an empty form for one walk of one house, as PDF of one page."""
    rows = [[number, *[""] * (len(WALK_COLUMNS) - 1)] for number in range(1, UNITS_ON_FORM + 1)]
    blocks = [
        paper.title(f"Walk of {house['house']}", f"{farm}, printed {page.day(day, year=True)}"),
        paper.line(
            f"{page.name(house['crop'])}, {page.figure(house['area_m2'])} m², {page.figure(house['plants'])} plants. "
            "Date and time: ______________   Scout: ______________   Minutes: ________   "
            "Looked at: leaf / shoot / plant"
        ),
        paper.line(
            "Taken: as they come / the same marked ones / worst places. One row is one leaf, shoot or plant. "
            "A tick under 0 is a find too: it says that you looked. An empty row was not looked at."
        ),
        paper.table(
            [name for name, _ in WALK_COLUMNS],
            rows,
            widths=[width for _, width in WALK_COLUMNS],
            height=6.2,
            size=8,
        ),
        paper.line(
            "Live aphids are all that are not mummies, stung ones too. Type it in by one line: outpace walk "
            f'"{page.plain(house["house"])}: {UNITS_ON_FORM} looked at, ..."'
        ),
    ]
    return paper.document(
        f"Walk of {page.plain(house['house'])}", blocks, footer=LABEL_FIRST, size=9, flipped=True
    )


def arrival_card(farm: str, day: str, lot: Answer | None = None) -> bytes:
    """Return the card that goes with a parcel from the door to the house, as PDF of one page."""
    told = lot or {}

    def known(name: str) -> str:
        value = told.get(name)
        return "" if value is None else page.plain(page.name(str(value)) if name == "enemy" else value)

    fields = (
        ("Lot", known("lot")),
        ("Enemy and form", " ".join(part for part in (known("enemy"), known("form")) if part)),
        ("Number on the label, and what it counts (in the pack / adults to come)", known("labelled_number")),
        ("Supplier, order, invoice", known("order")),
        ("Packed", known("packed")),
        ("Arrived, day and time", known("arrived")),
        ("Temperature in the parcel, °C", known("parcel_degc")),
        ("Condition", known("condition")),
        ("Taken in by", ""),
        ("Check pot: how many in it, where it stands", ""),
        ("Count the pot on", ""),
        ("Emerged or alive, of how many, after how many days", ""),
    )
    blocks = [
        paper.title("Arrival", f"{farm}, {page.day(day, year=True)}"),
        paper.ticks(
            [
                "Opened in moving air, with gloves; dust mask for loose carrier. Stopped at wheeze or rash.",
                "Cool and dry, nothing crushed, no smell.",
                "Enemy, form and number are those that were ordered.",
                "Photo of the label with lot and packing date.",
                "Temperature in the parcel read at once.",
                "Check pot set aside: plastic, dry, shaded, never in a food fridge, in the house that gets the rest.",
            ]
        ),
        paper.table(("Field", "Write here"), fields, widths=(2, 3), height=9.5),
        paper.heading("If something is wrong"),
        paper.line(
            "Tell the supplier at once: lot, packing day, arrival, parcel temperature, photo, under observation. The "
            "figures follow when the pot has ended. A pot that is counted early is neither pass nor reject."
        ),
        paper.pen("For your pen", 40),
    ]
    return paper.document("Arrival card", blocks, footer=LABEL_FIRST, size=11)


def release_sheet(answer: Answer) -> bytes:
    """Return the map of the points of a lot in a house with the way to walk, as PDF of one page."""
    few, many = answer["usual_points"]
    minds = [
        "Shade, dry, out of the reach of ants, no water from above. Sticky cards near the points come down.",
        "Adults at dusk or dawn, burners off and aired, not alone. Hot: early hours, water, a partner.",
        "Count labels and hooks out and in. Tick each point as you leave it.",
        f"Rules of the trade come to {few} to {many} points here; these stand about {answer['spacing_m']:g} m apart "
        f"({answer['evidence']}).",
    ]
    if not answer["sides_told"]:
        minds.append("Length and width of the house are not told: it is drawn as a square of its area.")
    if answer["too_few"]:
        minds.append("Fewer fall to a point than the trade holds for the least.")
    if any(point["mark"] for point in answer["points"]):
        minds.append(
            "Where in its zone a door, vent or hot spot lies is not written: go to the place itself."
        )
    if answer["left_out"]:
        minds.append(f"No point of its own: {'; '.join(answer['left_out'])}.")
    rows = [
        (
            point["no"],
            point["zone"],
            f"at the {point['mark']}"
            if point["mark"]
            else f"{point['along_m']:.0f} m along, {point['across_m']:.0f} m across",
            point["number"],
            f"{point['low']} to {point['high']}",
            "",
        )
        for point in answer["points"]
    ]
    blocks = [
        paper.title(
            f"Release in {answer['house']}", f"{answer['farm']}, {page.day(answer['date'], year=True)}"
        ),
        paper.line(
            f"{page.figure(answer['number'])} {page.name(answer['enemy'])} as {answer['form']}, lot {answer['lot']}.",
            bold=True,
        ),
        *(
            paper.image(
                _map(plot, answer["points"]),
                _map_told(plot, answer["points"]),
                width=70 if len(answer["plots"]) == 1 else 35,
            )
            for plot in answer["plots"]
        ),
        paper.table(
            ("point", "zone", "from the corner where you begin", "number", "by chance", "done"),
            rows,
            widths=(0, 0, 3, 0, 0, 0.6),
        ),
        paper.points(minds),
    ]
    footer = f"Lot {answer['lot']}. {LABEL_FIRST}"
    return paper.document(f"Release map of {page.plain(answer['house'])}", blocks, footer=footer, size=10)


def _map(plot: Answer, points: list[Answer]) -> str:
    length, width = float(plot["length_m"]), float(plot["width_m"])
    scale = min(560 / length, 260 / width)
    wide, high = length * scale + 20, width * scale + 20
    parts = [
        tag(
            "rect",
            x=10,
            y=10,
            width=length * scale,
            height=width * scale,
            fill="none",
            stroke="#000",
            stroke_width=2,
        )
    ]
    mine = [point for point in points if point["zone"] == plot["zone"]]
    way = " ".join(
        f"{10 + point['along_m'] * scale:.1f},{10 + point['across_m'] * scale:.1f}" for point in mine
    )
    parts.append(tag("polyline", points=way, fill="none", stroke="#777", stroke_dasharray="4 4"))
    for point in mine:
        x, y = 10 + point["along_m"] * scale, 10 + point["across_m"] * scale
        parts.append(tag("circle", cx=x, cy=y, r=11, fill="#fff", stroke="#000", stroke_width=1.5))
        parts.append(tag("text", text=str(point["no"]), x=x, y=y + 4, font_size=12, text_anchor="middle"))
        if point["mark"]:
            parts.append(tag("text", text=point["mark"], x=x, y=y + 24, font_size=12, text_anchor="middle"))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {high:.0f}">{"".join(parts)}</svg>'
    )


def _map_told(plot: Answer, points: list[Answer]) -> str:
    mine = sum(point["zone"] == plot["zone"] for point in points)
    sides = f"{plot['length_m']:.0f} by {plot['width_m']:.0f} m"
    marks = [
        f"{point['no']} at the {page.plain(point['mark'])}"
        for point in points
        if point["zone"] == plot["zone"] and point["mark"]
    ]
    told = f"{page.plain(plot['zone'])}, {sides}, {mine} numbered points in the order of walking"
    return f"{told}; {', '.join(marks)}" if marks else told


def order_sheet(answer: Answer) -> bytes:
    """Return the orders by supplier with cut-off, packs, houses and cost, as PDF."""
    blocks = [paper.title("Orders", f"{answer['farm']}, {page.day(answer['as_of'], year=True)}")]
    for order in answer["orders"]:
        currency = order["currency"]
        blocks += [
            paper.heading(f"{order['supplier']}: order by {page.moment(order['cutoff'])}"),
            paper.line(f"Delivery {page.day(order['delivery_date'], year=True)}."),
            paper.table(
                ("enemy", "form", "packs", "of", "price", "for"),
                [
                    (
                        page.name(row["enemy"]),
                        row["form"],
                        row["packs"],
                        page.figure(row["pack_size"]),
                        page.money(row["price"], currency),
                        "; ".join(
                            f"{share['house']} {page.figure(share['number'])} on {page.day(share['release_date'])}"
                            for share in row["houses"]
                        ),
                    )
                    for row in order["lines"]
                ],
                widths=(0, 0, 0, 0, 0, 1),
            ),
            paper.line(
                f"Freight {page.money(order['freight'], currency)}; in all {page.money(order['total'], currency)}."
            ),
            paper.ticks(
                [
                    "Sent, by whom and when: ",
                    "Confirmed: ",
                    "Substitute allowed: no, call first",
                    "Received by: ",
                ]
            ),
        ]
    if not answer["orders"]:
        blocks.append(paper.line("Nothing to order."))
    if answer["waiting"]:
        blocks += [
            paper.heading("Nothing yet for"),
            paper.points(f"{row['house']}: {row['why']}" for row in answer["waiting"]),
        ]
    if answer["cautions"]:
        blocks += [paper.heading("Mind"), paper.points(answer["cautions"])]
    return paper.document("Order sheet", blocks, footer=LABEL_FIRST, size=11)
