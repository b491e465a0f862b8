"""A logger's questions are asked once."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.logger_files import LATER, START, Maker, half_hours

from outpace.errors import OutpaceError
from outpace.intake.climate_file import preview, read
from outpace.intake.profile import (
    DUPLICATES,
    PLACES,
    UNITS,
    Profile,
    ProfileShelf,
    SensorColumn,
    sensor_answer,
)
from outpace.intake.written_time import ORDERS

ASKING = Maker(headings=("Time", "Temp"))


def bring(data: bytes, shelf: ProfileShelf, answers: Profile | None = None):
    return read(
        data, farm="F", house="H", time_zone="Europe/Madrid", shelf=shelf, answers=answers, now=LATER
    )[0]


def test_an_answer_is_kept_and_the_next_file_of_the_logger_is_read_without_asking(tmp_path):
    shelf = ProfileShelf(tmp_path / "loggers.json")
    with pytest.raises(OutpaceError):
        bring(ASKING.write(half_hours(START, 20)), shelf)
    assert shelf.all() == {}
    bring(ASKING.write(half_hours(START, 20)), shelf, Profile(name="old one", temperature_unit="degc"))
    later = half_hours(START.replace(month=6), 20)
    assert [row.temperature_degc for row in bring(ASKING.write(later), shelf)] == [degc for _, degc in later]
    assert [profile.name for profile in shelf.all().values()] == ["old one"]


def test_a_file_of_another_logger_is_asked_about_anew(tmp_path):
    shelf = ProfileShelf(tmp_path / "loggers.json")
    bring(ASKING.write(half_hours(START, 20)), shelf, Profile(temperature_unit="degc"))
    other = Maker(headings=("When", "Temp")).write(half_hours(START, 20))
    assert [q.code for q in preview(other, shelf=shelf, now=LATER).questions] == ["temperature_unit"]


def test_a_new_answer_goes_before_the_kept_one(tmp_path):
    shelf = ProfileShelf(tmp_path / "loggers.json")
    values = [(time, 59.0) for time, _ in half_hours(START, 20)]
    bring(ASKING.write(values), shelf, Profile(temperature_unit="degc"))
    rows = bring(ASKING.write(values), shelf, Profile(temperature_unit="degf"))
    assert rows[0].temperature_degc == 15.0
    assert bring(ASKING.write(values), shelf)[0].temperature_degc == 15.0


def test_serial_numbers_in_headings_do_not_make_another_logger(tmp_path):
    shelf = ProfileShelf(tmp_path / "loggers.json")
    one = Maker(headings=("Time", "Temp (S/N: 20411111)")).write(half_hours(START, 20))
    two = Maker(headings=("Time", "Temp (S/N: 20422222)")).write(half_hours(START, 20))
    seen = preview(one, shelf=shelf, now=LATER)
    assert seen.profile.fingerprint == preview(two, shelf=shelf, now=LATER).profile.fingerprint


def test_a_broken_shelf_is_named_and_not_written_over(tmp_path):
    path = tmp_path / "loggers.json"
    path.write_text('{"profiles": [{"colour": "red"}]}')
    with pytest.raises(OutpaceError):
        ProfileShelf(path).all()
    path.write_text("not json")
    with pytest.raises(OutpaceError) as told:
        ProfileShelf(path).keep(Profile(fingerprint="a"))
    assert str(path) in told.value.where
    assert path.read_text() == "not json"


maybe = st.none()
PROFILES = st.builds(
    Profile,
    name=st.text(max_size=10),
    fingerprint=st.text("0123456789abcdef", min_size=16, max_size=16),
    temperature_unit=maybe | st.sampled_from(UNITS),
    date_order=maybe | st.sampled_from(ORDERS),
    decimal=maybe | st.sampled_from(["comma", "point"]),
    clock=maybe | st.sampled_from(["farm", "winter", "utc", "+02:00"]),
    duplicates=maybe | st.sampled_from(DUPLICATES),
    sensors=st.lists(
        st.builds(SensorColumn, st.text(min_size=1), maybe | st.text(), maybe | st.sampled_from(PLACES)),
        max_size=3,
    ).map(tuple),
    humidity=maybe | st.text(max_size=5),
)


@given(PROFILES)
def test_a_profile_comes_back_from_json(profile):
    assert Profile.from_json(json.loads(json.dumps(profile.to_json()))) == profile


@given(PROFILES)
def test_no_answer_changes_nothing_and_a_whole_answer_takes_over(profile):
    assert profile.with_answers(Profile()) == profile
    assert Profile().with_answers(profile) == profile


@pytest.mark.parametrize(
    "wrong",
    [
        {"temperature_unit": "K"},
        {"date_order": "dmy"},
        {"decimal": "."},
        {"duplicates": "all"},
        {"clock": "x"},
    ],
)
def test_an_answer_that_is_none_is_refused_with_the_choices(wrong):
    with pytest.raises(OutpaceError) as told:
        Profile(**wrong)
    assert told.value.allowed


def test_a_column_is_told_with_its_place_and_its_name():
    assert sensor_answer("T1 = x=canopy") == SensorColumn("T1 = x", None, "canopy")
    assert sensor_answer("Temp") == SensorColumn("Temp")
    with pytest.raises(OutpaceError):
        sensor_answer("Temp=cellar")
