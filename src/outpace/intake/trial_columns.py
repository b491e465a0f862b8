"""Which columns a trial's table has, and what is to be asked about it before it can be read."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from outpace.errors import ExitCode, OutpaceError
from outpace.intake.dialect import plain_heading
from outpace.intake.questions import Choice, Question
from outpace.intake.sheet import Sheet
from outpace.language import say, say_many, to_say

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

_UNIT = re.compile(
    r"[(\[]([^)\]]*)[)\]]|°\s*([cf])\b|(℃|℉)|\bdeg\s?([cf])\b|(?<=\s)([cf])$|\b(celsius|fahrenheit)\b",
    re.IGNORECASE,
)


_NO_PREY = {
    "offered": to_say("no column is known as prey offered"),
    "eaten": to_say("no column is known as prey eaten"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialTold:
    """What a person tells of a table: fields by heading, the unit, the decimal mark, which rows, how long it ran."""

    columns: Mapping[str, str]
    temperature_unit: str | None = None
    decimal: str | None = None
    only: Mapping[str, str] | None = None
    days: float | None = None


def bare_heading(heading: str) -> tuple[str, str]:
    """Return a heading without its unit, and the unit in lower case."""
    spaced = heading.replace("_", " ").strip()
    units = [next(part for part in found.groups() if part is not None) for found in _UNIT.finditer(spaced)]
    bare = plain_heading(re.sub(r"[^\w/]+", " ", _UNIT.sub(" ", spaced))).strip()
    return bare, units[0].strip().casefold() if units else ""


def columns_of(sheet: Sheet, told: TrialTold) -> dict[str, str]:
    """Return heading → field: as told, else as the heading says."""
    for heading, named in told.columns.items():
        if heading not in sheet.headings:
            raise OutpaceError(
                say("no column called {heading!r}", heading=heading),
                where=sheet.where,
                allowed=say("columns: {columns}", columns=", ".join(filter(None, sheet.headings))),
                hint=say("write the heading as it stands in the table"),
                code=ExitCode.USAGE,
            )
        if named not in FIELDS:
            raise OutpaceError(
                f"{named!r}",
                where=f'`--column "{heading}={named}"`',
                allowed=say("one of {names}", names=", ".join(FIELDS)),
                hint=say("see `outpace facts fit --help`"),
                code=ExitCode.USAGE,
            )
    columns = dict(told.columns)
    for heading in sheet.headings:
        bare, unit = bare_heading(heading)
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


def open_questions(sheet: Sheet, columns: Mapping[str, str], told: TrialTold) -> Sequence[Question]:
    """Return what a person must still tell before the table can be read."""
    known = set(columns.values())
    free = [heading for heading in sheet.headings if heading and heading not in columns]
    feeding = is_feeding(known)
    asked: list[Question] = []

    def column(fields: tuple[str, ...], text: str) -> None:
        choices = [
            Choice(f'"{heading}={field}"', say("column {heading!r}", heading=heading))
            for heading in free
            for field in fields
        ]
        asked.append(
            Question(
                "column",
                text,
                "--column",
                tuple(choices) or (Choice(f"HEADING={fields[0]}", say("add one")),),
            )
        )

    if feeding:
        for field in ("offered", "eaten"):
            if field not in known:
                column(
                    (field,),
                    say("no column is known as prey offered")
                    if field == "offered"
                    else say("no column is known as prey eaten"),
                )
        if not {"trial_days", "trial_hours"} & known and told.days is None:
            asked.append(
                Question(
                    "days",
                    say("how long the trial ran is not told"),
                    "--days",
                    (Choice("1", say("one day")),),
                )
            )
    else:
        if "temperature" not in known:
            column(("temperature",), say("no column is known as temperature"))
        if not {"days", "hours", "rate"} & known:
            if asked:
                free = [*free[1:], *free[:1]]  # the first column was proposed as temperature already
            column(("days", "rate"), say("no column is known as days, hours or rate of development"))
        elif "rate" in known and {"days", "hours"} & known:
            named = [heading for heading, field in columns.items() if field in ("days", "hours", "rate")]
            text = say("{first!r} and {second!r} both tell how fast it went", first=named[0], second=named[1])
            choices = tuple(
                Choice(f'"{heading}=ignore"', say("leave {heading!r} out", heading=heading))
                for heading in named
            )
            asked.append(Question("column", text, "--column", choices))
    asked += _parts(sheet, columns, told, feeding)
    return asked


def is_feeding(known: set[str]) -> bool:
    """Return whether the columns are those of prey offered and eaten."""
    return bool({"offered", "eaten"} & known) and not {"days", "hours", "rate"} & known


def _parts(sheet: Sheet, columns: Mapping[str, str], told: TrialTold, feeding: bool) -> list[Question]:
    """Return a question where the table holds several trials."""
    only = dict(told.only or {})
    for heading in only:
        if heading not in sheet.headings:
            raise OutpaceError(
                say("no column called {heading!r}", heading=heading),
                where=f'`--only "{heading}=..."`',
                allowed=say("columns: {columns}", columns=", ".join(filter(None, sheet.headings))),
                hint=say("write the heading as it stands in the table"),
                code=ExitCode.USAGE,
            )
    asked = []
    for at, heading in enumerate(sheet.headings):
        warm = feeding and columns.get(heading) == "temperature"
        if heading in only or not (warm or (bare_heading(heading)[0] in GROUPS and heading not in columns)):
            continue
        values = list(dict.fromkeys(cells[at] for _, cells in chosen_rows(sheet, only) if cells[at]))
        if len(values) > 1:
            text = say_many(
                "column {heading!r} parts the table into {n} trial",
                "column {heading!r} parts the table into {n} trials",
                len(values),
                heading=heading,
            )
            choices = tuple(Choice(f'"{heading}={value}"', say("those rows alone")) for value in values[:12])
            asked.append(Question("only", text, "--only", choices))
    return asked


def chosen_rows(sheet: Sheet, only: Mapping[str, str]) -> list[tuple[int, tuple[str, ...]]]:
    """Return the rows of the one trial that was chosen, each with its number."""
    places = {sheet.headings.index(heading): value.casefold() for heading, value in only.items()}
    return [
        (row, cells)
        for row, cells in sheet.rows
        if all(cells[at].casefold() == value for at, value in places.items())
    ]
