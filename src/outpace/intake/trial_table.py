"""Trials that people keep in tables of their own: days or rates at temperatures, prey eaten at densities."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from outpace.errors import ExitCode, ManyErrors, OutpaceError
from outpace.intake.dialect import plain_heading
from outpace.intake.questions import Choice, Question, refuse_unanswered
from outpace.intake.sheet import Sheet, read_sheet
from outpace.units import number, to_degc

FIELDS: dict[str, tuple[str, ...]] = {
    "temperature": ("temperature", "temp", "t", "temperatur", "temperatura", "température", "temperature in"),
    "days": (
        "days",
        "day",
        "duration",
        "development time",
        "developmental time",
        "time to adult",
        "mean days",
        "mean duration",
        "dias",
        "días",
        "tage",
        "jours",
        "dauer",
        "duración",
        "durée",
    ),
    "hours": ("hours", "duration hours", "development hours", "horas", "stunden", "heures"),
    "rate": ("rate", "development rate", "developmental rate", "rate per day", "1/days", "tasa", "taux"),
    "offered": (
        "offered",
        "density",
        "prey",
        "prey density",
        "hosts",
        "host density",
        "initial",
        "prey offered",
    ),
    "eaten": ("eaten", "killed", "attacked", "consumed", "parasitised", "parasitized", "prey eaten", "stung"),
    "trial_days": ("trial days", "exposure days", "exposure"),
    "trial_hours": ("trial hours", "exposure hours"),
    "ignore": (),
}
"""What a column of a trial can be, with headings by which it is known once their unit is taken off."""

GROUPS = ("species", "stage", "strain", "host", "crop", "sex", "predator", "enemy", "treatment", "plant")
"""Headings of columns that part a table into several trials."""

TEMPERATURE, FEEDING = "temperature", "functional_response"

COLDEST_DEGC, HOTTEST_DEGC = -20.0, 60.0
DOUBTFUL_ABOVE = 45.0
"""A temperature above this, its unit not told, is asked about: it may be Fahrenheit. [°C]"""

_NONE_COMPLETED = ("none", "no", "no development", "died", "all died", "dead", "inf", "∞", "ninguno", "keine")
_UNIT = re.compile(
    r"[(\[]([^)\]]*)[)\]]|°\s*([cf])\b|(℃|℉)|\bdeg\s?([cf])\b|(?<=\s)([cf])$|\b(celsius|fahrenheit)\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialTold:
    """What a person tells of a table: fields by heading, the unit, the decimal mark, which rows, how long it ran."""

    columns: Mapping[str, str]
    temperature_unit: str | None = None
    decimal: str | None = None
    only: Mapping[str, str] | None = None
    days: float | None = None


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
    columns = _columns(sheet, told)
    refuse_unanswered(_questions(sheet, columns, told), sheet.where)
    return _Reader(sheet, columns, told).trial()


def _bare(heading: str) -> tuple[str, str]:
    """Return a heading without its unit, and the unit in lower case."""
    spaced = heading.replace("_", " ").strip()
    units = [next(part for part in found.groups() if part is not None) for found in _UNIT.finditer(spaced)]
    bare = plain_heading(re.sub(r"[^\w/]+", " ", _UNIT.sub(" ", spaced))).strip()
    return bare, units[0].strip().casefold() if units else ""


def _columns(sheet: Sheet, told: TrialTold) -> dict[str, str]:
    """Return heading → field: as told, else as the heading says."""
    for heading, named in told.columns.items():
        if heading not in sheet.headings:
            raise OutpaceError(
                f"no column called {heading!r}",
                where=sheet.where,
                allowed=f"columns: {', '.join(filter(None, sheet.headings))}",
                hint="write the heading as it stands in the table",
                code=ExitCode.USAGE,
            )
        if named not in FIELDS:
            raise OutpaceError(
                f"{named!r}",
                where=f'`--column "{heading}={named}"`',
                allowed=f"one of {', '.join(FIELDS)}",
                hint="see `outpace facts fit --help`",
                code=ExitCode.USAGE,
            )
    columns = dict(told.columns)
    for heading in sheet.headings:
        bare, unit = _bare(heading)
        field: str | None = next((field for field, words in FIELDS.items() if bare in words), None)
        if field == "days" and re.match(r"h(ou)?rs?$|h$", unit):
            field = "hours"
        if field is None and bare == "time" and unit:
            field = "hours" if unit.startswith("h") else "days" if unit.startswith("d") else None
        if field and heading not in columns and field not in columns.values():
            columns[heading] = field
    if {"offered", "eaten"} <= set(columns.values()):
        # Beside prey offered and eaten a time is how long the trial ran, and a temperature parts the trials.
        lengths = {"days": "trial_days", "hours": "trial_hours", "rate": "ignore"}
        columns = {heading: lengths.get(field, field) for heading, field in columns.items()}
    return columns


def _questions(sheet: Sheet, columns: Mapping[str, str], told: TrialTold) -> Sequence[Question]:
    known = set(columns.values())
    free = [heading for heading in sheet.headings if heading and heading not in columns]
    feeding = _feeding(known)
    asked: list[Question] = []

    def column(fields: tuple[str, ...], text: str) -> None:
        choices = [
            Choice(f'"{heading}={field}"', f"column {heading!r}") for heading in free for field in fields
        ]
        asked.append(
            Question(
                "column", text, "--column", tuple(choices) or (Choice(f"HEADING={fields[0]}", "add one"),)
            )
        )

    if feeding:
        for field in ("offered", "eaten"):
            if field not in known:
                column((field,), f"no column is known as prey {field}")
        if not {"trial_days", "trial_hours"} & known and told.days is None:
            asked.append(
                Question("days", "how long the trial ran is not told", "--days", (Choice("1", "one day"),))
            )
    else:
        if "temperature" not in known:
            column(("temperature",), "no column is known as temperature")
        if not {"days", "hours", "rate"} & known:
            if asked:
                free = [*free[1:], *free[:1]]  # the first column was proposed as temperature already
            column(("days", "rate"), "no column is known as days, hours or rate of development")
        elif "rate" in known and {"days", "hours"} & known:
            named = [heading for heading, field in columns.items() if field in ("days", "hours", "rate")]
            text = f"{' and '.join(map(repr, named))} both tell how fast it went"
            choices = tuple(Choice(f'"{heading}=ignore"', f"leave {heading!r} out") for heading in named)
            asked.append(Question("column", text, "--column", choices))
    asked += _parts(sheet, columns, told, feeding)
    return asked


def _feeding(known: set[str]) -> bool:
    return bool({"offered", "eaten"} & known) and not {"days", "hours", "rate"} & known


def _parts(sheet: Sheet, columns: Mapping[str, str], told: TrialTold, feeding: bool) -> list[Question]:
    """Return a question where the table holds several trials."""
    only = dict(told.only or {})
    for heading in only:
        if heading not in sheet.headings:
            raise OutpaceError(
                f"no column called {heading!r}",
                where=f'`--only "{heading}=..."`',
                allowed=f"columns: {', '.join(filter(None, sheet.headings))}",
                hint="write the heading as it stands in the table",
                code=ExitCode.USAGE,
            )
    asked = []
    for at, heading in enumerate(sheet.headings):
        warm = feeding and columns.get(heading) == "temperature"
        if heading in only or not (warm or (_bare(heading)[0] in GROUPS and heading not in columns)):
            continue
        values = list(dict.fromkeys(cells[at] for _, cells in _chosen(sheet, only) if cells[at]))
        if len(values) > 1:
            text = f"column {heading!r} parts the table into {len(values)} trials"
            choices = tuple(Choice(f'"{heading}={value}"', "those rows alone") for value in values[:12])
            asked.append(Question("only", text, "--only", choices))
    return asked


def _chosen(sheet: Sheet, only: Mapping[str, str]) -> list[tuple[int, tuple[str, ...]]]:
    places = {sheet.headings.index(heading): value.casefold() for heading, value in only.items()}
    return [
        (row, cells)
        for row, cells in sheet.rows
        if all(cells[at].casefold() == value for at, value in places.items())
    ]


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
        rows = _chosen(self.sheet, self.told.only or {})
        if not rows:
            wanted = ", ".join(f"{heading} {value!r}" for heading, value in (self.told.only or {}).items())
            raise OutpaceError(
                f"no row has {wanted}",
                where=self.sheet.where,
                allowed="a value as it stands in the table",
                hint="leave `--only` out to see which values there are",
                code=ExitCode.USAGE,
            )
        feeding = _feeding(set(self.place))
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
        return f"{self.sheet.where} row {row}, column {self.place[field]!r}"

    def _number(self, row: int, cells: tuple[str, ...], field: str) -> float | None:
        text = self._cell(cells, field)
        plain = re.sub(r"\s*(°\s*[CF]|℃|℉|days?|hours?|[dh])\s*$", "", text, flags=re.IGNORECASE)
        try:
            return number(plain, decimal=self.mark, where=self._where(row, field))
        except OutpaceError as error:
            if "could mean" in error.allowed:
                error.hint = "say the decimal mark: `--decimal comma` or `--decimal point`"
            self.errors.append(error)
            return None

    def _refuse(self, row: int, field: str, what: str, allowed: str, hint: str) -> None:
        self.errors.append(OutpaceError(what, where=self._where(row, field), allowed=allowed, hint=hint))

    def _unit(self, rows: Sequence[tuple[int, tuple[str, ...]]]) -> str:
        if self.told.temperature_unit:
            return self.told.temperature_unit
        heading = self.place["temperature"]
        _, unit = _bare(heading)
        written = unit + "".join(self._cell(cells, "temperature") for _, cells in rows).casefold()
        if unit == "f" or re.search(r"°\s*f|℉|fahrenheit|deg\s?f", written):
            return "degf"
        if unit == "c" or re.search(r"°\s*c|℃|celsius|deg\s?c", written):
            return "degc"
        values = [value for row, cells in rows if (value := self._quietly(row, cells)) is not None]
        if values and max(values) > DOUBTFUL_ABOVE:
            raise Question(
                "temperature_unit",
                f"column {heading!r} goes up to {max(values):g} and its unit is not told",
                "--temperature-unit",
                (Choice("degf", "Fahrenheit"), Choice("degc", "Celsius")),
            ).error(self.sheet.where)
        self.assumed.append(f"temperatures of column {heading!r} are taken as °C: its unit is not told")
        return "degc"

    def _quietly(self, row: int, cells: tuple[str, ...]) -> float | None:
        before = len(self.errors)
        value = self._number(row, cells, "temperature") if self._cell(cells, "temperature") else None
        del self.errors[before:]
        return value

    def _grew(self, row: int, cells: tuple[str, ...], unit: str) -> tuple[float, float, float] | None:
        speed = next(field for field in ("days", "hours", "rate") if field in self.place)
        if not self._cell(cells, "temperature") or not self._cell(cells, speed):
            self.left_out.append((row, "a cell is empty: not recorded"))
            return None
        typed = self._number(row, cells, "temperature")
        degrees = None if typed is None else to_degc(typed, unit)
        if degrees is not None and not COLDEST_DEGC <= degrees <= HOTTEST_DEGC:
            allowed = f"must lie between {COLDEST_DEGC:g} and {HOTTEST_DEGC:g} °C"
            self._refuse(row, "temperature", f"temperature {degrees:g} °C", allowed, "check it and its unit")
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
                        "must be above 0",
                        "write `none` where none completed",
                    )
                    return None
                value = (24.0 if speed == "hours" else 1.0) / value
            elif value is not None and not 0 <= value <= 5:
                self._refuse(
                    row,
                    speed,
                    f"rate {value:g} per day",
                    "must lie between 0 and 5",
                    "a rate is one over days; name days with `--column HEADING=days`",
                )
        return None if value is None or degrees is None else (degrees, value, 0.0)

    def _fed(self, row: int, cells: tuple[str, ...], unit: str) -> tuple[float, float, float] | None:
        fields = [field for field in ("offered", "eaten", "trial_days", "trial_hours") if field in self.place]
        if any(not self._cell(cells, field) for field in fields):
            self.left_out.append((row, "a cell is empty: not recorded"))
            return None
        found = {field: self._number(row, cells, field) for field in fields}
        offered, eaten = found["offered"], found["eaten"]
        if offered is None or eaten is None:
            return None
        if offered <= 0:
            self._refuse(row, "offered", f"{offered:g} offered", "must be above 0", "leave the row out")
        elif not 0 <= eaten <= offered:
            self._refuse(
                row,
                "eaten",
                f"{eaten:g} eaten",
                f"must lie between 0 and the {offered:g} offered",
                "check both",
            )
        days = self.told.days or found.get("trial_days") or (found.get("trial_hours") or 0.0) / 24.0
        if not days > 0 or not math.isfinite(days):
            field = "trial_days" if "trial_days" in self.place else "trial_hours"
            self._refuse(row, field, f"a trial of {days:g} days", "must be above 0", "check it")
        return offered, eaten, days
