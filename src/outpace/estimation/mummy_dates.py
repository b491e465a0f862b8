"""When mummies can show, by heat since the release, and what finding none then means.

Before that day no mummies say nothing: they may not be there yet, or only where nobody has looked. The day is in
heat, never in weeks; it is late on purpose, so that a cold spring is not read as a dead parcel.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.observations import LineSeen, MummiesSeen, Seen
from outpace.facts.table import Facts
from outpace.simulation.model import HouseModel, Release
from outpace.simulation.parameters import Parameters

Array = NDArray[np.float64]

EARLY = 0.05
LEAST_HEAT = 0.1  # degree-days a day: below it no stage ends within a season
LATE = 0.95  # of the members have half of their first mummies by then


def absence_counts_from(
    model: HouseModel,
    facts: Facts,
    parameters: Parameters,
    temperature: Array,
    releases: Sequence[Release],
) -> dict[int, float]:
    """Return for each enemy released that accepts a pest here the day from which no mummies means something.

    Parameters
    ----------
    temperature : array of float, shape (hours, members) or (hours, 1)
        From the midnight of day 0. [°C]

    Returns
    -------
    days : dict
        Enemy → days since day 0; infinite where the temperature ends before.
    """
    heat = np.asarray(temperature.mean(axis=1), dtype=np.float64)
    found: dict[int, float] = {}
    for enemy in sorted({e for _, e in parameters.substages.pairs}):
        mine = [release for release in releases if release.enemy == enemy]
        if not mine:
            continue
        first = min(mine, key=lambda release: release.day)
        until = _days_of_passage(parameters, enemy, heat, first)
        found[enemy] = float(np.quantile(until, LATE, method="higher") + _laying_delay(model, facts, enemy))
    return found


def first_possible(
    parameters: Parameters, temperature: Array, releases: Sequence[Release]
) -> dict[int, float]:
    """Return for each enemy released that accepts a pest here the day before which there can be no mummies of it.

    Parameters
    ----------
    temperature : array of float, shape (hours, members) or (hours, 1)
        From the midnight of day 0. [°C]

    Returns
    -------
    days : dict
        Enemy → days since day 0: eggs laid in the first hour, in the quickest members.
    """
    heat = np.asarray(temperature.mean(axis=1), dtype=np.float64)
    found: dict[int, float] = {}
    for enemy in sorted({e for _, e in parameters.substages.pairs}):
        mine = [release for release in releases if release.enemy == enemy]
        if mine:
            first = min(mine, key=lambda release: release.day)
            days = _days_of_passage(parameters, enemy, heat, first)
            found[enemy] = float(np.quantile(days, EARLY, method="lower"))
    return found


def stage_times(parameters: Parameters, pest: int, enemy: int, heat: Array) -> tuple[Array, Array]:
    """Return how long a stung aphid lives on and how long its closed mummy stands, member by member. [d]

    Parameters
    ----------
    heat : array of float, shape (hours,)
        Temperature of the time before a walk; at its warmth both times are reckoned. [°C]
    """
    lower, constant, best, share = (
        parameters.get(name, enemy=enemy)
        for name in ("lower_threshold", "thermal_constant", "optimum_temperature", "mummy_share")
    )
    slow = parameters.get("slowness", pair=parameters.substages.pairs.index((pest, enemy)))
    hours = np.asarray(heat, dtype=np.float64)[:, None]
    per_day = np.maximum((np.clip(hours, lower, best) - lower).mean(axis=0), LEAST_HEAT)
    days = constant * slow / per_day
    return np.asarray(days * share), np.asarray(days * (1 - share))


def _days_of_passage(parameters: Parameters, enemy: int, heat: Array, release: Release) -> Array:
    """Return by member the day on which eggs laid at once after release or emergence have become mummies."""
    lower, constant, best, share, carrier = (
        parameters.get(name, enemy=enemy)
        for name in (
            "lower_threshold",
            "thermal_constant",
            "optimum_temperature",
            "mummy_share",
            "carrier_heat",
        )
    )
    hosts = [j for j, pair in enumerate(parameters.substages.pairs) if pair[1] == enemy]
    slow = np.max([parameters.get("slowness", pair=j) for j in hosts], axis=0)
    needed = constant * share * slow + (0.0 if release.form == "adults" else carrier)
    start = int(release.day * 24)
    days = np.empty(parameters.members)
    for member in range(parameters.members):
        warm = np.clip(heat[start:], lower[member], best[member]) - lower[member]
        reached = int(np.searchsorted(np.cumsum(warm) / 24, needed[member]))
        days[member] = np.inf if reached >= len(warm) else release.day + (reached + 1) / 24
    return days


def _laying_delay(model: HouseModel, facts: Facts, enemy: int) -> float:
    """Return days from emergence to half of the eggs."""
    key = model.enemies[enemy]
    delay = facts.one(key, "host_finding_delay").value
    laid, day = 0.0, 0
    while laid < 0.5:
        day += 1
        fact = facts.find(key, "fecundity_by_day", stage=f"day {day}")
        if fact is None:
            break
        laid += fact.value
    return delay + day


def without_early_zeros(walk: Seen, counts_from: dict[int, float], ties: dict[int, tuple[int, ...]]) -> Seen:
    """Return a walk without those of its zeros of mummies that mean nothing yet.

    A colour of which not one mummy was seen, before the day of every enemy that leaves it, becomes "not written
    down". Where some were seen, the zeros beside them stay.

    Parameters
    ----------
    counts_from : dict
        Of `absence_counts_from`; an enemy that is not in it was not released.
    ties : dict
        Pest → enemies that accept it, for walks told in one line.
    """
    if isinstance(walk, LineSeen):
        early = _too_early(walk.day, ties.get(walk.pest, ()), counts_from)
        return replace(walk, mummies_about=None) if early and walk.mummies_about == 0 else walk
    return replace(walk, mummies=tuple(_masked(each, walk.day, counts_from) for each in walk.mummies))


def _too_early(day: float, enemies: tuple[int, ...], counts_from: dict[int, float]) -> bool:
    mine = [counts_from[enemy] for enemy in enemies if enemy in counts_from]
    return bool(mine) and day < min(mine)


def _masked(seen: MummiesSeen, day: float, counts_from: dict[int, float]) -> MummiesSeen:
    some = np.nansum(seen.closed) + np.nansum(seen.empty) > 0
    if some or not _too_early(day, seen.enemies, counts_from):
        return seen
    nothing = np.full(len(seen.closed), np.nan)
    return MummiesSeen(seen.enemies, nothing, nothing)
