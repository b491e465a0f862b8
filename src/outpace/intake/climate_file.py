"""A logger's file becomes climate rows: looked at first, asked about where it is not clear, then read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

from outpace.errors import OutpaceError
from outpace.intake import logger_columns as role
from outpace.intake.clock import aware
from outpace.intake.dialect import Dialect, TextTable, read_table
from outpace.intake.logger_columns import ColumnFound, find_columns, read_cell
from outpace.intake.logger_rows import RowReader, row_times
from outpace.intake.profile import DECIMALS, Profile, ProfileShelf, SensorColumn
from outpace.intake.questions import Choice, Question, refuse_unanswered
from outpace.intake.readings import Reading, find_gaps, flagged, in_order, usual_step
from outpace.intake.report import Report
from outpace.language import say
from outpace.terms.place import Climate

CLOCK_SLACK = timedelta(minutes=10)
FIRST_ROWS = 5
MOST_UNREAD = 0.2
LONGEST_PAUSE_S = 2 * 366 * 86_400


@dataclass(frozen=True, slots=True)
class Preview:
    """What a file seems to hold. ``profile`` has everything that is known of the logger so far."""

    where: str
    dialect: Dialect
    columns: tuple[ColumnFound, ...]
    profile: Profile
    known_logger: bool
    questions: tuple[Question, ...]
    report: Report
    series: tuple[tuple[SensorColumn, tuple[Reading, ...]], ...]

    @property
    def ready(self) -> bool:
        """Return whether the file can be read as it is."""
        return not self.questions

    def first_rows(self) -> list[dict[str, str | float | None]]:
        """Return the first readings as they would be recorded."""
        return [
            {
                "time": aware(reading.seconds).isoformat(),
                "sensor": column.sensor or column.column,
                "place": column.place,
                "temperature_degc": reading.temperature_degc,
                "humidity_pct": reading.humidity_pct,
                "flag": reading.flag,
            }
            for column, readings in self.series
            for reading in readings[:FIRST_ROWS]
        ]


def preview(
    source: Path | bytes,
    *,
    answers: Profile | None = None,
    shelf: ProfileShelf | None = None,
    time_zone: str = "UTC",
    name: str | None = None,
    now: datetime | None = None,
) -> Preview:
    """Return what a file holds, with the questions that stand between it and the book.

    Parameters
    ----------
    source : Path or bytes
        The file, or its content.
    answers : Profile, optional
        What a person told; it goes before what was kept and what the file says.
    shelf : ProfileShelf, optional
        The profiles of loggers seen before.
    time_zone : str
        The farm's.
    name : str, optional
        What to call the file in messages.
    now : aware datetime, optional
        Readings cannot lie after it.

    Raises
    ------
    OutpaceError
        If the file is empty, too large, no text table, has no times or temperatures, or a reading no house has.
    """
    where = f"`{name or (source.name if isinstance(source, Path) else 'file')}`"
    told = answers or Profile()
    decimal = DECIMALS.get(told.decimal or "")
    table = read_table(source, where=where, decimal=decimal)
    kept = shelf.find(table.dialect.fingerprint) if shelf else None
    profile = (kept or Profile()).with_answers(told)
    if decimal is None and profile.decimal:
        table = read_table(source, where=where, decimal=DECIMALS[profile.decimal])
    profile = replace(profile, fingerprint=table.dialect.fingerprint)
    columns = find_columns(table.dialect.headings, [cells for _, cells in table.rows[:400]])
    report = Report(rows=len(table.rows))
    questions: list[Question] = []
    sensors = _choose_sensors(columns, profile, where, questions)
    units = _choose_units(sensors, columns, profile, table, questions)
    seconds = row_times(table, columns, profile, ZoneInfo(time_zone), where, report, questions)
    series = []
    if seconds is not None and len(units) == len(sensors):
        read = RowReader(table, columns, profile, where, report)
        for sensor in [one for column in sensors for one in read.sensors_of(column)]:
            tidy = in_order(read.readings(sensor, units[sensor.column], seconds), profile.duplicates)
            # Rows of a skipped hour read by the wall fall on those of the next: the clock is asked about first.
            if tidy.question and not any(question.code == "clock" for question in questions):
                questions.append(tidy.question)
            series.append((sensor, flagged(tidy.readings)))
            report.repeated += tidy.repeated
            report.differing += tidy.differing
            report.out_of_order = max(report.out_of_order, tidy.out_of_order)
        _finish(report, series, where, now or datetime.now(UTC))
    profile = replace(profile, sensors=tuple(sensors))
    unique = {question.code: question for question in questions}
    return Preview(
        where,
        table.dialect,
        columns,
        profile,
        kept is not None,
        tuple(unique.values()),
        report,
        tuple(series),
    )


def read(
    source: Path | bytes,
    *,
    farm: str,
    house: str,
    time_zone: str,
    answers: Profile | None = None,
    shelf: ProfileShelf | None = None,
    zone: str | None = None,
    sensor: str | None = None,
    place: str | None = None,
    name: str | None = None,
    now: datetime | None = None,
) -> tuple[list[Climate], Report]:
    """Return the climate rows of a logger's file, and what was found in it.

    Parameters
    ----------
    farm, house, zone : str
        Where the logger hangs.
    sensor, place : str, optional
        Its name, and canopy, air or outside, where the file has one column of temperatures.
    time_zone : str
        The farm's, for times without an offset.
    answers, shelf, name, now
        As for :func:`preview`. A file read without questions has its logger's profile kept on the shelf.

    Raises
    ------
    OutpaceError
        If the file cannot be read, or a question about it is open.
    """
    seen = preview(source, answers=answers, shelf=shelf, time_zone=time_zone, name=name, now=now)
    refuse_unanswered(seen.questions, seen.where)
    if shelf is not None:
        shelf.keep(seen.profile)
    rows = []
    several = len(seen.series) > 1
    if (several and sensor) or (len(seen.profile.sensors) > 1 and place):
        raise OutpaceError(
            say("{series} sensors and one name", series=len(seen.series))
            if sensor
            else say("{series} sensors and one place", series=len(seen.series)),
            where=seen.where,
            hint=say("tell each column's place and name with `--column HEADING=PLACE:NAME`"),
        )
    for column, readings in seen.series:
        called = sensor or column.sensor or (column.column if several else None)
        rows += [
            Climate(
                farm=farm,
                house=house,
                zone=zone,
                sensor=called,
                place=place or column.place,
                source="logger",
                time=aware(reading.seconds),
                temperature_degc=reading.temperature_degc,
                humidity_pct=reading.humidity_pct,
                radiation_w_per_m2=reading.radiation_w_per_m2,
                flag=reading.flag,
            )
            for reading in readings
        ]
    return rows, seen.report


def _choose_sensors(
    columns: Sequence[ColumnFound], profile: Profile, where: str, questions: list[Question]
) -> list[SensorColumn]:
    found = {column.heading: column for column in columns}
    if profile.sensors:
        for sensor in profile.sensors:
            if sensor.column not in found:
                raise OutpaceError(
                    say("no column called {column!r}", column=sensor.column),
                    where=where,
                    allowed=say("columns: {found}", found=", ".join(found)),
                    hint=say("write the heading as it stands in the file"),
                )
        return [replace(one, place=one.place or found[one.column].place) for one in profile.sensors]
    temperatures = [column for column in columns if column.role == role.TEMPERATURE]
    if not temperatures:
        raise OutpaceError(
            say("no column of temperatures was found"),
            where=where,
            allowed=say("columns: {found}", found=", ".join(found)),
            hint=say("name it with `--column HEADING`"),
        )
    inside = [column for column in temperatures if column.place != "outside"]
    if len(inside) > 1 or not inside:
        choices = tuple(
            Choice(f'"{column.heading}=canopy"', say("column {at}", at=column.at + 1))
            for column in inside or temperatures
        )
        if inside:
            questions.append(
                Question(
                    "sensors",
                    say(
                        "{inside} columns hold temperatures: which hangs in the canopy, which in the air?",
                        inside=len(inside),
                    ),
                    "--column",
                    choices,
                )
            )
    return [SensorColumn(column.heading, place=column.place) for column in temperatures]


def _choose_units(
    sensors: Sequence[SensorColumn],
    columns: Sequence[ColumnFound],
    profile: Profile,
    table: TextTable,
    questions: list[Question],
) -> dict[str, str]:
    found = {column.heading: column for column in columns}
    units: dict[str, str] = {}
    for sensor in sensors:
        column = found[sensor.column]
        unit = profile.temperature_unit or column.unit
        if unit is not None:
            units[sensor.column] = unit
            continue
        values = [
            value
            for _, cells in table.rows[:2000]
            if column.at < len(cells) and (value := read_cell(cells[column.at], None)) is not None
        ]
        spread = (
            say("its values run from {values:g} to {values2:g}", values=min(values), values2=max(values))
            if values
            else say("it is empty")
        )
        questions.append(
            Question(
                "temperature_unit",
                say(
                    "`{heading}` does not say Celsius or Fahrenheit; {spread}",
                    heading=column.heading,
                    spread=spread,
                ),
                "--temperature-unit",
                (Choice("degc", "Celsius"), Choice("degf", "Fahrenheit")),
            )
        )
    return units


def _finish(
    report: Report,
    series: Sequence[tuple[SensorColumn, Sequence[Reading]]],
    where: str,
    now: datetime,
) -> None:
    everything = [reading for _, readings in series for reading in readings]
    if not everything:
        raise OutpaceError(
            say("no row has both a time and a temperature"), where=where, hint=say("export it again")
        )
    if len(report.unread) > MOST_UNREAD * report.rows:
        row, text = next(iter(report.unread.items()))
        raise OutpaceError(
            say(
                "{unread} of {rows} rows cannot be read, such as {text_told!r}",
                unread=len(report.unread),
                rows=report.rows,
                text_told=text[:60],
            ),
            where=say("{where} row {row}", where=where, row=row),
            allowed=say("a time and a number in each row"),
            hint=say("check the decimal mark (`--decimal comma`), or export the file again"),
        )
    newest = max(everything, key=lambda reading: reading.seconds)
    if aware(newest.seconds) > now + CLOCK_SLACK:
        raise OutpaceError(
            say("time {seconds:%Y-%m-%d %H:%M} UTC", seconds=aware(newest.seconds)),
            where=say("{where} row {row}", where=where, row=newest.row),
            allowed=say("lies in the future (it is {utc:%Y-%m-%d %H:%M} UTC)", utc=now.astimezone(UTC)),
            hint=say("check the logger's clock, and the order of day and month (`--date-order`)"),
        )
    _refuse_reset_clock(everything, where)
    report.kept = len(everything)
    report.last = aware(newest.seconds)
    report.first = aware(min(reading.seconds for reading in everything))
    report.step_s = usual_step(series[0][1])
    for _, readings in series:
        report.flags.update(reading.flag for reading in readings if reading.flag)
        report.gaps += find_gaps(readings)


def _refuse_reset_clock(everything: Sequence[Reading], where: str) -> None:
    """Refuse a file whose clock jumps over years: the logger lost its time."""
    by_time = sorted(everything, key=lambda reading: reading.seconds)
    for before, after in pairwise(by_time):
        if after.seconds - before.seconds > LONGEST_PAUSE_S:
            raise OutpaceError(
                say(
                    "the time jumps from {seconds:%Y-%m-%d} to {seconds2:%Y-%m-%d}",
                    seconds=aware(before.seconds),
                    seconds2=aware(after.seconds),
                ),
                where=say("{where} rows {row} and {row2}", where=where, row=before.row, row2=after.row),
                allowed=say("at most two years between readings"),
                hint=say("the logger lost its time: take out the rows of the wrong year"),
            )
