"""Paper to be filled by pen or carried along: walk form, arrival card, release map, order sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from outpace.language import say, to_say
from outpace.measures import area, degree_sign, degrees
from outpace.surfaces.sheets import paper
from outpace.surfaces.svg import tag
from outpace.surfaces.text import page

Answer = Mapping[str, Any]

UNITS_ON_FORM = 20
LABEL_FIRST = to_say("Labels, local codes and licensed practice come first.")

#: The same order as the screen for counting asks in.
WALK_COLUMNS = (
    (to_say("no."), 0.5),
    (to_say("zone, plant"), 1.3),
    (to_say("which aphid"), 1.6),
    ("0", 0.5),
    (to_say("1 to 3"), 0.6),
    (to_say("4 to 10"), 0.6),
    (to_say("11 to 30"), 0.65),
    (to_say("31 to 100"), 0.7),
    (to_say("over 100"), 0.65),
    (to_say("number"), 0.8),
    (to_say("tan mummies, closed"), 0.9),
    (to_say("tan, smooth hole"), 0.8),
    (to_say("tan, ragged hole"), 0.8),
    (to_say("black mummies"), 0.9),
    (to_say("winged"), 0.8),
    (to_say("worst place"), 0.6),
    (to_say("also here; note"), 2.2),
)


def walk_form(house: Answer, farm: str, day: str, *, head: str = "") -> bytes:
    """Return an empty form for one walk of one house, as PDF of one page."""
    rows = [[number, *[""] * (len(WALK_COLUMNS) - 1)] for number in range(1, UNITS_ON_FORM + 1)]
    blocks = [
        paper.title(
            say("Walk of {house}", house=house["house"]),
            say("{farm}, printed {day}", farm=farm, day=page.day(day, year=True)),
        ),
        paper.line(
            say(
                "{crop}, {ground}, {plants} plants. Date and time: ______________   Scout: "
                "______________   Minutes: ________   Looked at: leaf / shoot / plant",
                crop=page.name(house["crop"]),
                ground=area(house["area_m2"]),
                plants=page.figure(house["plants"]),
            )
        ),
        paper.line(
            say(
                "Taken: as they come / the same marked ones / worst places. One row is one leaf, shoot or "
                "plant. A tick under 0 is a find too: it says that you looked. An empty row was not looked "
                "at."
            )
        ),
        paper.table(
            [say(name) for name, _ in WALK_COLUMNS],
            rows,
            widths=[width for _, width in WALK_COLUMNS],
            height=6.2,
            size=8,
        ),
        paper.line(
            say(
                "Live aphids are all that are not mummies, stung ones too. Type it in by one line: outpace "
                'walk "{house}: {units_on_form} looked at, ..."',
                house=page.plain(house["house"]),
                units_on_form=UNITS_ON_FORM,
            )
        ),
    ]
    return paper.document(
        say("Walk of {house}", house=page.plain(house["house"])),
        blocks,
        footer=say(LABEL_FIRST),
        head=head,
        size=9,
        flipped=True,
    )


def arrival_card(farm: str, day: str, lot: Answer | None = None, *, head: str = "") -> bytes:
    """Return the card that goes with a parcel from the door to the house, as PDF of one page."""
    told = lot or {}

    def known(name: str) -> str:
        value = told.get(name)
        return "" if value is None else page.plain(page.name(str(value)) if name == "enemy" else value)

    fields = (
        (say("Lot"), known("lot")),
        (say("Enemy and form"), " ".join(part for part in (known("enemy"), known("form")) if part)),
        (
            say("Number on the label, and what it counts (in the pack / adults to come)"),
            ", ".join(
                part for part in (known("labelled_number"), _counts_words(told.get("label_counts"))) if part
            ),
        ),
        (say("Supplier, order, invoice"), known("order")),
        (say("Packed"), page.day(told["packed"], year=True) if told.get("packed") else ""),
        (
            say("Arrived, day and time"),
            _arrived(told["arrived"]) if told.get("arrived") else "",
        ),
        (
            say("Temperature in the parcel, {unit}", unit=degree_sign()),
            "" if told.get("parcel_degc") is None else degrees(told["parcel_degc"]),
        ),
        (say("Condition"), known("condition")),
        (say("Taken in by"), ""),
        (say("Check pot: how many in it, where it stands"), ""),
        (say("Count the pot on"), page.day(told["count_on"], year=True) if told.get("count_on") else ""),
        (say("Emerged or alive, of how many, after how many days"), ""),
    )
    blocks = [
        paper.title(say("Arrival"), f"{farm}, {page.day(day, year=True)}"),
        paper.ticks(
            [
                say(
                    "Opened in moving air, with gloves; dust mask for loose carrier. Stopped at wheeze or "
                    "rash."
                ),
                say("Cool and dry, nothing crushed, no smell."),
                say("Enemy, form and number are those that were ordered."),
                say("Photo of the label with lot and packing date."),
                say("Temperature in the parcel read at once."),
                say(
                    "Check pot set aside: plastic, dry, shaded, never in a food fridge, in the house that "
                    "gets the rest."
                ),
            ]
        ),
        paper.table((say("Field"), say("Write here")), fields, widths=(2, 3), height=9.5),
        paper.heading(say("If something is wrong")),
        paper.line(
            say(
                "Tell the supplier at once: lot, packing day, arrival, parcel temperature, photo, under "
                "observation. The figures follow when the pot has ended. A pot that is counted early is "
                "neither pass nor reject."
            )
        ),
        paper.pen(say("For your pen"), 40),
    ]
    return paper.document(say("Arrival card"), blocks, footer=say(LABEL_FIRST), head=head, size=11)


def _arrived(when: str) -> str:
    """Return when a parcel came; the book keeps a day entered without an hour as its noon."""
    shown = page.moment(when, year=True)
    return say("{time} (or no hour entered)", time=shown) if when[11:16] == "12:00" else shown


def _counts_words(label_counts: str | None) -> str:
    """Return what the number on the label counts; nothing where it is not known and is to be asked."""
    if label_counts == "units_in_pack":
        return say("in the pack")
    return say("adults to come") if label_counts == "adults_expected" else ""


def release_sheet(answer: Answer, *, head: str = "") -> bytes:
    """Return the map of the points of a lot in a house with the way to walk, as PDF of one page."""
    few, many = answer["usual_points"]
    minds = [
        say(
            "Shade, dry, out of the reach of ants, no water from above. Sticky cards near the points come "
            "down."
        ),
        say("Adults at dusk or dawn, burners off and aired, not alone. Hot: early hours, water, a partner."),
        say("Count labels and hooks out and in. Tick each point as you leave it."),
        say(
            "Rules of the trade come to {few} to {many_told} points here; these stand about {spacing_m:g} "
            "m apart ({evidence}).",
            few=few,
            many_told=many,
            spacing_m=answer["spacing_m"],
            evidence=say(answer["evidence"]),
        ),
    ]
    minds += [view_line(view) for view in answer.get("views", ())]
    if not answer["sides_told"]:
        minds.append(say("Length and width of the house are not told: it is drawn as a square of its area."))
    if answer["too_few"]:
        minds.append(say("Fewer fall to a point than the trade holds for the least."))
    if any(point["mark"] for point in answer["points"]):
        minds.append(
            say("Where in its zone a door, vent or hot spot lies is not written: go to the place itself.")
        )
    if answer["left_out"]:
        minds.append(say("No point of its own: {left_out}.", left_out="; ".join(answer["left_out"])))
    rows = [
        (
            point["no"],
            point["zone"],
            say("at the {mark}", mark=point["mark"])
            if point["mark"]
            else say(
                "{along_m:.0f} m along, {across_m:.0f} m across",
                along_m=point["along_m"],
                across_m=point["across_m"],
            ),
            point["number"],
            say("{low} to {high}", low=point["low"], high=point["high"]),
            *([] if answer.get("carrier") is None else [f"{point['carrier']:g} {answer['carrier_unit']}"]),
            "",
        )
        for point in answer["points"]
    ]
    blocks = [
        paper.title(
            say("Release in {house}", house=answer["house"]),
            f"{answer['farm']}, {page.day(answer['date'], year=True)}",
        ),
        paper.line(
            say(
                "{number} {enemy} as {form}, lot {lot}.",
                number=page.figure(answer["number"]),
                enemy=page.name(answer["enemy"]),
                form=say(answer["form"]),
                lot=answer["lot"],
            ),
            bold=True,
        ),
        *([] if not answer["held"] else [paper.line(answer["sentence"], bold=True)]),
        *(
            paper.image(
                _map(plot, answer["points"]),
                _map_told(plot, answer["points"]),
                width=70 if len(answer["plots"]) == 1 else 35,
            )
            for plot in answer["plots"]
        ),
        paper.table(
            (
                say("point"),
                say("zone"),
                say("from the corner where you begin"),
                say("number"),
                say("by chance"),
                *([] if answer.get("carrier") is None else [say("carrier")]),
                say("done"),
            ),
            rows,
            widths=(0, 0, 3, 0, 0, *([] if answer.get("carrier") is None else [0]), 0.6),
        ),
        paper.points(minds),
    ]
    footer = say("Lot {lot}. {label_first}", lot=answer["lot"], label_first=say(LABEL_FIRST))
    return paper.document(
        say("Release map of {house}", house=page.plain(answer["house"])),
        blocks,
        footer=footer,
        head=head,
        size=10,
    )


def view_line(view: Answer) -> str:
    """Return what one published view of reach says of these points."""
    return say(
        "If they get {metres:g} m from a point ({source}): {covered} of the floor is in reach of these points, and "
        "{wanted} would put all of it in reach.",
        metres=view["metres"],
        source=view["source"],
        covered=page.share(view["covered_by_the_map"]),
        wanted=view["points_wanted"],
    )


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
    sides = say("{length_m:.0f} by {width_m:.0f} m", length_m=plot["length_m"], width_m=plot["width_m"])
    marks = [
        say("{no} at the {mark}", no=point["no"], mark=page.plain(point["mark"]))
        for point in points
        if point["zone"] == plot["zone"] and point["mark"]
    ]
    told = say(
        "{zone}, {sides}, {mine} numbered points in the order of walking",
        zone=page.plain(plot["zone"]),
        sides=sides,
        mine=mine,
    )
    return f"{told}; {', '.join(marks)}" if marks else told


def order_sheet(answer: Answer, *, head: str = "") -> bytes:
    """Return the orders by supplier with cut-off, packs, houses and cost, as PDF."""
    blocks = [paper.title(say("Orders"), f"{answer['farm']}, {page.day(answer['as_of'], year=True)}")]
    for order in answer["orders"]:
        currency = order["currency"]
        blocks += [
            paper.heading(
                say(
                    "{supplier}: decide by {cutoff}, after the next walk",
                    supplier=order["supplier"],
                    cutoff=page.moment(order["cutoff"]),
                )
                if order["provisional"]
                else say(
                    "{supplier}: order by {cutoff}",
                    supplier=order["supplier"],
                    cutoff=page.moment(order["cutoff"]),
                )
            ),
            paper.line(
                say("Delivery {delivery_date}.", delivery_date=page.day(order["delivery_date"], year=True))
            ),
            paper.table(
                (say("enemy"), say("form"), say("packs"), say("of"), say("price"), say("for")),
                [
                    (
                        page.name(row["enemy"]),
                        row["form"],
                        row["packs"],
                        page.figure(row["pack_size"]),
                        page.money(row["price"], currency),
                        "; ".join(
                            say(
                                "{house} {number} on {release_date}",
                                house=share["house"],
                                number=page.figure(share["number"]),
                                release_date=page.day(share["release_date"]),
                            )
                            for share in row["houses"]
                        ),
                    )
                    for row in order["lines"]
                ],
                widths=(0, 0, 0, 0, 0, 1),
            ),
            paper.line(
                say(
                    "Freight {freight}; in all {total}.",
                    freight=page.money(order["freight"], currency),
                    total=page.money(order["total"], currency),
                )
            ),
            paper.line(say("Provisional: do not send it yet."), bold=True)
            if order["provisional"]
            else paper.ticks(
                [
                    say("Sent, by whom and when: "),
                    say("Confirmed: "),
                    say("Substitute allowed: no, call first"),
                    say("Received by: "),
                ]
            ),
        ]
    if not answer["orders"]:
        blocks.append(paper.line(say("Nothing to order.")))
    if answer["waiting"]:
        blocks += [
            paper.heading(say("Nothing yet for")),
            paper.points(f"{row['house']}: {row['why']}" for row in answer["waiting"]),
        ]
    if answer["cautions"]:
        blocks += [paper.heading(say("Mind")), paper.points(answer["cautions"])]
    return paper.document(say("Order sheet"), blocks, footer=say(LABEL_FIRST), head=head, size=11)
