"""Logger files of any common dialect become the readings they hold, or a question."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.intake.logger_files import (
    LATER,
    MADRID,
    VALUES,
    Maker,
    bring,
    half_hours,
    pairs,
    same,
)

from outpace.errors import ManyErrors, OutpaceError
from outpace.intake.climate_file import preview, read
from outpace.intake.profile import Profile, SensorColumn


def codes(data: bytes, answers: Profile | None = None) -> list[str]:
    seen = preview(data, answers=answers, time_zone="Europe/Madrid", now=LATER)
    return [question.code for question in seen.questions]


def day_month(local: datetime) -> str:
    return f"{local:%d/%m/%Y %H:%M}"


def american(local: datetime) -> str:
    return f"{local:%m/%d/%y %I:%M:%S %p}"


MAKERS = {
    "ISO, comma": Maker(),
    "ISO with offset": Maker(stamp=lambda local: local.isoformat()),
    "UTC with Z": Maker(stamp=lambda local: f"{local.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"),
    "byte order mark": Maker(encoding="utf-8-sig", stamp=day_month),
    "semicolon, decimal comma, dotted dates, western code page": Maker(
        separator=";",
        decimal=",",
        encoding="cp1252",
        stamp=lambda local: f"{local:%d.%m.%Y %H:%M}",
        headings=("Datum/Zeit", "Temperatur [°C]"),
        preamble=("Gerät;4711", "Seriennummer;0815-99", ""),
    ),
    "old DOS code page": Maker(
        separator=";", decimal=",", encoding="cp437", headings=("Fecha", "Temp. °C"), stamp=day_month
    ),
    "tab, UTF-16": Maker(separator="\t", encoding="utf-16", stamp=day_month),
    "UTF-16 without mark": Maker(separator="\t", encoding="utf-16-le", stamp=day_month),
    "bars": Maker(separator="|", stamp=lambda local: f"{local:%Y/%m/%d %H:%M}"),
    "month first, AM and PM, Fahrenheit": Maker(
        stamp=american, fahrenheit=True, headings=("Date Time", "Temp, °F (LGR S/N: 20412345)")
    ),
    "month by name": Maker(stamp=lambda local: f"{local:%d-%b-%Y %H:%M}"),
    "month by name first": Maker(stamp=lambda local: f"{local:%b %d, %Y %H:%M}"),
    "seconds since 1970": Maker(stamp=lambda local: f"{local.timestamp():.0f}"),
    "milliseconds since 1970": Maker(stamp=lambda local: f"{local.timestamp() * 1000:.0f}"),
    "one run of digits": Maker(stamp=lambda local: f"{local:%Y%m%d%H%M}"),
    "newest first": Maker(newest_first=True, stamp=day_month),
    "separator line for spreadsheets": Maker(separator=";", preamble=("sep=;",), stamp=day_month),
    "no newline habits": Maker(newline="\n", tail=("", "End of data")),
    "quoted decimal commas": Maker(decimal=",", stamp=day_month),
    "units in a row of their own": Maker(headings=("", "°C"), preamble=("Time,Air temperature",)),
    "weekday before the date": Maker(stamp=lambda local: f"{local:%a %d.%m.%Y %H:%M}", separator=";"),
    "hour h minute": Maker(stamp=lambda local: f"{local:%d/%m/%Y %Hh%M}"),
}


@pytest.mark.parametrize("maker", MAKERS.values(), ids=MAKERS.keys())
def test_a_file_of_each_maker_gives_the_readings_it_was_written_from(maker):
    assert same(pairs(maker.write(VALUES)), VALUES)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(
        [("utf-8", "°C"), ("utf-8-sig", "°C"), ("utf-16", "°C"), ("cp1252", "°C"), ("ascii", "degC")]
    ),
    st.sampled_from([",", ";", "\t", "|"]),
    st.sampled_from([".", ","]),
    st.sampled_from(
        ["%Y-%m-%d %H:%M", "%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M", "%d.%m.%y %H:%M", "%d %b %Y %H:%M"]
    ),
    st.booleans(),
    st.integers(0, 4),
    st.datetimes(datetime(2024, 1, 1), datetime(2026, 12, 1)),
    st.sampled_from(["Europe/Madrid", "Pacific/Auckland", "America/St_Johns", "Asia/Kolkata"]),
)
def test_any_mixture_of_habits_gives_the_readings_back(encoding, sep, dec, form, newest, lines, day, zone):
    name, unit = encoding
    maker = Maker(
        separator=sep,
        decimal=dec,
        encoding=name,
        stamp=lambda local: local.strftime(form),
        headings=("Time", f"Temp [{unit}]"),
        newest_first=newest,
        preamble=[f"Logger {at}" for at in range(lines)],
        zone=ZoneInfo(zone),
    )
    values = half_hours(day.replace(minute=0, second=0, microsecond=0, tzinfo=UTC), 110)
    order = {"%m/%d": "month", "%d/%m": "day", "%d.%m": "day"}.get(form[:5])
    # Where the clocks change, a night of half-hourly rows has each second of the two hours told by row order.
    assert same(pairs(maker.write(values), Profile(date_order=order), zone), values)


def test_date_and_time_in_columns_of_their_own_are_joined():
    lines = ["Date;Time;Temp °C;Hum %RH"]
    for time, degc in VALUES:
        local = time.astimezone(MADRID)
        lines.append(f"{local:%d/%m/%Y};{local:%H:%M:%S};{degc};81.5")
    rows, _ = bring("\n".join(lines).encode())
    assert same([(row.time, row.temperature_degc) for row in rows], VALUES)
    assert {row.humidity_pct for row in rows} == {81.5}


def test_a_heading_that_names_its_offset_is_believed_before_the_farm():
    fixed = Maker(
        headings=("Date Time, GMT+03:00", "Temp, °C"), stamp=lambda local: f"{local:%Y-%m-%d %H:%M}"
    )
    fixed.zone = ZoneInfo("Etc/GMT-3")
    assert same(pairs(fixed.write(VALUES)), VALUES)


# Order of day and month


def test_an_ambiguous_order_is_asked_with_both_meanings():
    one_day = Maker(stamp=day_month).write(half_hours(datetime(2026, 4, 2, 23, 0, tzinfo=UTC), 10))
    with pytest.raises(OutpaceError) as told:
        bring(one_day)
    assert "3 April 2026" in told.value.what
    assert "4 March 2026" in told.value.what
    assert "--date-order day" in told.value.hint


def test_the_answer_settles_the_order():
    values = half_hours(datetime(2026, 4, 3, 6, 0, tzinfo=UTC), 10)
    assert same(pairs(Maker(stamp=day_month).write(values), Profile(date_order="day")), values)
    got = pairs(Maker(stamp=day_month).write(values), Profile(date_order="month"))
    assert got[0][0].astimezone(MADRID).date().isoformat() == "2026-03-04"


def test_one_day_above_twelve_settles_the_order_for_the_whole_file():
    values = half_hours(datetime(2026, 4, 11, 23, 0, tzinfo=UTC), 60)
    assert codes(Maker(stamp=day_month).write(values)) == []


def test_days_that_follow_each_other_settle_the_order():
    values = half_hours(datetime(2026, 4, 2, 23, 0, tzinfo=UTC), 100)
    assert same(pairs(Maker(stamp=day_month).write(values)), values)
    assert same(pairs(Maker(stamp=lambda local: f"{local:%m/%d/%Y %H:%M}").write(values)), values)


def test_dates_in_two_orders_are_refused_with_both_named():
    data = b"time,temp C\n13/04/2026 10:00,20\n04/14/2026 10:30,20\n04/14/2026 11:00,20\n"
    with pytest.raises(OutpaceError) as told:
        bring(data)
    assert "no order in common" in told.value.what
    assert "year first" in told.value.hint


# Units and impossible values


def test_a_file_that_names_no_unit_is_asked_about_with_its_range():
    data = Maker(headings=("Time", "Temp")).write(VALUES)
    seen = preview(data, time_zone="Europe/Madrid", now=LATER)
    assert [question.code for question in seen.questions] == ["temperature_unit"]
    assert "run from" in seen.questions[0].text
    assert same(pairs(data, Profile(temperature_unit="degc")), VALUES)


def test_fahrenheit_under_a_celsius_heading_is_refused_with_the_way_out():
    data = Maker(fahrenheit=True).write([(time, degc + 10) for time, degc in VALUES])
    with pytest.raises(OutpaceError) as told:
        bring(data, name="bay-2.csv")
    assert "above the limit of 60 °C" in told.value.line()
    assert "`bay-2.csv` row" in told.value.where
    assert "--temperature-unit degf" in told.value.hint
    assert same(pairs(data, Profile(temperature_unit="degf")), [(t, d + 10) for t, d in VALUES])


def test_a_temperature_of_four_hundred_is_refused_with_its_row():
    data = b"time,temp C\n2026-04-13 10:00,20\n2026-04-13 10:30,400\n2026-04-13 11:00,20\n"
    with pytest.raises(OutpaceError) as told:
        bring(data)
    assert told.value.where.endswith("row 3")
    assert "400 °C" in told.value.what


def test_marks_of_a_silent_sensor_are_left_out_and_counted():
    data = b"time,temp C\n" + b"".join(
        f"2026-04-13 {hour:02}:00,{value}\n".encode()
        for hour, value in enumerate(["20.0", "-127.0", "---", "", "NaN", "-9999", "20.5"])
    )
    rows, report = bring(data)
    assert [row.temperature_degc for row in rows] == [20.0, 20.5]
    assert (report.error_marks, report.empty) == (2, 3)


def test_humidity_just_above_full_scale_is_full_scale_and_nonsense_is_not_recorded():
    data = b"time,temp C,RH %\n2026-04-13 10:00,20,100.6\n2026-04-13 10:30,20,250\n2026-04-13 11:00,20,\n"
    rows, _ = bring(data)
    assert [row.humidity_pct for row in rows] == [100.0, None, None]


# Several sensors


def two_sensors() -> bytes:
    lines = ["time,T1 (°C),T2 (°C)"]
    lines += [f"{time:%Y-%m-%dT%H:%M:%SZ},{degc},{degc + 2:.1f}" for time, degc in VALUES]
    return "\n".join(lines).encode()


def test_several_temperature_columns_are_asked_about():
    seen = preview(two_sensors(), time_zone="Europe/Madrid", now=LATER)
    assert [question.code for question in seen.questions] == ["sensors"]
    assert [choice.value for choice in seen.questions[0].choices] == ['"T1 (°C)=canopy"', '"T2 (°C)=canopy"']


def test_the_answer_names_which_sensors_to_read_and_where_they_hang():
    answers = Profile(
        sensors=(SensorColumn("T1 (°C)", None, "air"), SensorColumn("T2 (°C)", "bay 2", "canopy"))
    )
    rows, _ = bring(two_sensors(), answers)
    assert {(row.sensor, row.place) for row in rows} == {("T1 (°C)", "air"), ("bay 2", "canopy")}
    assert len(rows) == 2 * len(VALUES)
    one, _ = bring(two_sensors(), Profile(sensors=(SensorColumn("T2 (°C)", None, "canopy"),)))
    assert len(one) == len(VALUES)
    assert one[0].temperature_degc == VALUES[0][1] + 2


def test_an_outdoor_sensor_is_known_by_its_heading_and_never_takes_the_place_of_the_house():
    data = two_sensors().replace(b"T2", b"Outside temp")
    rows, _ = bring(data)
    assert {row.place for row in rows} == {None, "outside"}


def test_a_column_that_is_not_there_is_refused_with_those_that_are():
    with pytest.raises(OutpaceError) as told:
        bring(two_sensors(), Profile(sensors=(SensorColumn("T9"),)))
    assert "T1 (°C)" in told.value.allowed


def test_dew_point_battery_and_set_point_are_no_temperatures_of_the_house():
    data = b"time,Temp (C),Dew point (C),Set-point (C),Battery V\n" + b"".join(
        f"2026-04-13 {hour:02}:00,2{hour % 9},9,18,3.1\n".encode() for hour in range(12)
    )
    rows, _ = bring(data)
    assert [row.temperature_degc for row in rows][:3] == [20.0, 21.0, 22.0]


def test_a_file_without_headings_is_read_once_its_unit_is_told():
    data = Maker(headings=()).write(VALUES)
    assert same(pairs(data, Profile(temperature_unit="degc")), VALUES)


def hours_of(text: str) -> bytes:
    """Return ten rows, ``{h}`` being the hour and ``{c}`` a temperature of two digits."""
    head, row = text.split("|")
    rows = [row.format(h=f"{hour:02}", c=20 + hour % 8) for hour in range(10)]
    return "\n".join([head, *rows, ""]).encode()


def test_sensors_that_share_a_column_are_told_apart_by_the_name_beside():
    one, two = hours_of("time,sensor,temp C|2026-04-13 {h}:00,A,{c}"), hours_of("|2026-04-13 {h}:00,B,{c}.5")
    rows, _ = bring(one + two.strip(), place="canopy")
    assert {(row.sensor, row.place) for row in rows} == {("A", "canopy"), ("B", "canopy")}
    assert len(rows) == 20


def test_the_same_temperature_in_both_units_is_read_once():
    rows, _ = bring(hours_of("time,Temp (°C),Temp (°F)|2026-04-13 {h}:00,{c},70"))
    assert [row.temperature_degc for row in rows][:3] == [20.0, 21.0, 22.0]


def test_of_minimum_mean_and_maximum_the_mean_is_read():
    rows, _ = bring(hours_of("time,Tmin (°C),Tmax (°C),Tavg (°C)|2026-04-13 {h}:00,1,40,{c}"))
    assert [row.temperature_degc for row in rows][:3] == [20.0, 21.0, 22.0]


def test_a_day_beside_its_time_may_carry_the_midnight_of_a_spreadsheet():
    rows, _ = bring(hours_of("date,time,temp C|2026-04-13 00:00:00,{h}:30:00,{c}"))
    assert rows[0].time == datetime(2026, 4, 12, 22, 30, tzinfo=UTC)


def test_a_file_in_an_eastern_code_page_is_known_by_its_degree_sign():
    text = hours_of("时间,温度(℃)|2026-04-13 {h}:00,{c}").decode()
    rows, _ = bring(text.encode("gb18030"))
    assert len(rows) == 10


def test_a_sensor_silent_half_of_the_time_is_still_a_sensor():
    data = b"time,temp C\n" + b"".join(
        f"2026-04-13 {hour:02}:00,{'NA' if hour % 2 else '20.5'}\n".encode() for hour in range(12)
    )
    rows, report = bring(data)
    assert (len(rows), report.empty) == (6, 6)


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("date,temp C|2026-04-{h},{c}", "outpace climate typed"),
        ("time,temp C|46125.{h},{c}", "format that column as date and time"),
    ],
)
def test_files_without_times_of_day_are_refused_with_the_way_out(text, hint):
    with pytest.raises(OutpaceError) as told:
        bring(hours_of(text).replace(b"2026-04-00", b"2026-04-10"))
    assert hint in told.value.hint


def test_a_clock_that_lost_its_year_is_refused_with_the_rows():
    data = hours_of("time,temp C|2000-01-01 {h}:00,{c}") + hours_of("|2026-04-13 {h}:00,{c}").strip()
    with pytest.raises(OutpaceError) as told:
        bring(data)
    assert "rows 11 and 12" in told.value.where


def test_one_place_for_several_columns_is_refused():
    with pytest.raises(OutpaceError, match="one place"):
        bring(two_sensors().replace(b"T2", b"Outside temp"), place="canopy")


# Refusals


def test_a_reading_in_the_future_is_refused():
    with pytest.raises(OutpaceError, match="2026-04"):
        read(
            Maker().write(VALUES),
            farm="F",
            house="H",
            time_zone="Europe/Madrid",
            now=datetime(2026, 4, 13, tzinfo=UTC),
        )


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"\xef\xbb\xbf\r\n\r\n", "empty"),
        (b"PK\x03\x04rest", "spreadsheet"),
        (b"%PDF-1.7 rest", "PDF"),
        (bytes(range(256)) * 40, "no text"),
        (b"time,temp\n", "no rows"),
        (b"just words\nand more words\n", "no rows"),
        (b"a,b\n1,2\n3,4\n", "no rows"),
        (b"01.04.2026 10:00,21,4\n01.04.2026 10:10,21,5\n", None),
    ],
)
def test_what_is_no_logger_file_is_refused_in_words(data, said):
    with pytest.raises(OutpaceError) as told:
        bring(data)
    assert said is None or said in told.value.what
    assert told.value.hint


def test_decimal_commas_between_separating_commas_are_refused():
    data = b"time,temp C\n2026-04-13 10:00,21,4\n2026-04-13 10:30,21,5\n"
    with pytest.raises(OutpaceError) as told:
        bring(data)
    assert "semicolons" in told.value.hint


def test_a_file_of_two_hundred_megabytes_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.truncate(200_000_000)
    with pytest.raises(OutpaceError) as told:
        read(path, farm="F", house="H", time_zone="Europe/Madrid")
    assert "200 MB" in told.value.what


def test_a_folder_and_a_missing_file_are_refused(tmp_path):
    for path in (tmp_path, tmp_path / "none.csv"):
        with pytest.raises(OutpaceError):
            preview(path)


def test_several_questions_are_asked_together_with_one_hint_for_all():
    data = Maker(headings=("Time", "Temp"), stamp=day_month).write(
        half_hours(datetime(2026, 4, 2, 23, 0, tzinfo=UTC), 10)
    )
    with pytest.raises(ManyErrors) as told:
        bring(data)
    assert "--temperature-unit degc" in told.value.hint
    assert "--date-order day" in told.value.hint


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=400) | st.text(max_size=400).map(str.encode))
def test_any_bytes_are_read_or_refused_in_words(data):
    with pytest.raises(OutpaceError) as told:
        bring(b"x" + data)
    assert told.value.what
