"""Corrections and withdrawals of the book as people read them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from outpace.language import say
from outpace.records.changes import Change
from outpace.season.moments import local_iso


def changes_answer(changes: Iterable[Change], zone: ZoneInfo) -> list[dict[str, Any]]:
    """Return changes as plain values, times in the zone of the farm."""
    return [
        {
            "table": change.table,
            "key": change.key,
            "at": local_iso(change.at, zone),
            "by": change.by,
            "why": change.why,
            "withdrawn": change.withdrawn,
            "columns": [
                {"column": name, "old": shown(old, zone), "new": shown(new, zone)}
                for name, (old, new) in change.differs.items()
            ],
            "text": change_text(change, zone),
        }
        for change in changes
    ]


def shown(value: Any, zone: ZoneInfo) -> str | float | int | bool | None:
    """Return a cell as plain value, a time in the zone of the farm."""
    if isinstance(value, datetime):
        return local_iso(value, zone)
    if isinstance(value, date):
        return value.isoformat()
    return value  # type: ignore[no-any-return]


def change_text(change: Change, zone: ZoneInfo) -> str:
    """Return a change in one line: what became what."""
    if change.withdrawn:
        kept = [f"{name} {cell(value, zone)}" for name, value in change.was.items() if value is not None]
        return say("withdrawn; it said: {kept}", kept=", ".join(kept))
    if not change.differs:
        return say("entered again after it was withdrawn")
    return "; ".join(
        say("{name} was {old}, is {new}", name=name, old=cell(old, zone), new=cell(new, zone))
        for name, (old, new) in change.differs.items()
    )


def cell(value: Any, zone: ZoneInfo) -> str:
    """Return a cell in words."""
    if value is None:
        return "empty"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    return str(shown(value, zone))
