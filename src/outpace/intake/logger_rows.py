"""The rows of a logger's file: when each was, and what its sensors read."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from zoneinfo import ZoneInfo

from outpace.errors import OutpaceError
from outpace.intake import logger_columns as role
from outpace.intake.clock import offset_in_heading, resolve
from outpace.intake.dialect import TextTable
from outpace.intake.logger_columns import ColumnFound, read_cell
from outpace.intake.profile import Profile, SensorColumn
from outpace.intake.questions import Question
from outpace.intake.readings import ERROR_MARKS, Reading, check_range
from outpace.intake.report import Report
from outpace.intake.written_time import DAY_FIRST, Written, day_of, find_order, read_written
from outpace.language import say
from outpace.units import to_degc

#: What a spreadsheet adds to a day whose time stands in another column.
_MIDNIGHT = re.compile(r"(?<=\d)[T ]0?0:00(:00)?$")


def row_times(
    table: TextTable,
    columns: Sequence[ColumnFound],
    profile: Profile,
    zone: ZoneInfo,
    where: str,
    report: Report,
    questions: list[Question],
) -> list[int | None] | None:
    """Return when each row was, in file order; None while day and month are not told apart."""
    parts = [column for column in columns if column.role in (role.TIME, role.DATE_PART, role.CLOCK_PART)]
    if not any(column.role in (role.TIME, role.DATE_PART) for column in parts):
        raise OutpaceError(
            say("no column of times was found"),
            where=where,
            hint=say("export it with date and time in the first columns"),
        )
    if parts[0].role == role.TIME:
        parts = parts[:1]
    positions = [column.at for column in sorted(parts, key=lambda part: part.role == role.CLOCK_PART)]
    if parts[0].role == role.DATE_PART and len(parts) == 1:
        raise OutpaceError(
            say("one reading a day"),
            where=where,
            allowed=say("times of day beside the dates"),
            hint=say("type daily minimum and maximum instead, with `outpace climate typed`"),
        )
    moments = read_written(
        " ".join(_MIDNIGHT.sub("", cells[at].strip()) for at in positions if at < len(cells))
        if len(positions) > 1
        else cells[positions[0]]
        for _, cells in table.rows
    )
    order = profile.date_order
    if order is None:
        found = find_order(moments)
        if found.contradiction:
            raise OutpaceError(
                say(
                    "dates such as {contradiction} and {contradiction2} have no order in common",
                    contradiction=found.contradiction[0],
                    contradiction2=found.contradiction[1],
                ),
                where=where,
                hint=say("export the file with the year first"),
            )
        if found.question:
            questions.append(found.question)
            return None
        order = found.order or DAY_FIRST
        if found.why:
            report.notes.append(
                say("dates are written {order} first: told by {why}", order=order, why=found.why)
            )
    backwards = _runs_backwards(moments, order)
    ordered = moments[::-1] if backwards else moments
    resolved = resolve(
        ordered,
        order=order,
        zone=zone,
        clock=profile.clock,
        heading_offset=offset_in_heading([column.heading for column in parts]),
    )
    if resolved.question:
        questions.append(resolved.question)
    report.notes += resolved.notes
    if backwards:
        report.notes.append(say("the file runs from the newest reading to the oldest"))
    return resolved.seconds[::-1] if backwards else resolved.seconds


def _runs_backwards(moments: Sequence[Written | None], order: str) -> bool:
    keys = []
    for moment in moments[:2000]:
        if moment is None:
            continue
        if moment.epoch is not None:
            keys.append(moment.epoch)
        elif (day := day_of(moment.day, order)) is not None:
            keys.append(day.toordinal() * 86_400.0 + moment.seconds)
    down = sum(b < a for a, b in pairwise(keys))
    return down * 2 > len(keys)


class RowReader:
    """Reads the rows of one file, sensor by sensor, and counts what it leaves out."""

    def __init__(
        self, table: TextTable, columns: Sequence[ColumnFound], profile: Profile, where: str, report: Report
    ) -> None:
        self._table = table
        self._where = where
        self._report = report
        self._at = {column.heading: column.at for column in columns}
        names = [column.at for column in columns if column.role == role.SENSOR]
        self._names = names[0] if len(names) == 1 else None
        self._humidity = self._extra(columns, role.HUMIDITY, profile.humidity)
        self._radiation = self._extra(columns, role.RADIATION, profile.radiation)

    def _extra(self, columns: Sequence[ColumnFound], wanted: str, told: str | None) -> int | None:
        if told is not None:
            return self._at.get(told)
        found = [column.at for column in columns if column.role == wanted]
        return found[0] if len(found) == 1 else None

    def sensors_of(self, column: SensorColumn) -> list[SensorColumn]:
        """Return the sensors whose readings share a column, by the names that stand beside them."""
        if self._names is None:
            return [column]
        names = {cells[self._names].strip() for _, cells in self._table.rows if self._names < len(cells)}
        return [SensorColumn(column.column, name, column.place) for name in sorted(names) if name]

    def readings(self, sensor: SensorColumn, unit: str, seconds: Sequence[int | None]) -> list[Reading]:
        """Return the sensor's readings in file order."""
        at, decimal, report = self._at[sensor.column], self._table.dialect.decimal, self._report
        heading, newest_first = sensor.column, _descending(seconds)
        found: list[Reading] = []
        for (row, cells), moment in zip(self._table.rows, seconds, strict=True):
            if self._names is not None and (
                self._names >= len(cells) or cells[self._names].strip() != sensor.sensor
            ):
                continue
            cell = cells[at].strip() if at < len(cells) else ""
            if moment is None:
                report.unread[row] = " ".join(cells)
                continue
            value = read_cell(cell, decimal)
            if value is None:
                if cell == "" or not any(mark.isdigit() for mark in cell):
                    report.empty += 1
                else:
                    report.unread[row] = cell
                continue
            if value in ERROR_MARKS:
                report.error_marks += 1
                continue
            degc = round(to_degc(value, unit), 3)
            check_range(degc, where=self._where, row=row, unit=unit, heading=heading)
            humidity = self._cell(cells, self._humidity, most=100.0, over=105.0)
            radiation = self._cell(cells, self._radiation, most=1500.0, over=1500.0)
            found.append(Reading(moment, row, degc, humidity, radiation))
        return found[::-1] if newest_first else found

    def _cell(self, cells: Sequence[str], at: int | None, *, most: float, over: float) -> float | None:
        """Return a value of another column: just above full scale is full scale, beyond is no reading."""
        if at is None or at >= len(cells):
            return None
        value = read_cell(cells[at], self._table.dialect.decimal)
        if value is None or value in ERROR_MARKS or not -10 <= value <= over:
            return None
        return min(max(value, 0.0), most)


def _descending(seconds: Sequence[int | None]) -> bool:
    known = [moment for moment in seconds if moment is not None]
    return len(known) > 1 and known[0] > known[-1]
