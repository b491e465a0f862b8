from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from outpace.estimation.observations import WHOLE_HOUSE
from outpace.season.card_readings import card_readings
from outpace.terms.place import Farm, House
from outpace.terms.scouting import Card
from outpace.terms.tables import Snapshot

FARM = Farm(farm="example cove", latitude=54, longitude=-3, time_zone="UTC", currency="EUR")
SOUTH = House(
    farm="example cove", house="south", crop="sweet_pepper", area_m2=400, plants=900, planted=date(2026, 4, 1)
)
HUNG = datetime(2026, 4, 2, 9, tzinfo=UTC)


def reading(days, winged, card="one", **other):
    given = {"farm": "example cove", "house": "south", "card": card, "hung": HUNG}
    return Card(**{**given, "time": HUNG + timedelta(days=days), "winged": winged, **other})


def read(*rows, zones=("whole house",)):
    book = Snapshot(as_of=datetime(2026, 5, 1, tzinfo=UTC), head="", rows={"cards": rows})
    start = HUNG - timedelta(days=1)
    return card_readings(book, FARM, SOUTH, zones, lambda moment: (moment - start).total_seconds() / 86400)


def test_each_reading_counts_from_the_one_before_it():
    found = read(reading(14, 5), reading(7, 2))
    assert [(card.day, card.days, card.winged, card.zone) for card in found] == [(8, 7, 2, 0), (15, 7, 5, 0)]


def test_a_reading_without_a_number_is_no_zero_and_a_new_card_counts_from_its_hanging():
    found = read(reading(7, None), reading(14, 5), reading(21, 1, hung=HUNG + timedelta(days=18)))
    assert [(card.days, card.winged) for card in found] == [(14, 5), (pytest.approx(3), 1)]


def test_cards_of_other_houses_and_earlier_crops_are_left_out_and_zones_are_found():
    rows = (
        reading(7, 1, house="north"),
        reading(
            7, 2, card="old", time=datetime(2026, 3, 1, tzinfo=UTC), hung=datetime(2026, 2, 1, tzinfo=UTC)
        ),
        reading(7, 3, card="east", zone="east"),
        reading(8, 4, card="door"),
        reading(0, 0, card="just hung"),
    )
    found = read(*rows, zones=("west", "east"))
    assert [(card.winged, card.zone) for card in found] == [(3, 1), (4, WHOLE_HOUSE)]
