"""The ground that drawings stand on: elements, and a scale that holds both little and much."""

from __future__ import annotations

import math
from html import escape

BENDS_ABOVE = 6.0
"""Where the highest value is more than so many times the level, the scale turns from even to ratio."""


class Scale:
    """Heights for values: even, or even near zero and by ratio further up.

    Parameters
    ----------
    top : float
        The largest value to be shown.
    bend : float
        Where the scale turns from even to ratio; the grower's level is a good choice.
    """

    def __init__(self, top: float, bend: float) -> None:
        self.top = max(top, 1e-6)
        self.bend = bend if bend > 0 else self.top / 10
        self.bent = self.top > BENDS_ABOVE * self.bend

    def share(self, value: float) -> float:
        """Return how far up a value stands, 0 to 1.

        Examples
        --------
        >>> Scale(4.0, 1.0).share(1.0)
        0.25
        >>> round(Scale(99.0, 1.0).share(9.0), 2)
        0.5
        """
        held = min(max(value, 0.0), self.top)
        if not self.bent:
            return held / self.top
        return math.log1p(held / self.bend) / math.log1p(self.top / self.bend)

    def marks(self, room: float) -> list[float]:
        """Return the round values worth a line, at least ``room`` (a share of the height) apart."""
        exponents = range(math.floor(math.log10(self.top)) - 3, math.floor(math.log10(self.top)) + 1)
        round_values = [m * 10.0**e for e in exponents for m in (1, 2, 5) if m * 10.0**e <= self.top]
        if self.bent:
            chosen, free = [0.0], 0.0
            for value in round_values:
                if self.share(value) - free >= room:
                    chosen.append(value)
                    free = self.share(value)
            return chosen
        step = next((v for v in round_values if v / self.top >= room), self.top)
        return [n * step for n in range(int(self.top / step + 1e-9) + 1)]


def tag(name: str, css: str = "", text: str | None = None, **attributes: object) -> str:
    """Return one element, its text and attributes escaped."""
    cells = [f'class="{css}"'] if css else []
    for key, value in attributes.items():
        shown = f"{value:.1f}".removesuffix(".0") if isinstance(value, float) else str(value)
        cells.append(f'{key.replace("_", "-")}="{escape(shown)}"')
    opened = " ".join([name, *cells])
    return f"<{opened}/>" if text is None else f"<{opened}>{escape(text)}</{name}>"
