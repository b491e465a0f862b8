"""Temperature inside: the record made whole, and the hours ahead as an ensemble.

Hours are local; hour 0 is the midnight that begins day 0. Ahead of the record each member follows its own path: the
daily mean strays from its expected course as a first-order autoregression, and a diurnal shape is laid over it. Hourly
noise that forgets itself at once would make three weeks look six times surer than they are.

References
----------
The structure (daily AR(1) anomaly with a diurnal shape) is standard weather generation; its default numbers are rows
``temperature_*`` and ``outdoor_*`` of the facts, common practice.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from outpace.facts.table import Facts

Array = NDArray[np.float64]
Flags = NDArray[np.uint8]

RECORDED, BETWEEN, FROM_OTHER_DAYS, AHEAD = range(4)
"""Where an hour comes from: the record; a line across a short gap; the shape of other days; not yet recorded."""
SHORT_GAP_H = 3
FIT_FROM_D = 14
"""A record of so many whole days is enough to fit its own swings. [d]"""
LEARN_D = 10.0
"""After so many days a fitted swing weighs as much as the prior. [d]"""
HOUR_OF_MINIMUM, HOUR_OF_MAXIMUM = 6, 15
WHOLE_DAY_H = 18
"""A day with so many readings counts as whole. [h]"""


@dataclass(frozen=True, slots=True)
class Swings:
    """How daily means stray from their course: standard deviation [°C], correlation of days, fitted or prior."""

    sd: float
    correlation: float
    fitted: bool


@dataclass(frozen=True, slots=True)
class Course:
    """The expected course of days: daily mean and range (maximum less minimum), shape (days,). [°C]"""

    mean: Array
    range: Array


@dataclass(frozen=True, slots=True)
class Ahead:
    """Temperature of each hour and member, where each hour comes from, and the swings used.

    ``hours`` has shape (hours, members), or (hours, 1) if no hour lies ahead; ``flags`` shape (hours,).
    """

    hours: Array
    flags: Flags
    swings: Swings
    course_from: str


def fill_gaps(recorded: ArrayLike) -> tuple[Array, Flags]:
    """Return the record without gaps, and for each hour where it comes from.

    A gap of up to 3 h is bridged by a line; a longer one by the mean shape of the record's days, set between the levels
    on both sides.

    Parameters
    ----------
    recorded : array of float, shape (hours,)
        Whole days; NaN where nothing was recorded. [°C]

    Raises
    ------
    ValueError
        If there is no reading at all, or the hours are no whole days.

    Examples
    --------
    >>> hours, flags = fill_gaps([10.0, np.nan, 14.0] + [14.0] * 21)
    >>> hours[:3], flags[:3]
    (array([10., 12., 14.]), array([0, 1, 0], dtype=uint8))
    """
    hours = np.array(recorded, dtype=np.float64)
    if hours.ndim != 1 or len(hours) % 24:
        raise ValueError(f"record of shape {hours.shape} is no whole number of days")
    known = np.isfinite(hours)
    if not known.any():
        raise ValueError("no temperature was recorded")
    flags = np.where(known, RECORDED, BETWEEN).astype(np.uint8)
    shape = diurnal_shape(hours)
    index = np.arange(len(hours))
    around = shape[index % 24]
    level = np.interp(index, index[known], (hours - around)[known])
    line = np.interp(index, index[known], hours[known])
    edges = np.flatnonzero(np.diff(np.concatenate(([0], (~known).astype(np.int8), [0]))))
    for begin, end in edges.reshape(-1, 2):
        short = end - begin <= SHORT_GAP_H and begin > 0 and end < len(hours)
        flags[begin:end] = BETWEEN if short else FROM_OTHER_DAYS
        hours[begin:end] = (line if short else level + around)[begin:end]
    return hours, flags


def diurnal_shape(hours: Array) -> Array:
    """Return the mean deviation of each hour of the day from its day's mean, shape (24,), summing to 0. [°C]"""
    days = hours.reshape(-1, 24)
    whole = days[np.isfinite(days).all(axis=1)]
    if not len(whole):
        return np.zeros(24)
    shape: Array = (whole - whole.mean(axis=1, keepdims=True)).mean(axis=0)
    return shape


def from_daily(minimum: ArrayLike, maximum: ArrayLike) -> Array:
    """Return hourly temperature from daily minimum and maximum, shape (days × 24,). [°C]

    Half waves from the minimum at 6 to the maximum at 15 o'clock and on to the next day's minimum.

    Examples
    --------
    >>> hours = from_daily([10.0, 12.0], [20.0, 22.0])
    >>> hours[6], hours[15], hours[30], hours[39]
    (np.float64(10.0), np.float64(20.0), np.float64(12.0), np.float64(22.0))
    """
    low, high = np.asarray(minimum, dtype=np.float64), np.asarray(maximum, dtype=np.float64)
    if low.shape != high.shape or low.ndim != 1 or not len(low):
        raise ValueError("minimum and maximum must be lists of one length")
    if (low > high).any():
        raise ValueError("a minimum lies above its maximum")
    days = len(low)
    turns = np.concatenate(([high[0]], np.stack([low, high], axis=1).ravel(), [low[-1]]))
    when = np.concatenate(
        ([HOUR_OF_MAXIMUM - 24], np.add.outer(24 * np.arange(days), [HOUR_OF_MINIMUM, HOUR_OF_MAXIMUM]).ravel(),
         [24 * days + HOUR_OF_MINIMUM])
    )  # fmt: skip
    index = np.arange(24 * days)
    before = np.searchsorted(when, index, side="right") - 1
    part = (index - when[before]) / (when[before + 1] - when[before])
    hours: Array = turns[before] + (turns[before + 1] - turns[before]) * 0.5 * (1.0 - np.cos(np.pi * part))
    return hours


def prior_from_place(
    facts: Facts,
    latitude: float,
    day_of_year: int,
    days: int,
    *,
    heating_setpoint: float | None = None,
    vent_setpoint: float | None = None,
) -> Course:
    """Return the expected course inside a house of which only the place and the set-points are known.

    Parameters
    ----------
    latitude : float
        Degrees, south below 0.
    day_of_year : int
        Of the first day.
    heating_setpoint, vent_setpoint : float, optional
        The house is held above the first; warmth above the second is let out in part. [°C]
    """
    if not -90 <= latitude <= 90:
        raise ValueError(f"latitude {latitude} must lie between -90 and 90")

    def number(quantity: str) -> float:
        return facts.one("", quantity).value

    away = abs(latitude)
    warmest = number("outdoor_warmest") + (0.0 if latitude >= 0 else 182.5)
    season = np.cos(2.0 * np.pi * (day_of_year + np.arange(days) - warmest) / 365.25)
    outside = number("outdoor_mean") - number("outdoor_fall") * away + number("outdoor_swing") * away * season
    mean = outside + number("inside_excess")
    span = np.full(days, number("temperature_daily_range"))
    if vent_setpoint is not None:
        kept = number("share_kept_above_venting")
        over = np.maximum(0.0, mean + 0.5 * span - vent_setpoint) * (1.0 - kept)
        mean, span = mean - 0.5 * over, span - over * 0.5
    if heating_setpoint is not None:
        low = np.maximum(mean - 0.5 * span, heating_setpoint)
        high = np.maximum(mean + 0.5 * span, low + 2.0)
        mean, span = 0.5 * (low + high), high - low
    return Course(mean=mean, range=np.maximum(span, 1.0))


def prior_swings(facts: Facts) -> Swings:
    """Return the swings of daily means that are assumed where no record tells."""
    return Swings(
        sd=facts.one("", "temperature_anomaly_sd").value,
        correlation=facts.one("", "temperature_anomaly_correlation").value,
        fitted=False,
    )


def fit_swings(recorded: ArrayLike, prior: Swings) -> Swings:
    """Return the swings of a record's daily means about their straight course; the prior if it is short.

    Parameters
    ----------
    recorded : array of float, shape (hours,)
        NaN where nothing was recorded; days with few readings do not count. [°C]
    """
    means = _daily_means(np.asarray(recorded, dtype=np.float64))
    known = np.flatnonzero(np.isfinite(means))
    if len(known) < FIT_FROM_D:
        return prior
    course = np.polynomial.Polynomial.fit(known, means[known], 1)
    strayed = np.full(len(means), np.nan)
    strayed[known] = means[known] - course(known)
    today, tomorrow = strayed[:-1], strayed[1:]
    both = np.isfinite(today) & np.isfinite(tomorrow)
    variance = float(np.nanmean(strayed**2)) * len(known) / (len(known) - 2)
    correlation = float(np.mean(today[both] * tomorrow[both])) / max(variance, 1e-12) if both.any() else 0.0
    weight = len(known) / (len(known) + LEARN_D)
    # A short record shows less of a slow swing than there is: the estimate is drawn half-way to 1, then to the prior.
    correlation = float(np.clip(correlation + (1.0 + 3.0 * correlation) / len(known), 0.0, 0.95))
    return Swings(
        sd=float(np.sqrt(weight * variance + (1.0 - weight) * prior.sd**2)),
        correlation=weight * correlation + (1.0 - weight) * prior.correlation,
        fitted=True,
    )


def hourly_ahead(
    facts: Facts,
    recorded: ArrayLike,
    days_ahead: int,
    members: int,
    seed: int,
    *,
    course: Course | None = None,
    canopy_measured: bool = True,
) -> Ahead:
    """Return the temperature of the record's hours and of the days after it, for each member.

    Parameters
    ----------
    recorded : array of float, shape (hours,)
        From the midnight of day 0, whole days, NaN where nothing was recorded; may be all NaN or empty. [°C]
    days_ahead : int
        Days after the record's last.
    members, seed : int
        Member i of one seed strays alike in every house: pass one seed for all houses of a site.
    course : Course, optional
        Expected course over all days, the record's and those ahead, as from `prior_from_place`. Needed where nothing
        was recorded; else it gives the change of season.
    canopy_measured : bool, default True
        Without, each member has its own offset of the leaves from the sensor.

    Raises
    ------
    ValueError
        If nothing was recorded and no course is given.
    """
    past = np.array(recorded, dtype=np.float64)
    known_days = len(past) // 24
    days = known_days + days_ahead
    if course is not None and len(course.mean) < days:
        raise ValueError(f"the course covers {len(course.mean)} days, {days} are needed")
    prior = prior_swings(facts)
    means = _daily_means(past)
    seen = np.flatnonzero(np.isfinite(means))
    if not np.isfinite(past).any():
        if course is None:
            raise ValueError("nothing was recorded, and no course of place and season is given")
        return _from_course(facts, course, days, members, seed, prior)
    filled, flags = fill_gaps(past)
    swings = fit_swings(past, prior)
    shape = diurnal_shape(past if len(seen) == 0 else past[max(0, len(past) - 24 * FIT_FROM_D) :])
    if not shape.any():
        shape = diurnal_shape(filled[-24 * FIT_FROM_D :])
    recent = filled.reshape(-1, 24).mean(axis=1)[-FIT_FROM_D:]
    level = float(recent.mean())
    expected = np.full(days_ahead, level)
    if course is not None:
        drift = (
            course.mean[known_days:days] - course.mean[max(0, known_days - len(recent)) : known_days].mean()
        )
        expected = expected + drift
    stray = _stray(swings, days_ahead, members, seed, first=float(recent[-1]) - level)
    # The level, a mean over few correlated days, is itself unsure.
    slow = (1.0 + swings.correlation) / (1.0 - swings.correlation)
    unsure = swings.sd * np.sqrt(min(1.0, slow / len(recent))) * _normal(seed, 1, members)
    grown = 1.0 - swings.correlation ** np.arange(1, days_ahead + 1)
    daily = expected[:, None] + stray + grown[:, None] * unsure
    ahead = (daily[:, None, :] + shape[None, :, None]).reshape(days_ahead * 24, members)
    hours = (
        np.concatenate([np.repeat(filled[:, None], members, axis=1), ahead])
        if days_ahead
        else filled[:, None]
    )
    if not canopy_measured:
        hours = hours + _canopy_offset(facts, members, seed)
    return Ahead(
        hours=np.ascontiguousarray(hours),
        flags=np.concatenate([flags, np.full(days_ahead * 24, AHEAD, dtype=np.uint8)]),
        swings=swings,
        course_from="record",
    )


@dataclass(frozen=True, slots=True)
class Inside:
    """How a house answers to outdoor air: a straight line per hour of the day. [°C]"""

    slope: float
    start: Array
    sd: float

    def predict(self, outside: ArrayLike) -> Array:
        """Return the temperature inside for whole days of outdoor hours."""
        hours = np.asarray(outside, dtype=np.float64)
        inside: Array = self.slope * hours + np.resize(self.start, len(hours))
        return inside


def fit_inside(outside: ArrayLike, inside: ArrayLike, *, least_days: int = 5) -> Inside | None:
    """Return how a house follows outdoor air, from whole days on which both were recorded; None if too few.

    One slope, and one level for each hour of the day, by least squares. An imported forecast is outdoor air and must
    pass through this before it stands for a house.
    """
    air = np.asarray(outside, dtype=np.float64).reshape(-1, 24)
    house = np.asarray(inside, dtype=np.float64).reshape(-1, 24)
    both = np.isfinite(air).all(axis=1) & np.isfinite(house).all(axis=1)
    if both.sum() < least_days:
        return None
    air, house = air[both], house[both]
    air_strays, house_strays = air - air.mean(axis=0), house - house.mean(axis=0)
    slope = float((air_strays * house_strays).sum() / max((air_strays**2).sum(), 1e-12))
    left = house_strays - slope * air_strays
    free = max(left.size - 25, 1)
    return Inside(
        slope=slope,
        start=house.mean(axis=0) - slope * air.mean(axis=0),
        sd=float(np.sqrt((left**2).sum() / free)),
    )


def _from_course(facts: Facts, course: Course, days: int, members: int, seed: int, swings: Swings) -> Ahead:
    level = facts.one("", "temperature_unknown_sd").value * _normal(seed, 1, members)
    daily = course.mean[:days, None] + level + _stray(swings, days, members, seed, first=None)
    wave = from_daily(np.full(3, -0.5), np.full(3, 0.5))[24:48]
    wave = wave - wave.mean()
    hours = daily[:, None, :] + wave[None, :, None] * course.range[:days, None, None]
    return Ahead(
        hours=np.ascontiguousarray(hours.reshape(days * 24, members)),
        flags=np.full(days * 24, AHEAD, dtype=np.uint8),
        swings=swings,
        course_from="place and season",
    )


def _stray(swings: Swings, days: int, members: int, seed: int, *, first: float | None) -> Array:
    """Return the anomaly of each day and member, from a known day before or from anywhere. [°C]"""
    noise = np.random.Generator(np.random.Philox(key=np.array([seed % 2**64, 0], dtype=np.uint64)))
    fresh = noise.standard_normal((days, members)) * swings.sd * np.sqrt(1.0 - swings.correlation**2)
    anomaly = np.empty((days, members))
    now = swings.sd * _normal(seed, 2, members) if first is None else np.full(members, first)
    for d in range(days):
        now = swings.correlation * now + fresh[d]
        anomaly[d] = now
    return anomaly


def _canopy_offset(facts: Facts, members: int, seed: int) -> Array:
    fact = facts.one("", "temperature_canopy_offset")
    low = fact.value if fact.low is None else fact.low
    high = fact.value if fact.high is None else fact.high
    offset: Array = fact.value + 0.5 * (high - low) / 1.645 * _normal(seed, 3, members)
    return offset


def _normal(seed: int, stream: int, members: int) -> Array:
    key = np.array([seed % 2**64, stream], dtype=np.uint64)
    return np.random.Generator(np.random.Philox(key=key)).standard_normal(members)


def _daily_means(hours: Array) -> Array:
    """Return the mean of each day with enough readings, NaN for the others. [°C]"""
    days = hours.reshape(-1, 24)
    known = np.isfinite(days)
    counted = known.sum(axis=1)
    sums = np.where(known, days, 0.0).sum(axis=1)
    return np.where(counted >= WHOLE_DAY_H, sums / np.maximum(counted, 1), np.nan)
