"""A small chart of typed characters: one line a day, the band lying across it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from outpace.language import say, to_say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

ROOM = 46
MARGIN = 18
STEPS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 100000)
KEY = to_say("● middle  ━ half of all cases  ─ nine in ten  ○ counted on a walk  ¦ your level")


class Scale:
    """Places on the line: evenly near zero, by ratio further out.

    Parameters
    ----------
    top : float
        The largest value to be shown.
    bend : float
        Where the scale turns from even to ratio; the grower's level is a good choice.
    """

    def __init__(self, top: float, bend: float) -> None:
        self.bend = bend if bend > 0 else 1.0
        self.top = max(top, self.bend)

    def at(self, value: float) -> int:
        """Return the character at which a value stands."""
        part = math.log1p(max(0.0, value) / self.bend) / math.log1p(self.top / self.bend)
        return min(ROOM - 1, max(0, round(part * (ROOM - 1))))

    def ruler(self) -> str:
        """Return the line with the numbers."""
        line = [" "] * (ROOM + 8)
        line[0] = "0"
        free = 2
        for step in STEPS:
            text, place = page.figure(step), self.at(step)
            if step <= self.top and place >= free:
                line[place : place + len(text)] = text
                free = place + len(text) + 2
        return " " * MARGIN + "".join(line).rstrip()


def _draw(scale: Scale, band: Answer, level: float | None, middle: str = "●") -> str:
    line = [" "] * ROOM
    for low, high, mark in (("q05", "q95", "─"), ("q25", "q75", "━")):
        if low in band and high in band:
            for place in range(scale.at(band[low]), scale.at(band[high]) + 1):
                line[place] = mark
    if level is not None:
        line[scale.at(level)] = "¦"
    line[scale.at(band["q50"])] = middle
    return "".join(line).rstrip()


def chart(
    walks: Sequence[Answer], days: Sequence[Answer], level: float | None, scenario_from: str | None
) -> list[str]:
    """Return the walks and the days ahead as lines, the walks first.

    Parameters
    ----------
    walks : sequence of {date, mean, low, high}
        What was counted.
    days : sequence of {date, aphids}
        The forecast; every second day is drawn.
    level : float or None
        The grower's action level, in the unit of the counts.
    scenario_from : str or None
        Days from here on are marked with a question mark.
    """
    shown = days[::2]
    tops = [day["aphids"]["q95"] for day in shown] + [walk["high"] for walk in walks] + [level or 0.0]
    if not tops or max(tops) <= 0:
        return []
    scale = Scale(max(tops), level or max(tops) / 10)
    lines = [scale.ruler()]
    for walk in walks:
        band = {"q05": walk["low"], "q50": walk["mean"], "q95": walk["high"]}
        label = say("  {date:<11}walk ", date=page.day(walk["date"]))
        lines.append(f"{label:<{MARGIN}}{_draw(scale, band, level, '○')}")
    for day in shown:
        doubt = "?" if scenario_from and page.as_date(day["date"]) >= page.as_date(scenario_from) else ""
        label = f"  {page.day(day['date']):<11}{doubt}"
        lines.append(f"{label:<{MARGIN}}{_draw(scale, day['aphids'], level)}")
    return lines
