"""The plan of a farm as it was last worked out on a day, for the sheet of one house that is asked by itself.

A scout who comes back from one house wants its sheet at once. What was seen moves the forecast of that house, and the
plan of the whole farm little by little: the plan of this morning may stand on its sheet, with its moment told. What was
decided since, an order, a release, a spray, another price, or a cut-off that passed, ends it.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from outpace.language import manner
from outpace.records.chain import MERGE
from outpace.season.evidence import digest_of
from outpace.season.names import zone_of_farm
from outpace.season.worked_out import keep_part, kept_part
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]
Since = Callable[[str, datetime], frozenset[str] | None]
"""Returns the tables of the book written to since it had a head and was asked as of a moment."""

KIND = "plan of the day"
SEEN = frozenset({"walks", "counts", "mummies", "seen", "walk_lines", "cards", "climate"})
LEAVE_IT = SEEN | {"harvests", "forecasts", "people", MERGE}
"""Tables that may be written to while a plan stands: what was seen and picked, nothing that was decided."""


def keep_plan(plan: Answer, snapshot: Snapshot, farm: Farm, head: str) -> None:
    """Keep the plan of all houses of a farm as the last of its day.

    Parameters
    ----------
    head : str
        Of the whole book.
    """
    told = {"plan": plan, "head": head, "known": snapshot.as_of.isoformat()}
    keep_part(KIND, _day_of(snapshot, farm), told)


def standing_plan(snapshot: Snapshot, farm: Farm, head: str, since: Since) -> tuple[Answer, bool] | None:
    """Return the last plan of the day where it still stands, and whether anything was entered since.

    Parameters
    ----------
    head : str
        Of the whole book now.
    since : callable
        See `Since`.
    """
    kept = kept_part(KIND, _day_of(snapshot, farm))
    if kept is None:
        return None
    known, now = datetime.fromisoformat(kept["known"]), snapshot.as_of
    if known > now or _cut_off(kept["plan"], known, now, farm):
        return None
    entered = since(kept["head"], known)
    if entered is None or not entered <= LEAVE_IT:
        return None
    return kept["plan"], bool(entered) or kept["head"] != head


def _cut_off(plan: Answer, known: datetime, now: datetime, farm: Farm) -> bool:
    """Return whether a cut-off of the plan passed since it was made."""
    zone = zone_of_farm(farm)
    for decision in plan["decisions"]:
        until = datetime.fromisoformat(decision["cutoff"])
        until = until if until.tzinfo else until.replace(tzinfo=zone)
        if known < until <= now:
            return True
    return False


def _day_of(snapshot: Snapshot, farm: Farm) -> str:
    day = snapshot.as_of.astimezone(zone_of_farm(farm)).date()
    return digest_of(farm.farm, day, repr(manner()))
