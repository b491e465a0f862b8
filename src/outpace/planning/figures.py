"""Figures of what was tried for one house, worked out once: kept from plan to plan, for the same members and releases.

What is kept are chances, gaps, distances between two schedules: a few numbers each, never members. A figure is taken
from there only where it was worked out from the very same things, so a plan with kept figures is the one without.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

Numbers = tuple[float, ...]

MOST_KEPT = 20_000
"""Where more figures of a house than this are known, only those of the last plan are handed on."""


class Figures:
    """Numbers by what they tell of; those not known yet are worked out when they are asked for.

    Parameters
    ----------
    known : mapping of str to sequence of float, optional
        From an earlier plan of the same house.

    Examples
    --------
    >>> told = Figures({"chance 0,2": [0.25]})
    >>> told.of("chance 0,2", lambda: (1 / 0,)), told.of("chance 0,1", lambda: (0.5,))
    ((0.25,), (0.5,))
    >>> told.grown, told.kept()
    (True, {'chance 0,2': (0.25,), 'chance 0,1': (0.5,)})
    """

    def __init__(self, known: Mapping[str, object] | None = None) -> None:
        self._known: dict[str, Numbers] = {
            name: tuple(float(value) for value in values)
            for name, values in (known or {}).items()
            if isinstance(values, list | tuple)
        }
        self._used: set[str] = set()
        self.grown = False

    def of(self, name: str, work: Callable[[], Numbers]) -> Numbers:
        """Return the numbers of that name, as they are known or as the work gives them."""
        found = self._known.get(name)
        if found is None:
            found = self._known[name] = work()
            self.grown = True
        self._used.add(name)
        return found

    def kept(self) -> dict[str, Numbers]:
        """Return what is worth keeping for the next plan."""
        if len(self._known) <= MOST_KEPT:
            return dict(self._known)
        return {name: numbers for name, numbers in self._known.items() if name in self._used}
