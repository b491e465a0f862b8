"""Small drawings beside words: how a house stands, and a count against the grower's level."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from outpace.language import say
from outpace.surfaces.svg import Scale, tag
from outpace.surfaces.text import page

Answer = Mapping[str, Any]


def level_strip(estimate: Answer | None, level: float | None, *, ident: str) -> str:
    """Return a small line from zero up: what was counted, its interval, and the grower's level.

    Examples
    --------
    >>> level_strip(None, 1.0, ident="a")
    ''
    """
    if estimate is None or level is None:
        return ""
    middle = float(estimate.get("mean", estimate.get("q50", 0.0)))
    low, high = (
        float(estimate.get("low", estimate.get("q05"))),
        float(estimate.get("high", estimate.get("q95"))),
    )
    scale = Scale(max(high, 1.6 * level), level)
    width, height, edge = 300, 34, 9

    def at(value: float) -> float:
        return edge + (width - 2 * edge) * scale.share(value)

    said = say(
        "{middle}, between {low} and {high}; your level {level}",
        middle=page.figure(middle),
        low=page.figure(low),
        high=page.figure(high),
        level=page.figure(level),
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="strip" viewBox="0 0 {width} {height}" role="img" '
        f'aria-labelledby="{ident}-t"><title id="{ident}-t">{escape(said)}</title>'
        + tag("line", "axis", x1=edge, x2=width - edge, y1=24, y2=24, stroke="#000")
        + tag("line", "tick", x1=edge, x2=edge, y1=18, y2=30, stroke="#000")
        + tag("rect", "band-90", x=at(low), y=18, width=max(2.0, at(high) - at(low)), height=12, fill="#bbb")
        + tag("circle", "walk", cx=at(middle), cy=24, r=6, fill="#000")
        + tag(
            "line",
            "level",
            x1=at(level),
            x2=at(level),
            y1=4,
            y2=34,
            stroke="#000",
            stroke_width="2.5",
            stroke_dasharray="6 3",
        )
        + "</svg>"
    )


VERDICT_LINES = {
    "Holding": "M2 15C10 13 16 19 34 20",
    "Losing": "M2 20C16 19 24 14 33 3M26 3h7v7",
    "Unclear": "M2 15H12C20 15 24 6 34 3M12 15C20 15 26 20 34 21",
}


def verdict_mark(word: str | None) -> str:
    """Return a verdict as a small drawing: a line that stays under a level, climbs past it, or may do either."""
    line = VERDICT_LINES.get(word or "", "M2 17h4M12 17h4M22 17h4M32 17h3")
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" class="mark" viewBox="0 0 36 24" width="36" height="24" '
        'aria-hidden="true" focusable="false">'
        '<path class="mark-level" d="M1 10H35" fill="none" stroke="#000" stroke-dasharray="4 3"/>'
        f'<path class="mark-line" d="{line}" fill="none" stroke="#000" stroke-width="3"/></svg>'
    )


def tenths(counts: Sequence[int], *, ident: str) -> str:
    """Return a picture of how many walks fell into each tenth of their forecasts, and where an even share lies.

    Examples
    --------
    >>> tenths([2] * 10, ident="a").count("<rect")
    10
    """
    width, height, foot, edge = 330, 150, 36, 12
    step = (width - 2 * edge) / len(counts)
    most, even, ground = max(*counts, 1), sum(counts) / len(counts), height - foot
    said = ", ".join(say("{i} to {i2} %: {n}", i=10 * i, i2=10 * i + 10, n=n) for i, n in enumerate(counts))

    def up(value: float) -> float:
        return (ground - edge) * value / most

    drawn = []
    for i, n in enumerate(counts):
        left = edge + i * step
        drawn.append(
            tag("rect", "band-50", x=left + 1, y=ground - up(n), width=step - 2, height=up(n), fill="#999")
            + tag("text", "small", str(n), x=left + step / 2, y=ground + 15, text_anchor="middle")
        )
    for share, anchor in ((0, "start"), (50, "middle"), (100, "end")):
        at = edge + (width - 2 * edge) * share / 100
        drawn.append(tag("text", "small", f"{share} %", x=at, y=height - 3, text_anchor=anchor))
    line = ground - up(even)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="tenths" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}" role="img" aria-labelledby="{ident}-t"><title id="{ident}-t">{escape(said)}</title>'
        + "".join(drawn)
        + tag("line", "axis", x1=edge, x2=width - edge, y1=ground, y2=ground, stroke="#000")
        + tag(
            "line", "level", x1=edge, x2=width - edge, y1=line, y2=line, stroke="#000", stroke_dasharray="6 3"
        )
        + "</svg>"
    )
