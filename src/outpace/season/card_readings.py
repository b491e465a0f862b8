"""The cards of one house, turned from rows of the book into what the estimate reads."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from datetime import datetime

from outpace.estimation.cards import CardSeen
from outpace.estimation.observations import WHOLE_HOUSE
from outpace.season.indexed import of_house
from outpace.terms.place import Farm, House
from outpace.terms.scouting import Card
from outpace.terms.tables import Snapshot


def card_readings(
    snapshot: Snapshot,
    farm: Farm,
    house: House,
    zones: Sequence[str],
    day_of: Callable[[datetime], float],
) -> tuple[CardSeen, ...]:
    """Return the readings of a house's cards of this crop, each with the time since it was hung or read before.

    A reading on which no number was written down is passed over, and the next one counts from the last number. A card
    that was read at the hour it was hung has caught nothing yet.

    Parameters
    ----------
    zones : sequence of str
        In the order of the model.
    day_of : callable
        Day since day 0 of a moment.
    """
    by_card: dict[str, list[Card]] = defaultdict(list)
    for row in of_house(snapshot, Card, farm, house):
        if row.winged is not None and (house.planted is None or row.time.date() >= house.planted):
            by_card[row.card].append(row)
    found = []
    for rows in by_card.values():
        since = None
        for row in sorted(rows, key=lambda each: each.time):
            begun = row.hung if since is None or row.hung > since else since
            since = row.time
            if row.time > begun and day_of(row.time) > 0:
                place = (
                    zones.index(row.zone) if row.zone in zones else (0 if len(zones) == 1 else WHOLE_HOUSE)
                )
                days = (row.time - begun).total_seconds() / 86400
                found.append(CardSeen(day_of(row.time), days, int(row.winged or 0), place))
    return tuple(sorted(found, key=lambda each: each.day))
