"""What a person hears when a release is written down; the release itself is never refused."""

from __future__ import annotations

import dataclasses
import doctest
from datetime import UTC, date, datetime

import pytest

import outpace.season.release_warnings as release_warnings
from outpace.season.parcels import arrival_from_words, release_from_words
from outpace.season.release_warnings import sun_height
from outpace.terms.enemies import Lot, OrderLine, Release
from outpace.terms.place import Climate, Farm, House
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Spray

NOW = datetime(2026, 7, 24, 18, tzinfo=UTC)
FARM = Farm(farm="example cove", latitude=52, longitude=2, time_zone="Europe/Paris", currency="EUR")
SOUTH = House(farm="example cove", house="south", crop="sweet_pepper", area_m2=400, plants=900)
LOT = Lot(
    lot="B7",
    enemy="aphidius_colemani",
    form="mummies",
    label_counts="units_in_pack",
    labelled_number=500,
    packed=date(2026, 7, 22),
    arrived=datetime(2026, 7, 23, 9, tzinfo=UTC),
)


def known(**rows):
    rows = {"farm": (FARM,), "houses": (SOUTH,), "lots": (LOT,), **rows}
    return Snapshot(as_of=NOW, head="", rows={name: tuple(each) for name, each in rows.items()})


def heard(snapshot, *, on="2026-07-24T10:00", number=100, **words):
    words = {"enemy": None, "form": None, "lot": "B7", **words}
    entered = release_from_words(
        snapshot, "south", label_counts="units_in_pack", number=number, on=on, **words
    )
    assert entered.rows
    return " ".join(entered.cautions)


def spray(day, **figures):
    return Spray(
        spray=f"s{day}",
        farm="example cove",
        house="south",
        start=datetime(2026, 7, day, 6, tzinfo=UTC),
        kind="fungicide",
        **figures,
    )


def test_the_example_of_the_module_gives_what_it_shows():
    result = doctest.testmod(release_warnings)
    assert (result.attempted > 0, result.failed) == (True, 0)


def test_a_quiet_release_is_written_down_without_a_word():
    assert heard(known()) == ""


def test_a_spray_without_figures_counts_as_danger():
    told = heard(known(sprays=[spray(20)]))
    assert "unknown counts as danger" in told
    assert "belongs in another house" in told


def test_a_residue_holds_until_its_last_day_and_not_longer():
    figures = {
        "end": datetime(2026, 7, 20, 8, tzinfo=UTC),
        "kill_pest_share": 0.5,
        "kill_enemy_share": 0.9,
        "residual_enemy_share": 0.6,
        "reentry_h": 12.0,
        "harvest_interval_d": 1.0,
    }
    acting = heard(known(sprays=[spray(20, residual_d=14.0, **figures)]))
    assert "harms" in acting
    assert heard(known(sprays=[spray(20, residual_d=2.0, **figures)])) == ""


@pytest.mark.parametrize(("degc", "warned"), [(26.9, False), (27.0, True), (31.0, True)])
def test_the_heat_line_begins_at_27_degrees(degc, warned):
    # Source: heat line from 27 °C (common practice).
    assert ("with water and a partner" in heard(known(), canopy_degc=degc)) is warned


def test_without_a_thermometer_the_record_of_the_house_speaks():
    hot = Climate(
        farm="example cove",
        house="south",
        place="canopy",
        source="logger",
        time=datetime(2026, 7, 24, 8, 15, tzinfo=UTC),
        temperature_degc=30.0,
    )
    assert "30 °C in the crop" in heard(known(climate=[hot]))
    assert heard(known(climate=[hot]), canopy_degc=20.0) == ""


def test_adults_by_day_belong_to_dusk_and_at_dusk_people_need_air_and_company():
    adults = {"enemy": "aphidius_ervi", "form": "adults", "lot": None}
    assert "fly to the vents" in heard(known(), on="2026-07-24T13:00", **adults)
    dusk = heard(known(), on="2026-07-23T22:00", **adults)
    assert "burners off" in dusk
    assert "not alone" in dusk


def test_an_old_lot_is_told_and_a_fresh_one_is_not():
    old = dataclasses.replace(LOT, packed=date(2026, 7, 18))
    assert "Packed 6 days before" in heard(known(lots=[old]))


def test_more_than_arrived_is_told_and_the_rest_is_not():
    gone = Release(
        release="r1", farm="example cove", house="south", time=NOW.replace(day=23), lot="B7", number=450
    )
    assert "550 were released from lot B7, whose labels say 500" in heard(known(releases=[gone]))
    assert heard(known(releases=[gone]), number=50) == ""


@pytest.mark.parametrize(
    ("latitude", "longitude", "moment", "height"),
    [
        # Source: closed form, noon height 90° − |latitude − declination| at a solstice and an equinox.
        (52, 0, datetime(2026, 6, 21, 12, tzinfo=UTC), 61.4),
        (52, 0, datetime(2026, 12, 21, 12, tzinfo=UTC), 14.6),
        (-35, 150, datetime(2026, 12, 21, 2, tzinfo=UTC), 78.4),
        (0, 0, datetime(2026, 3, 20, 6, tzinfo=UTC), 0.0),
    ],
)
def test_the_sun_stands_where_the_closed_form_has_it(latitude, longitude, moment, height):
    assert sun_height(latitude, longitude, moment) == pytest.approx(height, abs=1.0)


def arrived(**words):
    told = {
        "form": "mummies",
        "label_counts": "units_in_pack",
        "labelled_number": 400,
        **{name: value for name, value in words.items() if name != "packed"},
    }
    line = OrderLine(
        order="o1",
        line=1,
        farm="example cove",
        supplier="Invented Supply Two",
        enemy="aphidius_colemani",
        form="mummies",
        packs=2,
        pack_size=250,
        delivery_date=date(2026, 7, 23),
        status="placed",
    )
    entered = arrival_from_words(
        known(orders=[line]),
        "B9",
        "aphidius_colemani",
        told,
        packed=words.get("packed"),
        arrived="2026-07-23",
    )
    return " ".join(entered.cautions)


def test_an_arrival_first_says_how_to_open_it_and_then_what_is_wrong_with_it():
    told = arrived(order="o1", line=1)
    assert told.startswith("Open it in moving air, with gloves")
    assert "No packing date told" in told
    assert "100 short of the order" in told
    assert "Set a pot aside" in told
    assert "No packing date" not in arrived(packed="2026-07-22")
    assert "No order o9" in arrived(order="o9", line=1)


def test_adults_are_counted_the_day_they_come():
    assert "Count the living of a few today" in arrived(form="adults")
