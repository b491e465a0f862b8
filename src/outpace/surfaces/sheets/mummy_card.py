"""What a mummy tells: colour, then hole, then what to do. Drawn for this card, black on white."""

from __future__ import annotations

from outpace.surfaces.sheets import paper
from outpace.surfaces.svg import tag

BOX = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 90">{}</svg>'


def render() -> bytes:
    """Return the card as PDF of one page."""
    blocks = [
        paper.title("Mummy and hole card", "10 to 15 times lens"),
        paper.line(
            "First the colour, then the hole. A live aphid moves its legs when touched; a mummy does not.",
            bold=True,
        ),
        paper.pictures(
            [
                (
                    _mummy(dark=False),
                    "A round pale shell with two short tubes and no hole",
                    "Tan, closed: a wasp grows in it",
                ),
                (
                    _mummy(dark=False, hole="smooth"),
                    "A round pale shell with a round hole of smooth edge",
                    "Tan, smooth round hole: the wasp you want has left",
                ),
                (
                    _mummy(dark=False, hole="ragged"),
                    "A round pale shell with a hole of torn edge",
                    "Tan, ragged hole: a wasp that lives on wasps may have left",
                ),
            ]
        ),
        paper.pictures(
            [
                (
                    _mummy(dark=True),
                    "A long dark shell without a hole",
                    "Black, closed: another kind of wasp grows in it",
                ),
                (
                    _mummy(dark=True, hole="ragged"),
                    "A long dark shell with a hole of torn edge",
                    "Black, ragged hole: means nothing, its own wasp leaves so",
                ),
                (_aphid(), "An aphid with legs, feelers and two tubes", "Live aphid: count it, stung or not"),
            ]
        ),
        paper.table(
            ("what you see", "what it means", "what to do"),
            (
                ("tan, closed", "stung some time ago; the wasp is still inside", "count it; leave it"),
                ("tan, smooth hole", "a wasp flew: the next brood searches", "count it as empty, smooth"),
                (
                    "tan, ragged hole",
                    "maybe a hyperparasitoid; one says little",
                    "count smooth and ragged holes of twenty; tell your adviser when ragged ones grow",
                ),
                (
                    "black, any hole",
                    "a black-mummy wasp, whose own hole is ragged",
                    "count it as black; no alarm",
                ),
                (
                    "no mummies yet",
                    "too early, wrong aphid, a dead parcel or a residue",
                    "see the first day on the page of the house",
                ),
            ),
            widths=(1, 2, 2),
        ),
        paper.line(
            "0 ragged among 20 tan holes: up to 17 of 100 may still be (exact 95 % interval). Nothing found is "
            "not nothing there."
        ),
        paper.pen("For your pen: house, week, tan smooth / tan ragged / black", 30),
    ]
    return paper.document(
        "Mummy and hole card", blocks, footer="A mummy on leaves for sale is a contaminant.", size=11
    )


def _mummy(*, dark: bool, hole: str | None = None) -> str:
    fill, edge = ("#333", "#000") if dark else ("#fff", "#000")
    across, down = (38, 20) if dark else (33, 27)
    parts = [
        tag("line", x1=20, x2=100, y1=78, y2=78, stroke="#000", stroke_width=1.5),
        tag("ellipse", cx=60, cy=48, rx=across, ry=down, fill=fill, stroke=edge, stroke_width=2.5),
    ]
    if not dark:
        parts += [
            tag("path", d=f"M{x} 62l{step} 9", fill="none", stroke="#000", stroke_width=3)
            for x, step in ((83, 7), (76, 5))
        ]
        parts += [
            tag("path", d=f"M{x} 24q4 24 0 48", fill="none", stroke="#999", stroke_width=1)
            for x in (48, 60, 70)
        ]
    if hole == "smooth":
        parts.append(tag("circle", cx=78, cy=40, r=9, fill="#000"))
    if hole == "ragged":
        torn = "M70 34l5 4 3-7 4 6 6-3-2 7 5 4-6 2 1 6-6-3-5 4-1-6-7-1 5-5z"
        parts.append(tag("path", d=torn, fill="#fff" if dark else "#000", stroke="#000", stroke_width=1))
    return BOX.format("".join(parts))


def _aphid() -> str:
    parts = [
        tag("ellipse", cx=66, cy=48, rx=28, ry=19, fill="#fff", stroke="#000", stroke_width=2.5),
        tag("circle", cx=33, cy=46, r=9, fill="#fff", stroke="#000", stroke_width=2.5),
    ]
    for x, top, low in ((48, 32, 62), (60, 29, 66), (72, 30, 65)):
        parts.append(tag("path", d=f"M{x} {top}l-8-14", stroke="#000", stroke_width=1.8))
        parts.append(tag("path", d=f"M{x} {low}l-8 14", stroke="#000", stroke_width=1.8))
    parts += [
        tag("path", d=f"M28 {y}l-20 {step}", stroke="#000", stroke_width=1.5)
        for y, step in ((40, -12), (50, 10))
    ]
    parts += [
        tag("path", d=f"M88 {y}l12 {step}", stroke="#000", stroke_width=3) for y, step in ((38, -6), (58, 6))
    ]
    return BOX.format("".join(parts))
