"""Rows of an invented farm that tests record."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from outpace.terms.place import Climate, Farm, House
from outpace.terms.scouting import Count, Walk

FARM = Farm(farm="F", latitude=43.0, longitude=-8.2, time_zone="Europe/Madrid", currency="EUR")
HOUSE = House(farm="F", house="T1", crop="cucumber", area_m2=500.0, plants=1000, bees_in=True)
WALK = Walk(
    walk="w1",
    farm="F",
    house="T1",
    time=datetime(2026, 11, 3, 9, tzinfo=UTC),
    unit="leaf",
    chosen="random",
    scout="Ana",
    finished=True,
)
COUNT = Count(walk="w1", unit_no=1, pest="any", aphids="0")
START: list[Any] = [FARM, HOUSE, WALK, COUNT]


def hours(count: int, *, start: datetime = datetime(2026, 10, 1, tzinfo=UTC), **more: Any) -> list[Climate]:
    return [
        Climate(
            farm="F",
            house="T1",
            source="logger",
            time=start + timedelta(hours=hour),
            temperature_degc=15.0 + hour % 24 / 4,
            **more,
        )
        for hour in range(count)
    ]
