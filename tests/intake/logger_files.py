"""Logger files of many makers, written by the tests from readings they know."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from outpace.intake.climate_file import read
from outpace.intake.profile import Profile

MADRID = ZoneInfo("Europe/Madrid")
LATER = datetime(2027, 6, 1, tzinfo=UTC)

Values = list[tuple[datetime, float]]


def half_hours(start: datetime, count: int, minutes: int = 30) -> Values:
    """Return (UTC time, °C) pairs that rise and fall by the day, one decimal each."""
    first = start.astimezone(UTC)
    result = []
    for at in range(count):
        time = first + timedelta(minutes=minutes * at)
        hour = time.hour + time.minute / 60
        result.append((time, round(17.0 - abs(hour - 14) / 2 + (at * 7 % 10) / 10, 1)))
    return result


@dataclass
class Maker:
    """How one maker's program writes a file."""

    separator: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    stamp: Callable[[datetime], str] = lambda local: f"{local:%Y-%m-%d %H:%M:%S}"
    fahrenheit: bool = False
    headings: Sequence[str] = ("Time", "Temperature (°C)")
    preamble: Sequence[str] = ()
    newest_first: bool = False
    newline: str = "\r\n"
    zone: ZoneInfo = MADRID
    tail: Sequence[str] = ()
    extra: Sequence[str] = field(default_factory=tuple)

    def write(self, values: Values) -> bytes:
        lines = [*self.preamble]
        if self.headings:
            lines.append(self.separator.join(self.quoted(heading) for heading in self.headings))
        rows = values[::-1] if self.newest_first else values
        for time, degc in rows:
            shown = degc * 9 / 5 + 32 if self.fahrenheit else degc
            text = f"{shown:.2f}".replace(".", self.decimal)
            stamp = self.stamp(time.astimezone(self.zone))
            lines.append(self.separator.join(self.quoted(cell) for cell in (stamp, text, *self.extra)))
        lines += self.tail
        return (self.newline.join(lines) + self.newline).encode(self.encoding)

    def quoted(self, cell: str) -> str:
        return f'"{cell}"' if self.separator in cell else cell


START = datetime(2026, 4, 12, 22, 0, tzinfo=UTC)
VALUES = half_hours(START, 120)


def bring(data: bytes, answers: Profile | None = None, zone: str = "Europe/Madrid", **more):
    return read(data, farm="F", house="H", time_zone=zone, answers=answers, now=LATER, **more)


def pairs(data: bytes, answers: Profile | None = None, zone: str = "Europe/Madrid") -> Values:
    rows, _ = bring(data, answers, zone)
    return [(row.time, row.temperature_degc) for row in rows]


def same(got: Values, wanted: Values, within: float = 0.006) -> bool:
    return [time for time, _ in got] == [time for time, _ in wanted] and all(
        abs(a - b) <= within for (_, a), (_, b) in zip(got, wanted, strict=True)
    )
