"""Units at the door: exact factors, round trips, and texts that could mean two numbers."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from outpace.errors import OutpaceError
from outpace.units import (
    AREA_M2,
    area_from_m2,
    area_m2,
    area_to_m2,
    difference_to_degc,
    from_degc,
    length_m,
    number,
    rate_from_per_m2,
    rate_per_m2,
    rate_to_per_m2,
    temperature_degc,
    to_degc,
)

REAL = st.floats(min_value=1e-6, max_value=1e9)


def test_the_acre_is_the_international_one():
    # Source: 43,560 square feet of 0.3048 m (recalled): 4046.856 422 4 m² exactly.
    assert area_to_m2(1.0, "acre") == 4046.8564224


def test_fifteen_mu_are_one_hectare():
    # Source: metric mu, 15 to the hectare (recalled).
    assert area_to_m2(15.0, "mu") == 10_000.0


@pytest.mark.parametrize(
    ("text", "per_m2", "tolerance"),
    [
        # Source: release rates of suppliers' leaflets, given there in both units (seller): 1 to 5 per 100 ft²
        # are 0.11 to 0.54 per m², 500 to 2,000 per acre 0.12 to 0.49, 1 to 2 per yd² 1.2 to 2.4.
        ("1 per 100 ft2", 0.11, 0.005),
        ("5 per 100 ft²", 0.54, 0.005),
        ("500/acre", 0.12, 0.005),
        ("2000 per acre", 0.49, 0.005),
        ("1 per yd2", 1.2, 0.05),
        ("2 / square yard", 2.4, 0.05),
        # Source: extension notes (read): 9 ladybirds a square foot are about 97 a m²; one banker plant
        # per 1,000 ft² makes 10.8 per 1,000 m².
        ("9 per sq ft", 97.0, 0.2),
        ("1 per 1,000 ft2", 0.0108, 0.00005),
    ],
)
def test_rates_per_area_agree_with_leaflets_that_print_both_units(text, per_m2, tolerance):
    assert rate_per_m2(text) == pytest.approx(per_m2, abs=tolerance)


def test_areas_agree_with_an_extension_note_that_prints_both_units():
    # Source: scouting note 2016 (read): 1,000 ft² are 93 m², 4,000 ft² 370 m².
    assert area_m2("1 000 ft2") == pytest.approx(93, abs=0.5)
    assert area_m2("4000", "ft2") == pytest.approx(370, abs=2)


def test_lengths_agree_with_a_note_that_prints_both_units():
    # Source: banker plant note 2009 (read): 131 ft are 40 m.
    assert length_m("131 ft") == pytest.approx(40, abs=0.1)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    # Source: fixed points of the two scales, by definition; 86 °F = 30 °C and 75 °F = 24 °C as extension
    # notes print them (read).
    [(32, 0), (212, 100), (-40, -40), (86, 30), (50, 10), (77, 25)],
)
def test_fahrenheit_becomes_celsius_at_known_points(fahrenheit, celsius):
    assert to_degc(float(fahrenheit), "degf") == pytest.approx(celsius, abs=1e-9)
    assert temperature_degc(f"{fahrenheit} °F") == pytest.approx(celsius, abs=1e-9)


@given(st.floats(min_value=-100, max_value=100))
def test_temperature_comes_back_after_a_round_trip(value):
    assert to_degc(from_degc(value, "degf"), "degf") == pytest.approx(value, abs=2e-6)


@given(st.floats(-50, 50), st.floats(-50, 50))
def test_a_difference_of_temperatures_forgets_the_zero_of_the_scale(one, other):
    apart = difference_to_degc(one - other, "degf")
    assert apart == pytest.approx(to_degc(one, "degf") - to_degc(other, "degf"), abs=3e-6)


@given(REAL, st.sampled_from(sorted(AREA_M2)))
def test_area_comes_back_after_a_round_trip(value, unit):
    assert area_from_m2(area_to_m2(value, unit), unit) == pytest.approx(value, rel=1e-14)


@given(REAL, st.sampled_from(sorted(AREA_M2)))
def test_a_rate_times_its_area_is_the_same_number_in_every_unit(value, unit):
    area = 3.0
    assert rate_to_per_m2(value, unit) * area_to_m2(area, unit) == pytest.approx(value * area, rel=1e-14)
    assert rate_from_per_m2(rate_to_per_m2(value, unit), unit) == pytest.approx(value, rel=1e-14)


@given(
    st.integers(min_value=0, max_value=10**9),
    st.integers(min_value=0, max_value=99),
    st.sampled_from([(",", "."), (".", ","), (" ", "."), (" ", ","), ("\u202f", ","), ("'", ".")]),
)
def test_a_number_written_with_groups_and_two_decimals_is_read_back(whole, hundredths, marks):
    group, decimal = marks
    text = f"{whole:,}".replace(",", group) + f"{decimal}{hundredths:02d}"
    assert number(text) == pytest.approx(whole + hundredths / 100, rel=1e-15)


@given(st.floats(min_value=-1e6, max_value=1e6), st.sampled_from([".", ","]))
def test_a_number_with_a_known_decimal_mark_is_read_back(value, decimal):
    text = f"{value:.4f}".replace(".", decimal)
    assert number(text, decimal=decimal) == pytest.approx(value, abs=6e-5)


@pytest.mark.parametrize("text", ["1,234", "12.345", "-7,500", "999.999"])
def test_a_number_that_could_mean_two_is_refused_and_both_are_named(text):
    with pytest.raises(OutpaceError) as told:
        number(text)
    plain = text.replace(",", "").replace(".", "")
    assert plain in told.value.allowed
    assert text.replace(",", ".") in told.value.allowed


@pytest.mark.parametrize(("text", "value"), [("0.125", 0.125), ("0,125", 0.125), ("1234", 1234), (".5", 0.5)])
def test_a_number_that_can_mean_only_one_is_taken(text, value):
    assert number(text) == value


@pytest.mark.parametrize(
    "text", ["", "abc", "1.2.3", "1,23,456", "12,34.5", "nan", "inf", "1e999", "=1+1", "1,2.3,4", "--5"]
)
def test_what_is_no_number_is_refused(text):
    with pytest.raises(OutpaceError):
        number(text)


@pytest.mark.parametrize("text", ["0", "-5", "0 ha", "12 bananas", "m2", ""])
def test_an_area_that_is_none_is_refused(text):
    with pytest.raises(OutpaceError):
        area_m2(text)


@pytest.mark.parametrize(
    ("text", "m2"),
    [
        ("240", 240),
        ("240 m²", 240),
        ("0,5 ha", 5000),
        ("2 decares", 2000),
        ("1200sqm", 1200),
        ("0.5acre", 2023.4282112),
    ],
)
def test_an_area_is_read_with_its_unit_as_people_write_it(text, m2):
    assert area_m2(text) == pytest.approx(m2, rel=1e-12)
