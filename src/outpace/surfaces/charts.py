"""Charts as SVG: one drawing for the page and for print.

Ink and greys stand in presentation attributes, so that the drawing prints by itself; a page lays its own
colours over the class names. No style attribute, no script: a strict content policy lets it through.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from html import escape

from outpace.language import say, short_date, week_start
from outpace.surfaces.chart_series import Answer, Kind, mummies_per_unit, release_label, series, walks_of
from outpace.surfaces.svg import Scale, tag
from outpace.surfaces.text import page

LOOK_BACK_D = 35
FEWEST_MUMMIES = 0.005
"""Fewer mummies than this on a unit are told in words; a drawing of them would show a flat line."""


@dataclass(frozen=True, slots=True)
class Size:
    """A drawing's room, in its own units; ``text`` is the height of its letters."""

    width: int
    height: int
    text: int


WIDE = Size(960, 340, 16)
NARROW = Size(360, 300, 13)
PRINT = Size(760, 210, 15)


@dataclass(frozen=True, slots=True)
class _Plot:
    """The frame of one chart: where days and values stand."""

    size: Size
    first: date
    last: date
    scale: Scale

    @property
    def left(self) -> float:
        return 3.2 * self.size.text

    @property
    def right(self) -> float:
        return self.size.width - 0.8 * self.size.text

    @property
    def top(self) -> float:
        return 3.0 * self.size.text

    @property
    def bottom(self) -> float:
        return self.size.height - 1.8 * self.size.text

    def x(self, day: date, part: float = 0.0) -> float:
        span = max(1, (self.last - self.first).days)
        return self.left + (self.right - self.left) * ((day - self.first).days + part) / span

    def y(self, value: float) -> float:
        return self.bottom - (self.bottom - self.top) * self.scale.share(value)

    def seen(self, day: date) -> bool:
        return self.first <= day <= self.last


def _day_of(row: Answer) -> date:
    return page.as_date(row["date"])


def _band(plot: _Plot, days: Sequence[Answer], low: str, high: str, css: str, fill: str) -> str:
    shown = [day for day in days if plot.seen(page.as_date(day["date"]))]
    if len(shown) < 2:
        return ""
    over = [f"{plot.x(page.as_date(d['date'])):.1f},{plot.y(d[high]):.1f}" for d in shown]
    under = [f"{plot.x(page.as_date(d['date'])):.1f},{plot.y(d[low]):.1f}" for d in reversed(shown)]
    return tag("polygon", css, points=" ".join(over + under), fill=fill)


def _middle(plot: _Plot, days: Sequence[Answer], css: str) -> str:
    shown = [day for day in days if plot.seen(page.as_date(day["date"]))]
    if len(shown) < 2:
        return ""
    points = " ".join(f"{plot.x(page.as_date(d['date'])):.1f},{plot.y(d['q50']):.1f}" for d in shown)
    return tag("polyline", css, points=points, fill="none", stroke="#000", stroke_width="2")


def _dashed(plot: _Plot, days: Sequence[Answer], quantile: str) -> str:
    """Return one quantile of a forecast that is compared with, the middle stronger than the ends."""
    shown = [day for day in days if plot.seen(page.as_date(day["date"]))]
    if len(shown) < 2:
        return ""
    points = " ".join(f"{plot.x(page.as_date(d['date'])):.1f},{plot.y(d[quantile]):.1f}" for d in shown)
    wide = "2.4" if quantile == "q50" else "1.2"
    return tag(
        "polyline",
        "beside",
        points=points,
        fill="none",
        stroke="#000",
        stroke_width=wide,
        stroke_dasharray="3 5",
    )


def _axes(plot: _Plot) -> list[str]:
    text = plot.size.text
    drawn = []
    room = 1.5 * text / (plot.bottom - plot.top)
    for value in plot.scale.marks(room):
        y = plot.y(value)
        drawn.append(tag("line", "grid", x1=plot.left, x2=plot.right, y1=y, y2=y, stroke="#bbb"))
        drawn.append(
            tag("text", "", page.figure(value), x=plot.left - 6, y=y + 0.35 * text, text_anchor="end")
        )
    begins = week_start(plot.first + timedelta(days=6))  # weeks as their reader counts them
    starts = [begins + timedelta(weeks=n) for n in range(80) if begins + timedelta(weeks=n) <= plot.last]
    every = max(1, math.ceil(len(starts) * 4.2 * text / (plot.right - plot.left)))
    for number, day in enumerate(starts):
        x = plot.x(day)
        drawn.append(tag("line", "tick", x1=x, x2=x, y1=plot.bottom, y2=plot.bottom + 5, stroke="#000"))
        if number % every == 0:
            said = short_date(day)
            anchor = "middle" if x + 2.2 * text < plot.size.width else "end"
            at = x if anchor == "middle" else float(plot.size.width)
            drawn.append(tag("text", "day", said, x=at, y=plot.bottom + 1.4 * text, text_anchor=anchor))
    drawn.append(
        tag("line", "axis", x1=plot.left, x2=plot.right, y1=plot.bottom, y2=plot.bottom, stroke="#000")
    )
    return drawn


def _background(plot: _Plot, answer: Answer) -> list[str]:
    """Return what lies behind: the days beyond the forecast."""
    text, height = plot.size.text, plot.bottom - plot.top
    drawn = []
    scenario = answer.get("scenario_from")
    if scenario and plot.first < (day := page.as_date(scenario)) < plot.last:
        x = plot.x(day)
        drawn.append(
            tag("rect", "scenario", x=x, y=plot.top, width=plot.right - x, height=height, fill="#eee")
        )
        drawn.append(
            tag("text", "small", say("scenario"), x=plot.right, y=plot.top - 0.5 * text, text_anchor="end")
        )
    return drawn


def _hot_days(plot: _Plot, answer: Answer, ident: str) -> list[str]:
    """Return a hatching over the days on which the crop gets hot."""
    height = plot.bottom - plot.top
    drawn = []
    for hot in answer.get("heat_days") or ():
        day = page.as_date(hot["date"])
        if plot.first <= day < plot.last:
            x = plot.x(day)
            width = plot.x(day, 1.0) - x
            drawn.append(
                tag("rect", "heat", x=x, y=plot.top, width=width, height=height, fill=f"url(#{ident}-heat)")
            )
    return drawn


def _marks(plot: _Plot, answer: Answer, level: float | None, as_of: date) -> list[str]:
    """Return what stands in front: the level, today, the releases."""
    text = plot.size.text
    drawn = []
    released = [page.as_date(release["date"]) for release in answer.get("releases") or ()]
    if level is not None:
        y = plot.y(level)
        drawn.append(
            tag(
                "line",
                "level",
                x1=plot.left,
                x2=plot.right,
                y1=y,
                y2=y,
                stroke="#000",
                stroke_width="2",
                stroke_dasharray="9 5",
            )
        )
        drawn.append(
            tag(
                "text",
                "small halo",
                say("your level {level}", level=page.figure(level)),
                x=plot.right - 4,
                y=y - 5,
                text_anchor="end",
            )
        )
    if plot.first < as_of < plot.last:
        x = plot.x(as_of)
        drawn.append(
            tag("line", "today", x1=x, x2=x, y1=plot.top - 0.3 * text, y2=plot.bottom, stroke="#000")
        )
        near = 0.25 * text * len(say("today")) + text
        beside = any(plot.seen(day) and abs(plot.x(day) - x) < near for day in released)
        # Beside a release the word stands above its mark and label.
        y = plot.top - (2.2 if beside else 0.5) * text
        drawn.append(tag("text", "small", say("today"), x=x, y=y, text_anchor="middle"))
    for number, day in enumerate(released):
        if not plot.seen(day):
            continue
        x, y, half = plot.x(day), plot.top - 0.2 * text, 0.42 * text
        points = f"{x - half:.1f},{y - 2 * half:.1f} {x + half:.1f},{y - 2 * half:.1f} {x:.1f},{y:.1f}"
        fill = "#000" if day <= as_of else "#fff"
        drawn.append(
            tag("line", "drop", x1=x, x2=x, y1=y, y2=plot.bottom, stroke="#777", stroke_dasharray="1 5")
        )
        drawn.append(
            tag(
                "polygon",
                "release" if day <= as_of else "release planned",
                points=points,
                fill=fill,
                stroke="#000",
            )
        )
        drawn.append(
            tag("text", "small", release_label(number), x=x, y=y - 2 * half - 4, text_anchor="middle")
        )
    return drawn


def _counted(plot: _Plot, walks: Sequence[Answer], kind: Kind) -> list[str]:
    drawn = []
    half = 0.32 * plot.size.text
    for walk in walks:
        day = page.as_date(walk["date"])
        value = walk["mean"] if kind == "aphids" else mummies_per_unit(walk)
        if value is None or not plot.seen(day):
            continue
        x, y = plot.x(day), plot.y(value)
        if kind == "aphids" and walk.get("low") is not None and walk.get("high") is not None:
            low, high = plot.y(walk["low"]), plot.y(walk["high"])
            path = (
                f"M{x:.1f} {low:.1f}V{high:.1f}M{x - half:.1f} {low:.1f}h{2 * half:.1f}"
                f"M{x - half:.1f} {high:.1f}h{2 * half:.1f}"
            )
            drawn.append(tag("path", "whisker", d=path, fill="none", stroke="#000", stroke_width="1.6"))
        if walk.get("hunted"):
            box = f"M{x:.1f} {y - 1.3 * half:.1f}l{1.3 * half:.1f} {1.3 * half:.1f}l{-1.3 * half:.1f} {1.3 * half:.1f}"
            box += f"l{-1.3 * half:.1f} {-1.3 * half:.1f}Z"
            drawn.append(tag("path", "hunted", d=box, fill="#fff", stroke="#000", stroke_width="1.6"))
        else:
            drawn.append(tag("circle", "walk", cx=x, cy=y, r=half, fill="#000", stroke="#fff"))
    return drawn


def described(answer: Answer, pest: Answer, kind: Kind) -> tuple[str, str]:
    """Return title and description of a chart, for those who hear it."""
    _, ahead = series(answer, pest, kind)
    level = pest.get("action_level") if kind == "aphids" else None
    what = say("Live aphids") if kind == "aphids" else say("Closed mummies")
    title = say(
        "{what} per {unit}, {pest}",
        what=what,
        unit=say(pest.get("unit") or "unit"),
        pest=page.name(pest["pest"]),
    )
    parts = []
    for day in (ahead[:1] + ahead[7:8] + ahead[21:22]) if ahead else ():
        parts.append(
            say(
                "{date}: {q50}, nine in ten between {q05} and {q95}.",
                date=page.day(day["date"]),
                q50=page.figure(day["q50"]),
                q05=page.figure(day["q05"]),
                q95=page.figure(day["q95"]),
            )
        )
    if level is not None:
        parts.append(say("Your level is {level}.", level=page.figure(level)))
    return title, " ".join([*parts, say("The table beside it holds every day.")])


def outlook(
    answer: Answer,
    pest: Answer,
    *,
    kind: Kind,
    size: Size,
    ident: str,
    beside: Sequence[Answer] = (),
) -> str:
    """Return the chart of one pest: counts and forecast on one time axis, or "" where there is nothing to draw.

    Parameters
    ----------
    answer : mapping
        The answer of ``outpace ahead``.
    pest : mapping
        One of its ``pests``.
    kind : {"aphids", "mummies"}
        What the height shows: live aphids, or closed mummies.
    size : Size
        The room; text keeps its height, so a phone gets its own drawing.
    ident : str
        Letters and digits; makes the names inside the drawing unlike those of its neighbours.
    beside : sequence of days
        Another forecast of the same days, drawn as dashed lines: its middle and its nine in ten.
    """
    as_of = page.as_date(answer["as_of"])
    past, ahead = series(answer, pest, kind)
    walks = walks_of(answer, pest)
    level = pest.get("action_level") if kind == "aphids" else None
    earliest = as_of - timedelta(days=LOOK_BACK_D)
    # Both kinds stand on one time axis, so its ends hang on neither.
    dated = [*(answer.get("releases") or ()), *pest["days"], *walks, *series(answer, pest, "aphids")[0]]
    shown = [day for day in map(_day_of, dated) if day >= earliest]
    if not (past or ahead or walks) or not shown:
        return ""
    values = [day["q95"] for day in (*past, *ahead, *beside) if page.as_date(day["date"]) >= earliest]
    for walk in walks:
        top = walk.get("high") if kind == "aphids" else mummies_per_unit(walk)
        if top is not None and page.as_date(walk["date"]) >= earliest:
            values.append(top)
    if level is not None:
        values.append(1.25 * level)
    highest = max(values, default=0.0)
    if kind == "mummies" and highest < FEWEST_MUMMIES:
        return ""
    middle = max((day["q50"] for day in ahead), default=highest)
    scale = Scale(highest or 1.0, level or max(middle / 3, highest / 50))
    plot = _Plot(size, min(*shown, as_of), max(*shown, as_of), scale)
    title, told = described(answer, pest, kind)
    pattern = (
        f'<pattern id="{ident}-heat" width="7" height="7" patternUnits="userSpaceOnUse">'
        '<path class="hatch" d="M-1 8L8 -1" stroke="#999" stroke-width="1.4"/></pattern>'
    )
    body = [
        *_background(plot, answer),
        _band(plot, past, "q05", "q95", "band-90 past", "#ddd"),
        _band(plot, past, "q25", "q75", "band-50 past", "#c4c4c4"),
        _band(plot, ahead, "q05", "q95", "band-90", "#d2d2d2"),
        _band(plot, ahead, "q25", "q75", "band-50", "#a6a6a6"),
        *_hot_days(plot, answer, ident),
        *_axes(plot),
        _middle(plot, past, "middle past"),
        _middle(plot, ahead, "middle"),
        *(_dashed(plot, beside, quantile) for quantile in ("q05", "q50", "q95")),
        *_marks(plot, answer, level, as_of),
        *_counted(plot, walks, kind),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="chart" viewBox="0 0 {size.width} {size.height}" '
        f'role="img" aria-labelledby="{ident}-t {ident}-d" font-family="Libertinus Serif, serif" '
        f'font-size="{size.text}">'
        f'<title id="{ident}-t">{escape(title)}</title><desc id="{ident}-d">{escape(told)}</desc>'
        f"<defs>{pattern}</defs>{''.join(body)}</svg>"
    )
