"""Trials that people keep in tables of their own: days or rates at temperatures, prey eaten at densities."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from outpace.errors import ExitCode, ManyErrors, OutpaceError
from outpace.intake.questions import Choice, Question, refuse_unanswered
from outpace.intake.sheet import Sheet, read_sheet
from outpace.intake.trial_columns import (
    TrialTold,
    bare_heading,
    chosen_rows,
    columns_of,
    is_feeding,
    open_questions,
)
from outpace.language import say
from outpace.units import number, to_degc

TEMPERATURE, FEEDING = "temperature", "functional_response"

COLDEST_DEGC, HOTTEST_DEGC = -20.0, 60.0
DOUBTFUL_ABOVE = 45.0
"""A temperature above this, its unit not told, is asked about: it may be Fahrenheit. [°C]"""

_NONE_COMPLETED = ("none", "no", "no development", "died", "all died", "dead", "inf", "∞", "ninguno", "keine")


@dataclass(frozen=True, slots=True)
class Trial:
    """One trial in the units of the model.

    Attributes
    ----------
    kind : str
        `TEMPERATURE` or `FEEDING`.
    x, y : tuple of float
        Temperatures and rates [°C, d⁻¹], or prey offered and prey eaten in each arena.
    days : tuple of float
        How long each arena of a feeding trial ran; empty for rates. [d]
    columns : dict
        Which field each heading was read as.
    left_out : tuple of (int, str)
        Row and reason.
    assumed : tuple of str
        What was taken as given because nobody said it.
    """

    where: str
    kind: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    days: tuple[float, ...]
    columns: dict[str, str]
    left_out: tuple[tuple[int, str], ...]
    assumed: tuple[str, ...]


def read_trial(source: Path | bytes, told: TrialTold, *, name: str | None = None) -> Trial:
    """Return the trial that a table holds.

    Raises
    ------
    OutpaceError
        With every cell that cannot be read, or with the questions that are open.
    """
    sheet = read_sheet(source, name=name)
    columns = columns_of(sheet, told)
    refuse_unanswered(open_questions(sheet, columns, told), sheet.where)
    return _Reader(sheet, columns, told).trial()


class _Reader:
    """Reads the rows of one trial; what is wrong is gathered and told together."""

    def __init__(self, sheet: Sheet, columns: Mapping[str, str], told: TrialTold) -> None:
        self.sheet, self.columns, self.told = sheet, dict(columns), told
        self.place = {field: heading for heading, field in columns.items()}
        self.mark = {"comma": ",", "point": "."}.get(told.decimal or "")
        self.errors: list[OutpaceError] = []
        self.left_out: list[tuple[int, str]] = []
        self.assumed: list[str] = []

    def trial(self) -> Trial:
        rows = chosen_rows(self.sheet, self.told.only or {})
        if not rows:
            wanted = ", ".join(f"{heading} {value!r}" for heading, value in (self.told.only or {}).items())
            raise OutpaceError(
                say("no row has {wanted}", wanted=wanted),
                where=self.sheet.where,
                allowed=say("a value as it stands in the table"),
                hint=say("leave `--only` out to see which values there are"),
                code=ExitCode.USAGE,
            )
        feeding = is_feeding(set(self.place))
        read = self._fed if feeding else self._grew
        unit = "" if feeding else self._unit(rows)
        found = [item for row, cells in rows if (item := read(row, cells, unit)) is not None]
        if self.errors:
            raise self.errors[0] if len(self.errors) == 1 else ManyErrors(self.errors)
        return Trial(
            self.sheet.where,
            FEEDING if feeding else TEMPERATURE,
            tuple(item[0] for item in found),
            tuple(item[1] for item in found),
            tuple(item[2] for item in found) if feeding else (),
            {heading: field for heading, field in self.columns.items() if field != "ignore"},
            tuple(self.left_out),
            tuple(dict.fromkeys(self.assumed)),
        )

    def _cell(self, cells: tuple[str, ...], field: str) -> str:
        return cells[self.sheet.headings.index(self.place[field])]

    def _where(self, row: int, field: str) -> str:
        return say(
            "{where} row {row}, column {heading!r}",
            where=self.sheet.where,
            row=row,
            heading=self.place[field],
        )

    def _number(self, row: int, cells: tuple[str, ...], field: str) -> float | None:
        text = self._cell(cells, field)
        plain = re.sub(r"\s*(°\s*[CF]|℃|℉|days?|hours?|[dh])\s*$", "", text, flags=re.IGNORECASE)
        try:
            return number(plain, decimal=self.mark, where=self._where(row, field))
        except OutpaceError as error:
            if error.code is ExitCode.USAGE:
                error.hint = say("say the decimal mark: `--decimal comma` or `--decimal point`")
            self.errors.append(error)
            return None

    def _refuse(self, row: int, field: str, what: str, allowed: str, hint: str) -> None:
        self.errors.append(OutpaceError(what, where=self._where(row, field), allowed=allowed, hint=hint))

    def _unit(self, rows: Sequence[tuple[int, tuple[str, ...]]]) -> str:
        if self.told.temperature_unit:
            return self.told.temperature_unit
        heading = self.place["temperature"]
        _, unit = bare_heading(heading)
        written = unit + "".join(self._cell(cells, "temperature") for _, cells in rows).casefold()
        if unit == "f" or re.search(r"°\s*f|℉|fahrenheit|deg\s?f", written):
            return "degf"
        if unit == "c" or re.search(r"°\s*c|℃|celsius|deg\s?c", written):
            return "degc"
        values = [value for row, cells in rows if (value := self._quietly(row, cells)) is not None]
        if values and max(values) > DOUBTFUL_ABOVE:
            raise Question(
                "temperature_unit",
                say(
                    "column {heading!r} goes up to {highest:g} and its unit is not told",
                    heading=heading,
                    highest=max(values),
                ),
                "--temperature-unit",
                (Choice("degf", say("Fahrenheit")), Choice("degc", say("Celsius"))),
            ).error(self.sheet.where)
        self.assumed.append(
            say("temperatures of column {heading!r} are taken as °C: its unit is not told", heading=heading)
        )
        return "degc"

    def _quietly(self, row: int, cells: tuple[str, ...]) -> float | None:
        before = len(self.errors)
        value = self._number(row, cells, "temperature") if self._cell(cells, "temperature") else None
        del self.errors[before:]
        return value

    def _grew(self, row: int, cells: tuple[str, ...], unit: str) -> tuple[float, float, float] | None:
        speed = next(field for field in ("days", "hours", "rate") if field in self.place)
        if not self._cell(cells, "temperature") or not self._cell(cells, speed):
            self.left_out.append((row, say("a cell is empty: not recorded")))
            return None
        typed = self._number(row, cells, "temperature")
        degrees = None if typed is None else to_degc(typed, unit)
        if degrees is not None and not COLDEST_DEGC <= degrees <= HOTTEST_DEGC:
            allowed = say("must lie between {low:g} and {high:g} °C", low=COLDEST_DEGC, high=HOTTEST_DEGC)
            self._refuse(
                row,
                "temperature",
                say("temperature {degrees:g} °C", degrees=degrees),
                allowed,
                say("check it and its unit"),
            )
        if self._cell(cells, speed).casefold() in _NONE_COMPLETED:
            value: float | None = 0.0
        else:
            value = self._number(row, cells, speed)
            if value is not None and speed != "rate":
                if value <= 0:
                    self._refuse(
                        row,
                        speed,
                        f"{speed} {value:g}",
                        say("must be above 0"),
                        say("write `none` where none completed"),
                    )
                    return None
                value = (24.0 if speed == "hours" else 1.0) / value
            elif value is not None and not 0 <= value <= 5:
                self._refuse(
                    row,
                    speed,
                    say("rate {value:g} per day", value=value),
                    say("must lie between 0 and 5"),
                    say("a rate is one over days; name days with `--column HEADING=days`"),
                )
        return None if value is None or degrees is None else (degrees, value, 0.0)

    def _fed(self, row: int, cells: tuple[str, ...], unit: str) -> tuple[float, float, float] | None:
        fields = [field for field in ("offered", "eaten", "trial_days", "trial_hours") if field in self.place]
        if any(not self._cell(cells, field) for field in fields):
            self.left_out.append((row, say("a cell is empty: not recorded")))
            return None
        found = {field: self._number(row, cells, field) for field in fields}
        offered, eaten = found["offered"], found["eaten"]
        if offered is None or eaten is None:
            return None
        if offered <= 0:
            self._refuse(
                row,
                "offered",
                say("{offered:g} offered", offered=offered),
                say("must be above 0"),
                say("leave the row out"),
            )
        elif not 0 <= eaten <= offered:
            self._refuse(
                row,
                "eaten",
                say("{eaten:g} eaten", eaten=eaten),
                say("must lie between 0 and the {offered:g} offered", offered=offered),
                say("check both"),
            )
        days = self.told.days or found.get("trial_days") or (found.get("trial_hours") or 0.0) / 24.0
        if not days > 0 or not math.isfinite(days):
            field = "trial_days" if "trial_days" in self.place else "trial_hours"
            self._refuse(
                row,
                field,
                say("a trial of {days:g} days", days=days),
                say("must be above 0"),
                say("check it"),
            )
        return offered, eaten, days
