"""Trials as people keep them: headings, units, decimal marks, several trials in one table, and mistakes."""

from __future__ import annotations

import io

import pytest
import xlsxwriter

from outpace.errors import ManyErrors, OutpaceError
from outpace.intake.trial_columns import TrialTold
from outpace.intake.trial_table import FEEDING, TEMPERATURE, read_trial


def read(text, **told):
    told.setdefault("columns", {})
    return read_trial(text.encode() if isinstance(text, str) else text, TrialTold(**told), name="trial.csv")


@pytest.mark.parametrize(
    "text",
    [
        "temperature,days\n10,20\n20,8\n30,5\n",
        "Temp (°C);Entwicklung Tage;n\n10;20,0;31\n20;8,0;30\n30;5,0;12\n".replace("Entwicklung ", ""),
        "T [C]\tDuration (h)\n10\t480\n20\t192\n30\t120\n",
        "temp_degc,rate\n10,0.05\n20,0.125 \n30,0.2\n",
        "Temperatur °F,Dauer\n50,20\n68,8\n86,5\n",
        "temperature_degf,development time (days)\n50,20\n68,8\n86,5\n",
        "temperature,time (hours)\n10 °C,480\n20 °C,192\n30 °C,120\n",
    ],
)
def test_one_trial_written_in_seven_ways_is_read_alike(text):
    told = {"decimal": "point"} if "0.125" in text else {}
    trial = read(text, **told)
    assert trial.kind == TEMPERATURE
    assert trial.x == pytest.approx((10, 20, 30))
    assert trial.y == pytest.approx((1 / 20, 1 / 8, 1 / 5))


def test_a_workbook_is_read_as_a_table():
    file = io.BytesIO()
    with xlsxwriter.Workbook(file) as book:
        sheet = book.add_worksheet()
        for at, row in enumerate([("Temperature", "Days"), (10, 20.5), (20, 8), (30, "none")]):
            sheet.write_row(at, 0, row)
    trial = read(file.getvalue())
    assert trial.x == (10, 20, 30)
    assert trial.y == pytest.approx((1 / 20.5, 1 / 8, 0.0))


def test_what_nobody_completed_is_a_rate_of_none_and_an_empty_cell_is_not_recorded():
    trial = read("temp degC,days\n10,20\n20,\n30,5\n35,none\n")
    assert trial.y == pytest.approx((1 / 20, 1 / 5, 0.0))
    assert trial.left_out == ((3, "a cell is empty: not recorded"),)


def test_an_untold_unit_is_told_back_and_one_that_cannot_be_celsius_is_asked():
    assert "taken as °C" in read("temp,days\n10,20\n20,8\n30,5\n").assumed[0]
    with pytest.raises(OutpaceError, match="goes up to 86 and its unit is not told") as asked:
        read("temp,days\n50,20\n68,8\n86,5\n")
    assert "--temperature-unit degf" in asked.value.hint
    assert read("temp,days\n50,20\n68,8\n86,5\n", temperature_unit="degf").x == pytest.approx((10, 20, 30))


def test_columns_that_headings_do_not_tell_are_asked_for_and_can_be_told():
    text = "warmth,how long\n10,20\n20,8\n30,5\n"
    with pytest.raises(ManyErrors) as asked:
        read(text)
    assert "no column is known as temperature" in asked.value.text()
    assert "no column is known as days, hours or rate" in asked.value.text()
    assert read(text, columns={"warmth": "temperature", "how long": "days"}).x == (10, 20, 30)


def test_days_and_rate_together_are_asked_about():
    text = "temp,days,rate\n10,20,.05\n20,8,.125\n30,5,.2\n"
    with pytest.raises(OutpaceError, match="both tell how fast it went"):
        read(text, decimal="point")
    assert read(text, columns={"rate": "ignore"}, decimal="point").y == pytest.approx((0.05, 0.125, 0.2))


def test_a_table_of_several_trials_is_asked_for_one():
    text = "stage,temp,days\negg,10,20\negg,20,8\negg,30,5\nlarva,10,30\nlarva,20,12\n"
    with pytest.raises(OutpaceError, match="parts the table into 2 trials") as asked:
        read(text)
    assert '--only "stage=egg"' in asked.value.hint
    assert read(text, only={"stage": "Egg"}).x == (10, 20, 30)
    with pytest.raises(OutpaceError, match="no row has stage 'pupa'"):
        read(text, only={"stage": "pupa"})


def test_a_feeding_trial_is_known_by_what_was_offered_and_eaten():
    trial = read("density;eaten;hours\n2;1;24\n8;5;24\n32;9;24\n")
    assert (trial.kind, trial.x, trial.y, trial.days) == (FEEDING, (2, 8, 32), (1, 5, 9), (1, 1, 1))
    with pytest.raises(OutpaceError, match="how long the trial ran is not told"):
        read("density;eaten\n2;1\n8;5\n")
    assert read("density;eaten\n2;1\n8;5\n", days=2.0).days == (2.0, 2.0)


def test_a_feeding_trial_at_several_temperatures_is_asked_for_one():
    text = "temp,offered,eaten\n20,2,1\n20,8,5\n25,2,2\n25,8,7\n"
    with pytest.raises(OutpaceError, match="column 'temp' parts the table into 2 trials"):
        read(text, days=1.0)
    assert read(text, days=1.0, only={"temp": "25"}).y == (2, 7)


@pytest.mark.parametrize(
    ("text", "what", "allowed"),
    [
        ("temp,days\n10,20\n200,8\n30,5\n", "its unit is not told", "Fahrenheit"),
        ("temp (°C),days\n10,20\n200,8\n30,5\n", "temperature 200 °C", "must lie between -20 and 60 °C"),
        ("temp,days\n10,20\n20,-8\n30,5\n", "days -8", "must be above 0"),
        ("temp,days\n10,20\n20,8 or 9\n30,5\n", "'8 or 9'", "must be a number"),
        ("temp,rate\n10,20\n20,8\n30,5\n", "rate 20 per day", "must lie between 0 and 5"),
        ("offered,eaten,days\n10,12,1\n", "12 eaten", "must lie between 0 and the 10 offered"),
        ("offered,eaten,days\n0,0,1\n", "0 offered", "must be above 0"),
        ("offered,eaten,days\n10,5,0\n", "a trial of 0 days", "must be above 0"),
    ],
)
def test_a_mistake_is_told_with_row_column_what_is_allowed_and_what_to_do(text, what, allowed):
    with pytest.raises(OutpaceError) as error:
        read(text)
    told = error.value.text()
    assert what in told
    assert allowed in told
    assert "`trial.csv`" in told
    assert error.value.hint


def test_all_mistakes_of_a_table_are_told_together():
    with pytest.raises(ManyErrors) as error:
        read("temp (C),days\n10,x\n99,8\n30,-1\n")
    assert len(error.value.errors) == 3
    assert "row 2, column 'days'" in error.value.text()


def test_a_number_that_could_be_read_twice_asks_for_the_decimal_mark():
    with pytest.raises(OutpaceError, match="could mean") as error:
        read("temp,days\n10,1.234\n20,8\n30,5\n")
    assert "--decimal point" in error.value.hint
    assert read("temp,days\n10,1.234\n20,8\n30,5\n", decimal="point").y[0] == pytest.approx(1 / 1.234)


@pytest.mark.parametrize("told", [{"columns": {"warmth": "temperature"}}, {"columns": {"temp": "colour"}}])
def test_a_column_or_field_that_is_not_there_is_refused(told):
    with pytest.raises(OutpaceError) as error:
        read("temp,days\n10,20\n20,8\n30,5\n", **told)
    assert error.value.allowed
    assert error.value.hint
