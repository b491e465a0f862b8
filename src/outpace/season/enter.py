"""What a person typed, as rows of the book."""

from __future__ import annotations

import dataclasses
import difflib
import hashlib
import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from outpace import units
from outpace.errors import ExitCode, OutpaceError
from outpace.facts.table import load
from outpace.language import listed, say, say_many
from outpace.measures import area, area_typed, temperature_typed
from outpace.season import moments
from outpace.season.names import houses_of, pick_farm
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot


@dataclass(frozen=True, slots=True)
class Entered:
    """Rows made from words, the sentence that says what they are, what to mind, and rows they make void."""

    rows: list[Any]
    sentence: str
    cautions: tuple[str, ...] = ()
    withdrawn: list[tuple[type, tuple[str, ...]]] = field(default_factory=list)


def key_from(*parts: object) -> str:
    """Return a key that the same entry always gets, so that sending it twice changes nothing.

    Examples
    --------
    >>> key_from("Long tunnel", "2026-04-20") == key_from("Long tunnel", "2026-04-20")
    True
    """
    text = "\x1f".join(str(part) for part in parts)
    first = unicodedata.normalize("NFKD", str(parts[0])).encode("ascii", "ignore").decode().lower()
    word = re.sub(r"[^a-z0-9]+", "-", first).strip("-")[:24] or "entry"
    return f"{word}-{hashlib.sha256(text.encode()).hexdigest()[:10]}"


def _changed(existing: Any, told: Mapping[str, Any]) -> Any:
    return dataclasses.replace(existing, **{name: value for name, value in told.items() if value is not None})


def _missing(what: str, name: str, needed: Mapping[str, str], told: Mapping[str, Any]) -> None:
    absent = [option for field, option in needed.items() if told.get(field) is None]
    if absent:
        raise OutpaceError(
            say_many(
                "{what} {name!r} is new, and {absent} is not told",
                "{what} {name!r} is new, and {absent} are not told",
                len(absent),
                what=what,
                name=name,
                absent=listed(absent),
            ),
            hint=say("add what is missing to the same command"),
            code=ExitCode.USAGE,
        )


def farm_row(snapshot: Snapshot, name: str, told: Mapping[str, Any]) -> Farm:
    """Return the farm as it is after what was told; what was not told stays as it was.

    Raises
    ------
    OutpaceError
        If the farm is new and its place, time zone or currency was not told.
    """
    for farm in snapshot.table(Farm):
        if farm.farm.casefold() == name.strip().casefold():
            return _changed(farm, told)  # type: ignore[no-any-return]
    needed = {
        "latitude": say("`--place LATITUDE,LONGITUDE`"),
        "time_zone": say("`--time-zone NAME`"),
        "currency": say("`--currency CODE`"),
    }
    _missing("farm", name, needed, told)
    return Farm(farm=plain_name(name, "farm"), **told)


def house_row(snapshot: Snapshot, farm: Farm, name: str, told: Mapping[str, Any]) -> House:
    """Return the house as it is after what was told; what was not told stays as it was.

    Raises
    ------
    OutpaceError
        If the house is new and its crop, area or number of plants was not told.
    """
    for house in houses_of(snapshot, farm):
        if house.house.casefold() == name.strip().casefold():
            return _changed(house, told)  # type: ignore[no-any-return]
    needed = {
        "crop": say("`--crop NAME`"),
        "area_m2": say("`--area AREA` (or `--length` and `--width`)"),
        "plants": say("`--plants NUMBER` (or `--rows`, `--row-length` and `--spacing`)"),
    }
    _missing("house", name, needed, told)
    return House(farm=farm.farm, house=plain_name(name, "house"), **told)


def house_from_words(
    snapshot: Snapshot,
    name: str,
    told: Mapping[str, Any],
    measures: Mapping[str, Any],
    *,
    farm: str | None = None,
) -> tuple[House, list[str]]:
    """Return a house from what people know of it, and remarks on what was reckoned.

    Parameters
    ----------
    told : mapping
        Columns of the house; lengths as text with or without unit, temperatures likewise, days as text.
    measures : mapping
        ``area`` as text, ``rows``, ``row_length`` and ``spacing`` (text, m and cm) instead of plants.
    """
    there = pick_farm(snapshot, farm)
    facts = load()
    remarks: list[str] = []
    row: dict[str, Any] = dict(told)
    for column, option in (("length_m", "`--length`"), ("width_m", "`--width`")):
        row[column] = _read(units.length_m, told.get(column), option)
    for column, option in (("heating_setpoint_degc", "`--heating`"), ("vent_setpoint_degc", "`--venting`")):
        unit = temperature_typed(there.temperature_unit)
        row[column] = _read(units.temperature_degc, told.get(column), option, unit)
    for column, option in (("planted", "`--planted`"), ("removed", "`--removed`")):
        row[column] = None if told.get(column) is None else moments.day(told[column], where=option)
    if told.get("crop") is not None:
        known = facts.resolve_crop(told["crop"])
        row["crop"] = known or plain_name(told["crop"], "crop")
        if known is None:
            near = difflib.get_close_matches(
                told["crop"].casefold(), [crop.english for crop in facts.crops.values()], n=1, cutoff=0.7
            )
            meant = (
                say("; if {near} was meant, tell it again with `--crop {near!r}`", near=near[0])
                if near
                else ""
            )
            remarks.append(
                say(
                    "no table knows the crop {crop!r}: the figures of no crop in particular hold{meant}",
                    crop=told["crop"],
                    meant=meant,
                )
            )
    if measures.get("area") is not None:
        row["area_m2"] = units.area_m2(measures["area"], area_typed(there.area_unit), where="`--area`")
    elif row["length_m"] is not None and row["width_m"] is not None:
        row["area_m2"] = row["length_m"] * row["width_m"]
        remarks.append(say("area from length and width: {ground}", ground=area(row["area_m2"])))
    if row.get("plants") is None and measures.get("rows") is not None:
        row["plants"] = _plants(measures, row["length_m"])
        remarks.append(say("plants from rows and spacing: {plants:,}", plants=row["plants"]))
    return house_row(snapshot, there, name, row), remarks


def _read(reader: Any, text: str | None, where: str, *unit: str) -> float | None:
    return None if text is None else reader(text, *unit, where=where)


def _plants(measures: Mapping[str, Any], house_length: float | None) -> int:
    length = _read(units.length_m, measures.get("row_length"), "`--row-length`") or house_length
    spacing = _read(units.length_m, measures.get("spacing"), "`--spacing`", "cm")
    if length is None or spacing is None:
        raise OutpaceError(
            say("rows alone do not tell how many plants"),
            hint=say("add `--row-length` and `--spacing`, or give `--plants`"),
            code=ExitCode.USAGE,
        )
    return plants_in_rows(measures["rows"], length, spacing * 100)


def plain_name(name: str, what: str) -> str:
    """Return a typed name on one line, or refuse one that cannot be seen."""
    plain = " ".join(name.split())
    if not plain or any(unicodedata.category(mark) in ("Cc", "Cf", "Cs") for mark in plain):
        raise OutpaceError(
            say("{name!r} is no name for a {what}", name=name, what=what),
            allowed=say("letters, digits, spaces and signs that can be seen"),
            hint=say("give the {what} the name people call it by", what=what),
            code=ExitCode.USAGE,
        )
    return plain


def plants_in_rows(rows: int, row_length_m: float, spacing_cm: float) -> int:
    """Return how many plants stand in rows: one at each end and one every spacing between.

    Examples
    --------
    >>> plants_in_rows(8, 40.0, 50.0)
    648
    """
    for value, option in ((rows, "`--rows`"), (row_length_m, "`--row-length`"), (spacing_cm, "`--spacing`")):
        if not value > 0 or not math.isfinite(value):
            raise OutpaceError(
                say("got {value}", value=value), where=option, allowed=say("above 0"), code=ExitCode.USAGE
            )
    return rows * (math.floor(row_length_m * 100 / spacing_cm + 1e-9) + 1)
