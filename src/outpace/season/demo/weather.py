"""Invented weather of a cool coast, the air of the houses under it, and the files their loggers wrote.

Each logger has its own maker's habits, so that the files pass the same door as anyone's.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache

import numpy as np

from outpace.intake.profile import Profile
from outpace.intake.typed import TypedDay
from outpace.season.demo.calendar import ZONE, Season
from outpace.season.demo.place import AUBERGINE, CUCUMBER, LETTUCE, PEPPER, STRAWBERRY
from outpace.units import from_degc

SEED = 20

#: Persistence of the weather from one day to the next, and its spread. [1], [°C]
PERSISTENCE, SPREAD_DEGC = 0.7, 1.6


@dataclass(frozen=True, slots=True)
class Air:
    """How the air of a house follows the weather: heated to, vented above, warmed by full sun. [°C]"""

    house: str
    heated: float
    vented: float
    sun: float


AIRS = {
    air.house: air
    for air in (
        Air(PEPPER, 16.5, 23.0, 11.0),
        Air(CUCUMBER, 18.5, 25.0, 10.0),
        Air(AUBERGINE, 16.5, 23.0, 11.0),
        Air(STRAWBERRY, 10.5, 21.0, 10.0),
        Air(LETTUCE, 8.0, 18.0, 9.0),
    )
}


def _normal(day: date, stream: int) -> float:
    return float(np.random.default_rng([SEED, stream, day.toordinal()]).normal())


@lru_cache(maxsize=4096)
def _anomaly(day: date) -> float:
    """Return how much warmer than usual a day is; the same for a day whenever it is asked. [°C]"""
    weights = [PERSISTENCE**lag for lag in range(8)]
    drawn = [_normal(day - timedelta(days=lag), 1) for lag in range(8)]
    scale = SPREAD_DEGC / math.sqrt(sum(weight**2 for weight in weights))
    return scale * sum(weight * value for weight, value in zip(weights, drawn, strict=True))


@lru_cache(maxsize=4096)
def _clearness(day: date) -> float:
    """Return the share of full sun on a day."""
    return min(max(0.55 + 0.25 * _normal(day, 2), 0.1), 1.0)


def outside_degc(local: datetime) -> float:
    """Return the invented outdoor temperature at a local time. [°C]"""
    year_day = local.timetuple().tm_yday
    usual = 14.2 + 4.8 * math.cos(2 * math.pi * (year_day - 222) / 365)
    hour = local.hour + local.minute / 60
    return usual + _anomaly(local.date()) + 2.8 * math.cos(2 * math.pi * (hour - 15) / 24)


def inside_degc(house: str, local: datetime) -> float:
    """Return the invented temperature in a house at a local time. [°C]"""
    air = AIRS[house]
    hour = local.hour + local.minute / 60
    half_day = (12.1 + 3.0 * math.sin(2 * math.pi * (local.timetuple().tm_yday - 80) / 365)) / 2
    height = (
        max(0.0, math.cos(math.pi * (hour - 13.5) / (2 * half_day))) if abs(hour - 13.5) < half_day else 0.0
    )
    free = outside_degc(local) + 1.0 + air.sun * height * _clearness(local.date())
    kept = max(free, air.heated + 0.4 * math.sin(2 * math.pi * hour / 3))
    return kept if kept <= air.vented else air.vented + 0.3 * (kept - air.vented)


def readings(house: str, season: Season, minutes: int, since_d: int) -> list[tuple[datetime, float]]:
    """Return (UTC time, °C) pairs of a house's logger from so many days ago to the season's end."""
    step = timedelta(minutes=minutes)
    moment = season.at(since_d, 0).astimezone(UTC)
    random = np.random.default_rng([SEED, sum(house.encode()), minutes])
    found = []
    while moment <= season.now:
        noise = float(random.normal(0, 0.15))
        found.append((moment, round(inside_degc(house, moment.astimezone(ZONE)) + noise, 1)))
        moment += step
    return found


@dataclass(frozen=True, slots=True)
class LoggerFile:
    """A file as a logger's program wrote it, and what a person told of that logger."""

    house: str
    name: str
    data: bytes
    answers: Profile
    place: str


def logger_files(season: Season, since_d: int) -> list[LoggerFile]:
    """Return the files of the four houses with a logger, each in another dialect."""
    pepper = readings(PEPPER, season, 30, since_d)
    cucumber = readings(CUCUMBER, season, 30, since_d)
    aubergine = readings(AUBERGINE, season, 60, since_d)
    strawberry = readings(STRAWBERRY, season, 60, since_d)
    return [
        LoggerFile(
            PEPPER,
            "long-tunnel.csv",
            _table(
                ["time,temperature (°C),RH (%)"],
                [(f"{t:%Y-%m-%dT%H:%M:%SZ}", f"{c:.1f}", f"{_humidity(c)}") for t, c in pepper],
                ",",
            ).encode("utf-8-sig"),
            Profile(name="logger of the long tunnel (invented)"),
            "canopy",
        ),
        LoggerFile(
            CUCUMBER,
            "big-glasshouse.csv",
            _table(
                [
                    "Anlage;Gewächshaus",
                    "Seriennummer;0000-17",
                    "",
                    "Datum;Uhrzeit;Temperatur [°C];Feuchte [%rF]",
                ],
                [
                    (
                        f"{_wall(t):%d.%m.%Y}",
                        f"{_wall(t):%H:%M}",
                        f"{c:.1f}".replace(".", ","),
                        f"{_humidity(c)}",
                    )
                    for t, c in cucumber
                ],
                ";",
            ).encode("cp1252"),
            Profile(name="climate computer (invented)", clock="farm"),
            "air",
        ),
        LoggerFile(
            AUBERGINE,
            "south_house.txt",
            _table(
                ["Date Time\tTemp, °F"],
                [(f"{_wall(t):%m/%d/%Y %I:%M:%S %p}", f"{from_degc(c, 'degf'):.2f}") for t, c in aubergine],
                "\t",
            ).encode("utf-16"),
            Profile(name="button logger (invented)", date_order="month"),
            "canopy",
        ),
        LoggerFile(
            STRAWBERRY,
            "berry.csv",
            _table(
                ["epoch,value"], [(f"{t.timestamp():.0f}", f"{c:.1f}") for t, c in strawberry], ","
            ).encode(),
            Profile(name="home-made logger (invented)", temperature_unit="degc"),
            "air",
        ),
    ]


def typed_days(season: Season, since_d: int) -> list[TypedDay]:
    """Return what the max-min thermometer of the salad house showed, up to yesterday."""
    found = []
    for ago in range(since_d, 0, -1):
        midnight = season.at(ago, 0)
        course = [inside_degc(LETTUCE, midnight + timedelta(minutes=30 * step)) for step in range(48)]
        found.append(TypedDay(season.day(ago), round(min(course), 0), round(max(course), 0)))
    return found


def _wall(moment: datetime) -> datetime:
    return moment.astimezone(ZONE)


def _humidity(degc: float) -> int:
    return round(min(96.0, max(45.0, 118.0 - 2.3 * degc)))


def _table(head: Sequence[str], rows: Sequence[tuple[str, ...]], separator: str) -> str:
    join: Callable[[tuple[str, ...]], str] = separator.join
    return "\r\n".join([*head, *(join(row) for row in rows)]) + "\r\n"
