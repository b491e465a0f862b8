"""What people do and the light of the days, as the kernel reads them: by day and step of the run."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from outpace.biology.day_length import day_length
from outpace.simulation import ground, kernel
from outpace.simulation.model import HouseModel, Release, Spray
from outpace.simulation.parameters import Parameters
from outpace.simulation.predators import AS_EGGS, AS_LARVAE

Array = NDArray[np.float64]

ON_LEAVES = {"larvae": AS_LARVAE, "eggs": AS_EGGS}
LONG_DAY = 24.0
"""Hours of light where the place is not known: nothing goes to rest. [h]"""
DAYS_PER_YEAR = 365.25


def daylight_of(model: HouseModel, first_day: int, days: int) -> Array:
    """Return the hours of light of each day; 24 where the place is not known. [h]"""
    if model.latitude is None:
        return np.full(days, LONG_DAY)
    of_year = (model.day_of_year - 1 + first_day + np.arange(days)) % DAYS_PER_YEAR + 1
    return day_length(model.latitude, of_year)


def events_of(
    model: HouseModel,
    parameters: Parameters,
    releases: Sequence[Release],
    sprays: Sequence[Spray],
    first_day: int,
    days: int,
    steps_per_day: int,
) -> tuple[NDArray[np.int64], Array]:
    """Return what people do as (day, step, kind, enemy, zone) with five amounts per member, in the order of time."""
    found: list[tuple[tuple[int, int, int, int, int], list[Any]]] = []
    for spray in sprays:
        for z in range(len(model.zones)) if spray.zone is None else (spray.zone,):
            when = _when(spray.day, first_day, days, steps_per_day)
            amounts = [
                spray.kill_pest, spray.kill_enemy, spray.residual_enemy, spray.residual_d, spray.kill_mummies,
            ]  # fmt: skip
            if when is not None:
                found.append(((*when, kernel.SPRAYED_ON, 0, z), amounts))
    for strip in model.strips:
        for z in range(len(model.zones)) if strip.zone is None else (strip.zone,):
            when = _when(strip.day, first_day, days, steps_per_day)
            if when is not None:
                amounts = [strip.share, strip.share if strip.crop else 0.0]
                found.append(((*when, ground.STRIPPED, 0, z), amounts))
    for release in releases:
        when = _when(release.day, first_day, days, steps_per_day)
        if when is None:
            continue
        if release.enemy >= len(model.agents):
            numbers = [np.multiply(1.0 if release.emergence is None else release.emergence, release.number)]
            found.append(((*when, kernel.ADULTS, release.enemy, release.zone), numbers))
            continue
        if model.agents[release.enemy] in parameters.inert:
            continue
        out = release.emergence
        female = release.share_female
        if out is None:
            out = parameters.get("lot_emergence", enemy=release.enemy)
        if female is None:
            female = parameters.get("lot_share_female", enemy=release.enemy)
        kind = kernel.ADULTS if release.form == "adults" else kernel.IN_CARRIER
        if release.enemy >= len(model.enemies) and release.form in ON_LEAVES:
            kind, female = ON_LEAVES[release.form], 1.0
        found.append(
            (
                (*when, kind, release.enemy, release.zone),
                [np.multiply(out, female) * release.number],
            )
        )
    found.sort(key=lambda item: item[0][:3])
    events = np.array([item[0] for item in found], dtype=np.int64).reshape(len(found), 5)
    table = np.zeros((len(found), 5, parameters.members))
    for i, (_, numbers) in enumerate(found):
        for k, number in enumerate(numbers):
            table[i, k] = number
    return events, table


def _when(day: float, first_day: int, days: int, steps_per_day: int) -> tuple[int, int] | None:
    """Return day and step in the run, or None if the day is outside of it."""
    whole = int(np.floor(day))
    if not first_day <= whole < first_day + days:
        return None
    return whole - first_day, min(int((day - whole) * steps_per_day), steps_per_day - 1)
