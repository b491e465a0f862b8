"""The days of the invented season, all counted back from one day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

TIME_ZONE = "Europe/Madrid"
ZONE = ZoneInfo(TIME_ZONE)

#: How far back the invented records go.
SEASON_D = 58

#: Deliveries come on this weekday: 2 is Wednesday.
DELIVERY_WEEKDAY = 2


@dataclass(frozen=True, slots=True)
class Season:
    """Today on the invented farm, and the moment up to which things are known."""

    today: date
    now: datetime

    @classmethod
    def ending(cls, today: date | None, now: datetime) -> Season:
        """Return the season that ends on a day, at 06:00 of the farm or now where that is earlier."""
        local = now.astimezone(ZONE)
        day = today or local.date()
        # On its last day the farm has had its morning coffee and no more: the week is still to be decided.
        morning = datetime.combine(day, time(6, 0), ZONE)
        return cls(day, min(local, morning))

    @property
    def start(self) -> datetime:
        """Return the morning of the first day that is kept."""
        return self.at(SEASON_D, 8)

    def day(self, ago: int) -> date:
        """Return the date so many days ago."""
        return self.today - timedelta(days=ago)

    def at(self, ago: int, hour: int, minute: int = 0) -> datetime:
        """Return a time of day so many days ago, by the farm's clock, never after the season's end."""
        return min(datetime.combine(self.day(ago), time(hour, minute), ZONE), self.now)

    def delivery(self, weeks: int) -> int:
        """Return how many days ago the delivery of so many weeks back came; 1 is the latest before today."""
        since = (self.today.weekday() - DELIVERY_WEEKDAY) % 7 or 7
        return since + 7 * (weeks - 1)
