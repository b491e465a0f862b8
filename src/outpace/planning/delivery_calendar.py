"""When an order must be placed and when its parcel can come."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from outpace.terms.enemies import DAYS_OF_WEEK, Pack

END_OF_DAY = time(23, 59)


@dataclass(frozen=True, slots=True, order=True)
class Slot:
    """One delivery that can still be ordered: the last local time to order, and the day it arrives."""

    delivery: date
    cutoff: datetime


def slots(pack: Pack, now: datetime, until: date) -> tuple[Slot, ...]:
    """Return the deliveries of a pack that can be ordered from now on, earliest first.

    After each weekly cut-off the parcel comes on the first named weekday that is at least ``lead_d`` days later (at
    least one day where no lead is given); with several weekdays named, each of them in the seven days from
    there on is offered. A day without delivery is passed over, not moved.

    Parameters
    ----------
    now : datetime
        Local time of the farm, without an offset.
    until : date
        Last day of delivery of interest.

    Examples
    --------
    >>> pack = Pack(supplier="S", enemy="aphidius_ervi", form="adults", pack_size=250, price=20.0,
    ...             label_counts="units_in_pack", cutoff_weekday="Thu", cutoff_time="12:00",
    ...             delivery_weekday="Wed", lead_d=4)
    >>> [str(slot.delivery) for slot in slots(pack, datetime(2026, 11, 25, 9), date(2026, 12, 12))]
    ['2026-12-02', '2026-12-09']
    """
    weekday = DAYS_OF_WEEK.index(pack.cutoff_weekday)
    at = time.fromisoformat(pack.cutoff_time) if pack.cutoff_time else END_OF_DAY
    wanted = {DAYS_OF_WEEK.index(name) for name in _listed(pack.delivery_weekday)}
    closed = {date.fromisoformat(text) for text in _listed(pack.no_delivery or "")}
    lead = timedelta(days=max(pack.lead_d if pack.lead_d is not None else 1, 1))
    cutoff_day = now.date() + timedelta(days=(weekday - now.weekday()) % 7)
    if datetime.combine(cutoff_day, at) < now:
        cutoff_day += timedelta(days=7)
    found: dict[date, Slot] = {}
    while cutoff_day + lead <= until:
        for ahead in range(7):
            day = cutoff_day + lead + timedelta(days=ahead)
            if day.weekday() in wanted and day not in closed and day <= until:
                found[day] = Slot(delivery=day, cutoff=datetime.combine(cutoff_day, at))
        cutoff_day += timedelta(days=7)
    return tuple(found[day] for day in sorted(found))


def _listed(text: str) -> tuple[str, ...]:
    return tuple(part for part in text.replace(",", " ").replace(";", " ").split() if part)
