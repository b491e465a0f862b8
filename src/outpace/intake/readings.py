"""The readings of one sensor put right: repeated rows, order, error marks, spikes, a stuck sensor, gaps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby, pairwise
from statistics import fmean, median

from outpace.errors import OutpaceError
from outpace.intake.clock import aware
from outpace.intake.questions import Choice, Question
from outpace.language import listed, say
from outpace.measures import temperature

# What sensors and their readers do wrong; common practice, not figures of any species.
WARMEST_DEGC = 60.0
COLDEST_DEGC = -40.0
UNLIKELY_BELOW_DEGC = -25.0
UNLIKELY_ABOVE_DEGC = 50.0
SPIKE_DEGC = 8.0
SPIKE_WITHIN_S = 2 * 3600
STUCK_AFTER_S = 24 * 3600
STUCK_LEAST_READINGS = 12
GAP_LEAST_S = 3600

#: Numbers that loggers write where a sensor did not answer.
ERROR_MARKS = frozenset(
    {-9999.0, -999.9, -999.0, -888.0, 999.0, 9999.0, -127.0, 32767.0, -32768.0, -327.68, 3276.7}
)

SPIKE, STUCK, UNLIKELY, DIFFERS = "spike", "stuck", "unlikely", "differs"
DUPLICATES_OPTION = "--duplicates"


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading: seconds since 1970 UTC, row in the file, values, and a flag where it is doubtful."""

    seconds: int
    row: int
    temperature_degc: float
    humidity_pct: float | None = None
    radiation_w_per_m2: float | None = None
    flag: str | None = None


@dataclass(frozen=True, slots=True)
class Gap:
    """A time without readings, longer than the usual step."""

    start: datetime
    end: datetime

    @property
    def hours(self) -> float:
        """Return how long it lasts. [h]"""
        return (self.end - self.start).total_seconds() / 3600

    def text(self) -> str:
        """Return the gap in words."""
        return say(
            "{start:%Y-%m-%d %H:%M} to {end:%Y-%m-%d %H:%M} UTC ({hours:.1f} h)",
            start=self.start,
            end=self.end,
            hours=self.hours,
        )


@dataclass(frozen=True, slots=True)
class Sorted:
    """Readings in the order of time, no time twice."""

    readings: tuple[Reading, ...]
    repeated: int
    differing: int
    out_of_order: int
    question: Question | None


def check_range(degc: float, *, where: str, row: int, unit: str, heading: str) -> None:
    """Refuse a temperature that no house has.

    Raises
    ------
    OutpaceError
        With the row, the value and what most likely made it.
    """
    if COLDEST_DEGC <= degc <= WARMEST_DEGC:
        return
    limit = WARMEST_DEGC if degc > WARMEST_DEGC else COLDEST_DEGC
    if degc > WARMEST_DEGC and unit == "degc":
        hint = say("if the logger writes Fahrenheit, import it with `--temperature-unit degf`")
    else:
        hint = say(
            "check that `{heading}` is the column of temperatures, or take the broken rows out",
            heading=heading,
        )
    raise OutpaceError(
        say("temperature {told}", told=temperature(degc)),
        where=say("{where} row {row}", where=where, row=row),
        allowed=say("above the limit of {limit}", limit=temperature(limit))
        if degc > WARMEST_DEGC
        else say("below the limit of {limit}", limit=temperature(limit)),
        hint=hint,
    )


def in_order(readings: Sequence[Reading], rule: str | None) -> Sorted:
    """Return readings by time, repeated rows dropped; different readings of one time are settled or asked about.

    Parameters
    ----------
    rule : {"first", "last", "mean", "drop"}, optional
        What to do with different readings of one time.
    """
    late = sum(b.seconds < a.seconds for a, b in pairwise(readings))
    by_time = sorted(readings, key=lambda reading: (reading.seconds, reading.row))
    kept: list[Reading] = []
    repeated = differing = 0
    example: list[Reading] = []
    for _, group in groupby(by_time, key=lambda reading: reading.seconds):
        alike = list(group)
        different = list({_values(reading): reading for reading in reversed(alike)}.values())[::-1]
        repeated += len(alike) - len(different)
        if len(different) == 1:
            kept.append(alike[0])
            continue
        differing += 1
        example = example or different
        kept += _settle(different, rule)
    question = _ask(example, differing) if differing and rule is None else None
    return Sorted(tuple(kept), repeated, differing, late, question)


def _values(reading: Reading) -> tuple[float | None, ...]:
    return reading.temperature_degc, reading.humidity_pct, reading.radiation_w_per_m2


def _settle(different: Sequence[Reading], rule: str | None) -> list[Reading]:
    if rule == "drop":
        return []
    if rule == "mean":
        mean = round(fmean(reading.temperature_degc for reading in different), 3)
        return [replace(different[0], temperature_degc=mean, flag=DIFFERS)]
    return [replace(different[-1 if rule == "last" else 0], flag=DIFFERS)]


def _ask(example: Sequence[Reading], count: int) -> Question:
    values = listed(temperature(reading.temperature_degc) for reading in example[:2])
    more = say(", and {count} more times", count=count - 1) if count > 1 else ""
    return Question(
        "duplicates",
        say(
            "{seconds:%Y-%m-%d %H:%M} UTC has two readings, {values} (rows {row} and {row2}){more}",
            seconds=aware(example[0].seconds),
            values=values,
            row=example[0].row,
            row2=example[1].row,
            more=more,
        ),
        DUPLICATES_OPTION,
        (
            Choice("first", say("keep the upper row, flagged")),
            Choice("last", say("keep the lower row, flagged")),
            Choice("mean", say("keep their mean, flagged")),
            Choice("drop", say("keep none of them")),
        ),
    )


def flagged(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return the readings with doubtful ones flagged: unlikely values, spikes, a sensor that no longer moves.

    A spike leaves both neighbours by far while they agree. A sensor counts as stuck after a whole day of the
    same value; the flags look back only, so that a longer export of the same logger flags the same rows.
    """
    result: list[Reading] = []
    run_start = 0
    for at, reading in enumerate(readings):
        if at and reading.temperature_degc != readings[at - 1].temperature_degc:
            run_start = at
        flag = reading.flag
        if flag is None and not UNLIKELY_BELOW_DEGC <= reading.temperature_degc <= UNLIKELY_ABOVE_DEGC:
            flag = UNLIKELY
        if flag is None and _is_spike(readings, at):
            flag = SPIKE
        lasted = reading.seconds - readings[run_start].seconds
        if flag is None and lasted >= STUCK_AFTER_S and at - run_start >= STUCK_LEAST_READINGS:
            flag = STUCK
        result.append(reading if flag == reading.flag else replace(reading, flag=flag))
    return tuple(result)


def _is_spike(readings: Sequence[Reading], at: int) -> bool:
    if not 0 < at < len(readings) - 1:
        return False
    before, here, after = readings[at - 1], readings[at], readings[at + 1]
    if after.seconds - before.seconds > SPIKE_WITHIN_S:
        return False
    up, down = (
        here.temperature_degc - before.temperature_degc,
        here.temperature_degc - after.temperature_degc,
    )
    apart = abs(before.temperature_degc - after.temperature_degc)
    return up * down > 0 and min(abs(up), abs(down)) > SPIKE_DEGC and apart < min(abs(up), abs(down)) / 2


def usual_step(readings: Sequence[Reading]) -> float | None:
    """Return the median time between readings. [s]"""
    steps = [b.seconds - a.seconds for a, b in pairwise(readings)]
    return median(steps) if steps else None


def find_gaps(readings: Sequence[Reading]) -> tuple[Gap, ...]:
    """Return the times without readings that last longer than an hour and half as long again as the usual step."""
    step = usual_step(readings)
    if step is None:
        return ()
    least = max(GAP_LEAST_S, 1.5 * step)
    return tuple(
        Gap(aware(a.seconds), aware(b.seconds))
        for a, b in pairwise(readings)
        if b.seconds - a.seconds > least
    )
