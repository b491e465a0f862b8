"""Everything that the invented farm has recorded, except temperatures, with the moment it became known."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from outpace.season.demo import deliveries, place, walks
from outpace.season.demo.calendar import Season


def dated_rows(season: Season) -> list[tuple[datetime, list[Any]]]:
    """Return the rows of the season by the moment they were written down, oldest first."""
    begun: list[Any] = [
        place.farm_row(),
        *place.house_rows(season),
        *place.zone_rows(),
        *place.level_rows(season),
        *place.pack_rows(season),
    ]
    later: list[Any] = [*place.stage_rows(season), *place.plants_in_rows(season), *place.permit_rows(season)]
    found: list[tuple[datetime, list[Any]]] = [(season.start, begun)]
    found += [(row.time, [row]) for row in later]
    found += walks.walk_rows(season)
    found += deliveries.delivery_rows(season)
    found += deliveries.other_rows(season)
    return sorted(found, key=lambda item: item[0])


def farm_rows(season: Season) -> list[Any]:
    """Return the same rows in one list."""
    return [row for _, rows in dated_rows(season) for row in rows]
