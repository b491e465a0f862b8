"""Houses of a farm teach each other within the season, and what ended crops taught goes on into the next."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from outpace.errors import OutpaceError
from outpace.estimation.pooling import Belief, books_of
from outpace.facts.table import load
from outpace.season.case import house_case
from outpace.season.learned import kept_rows, learned_answer
from outpace.season.own_facts import name_of
from outpace.season.pooling import alone, beliefs_of, carried
from outpace.terms.place import Climate, Farm, House
from outpace.terms.scouting import Walk, WalkLine
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import OwnFact

FARM = Farm(farm="example cove", latitude=54, longitude=-3, time_zone="UTC", currency="EUR")
FIRST = datetime(2026, 4, 1, 9, tzinfo=UTC)
GROWTH = ("myzus_persicae", "growth")


def a_house(name, crop="sweet_pepper", **other):
    return House(
        farm=FARM.farm,
        house=name,
        crop=crop,
        area_m2=400,
        plants=900,
        leaves_per_plant=30.0,
        heating_setpoint_degc=17.0,
        vent_setpoint_degc=23.0,
        planted=date(2026, 3, 20),
        **other,
    )


def walks(name, abouts):
    """Weekly walks of sixty leaves told in one line."""
    made = [
        Walk(
            walk=f"{name} {week}",
            farm=FARM.farm,
            house=name,
            time=FIRST + timedelta(days=7 * week),
            unit="leaf",
            chosen="random",
            looked_at=60,
        )
        for week in range(len(abouts))
    ]
    lines = [
        WalkLine(
            walk=walk.walk,
            pest="myzus_persicae",
            looked_at=60,
            infested=min(55, 5 + about // 6),
            aphids_about=about,
        )
        for walk, about in zip(made, abouts, strict=True)
    ]
    return made, lines


def a_book(houses, counts, own=(), day=25):
    told = [walks(name, abouts) for name, abouts in counts.items()]
    return Snapshot(
        as_of=datetime(2026, 4, day, 12, tzinfo=UTC),
        head=f"{[h.house for h in houses]} {[h.removed for h in houses]} {counts} {own} {day}",
        rows={
            "farm": (FARM,),
            "houses": tuple(houses),
            "walks": tuple(walk for made, _ in told for walk in made),
            "walk_lines": tuple(line for _, lines in told for line in lines),
            "own_facts": tuple(own),
            "climate": tuple(
                Climate(
                    farm=FARM.farm,
                    house=house.house,
                    place="canopy",
                    source="logger",
                    time=FIRST.replace(hour=0) + timedelta(hours=hour),
                    temperature_degc=16.0,
                )
                for house in houses
                for hour in range(0, 24 * 24, 3)
            ),
        },
    )


FAST = [12, 60, 300, 1500]


@pytest.fixture(scope="module")
def two():
    """North grew fast for three weeks; south was walked once."""
    return a_book([a_house("north"), a_house("south")], {"north": FAST, "south": [12]})


def test_a_house_walked_once_expects_the_growth_that_its_neighbour_showed(two):
    north = alone(two, FARM, two.rows["houses"][0])
    assert north is not None
    taught = north.taught[GROWTH]
    assert taught.posterior.mean > 0
    found = beliefs_of(house_case(two, FARM, two.rows["houses"][1], members=64))[GROWTH]
    books = books_of(load(), *GROWTH)
    assert 0 < found.mean < taught.posterior.mean
    assert taught.posterior.sd < found.sd < books.sd


def test_a_house_walked_once_teaches_nobody(two):
    assert alone(two, FARM, two.rows["houses"][1]) is None
    assert beliefs_of(house_case(two, FARM, two.rows["houses"][0], members=64)) == {}


def test_what_the_farm_has_taught_is_told_against_the_books(two):
    answer = learned_answer(two)
    growth = next(row for row in answer["rows"] if row["quantity"] == "growth")
    assert answer["houses"] == 1
    assert growth["times"] > 1
    assert growth["low"] < growth["times"] < growth["high"]
    assert growth["over_books_sd"] < 1
    assert not growth["from_last_season"]


def test_nothing_is_kept_while_the_crop_stands(two):
    with pytest.raises(OutpaceError, match="no crop that was walked has ended"):
        kept_rows(two)


def test_what_an_ended_crop_taught_is_kept_once_and_read_by_the_next_crop_alone():
    ended = a_house("north", removed=date(2026, 4, 24))
    kept = kept_rows(a_book([ended], {"north": FAST})).rows
    growth = next(row for row in kept if row.quantity == name_of("growth", date(2026, 4, 24)))
    assert growth.value > 0
    assert growth.seasons == 1
    again = kept_rows(a_book([ended], {"north": FAST}, own=kept)).rows
    assert again == kept  # its own row is not read as if it were news
    book = a_book([replace(ended, planted=date(2027, 3, 1), removed=None)], {}, own=kept)
    facts = load()
    believed = carried(book, facts, FARM, "sweet_pepper", *GROWTH, date(2027, 3, 1))
    assert believed is not None
    assert 0 < believed.mean < growth.value
    assert growth.sd < believed.sd < books_of(facts, *GROWTH).sd
    assert carried(book, facts, FARM, "sweet_pepper", *GROWTH, date(2026, 3, 20)) is None
    assert carried(book, facts, FARM, "cucumber", *GROWTH, date(2027, 3, 1)) is None


def test_the_latest_season_speaks_alone():
    def row(name, value):
        return OwnFact(
            farm=FARM.farm,
            species="myzus_persicae",
            crop="sweet_pepper",
            quantity=name,
            value=value,
            sd=0.1,
            unit="1",
            seasons=1,
        )

    own = [
        row(name_of("growth", date(2024, 10, 1)), -0.5),
        row(name_of("growth", date(2025, 10, 1)), 0.2),
    ]
    book = a_book([a_house("north")], {}, own=own)
    facts = load()
    believed = carried(book, facts, FARM, "sweet_pepper", *GROWTH, date(2026, 3, 20))
    carry = facts.one("", "season_carry").value
    assert believed is not None
    assert believed.mean == pytest.approx(0.2 * carry)
    assert believed != Belief(0.2, 0.1)
