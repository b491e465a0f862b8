"""What a lens shows, drawn for outpace: parts of an aphid for the key, mummies and their holes for the card.

All stand black on white, since pale and dark mean something here; a page lays them on a white slide.
"""

from __future__ import annotations

from collections.abc import Callable
from html import escape

from outpace.surfaces.svg import tag

INK = "#1f1c17"
PALE = "#fffdf8"
BOX = (
    '<svg xmlns="http://www.w3.org/2000/svg" class="slide" viewBox="0 0 120 90" aria-hidden="true">'
    "<title>{title}</title>{body}</svg>"
)


def drawn(title: str, parts: list[str]) -> str:
    """Return a drawing with its title; the words beside it speak for it."""
    return BOX.format(title=escape(title), body="".join(parts))


def path(d: str, *, fill: str = "none", width: float = 2.5, stroke: str = INK) -> str:
    """Return a line drawn with round ends."""
    return tag(
        "path",
        d=d,
        fill=fill,
        stroke=stroke,
        stroke_width=width,
        stroke_linecap="round",
        stroke_linejoin="round",
    )


# The head from above: two bumps that carry the feelers.

_BUMPS = {
    "inward": ("M36 62V44L44 24Q53 20 56 32L54 50", "M48 23L30 4"),
    "outward": ("M36 62V48L22 32Q20 18 33 20L50 50", "M26 20L12 4"),
    "straight": ("M36 62V46V26Q43 16 50 26V50", "M43 21L36 4"),
    "flat": ("M36 62V50Q40 40 50 40", "M40 43L24 8"),
}


def brow(state: str) -> list[str]:
    """Return a head from above with its bumps so."""
    bump, feeler = _BUMPS[state]
    front = "M50 50Q60 58 70 50" if state != "flat" else "M50 40Q60 34 70 40"
    half = [path(bump), path(feeler, width=3.5)]
    mirrored = f'<g transform="translate(120 0) scale(-1 1)">{"".join(half)}</g>'
    cheeks = [path("M36 62Q34 80 44 88M84 62Q86 80 76 88")]
    eyes = [tag("circle", cx=36, cy=66, r=5, fill=INK), tag("circle", cx=84, cy=66, r=5, fill=INK)]
    return [*half, mirrored, path(front), *cheeks, *eyes]


# The hind end from above: tubes left and right, the tail between.


def _hind(tail: str = PALE) -> list[str]:
    return [
        path("M16 4Q10 58 60 60Q110 58 104 4", fill=PALE),
        path("M53 58Q52 76 60 78Q68 76 67 58Z", fill=tail, width=2),
    ]


def _tube(x: float, lean: float, long: float, shade: str) -> list[str]:
    down = 46 + long
    outline = f"M{x - 5} 46L{x - 3.5 + lean} {down}H{x + 3.5 + lean}L{x + 5} 46Z"
    parts = [path(outline, fill=INK if shade == "dark" else PALE, width=2)]
    if shade == "tip":
        cut = 46 + 0.68 * long
        at = lean * 0.68
        parts.append(
            path(
                f"M{x - 4 + at} {cut}L{x - 3.5 + lean} {down}H{x + 3.5 + lean}L{x + 4 + at} {cut}Z", fill=INK
            )
        )
    return parts


def tubes(state: str) -> list[str]:
    """Return a hind end whose tubes are pale, dark, or dark at the tip."""
    return [*_tube(28, -6, 34, state), *_tube(92, 6, 34, state), *_hind()]


def length(state: str) -> list[str]:
    """Return a hind end whose tubes reach the tip of the tail, or do not."""
    long = 40 if state == "long" else 16
    guide = tag("line", x1=6, x2=114, y1=78, y2=78, stroke="#767676", stroke_dasharray="3 4")
    return [*_tube(28, -6, long, "pale"), *_tube(92, 6, long, "pale"), *_hind(), guide]


def tail(state: str) -> list[str]:
    """Return a hind end with a pale or a dark tail."""
    return [*_tube(28, -6, 26, "pale"), *_tube(92, 6, 26, "pale"), *_hind(INK if state == "dark" else PALE)]


# The whole animal from above, head up.


def _whole(*, fill: str = PALE, wide: float = 24, high: float = 30, at: float = 60) -> list[str]:
    mid = 52
    legs = "".join(
        f"M{at - wide * 0.8} {mid + dy}l-12 {step}M{at + wide * 0.8} {mid + dy}l12 {step}"
        for dy, step in ((-14, -6), (0, 2), (13, 10))
    )
    return [
        path(legs, width=1.6),
        tag("ellipse", cx=at, cy=mid, rx=wide, ry=high, fill=fill, stroke=INK, stroke_width=2.5),
        path(f"M{at - 12} {mid + high - 6}l-4 12M{at + 12} {mid + high - 6}l4 12", width=3.5),
    ]


def back(state: str) -> list[str]:
    """Return an aphid from above with what stands on its back."""
    parts = _whole()
    if state == "green_feet":
        parts += [tag("ellipse", cx=x, cy=72, rx=7, ry=6, fill="#3d6b2e") for x in (48, 72)]
    if state == "rust_feet":
        parts += [path("M42 70Q60 84 78 70Q74 62 60 68Q46 62 42 70Z", fill="#a4552a", width=0.5)]
    if state == "stripe":
        parts += [path("M60 30V76", width=6, stroke="#5f7a4c")]
    if state == "wax":
        parts = _whole(fill="#3b372f")
        parts += [
            path(f"M{x} {y}h7", width=3, stroke="#ffffff")
            for y in (36, 48, 60, 70)
            for x in ((44, 69) if y != 36 else (47, 66))
        ]
    return parts


def feelers(state: str) -> list[str]:
    """Return an aphid with feelers shorter than its body, longer, or long with dark joints."""
    parts = [
        tag("ellipse", cx=82, cy=50, rx=28, ry=17, fill=PALE, stroke=INK, stroke_width=2.5),
        tag("circle", cx=53, cy=50, r=7, fill=PALE, stroke=INK, stroke_width=2.5),
    ]
    if state == "short":
        return [*parts, path("M50 44L28 32M50 56L28 68", width=2)]
    lines = "M50 44L32 22Q50 8 116 10M50 56L32 78Q50 92 116 84"
    parts.append(path(lines, width=2))
    if state == "ringed":
        spots = ((32, 22), (52, 14), (74, 10.5), (96, 9.5), (32, 78), (52, 84.5), (74, 86), (96, 85))
        parts += [tag("circle", cx=x, cy=y, r=4, fill=INK) for x, y in spots]
    return parts


def shape(state: str) -> list[str]:
    """Return a small round aphid or a large long one beside the same mark of size."""
    mark = [path("M100 14v62M95 14h10M95 76h10", width=1.6)]
    if state == "small":
        return [tag("ellipse", cx=50, cy=52, rx=17, ry=20, fill=PALE, stroke=INK, stroke_width=2.5), *mark]
    return [path("M50 6Q30 26 30 56Q34 84 50 86Q66 84 70 56Q70 26 50 6Z", fill=PALE), *mark]


_BODY = {"green": "#b9d08b", "pink": "#e3a9a0", "yellow": "#efe08a", "dark": "#4c5a3c", "black": "#221f1c"}


def colour(state: str) -> list[str]:
    """Return an aphid in one colour."""
    return _whole(fill=_BODY[state])


def _plant() -> list[str]:
    return [
        path("M60 88V20"),
        path("M60 74Q34 78 22 64Q42 54 60 74ZM60 74Q86 78 98 64Q78 54 60 74Z", fill=PALE, width=2),
        path("M60 48Q38 50 30 38Q46 32 60 48ZM60 48Q82 50 90 38Q74 32 60 48Z", fill=PALE, width=2),
        path("M60 22Q48 18 50 6Q60 8 60 22ZM60 22Q72 18 70 6Q60 8 60 22Z", fill=PALE, width=2),
    ]


def plant(state: str) -> list[str]:
    """Return a plant with broad leaves, or a tuft of blades."""
    if state == "crop":
        return _plant()
    return [path("M60 88Q58 40 30 10M60 88Q62 44 92 14M60 88V6M60 88Q50 60 16 44M60 88Q72 62 104 46")]


def place(state: str) -> list[str]:
    """Return a plant with the place marked where they sit."""
    spots = {
        "tips": [(54, 12), (60, 14), (66, 12), (57, 20), (63, 20), (60, 26)],
        "low": [(34, 67), (42, 69), (50, 71), (70, 71), (78, 69), (86, 67)],
        "clumps": [(38, 40), (43, 42), (41, 46), (76, 67), (81, 69), (80, 64)],
    }[state]
    return [*_plant(), *(tag("circle", cx=x, cy=y, r=3.5, fill=INK) for x, y in spots)]


FEATURES: dict[str, Callable[[str], list[str]]] = {
    "brow": brow,
    "tubes": tubes,
    "length": length,
    "back": back,
    "feelers": feelers,
    "tail": tail,
    "plant": plant,
    "shape": shape,
    "colour": colour,
    "place": place,
}


def feature(name: str, state: str, title: str) -> str:
    """Return the drawing of one state of one feature."""
    return drawn(title, FEATURES[name](state))


def unsure(title: str) -> str:
    """Return the drawing of not knowing: an outline that is not closed."""
    dashed = tag(
        "ellipse",
        cx=60,
        cy=46,
        rx=34,
        ry=28,
        fill="none",
        stroke=INK,
        stroke_width=2.5,
        stroke_dasharray="6 7",
    )
    return drawn(title, [dashed])


def mummy(title: str, *, dark: bool, hole: str | None = None) -> str:
    """Return a mummy, tan and round or black and long, closed or with a smooth or a ragged hole."""
    across, down = (38, 20) if dark else (33, 27)
    parts = [
        tag("line", x1=20, x2=100, y1=78, y2=78, stroke="#000", stroke_width=1.5),
        tag(
            "ellipse",
            cx=60,
            cy=48,
            rx=across,
            ry=down,
            fill="#333" if dark else "#fff",
            stroke="#000",
            stroke_width=2.5,
        ),
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
    return drawn(title, parts)


def live_aphid(title: str) -> str:
    """Return a live aphid from above."""
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
    return drawn(title, parts)
