"""A row of the book in words: its columns told, typed and read in the units of the reader."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from outpace.errors import OutpaceError
from outpace.facts.table import load
from outpace.language import say, to_say, written
from outpace.measures import (
    area,
    area_sign,
    area_value,
    degree_sign,
    of_unit,
    read_area,
    read_temperature,
    temperature,
)
from outpace.records.columns import CROP_TABLES, Column, Table
from outpace.season.moments import day, moment
from outpace.season.register import crop_name, enemy_name
from outpace.terms.scouting import PESTS_UNNAMED, Walk
from outpace.units import number

Answer = dict[str, Any]

MADE_KEY = re.compile(r"-[0-9a-f]{10}$")
"""A key that was made of what an entry tells; it says nothing to people."""
MEASURED = ("_degc", "_m2")
SMALL = ("vent_area_m2",)
"""Areas told in m² or ft² even where houses are measured in larger units."""
SPECIES = ("enemy", "pest", "species", "other_species")


def row_words(
    described: Table, row: Any, clock: ZoneInfo, walks: Mapping[str, Walk], *, keys: bool = False
) -> str:
    """Return a row as people read it: what is told only, names instead of keys."""
    parts = []
    walk = walks.get(getattr(row, "walk", "")) if described.name != "walks" else None
    if walk is not None:
        parts.append(f"{walk.house} {walk.time.astimezone(clock):%Y-%m-%d}")
    for column in described.columns:
        value = getattr(row, column.name)
        if value is None or (column.name == "walk" and walk is not None):
            continue
        if column.name == "farm" and described.name != "farm":
            continue
        if not keys and column.key and isinstance(value, str) and MADE_KEY.search(value):
            continue
        name, shown = _told_column(described.name, column, value, clock)
        parts.append(say("{column} {value}", column=name, value=shown))
    return ", ".join(parts)


def _told_column(of: str, column: Column, value: Any, clock: ZoneInfo) -> tuple[str, str]:
    """Return the name of a column and what it holds in words; a measure is rounded, its unit behind it."""
    words, ending = parted(column.stored)
    if isinstance(value, float) and ending in MEASURED:
        small = column.stored in SMALL
        return say(words), temperature(value) if ending == "_degc" else area(value, small=small)
    return column_words(column.stored), _shown(of, column, value, clock)


def column_words(name: str) -> str:
    """Return the name of a column in words, with the unit its figures are told in.

    Examples
    --------
    >>> column_words("labelled_number"), column_words("parcel_degc")
    ('labelled number', 'parcel °C')
    """
    words, ending = parted(name)
    sign = {
        "_m2": area_sign(small=name in SMALL),
        "_degc": degree_sign(),
        "_pct": "%",
        "_m": "m",
        "_d": "d",
        "_h": "h",
    }.get(ending, "")
    return f"{say(words)} {sign}".rstrip()


def parted(name: str) -> tuple[str, str]:
    """Return the name of a column in English words, and the ending that tells its unit.

    Examples
    --------
    >>> parted("parcel_degc"), parted("labour_per_h")
    (('parcel', '_degc'), ('labour per h', ''))
    """
    for ending in ("_m2", "_degc", "_pct", "_m", "_d", "_h"):
        if name.endswith(ending) and name != "labour_per_h":
            return name.removesuffix(ending).replace("_", " "), ending
    return name.replace("_", " "), ""


def _shown(of: str, column: Column, value: Any, clock: ZoneInfo) -> str:
    if isinstance(value, str) and column.name in SPECIES:
        return enemy_name(value)
    if isinstance(value, str) and column.stored == "crop" and of in CROP_TABLES:
        return crop_name(value)
    if isinstance(value, bool) or value in column.rules.get("one_of", ()):
        return say(typed_value(column, value, clock))
    if isinstance(value, float):
        return written(typed_value(column, value, clock))
    typed = typed_value(column, value, clock)
    return typed.replace("T", " ") if isinstance(value, datetime) else typed


def typed_value(column: Column, value: Any, clock: ZoneInfo) -> str:
    """Return a value as a form would have it typed, "" where nothing is told."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return f"{value.astimezone(clock):%Y-%m-%dT%H:%M}"
    if isinstance(value, bool):
        return to_say("yes") if value else to_say("no")
    if not isinstance(value, float):
        return str(value)
    # Never as 1e-05, which a form does not read.
    shown = f"{_told(column, value):.6f}".rstrip("0").rstrip(".") if column.stored.endswith(MEASURED) else ""
    return shown or f"{value:.10g}"


def _told(column: Column, value: float) -> float:
    """Return a number of the book as its reader measures it."""
    if column.stored.endswith("_degc"):
        return of_unit(value, "degC")
    if column.stored.endswith("_m2"):
        return area_value(value, small=column.stored in SMALL)
    return value


def column_answer(column: Column, value: Any, clock: ZoneInfo) -> Answer:
    """Return a column with its value, as a form asks for it."""
    kinds = {float: "number", int: "whole", bool: "yesno", date: "day", datetime: "moment"}
    return {
        "name": column.name,
        "words": column_words(column.stored),
        "kind": kinds.get(column.kind, "text"),
        "value": typed_value(column, value, clock),
        "key": column.key,
        "needed": column.required,
        "one_of": list(column.rules.get("one_of", ())),
    }


def differences(described: Table, before: Any, after: Any, clock: ZoneInfo) -> list[str]:
    """Return what one version of a row tells otherwise than the one before it."""
    if before is None or after is None:
        return []
    nothing = say("empty")
    return [
        say(
            "{column}: {old} became {new}",
            column=column_words(column.stored),
            old=typed_value(column, getattr(before, column.name), clock) or nothing,
            new=typed_value(column, getattr(after, column.name), clock) or nothing,
        )
        for column in described.columns
        if getattr(before, column.name) != getattr(after, column.name)
    ]


def read_value(of: str, column: Column, typed: str, clock: ZoneInfo) -> Any:
    """Return what was typed as the book keeps it, None where nothing was.

    Raises
    ------
    OutpaceError
        If it cannot be read, or is needed and empty.
    """
    if not typed:
        if column.required:
            raise OutpaceError(say("nothing is entered here"), allowed=say("this is needed"))
        return None
    if column.kind is datetime:
        return moment(typed, clock, where="")
    if column.kind is date:
        return day(typed, where="")
    if column.kind is float:
        if column.stored.endswith("_degc"):
            return read_temperature(typed, where="")
        if column.stored.endswith("_m2"):
            return read_area(typed, small=column.stored in SMALL, where="")
        return number(typed, where="")
    if column.kind is int:
        found = number(typed, where="")
        if not found.is_integer():
            raise OutpaceError(f"{typed!r}", allowed=say("must be a whole number"))
        return int(found)
    if column.kind is bool:
        if typed not in ("yes", "no"):
            raise OutpaceError(f"{typed!r}", allowed=say("yes or no"))
        return typed == "yes"
    if column.name in SPECIES and column.rules.get("species"):
        return typed if typed in PESTS_UNNAMED else load().resolve(typed)
    if column.stored == "crop" and of in CROP_TABLES:
        return load().resolve_crop(typed) or typed
    return typed
