"""What a reader sees and types in their own units is the same quantity that is kept in SI."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from babel.dates import format_date
from babel.numbers import get_currency_precision
from hypothesis import given
from hypothesis import strategies as st

from outpace import currency, measures
from outpace.language import UNITS, Manner, manner_of, mannered, week_number, week_of, week_start, week_year

AREAS = st.sampled_from(UNITS["area"])
DEGREES = st.sampled_from(UNITS["temperature"])
DAYS = st.dates(date(1990, 1, 1), date(2090, 12, 31))


def told(**chosen):
    return mannered(Manner(**chosen))


@pytest.mark.parametrize(
    ("unit", "value", "square_metres"),
    [
        # Source: the international yard and pound agreement of 1959, 1 ft = 0.3048 m exactly (recalled).
        ("ft2", 1.0, 0.09290304),
        # Source: the decare is 10 ares of 100 m² (recalled).
        ("decare", 1.0, 1000.0),
        # Source: 15 mu make a hectare (recalled): 2000/3 m².
        ("mu", 3.0, 2000.0),
        ("ha", 1.0, 10_000.0),
        # Source: the acre of 43 560 ft² (recalled).
        ("acre", 1.0, 4046.8564224),
    ],
)
def test_a_typed_area_is_kept_in_square_metres(unit, value, square_metres):
    with told(area=unit):
        assert measures.read_area(f"{value:g}") == pytest.approx(square_metres, rel=1e-12)
        assert measures.area_value(square_metres) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    # Source: water freezes at 32 °F and boils at 212 °F; the scales meet at -40 (definition of the scale).
    [("32", 0.0), ("212", 100.0), ("-40", -40.0), ("98.6", 37.0)],
)
def test_a_typed_temperature_is_kept_in_degrees_celsius(fahrenheit, celsius):
    with told(temperature="degf"):
        assert measures.read_temperature(fahrenheit) == pytest.approx(celsius, abs=1e-6)
        assert measures.temperature(celsius) == f"{fahrenheit} °F"


def test_a_unit_that_is_written_beside_a_number_goes_before_the_chosen_one():
    with told(temperature="degf", area="mu"):
        assert measures.read_temperature("18 °C") == 18.0
        assert measures.read_area("240 m2") == 240.0


def test_a_reader_who_chose_no_unit_types_in_that_of_the_farm():
    assert measures.read_temperature("64.4", farm="degf") == pytest.approx(18.0)
    assert measures.read_area("1", farm="decare") == 1000.0
    with told(temperature="degc", area="ha"):
        assert measures.read_temperature("18", farm="degf") == 18.0
        assert measures.read_area("1", farm="decare") == 10_000.0


@given(st.floats(-60, 90), DEGREES)
def test_a_temperature_comes_back_as_it_was_told(value, unit):
    with told(temperature=unit):
        shown = f"{measures.of_unit(value, 'degC'):.8f}"
        assert measures.read_temperature(shown) == pytest.approx(value, abs=2e-6)


@given(st.floats(0.5, 1e6), AREAS, st.booleans())
def test_an_area_comes_back_as_it_was_told(value, unit, small):
    with told(area=unit):
        shown = f"{measures.area_value(value, small=small):.15f}"
        assert measures.read_area(shown, small=small) == pytest.approx(value, rel=1e-9)


@given(st.floats(1e-4, 1e5), AREAS, st.booleans())
def test_a_rate_comes_back_as_it_was_told(value, unit, small):
    with told(area=unit):
        shown = f"{measures.rate_value(value, small=small):.15f}"
        assert measures.read_rate(shown, small=small) == pytest.approx(value, rel=1e-9)


@given(st.floats(0.001, 100.0), st.floats(1.0, 1e5), AREAS)
def test_a_rate_times_its_area_is_the_same_number_of_animals_in_every_unit(rate, ground, unit):
    with told(area=unit):
        areas = measures.area_value(ground) / (100.0 if unit == "ft2" else 1.0)  # told per 100 ft²
        assert measures.rate_value(rate) * areas == pytest.approx(rate * ground, rel=1e-9)


@given(st.floats(-30, 30), st.floats(-30, 30), DEGREES)
def test_two_temperatures_lie_apart_by_their_difference(one, other, unit):
    with told(temperature=unit):
        apart = measures.of_unit(one, "degC") - measures.of_unit(other, "degC")
        assert measures.of_unit(one - other, "degC d") == pytest.approx(apart, abs=1e-5)


@given(st.floats(-20, 45), DEGREES, AREAS)
def test_a_program_is_told_si_whatever_people_chose(value, degrees, area):
    with mannered(Manner(temperature=degrees, area=area, si=True)):
        assert measures.temperature(value, 3).endswith(" °C")
        assert measures.area_sign() == "m²"
        assert measures.per_area() == "per m²"


def test_what_a_program_types_means_what_a_person_there_means_by_it():
    with mannered(Manner(temperature="degf", area="ft2", si=True)):
        assert measures.read_temperature("212") == 100.0
        assert measures.area_typed() == "ft2"


@pytest.mark.parametrize("unit", UNITS["area"])
def test_every_unit_of_area_can_be_told_by_name_and_as_a_rate(unit):
    with told(area=unit):
        assert re.fullmatch(r"[\d.,]+ \S+", measures.area(1234.0))
        assert measures.rate(0.25).partition(" per ")[2]


def test_what_fills_a_form_is_read_in_the_units_it_was_shown_with():
    with told(temperature="degf", area="ft2"):
        sent = measures.units_sent()
    with told(temperature="degc", area="ha"):
        measures.read_in(sent)
        assert measures.read_temperature("212") == 100.0
    for nonsense in ("", "degk m2", "degc furlong", "degc"):
        with told(temperature="degc", area="ha"):
            measures.read_in(nonsense)
            assert (measures.temperature_key(), measures.area_key()) == ("degc", "ha")


def test_a_number_in_any_unit_has_the_readers_decimal_mark():
    with told(decimal=",", temperature="degf", area="mu"):
        assert measures.temperature(27.0) == "80,6 °F"
        assert measures.area(1500.0) == "2,25 mu"
        assert currency.money(1204.5, "EUR") == "EUR 1\u00a0204,50"


@pytest.mark.parametrize(
    ("code", "digits"),
    # Source: ISO 4217, list one, minor units (recalled); checked against the CLDR data that Babel carries.
    [
        ("EUR", 2), ("USD", 2), ("CNY", 2), ("TRY", 2), ("MXN", 2),
        ("JPY", 0), ("KRW", 0), ("CLP", 0), ("ISK", 0), ("VND", 0), ("PYG", 0),
        ("KWD", 3), ("BHD", 3), ("TND", 3), ("JOD", 3), ("OMR", 3),
    ],
)  # fmt: skip
def test_money_has_the_decimals_of_its_currency(code, digits):
    shown = currency.money(1234.56789, code)
    assert len(shown.partition(".")[2]) == digits == get_currency_precision(code)
    assert shown.startswith(f"{code} 1,23")


@pytest.mark.parametrize(
    ("day", "year", "week"),
    # Source: ISO 8601, the examples of years that begin and end inside a week (recalled).
    [
        ("2005-01-01", 2004, 53), ("2005-01-02", 2004, 53), ("2005-12-31", 2005, 52),
        ("2006-01-01", 2005, 52), ("2007-01-01", 2007, 1), ("2007-12-30", 2007, 52),
        ("2007-12-31", 2008, 1), ("2008-12-28", 2008, 52), ("2008-12-29", 2009, 1),
        ("2009-12-31", 2009, 53), ("2010-01-03", 2009, 53), ("2010-01-04", 2010, 1),
    ],
)  # fmt: skip
def test_iso_weeks_hold_the_first_thursday(day, year, week):
    when = date.fromisoformat(day)
    assert (week_year(when), week_number(when)) == (year, week)


@pytest.mark.parametrize(
    ("day", "year", "week"),
    # Source: the United States rule of the calendar data of Unicode: from Sunday, week 1 holds 1 January (recalled).
    [
        ("2025-12-27", 2025, 52), ("2025-12-28", 2026, 1), ("2026-01-01", 2026, 1), ("2026-01-03", 2026, 1),
        ("2026-01-04", 2026, 2), ("2023-01-01", 2023, 1), ("2022-12-31", 2022, 53), ("2028-12-31", 2029, 1),
    ],
)  # fmt: skip
def test_us_weeks_begin_on_sunday_and_the_first_holds_new_year(day, year, week):
    when = date.fromisoformat(day)
    with told(weeks="us"):
        assert (week_year(when), week_number(when)) == (year, week)


@given(DAYS, st.sampled_from([("iso", "de_DE"), ("us", "en_US")]))
def test_weeks_are_those_of_another_program(when, rule):
    weeks, locale = rule
    # Witness: Babel, by other authors, on the calendar data of Unicode; 4 days and Monday in Germany, 1 and Sunday in
    # the United States.
    with told(weeks=weeks):
        assert week_number(when) == int(format_date(when, "w", locale=locale))
        assert week_year(when) == int(format_date(when, "YYYY", locale=locale))


@given(DAYS, st.sampled_from(["iso", "us"]))
def test_a_week_has_seven_days_of_one_number(when, weeks):
    with told(weeks=weeks):
        first = week_start(when)
        days = [first + timedelta(days=n) for n in range(7)]
        assert when in days
        assert {(week_year(day), week_number(day)) for day in days} == {(week_year(when), week_number(when))}
        assert str(week_number(when)) in week_of(when)


def test_units_are_no_part_of_a_language_and_nonsense_is_not_chosen():
    assert manner_of("es", temperature="kelvin", area="mu") == Manner(language="es", decimal=",", area="mu")
