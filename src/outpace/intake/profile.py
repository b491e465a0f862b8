"""How one logger writes its files, answered once and kept: a profile, found again by the file's headings."""

from __future__ import annotations

import dataclasses
import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from outpace.errors import OutpaceError
from outpace.intake.clock import check_clock
from outpace.intake.written_time import ORDERS
from outpace.language import say

PLACES = ("canopy", "air", "outside")
DUPLICATES = ("first", "last", "mean", "drop")
DECIMALS = {"comma": ",", "point": "."}
UNITS = ("degc", "degf")


@dataclass(frozen=True, slots=True)
class SensorColumn:
    """A column of temperatures: its heading, the sensor's name, and where the sensor hangs."""

    column: str
    sensor: str | None = None
    place: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """What is known of a logger's files. None means: not told, to be found in the file or asked.

    Parameters
    ----------
    name : str
        What people call the logger.
    fingerprint : str
        Of separator and headings; files that share it are read with this profile.
    temperature_unit : {"degc", "degf"}, optional
    date_order : {"day", "month", "year"}, optional
    decimal : {"comma", "point"}, optional
    clock : str, optional
        ``farm``, ``winter`` or an offset from UTC.
    duplicates : {"first", "last", "mean", "drop"}, optional
        What to do with two different readings of one time.
    sensors : tuple of SensorColumn
        The temperature columns to read; empty: the only one there is.
    humidity, radiation : str, optional
        Headings of these columns; an empty text means: leave out.
    """

    name: str = ""
    fingerprint: str = ""
    temperature_unit: str | None = None
    date_order: str | None = None
    decimal: str | None = None
    clock: str | None = None
    duplicates: str | None = None
    sensors: tuple[SensorColumn, ...] = ()
    humidity: str | None = None
    radiation: str | None = None

    def __post_init__(self) -> None:
        for value, allowed, option in (
            (self.temperature_unit, UNITS, "--temperature-unit"),
            (self.date_order, ORDERS, "--date-order"),
            (self.decimal, tuple(DECIMALS), "--decimal"),
            (self.duplicates, DUPLICATES, "--duplicates"),
            *((sensor.place, PLACES, "--column") for sensor in self.sensors),
        ):
            if value is not None and value not in allowed:
                raise OutpaceError(
                    f"{value!r}",
                    where=f"`{option}`",
                    allowed=say("one of {allowed}", allowed=", ".join(allowed)),
                    hint=say("check it"),
                )
        check_clock(self.clock)

    def with_answers(self, answers: Profile) -> Profile:
        """Return this profile with what was told now laid over it."""
        told = {
            part.name: getattr(answers, part.name)
            for part in dataclasses.fields(answers)
            if getattr(answers, part.name) != part.default
        }
        return dataclasses.replace(self, **told)

    def to_json(self) -> dict[str, Any]:
        """Return the profile as plain values."""
        return dataclasses.asdict(self) | {"sensors": [dataclasses.asdict(one) for one in self.sensors]}

    @classmethod
    def from_json(cls, values: dict[str, Any]) -> Profile:
        """Return the profile that :meth:`to_json` gave.

        Raises
        ------
        OutpaceError
            If the values are those of something else.
        """
        try:
            sensors = tuple(SensorColumn(**one) for one in values.get("sensors", ()))
            return cls(**(values | {"sensors": sensors}))
        except (TypeError, AttributeError) as error:
            raise OutpaceError(
                say("this is no logger profile: {error}", error=error),
                hint=say("answer the questions again; it is then kept anew"),
            ) from error


def sensor_answer(text: str) -> SensorColumn:
    """Return a column told as ``HEADING``, ``HEADING=PLACE`` or ``HEADING=PLACE:SENSOR``.

    Examples
    --------
    >>> sensor_answer("T2=canopy:bay 2")
    SensorColumn(column='T2', sensor='bay 2', place='canopy')
    """
    column, mark, rest = text.rpartition("=")
    if not mark:
        return SensorColumn(text.strip())
    place, _, sensor = rest.partition(":")
    if place.strip() and place.strip() not in PLACES:
        raise OutpaceError(
            f"{place.strip()!r}",
            where="`--column`",
            allowed=say("one of {places}", places=", ".join(PLACES)),
            hint=say("check it"),
        )
    return SensorColumn(column.strip(), sensor.strip() or None, place.strip() or None)


class ProfileShelf:
    """The profiles of a farm's loggers, kept in one JSON file.

    Parameters
    ----------
    path : Path
        The file; it need not exist yet.
    """

    def __init__(self, path: Path) -> None:
        self.path = path

    def all(self) -> dict[str, Profile]:
        """Return the kept profiles by fingerprint."""
        if not self.path.exists():
            return {}
        try:
            values = json.loads(self.path.read_text(encoding="utf-8"))
            found = [Profile.from_json(one) for one in values["profiles"]]
        except (ValueError, TypeError, KeyError) as error:
            raise OutpaceError(
                say("the kept logger profiles cannot be read"),
                where=f"`{self.path}`",
                hint=say("move the file away; the questions are then asked again"),
            ) from error
        return {profile.fingerprint: profile for profile in found}

    def find(self, fingerprint: str) -> Profile | None:
        """Return the profile of a logger seen before, or None."""
        return self.all().get(fingerprint)

    def keep(self, profile: Profile) -> None:
        """Keep a profile, in place of the one that its logger had."""
        kept = self.all() | {profile.fingerprint: profile}
        self.path.parent.mkdir(parents=True, exist_ok=True)
        beside = self.path.with_name(f".{self.path.name}.part")
        text = json.dumps(
            {"profiles": [one.to_json() for one in kept.values()]}, ensure_ascii=False, indent=2
        )
        beside.write_text(text + "\n", encoding="utf-8")
        os.replace(beside, self.path)
