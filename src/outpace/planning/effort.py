"""How long the search for a plan may take."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Effort:
    """Where a search stops.

    Attributes
    ----------
    groups : tuple of int
        Members that a schedule is tried on first, and those added where they cannot tell.
    tried : int
        Schedules tried for one house, at most.
    complete : int
        Schedules of one house up to which all are tried.
    relaxed : tuple of float
        How much of the needed effect the relaxed programme asks for, in turn.
    again : int
        How often the search is repeated with what the whole farm orders anyway.
    judged : int
        Schedules of one house that are tried on all members that judge, at most.
    ties : bool
        Whether the rule for ties is applied; without, any of the cheapest choices is taken, the same one every time.
    """

    groups: tuple[int, ...]
    tried: int
    complete: int
    relaxed: tuple[float, ...]
    again: int
    judged: int
    ties: bool = True


THOROUGH = Effort((64, 192, 768), 200, 160, (0.6, 0.8, 1.0, 1.25, 1.6), 2, 16)
"""For people who wait for one plan."""
FAST = Effort((64, 192), 60, 0, (0.8, 1.2), 0, 10, ties=False)
"""For seasons in a row, a decision a week: 0.15 to 0.4 s of processor time for one house of one zone."""
