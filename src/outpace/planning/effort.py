"""How long the search for a plan may take."""

from __future__ import annotations

from dataclasses import dataclass

SEARCH_MEMBERS = 256


@dataclass(frozen=True, slots=True)
class Effort:
    """Members that a schedule is tried on, schedules tried in all, members that the plan is judged on."""

    members: int
    tried: int
    judged_on: int


THOROUGH = Effort(members=SEARCH_MEMBERS, tried=10**6, judged_on=10**6)
"""For people who wait for one plan."""
FAST = Effort(members=64, tried=90, judged_on=512)
"""For seasons in a row, a decision a week: at most half a second of processor time for one house of one zone."""
