"""The book with the future left out: what had happened by a moment, whenever it was written down.

`--as-of` shows what the book *knew*; a season that was imported later knew nothing at the time. To score past seasons
rows are taken by the time at which their matter happened.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, time
from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

from outpace.language import say
from outpace.terms.enemies import Allocation, Banker, Check, Lot, OrderLine, Pack, Release
from outpace.terms.place import ActionLevel, Climate, CropStage, PlantsIn
from outpace.terms.scouting import Card, Count, Mummies, Seen, Walk, WalkLine
from outpace.terms.tables import TABLE_OF, Snapshot
from outpace.terms.upkeep import Decision, Forecast, Harvest, OwnFact, Spray

BY_TIME: dict[type, str] = {
    Walk: "time",
    Card: "time",
    CropStage: "time",
    PlantsIn: "time",
    Check: "time",
    Release: "time",
    Spray: "start",
    Harvest: "time",
    Decision: "time",
    Banker: "set_out",
    Lot: "arrived",
    ActionLevel: "since",
    Pack: "valid_from",
    Forecast: "made",
}
"""The column that tells when a row's matter happened; where it is empty the row was always true."""

OF_WALK = (Count, Mummies, Seen, WalkLine)
NEVER_THEN = (OwnFact,)
"""Tables that sum up seasons: what they hold may come from later."""


def left_out(snapshot: Snapshot, moment: datetime, zone: ZoneInfo, *, sums: bool = False) -> Snapshot:
    """Return what had happened by a moment.

    Corrections that were made later stand as corrected. A forecast of the weather counts from its issue.

    Parameters
    ----------
    zone : ZoneInfo
        Of the farm: a column that holds a day alone means its midnight there.
    sums : bool, default False
        Whether the tables that sum up seasons stay, as where the moment is of the season that is asked of.
    """

    def by_then(row: Any, column: str) -> bool:
        when = getattr(row, column)
        return when is None or _moment(when, zone) <= moment

    def by_its_hour(row: Climate) -> bool:
        when = row.issued if row.source == "forecast" else row.time
        return when is None or when <= moment

    rows = dict(snapshot.rows)

    def keep(kind: type, holds: Callable[[Any], bool]) -> None:
        name = TABLE_OF[kind]
        rows[name] = tuple(row for row in rows.get(name, ()) if holds(row))

    for kind, column in BY_TIME.items():
        keep(kind, partial(by_then, column=column))
    walks = {row.walk for row in rows.get(TABLE_OF[Walk], ())}
    if len(walks) < len(snapshot.table(Walk)):
        for kind in OF_WALK:
            keep(kind, lambda row: row.walk in walks)
    keep(Climate, by_its_hour)
    # An order of which the day was not told was placed before its delivery, at the latest.
    keep(OrderLine, lambda row: by_then(row, "placed" if row.placed is not None else "delivery_date"))
    placed = {(row.order, row.line) for row in rows.get(TABLE_OF[OrderLine], ())}
    keep(Allocation, lambda row: (row.order, row.line) in placed)
    for kind in () if sums else NEVER_THEN:
        keep(kind, lambda row: False)
    return Snapshot(
        as_of=moment.astimezone(UTC),
        head=say("{head} until {moment}", head=snapshot.head, moment=moment.isoformat()),
        rows=rows,
    )


def _moment(when: date | datetime, zone: ZoneInfo) -> datetime:
    return when if isinstance(when, datetime) else datetime.combine(when, time(), zone)
