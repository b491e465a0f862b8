"""What each column of a logger's file holds: time, temperatures, humidity, radiation."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass

from outpace.intake.dialect import unnamed
from outpace.intake.written_time import read_written

TIME, DATE_PART, CLOCK_PART = "time", "date", "time of day"
TEMPERATURE, HUMIDITY, RADIATION = "temperature", "humidity", "radiation"
SENSOR, OTHER = "sensor", "other"

#: More names than this in a column are remarks, not sensors.
MOST_SENSORS = 40

_TEMPERATURE_WORDS = re.compile(
    r"temp|wärme|°\s*[cf]\b|℃|℉|deg\s*[cf]\b|celsius|fahrenheit|\(\s*[cf]\s*\)|^t\d?$"
)
_NOT_AIR = re.compile(
    r"dew|taupunkt|roc[íi]o|ros[ée]e|rugiada|wet.?bulb|heat index|feels|set.?p|sollwert|consigna|limit|alarm|"
    r"\bmin\b|\bmax\b|minimum|maximum|t.?min|t.?max|batter|soil|boden|suelo|substrat|water|wasser|pipe|rohr"
)
_HUMIDITY_WORDS = re.compile(r"humid|feucht|humed|umid|vocht|\brh\b|\bhr\b|%\s*rh|\br\.?h\.?")
_RADIATION_WORDS = re.compile(r"w\s*/\s*m|w m-2|radiat|strahl|radiaci|solar|pyran|raggi|straling")
_SENSOR_WORDS = re.compile(r"sensor|logger|device|probe|channel|gerät|fühler|kanal|sonda|sonde|capteur|canal")
_LIGHT_OTHER = re.compile(r"lux|\blx\b|par\b|ppfd|umol|µmol")
_FAHRENHEIT = re.compile(r"°\s*f\b|℉|deg\s*f\b|fahrenheit|\(\s*f\s*\)|[_\s]f$")
_CELSIUS = re.compile(r"°\s*c\b|℃|deg\s*c\b|celsius|centigrad|\(\s*c\s*\)|[_\s]c$")
_OUTSIDE = re.compile(r"outside|outdoor|external|ext\b|außen|aussen|exterior|extérieur|esterno|buiten")
_CANOPY = re.compile(r"canopy|crop|plant|leaf|bestand|cultivo|feuillage")

_MARKED = re.compile(r"([+\-\u2212]?\d+(?:[.,]\d+)?(?:[eE][+-]?\d+)?)\s*(°?\s*[CcFf]|℃|℉|deg[CcFf]|%)?")


@dataclass(frozen=True, slots=True)
class ColumnFound:
    """One column: heading, position, what it seems to hold, its unit and place where the heading tells."""

    heading: str
    at: int
    role: str
    unit: str | None = None
    place: str | None = None


def find_columns(headings: Sequence[str], sample: Sequence[Sequence[str]]) -> tuple[ColumnFound, ...]:
    """Return what each column seems to hold, from its heading and its first cells.

    The first column of times is the time; a column of days with a column of times of day make it together.
    """
    columns: list[ColumnFound] = []
    has_time = has_date = has_clock = False
    for at, heading in enumerate(headings):
        cells = [row[at].strip() for row in sample if at < len(row) and row[at].strip()]
        words = heading.casefold()
        written = [moment for moment in read_written(cells[:50]) if moment is not None]
        # Marks such as "NA" or "---" tell of a silent sensor, not of another kind of column.
        spoken = [cell for cell in cells if any(sign.isdigit() for sign in cell)]
        numeric = sum(_MARKED.fullmatch(cell) is not None for cell in spoken) > len(spoken) / 2
        told = TEMPERATURE if _TEMPERATURE_WORDS.search(words) else OTHER
        if not (has_time or has_date) and cells and len(written) > len(cells[:50]) / 2 and told == OTHER:
            days_only = all(moment.seconds == 0 and moment.epoch is None for moment in written)
            role = DATE_PART if days_only else TIME
            has_time, has_date = role == TIME, role == DATE_PART
            columns.append(ColumnFound(heading, at, role))
        elif not (has_time or has_clock) and sum(_is_clock(cell) for cell in cells) > len(cells) / 2:
            has_clock = True
            columns.append(ColumnFound(heading, at, CLOCK_PART))
        else:
            columns.append(_measured(heading, at, numeric, cells))
    if not any(column.role == TEMPERATURE for column in columns):
        columns = _only_number(columns, sample)
    return tuple(_without_twins(columns))


def _without_twins(columns: Sequence[ColumnFound]) -> list[ColumnFound]:
    """Leave out a column in Fahrenheit that says again what one in Celsius says."""

    def stem(column: ColumnFound) -> str:
        return re.sub(r"[^\w]|_", "", _FAHRENHEIT.sub("", _CELSIUS.sub("", column.heading.casefold())))

    celsius = {stem(column) for column in columns if column.role == TEMPERATURE and column.unit == "degc"}
    return [
        ColumnFound(column.heading, column.at, OTHER)
        if column.role == TEMPERATURE and column.unit == "degf" and stem(column) in celsius
        else column
        for column in columns
    ]


def _is_clock(cell: str) -> bool:
    return re.fullmatch(r"\d{1,2}[:.h]\d{2}([:.]\d{2})?\s*([AaPp]\.?\s?[Mm]\.?)?", cell.strip()) is not None


def _measured(heading: str, at: int, numeric: bool, cells: Sequence[str]) -> ColumnFound:
    words = heading.casefold()
    if _SENSOR_WORDS.search(words) and not _unit(words, cells) and 1 < len(set(cells)) <= MOST_SENSORS:
        return ColumnFound(heading, at, SENSOR)
    if not numeric:
        return ColumnFound(heading, at, OTHER)
    if _HUMIDITY_WORDS.search(words) and not _NOT_AIR.search(words):
        return ColumnFound(heading, at, HUMIDITY)
    if _RADIATION_WORDS.search(words) and not _LIGHT_OTHER.search(words):
        return ColumnFound(heading, at, RADIATION)
    unit = _unit(words, cells)
    if _NOT_AIR.search(words):
        return ColumnFound(heading, at, OTHER)
    if _TEMPERATURE_WORDS.search(words) or unit:
        place = "outside" if _OUTSIDE.search(words) else "canopy" if _CANOPY.search(words) else None
        return ColumnFound(heading, at, TEMPERATURE, unit, place)
    return ColumnFound(heading, at, OTHER)


def _unit(words: str, cells: Sequence[str]) -> str | None:
    if _FAHRENHEIT.search(words):
        return "degf"
    if _CELSIUS.search(words):
        return "degc"
    marks = {
        found[2].strip("° ").casefold() for cell in cells if (found := _MARKED.fullmatch(cell)) and found[2]
    }
    if marks and marks <= {"c", "℃", "degc"}:
        return "degc"
    if marks and marks <= {"f", "℉", "degf"}:
        return "degf"
    return None


def _only_number(columns: list[ColumnFound], sample: Sequence[Sequence[str]]) -> list[ColumnFound]:
    """Take the numbers of a file without telling headings as temperatures; several are asked about later."""

    def looks(column: ColumnFound) -> bool:
        cells = [row[column.at].strip() for row in sample if column.at < len(row) and row[column.at].strip()]
        numbers = [read_cell(cell, None) for cell in cells]
        found = [number for number in numbers if number is not None]
        rising = len(found) > 2 and all(b - a == 1 for a, b in itertools.pairwise(found))
        return bool(cells) and len(found) > len(cells) / 2 and not rising

    named = any(column.heading != unnamed(column.at) for column in columns)
    return [
        ColumnFound(column.heading, column.at, TEMPERATURE)
        if column.role == OTHER
        and looks(column)
        and not (named and _NOT_AIR.search(column.heading.casefold()))
        else column
        for column in columns
    ]


def read_cell(cell: str, decimal: str | None) -> float | None:
    """Return the number of a cell, its unit mark dropped; None where it holds none.

    Examples
    --------
    >>> read_cell("21,4 °C", ","), read_cell("---", "."), read_cell("", ".")
    (21.4, None, None)
    """
    found = _MARKED.fullmatch(cell.strip())
    if found is None:
        return None
    figure = found[1].replace("\u2212", "-")
    if ("," in figure and decimal == ".") or ("." in figure and decimal == ","):
        return None
    return float(figure.replace(",", "."))
