"""One house as the planner sees it, and the chance that a schedule of releases keeps it under its level."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from outpace.simulation.model import HouseModel, Release, Spray
from outpace.simulation.parameters import Parameters
from outpace.simulation.run import SMALL_NUMBERS, run

Array = NDArray[np.float64]

LEAST_LIMIT = 1e-9  # stands for a limit of nothing where numbers are divided by it


@dataclass(frozen=True)
class HouseOutlook:
    """Where a house stands today and what is already on its way.

    Parameters
    ----------
    name : str
    model : HouseModel
        With every enemy that may be released.
    parameters : Parameters
    state : array of float, shape (n_state, members)
        At the midnight that begins ``today``.
    today : int
        Day index of the model's calendar.
    temperature : array of float, shape (hours, members) or (hours, 1)
        From the midnight of day 0 to at least ``horizon_d`` days after today. [°C]
    committed : sequence of Release
        Placed orders still to be released.
    sprays : sequence of Spray
    limits : array of float, shape (pests, zones, 1 or members)
        Highest number of live aphids in the zone that the grower accepts; infinite where no level is set.
    seed : int
    horizon_d : int
    ways : array of float, shape (days + 1, pests, zones, members), optional
        What densities are multiplied by at each midnight for what no equation has; see
        `outpace.estimation.forecast.ways_ahead`. None where the model is taken at its word.
    """

    name: str
    model: HouseModel
    parameters: Parameters
    state: Array
    today: int
    temperature: Array
    committed: tuple[Release, ...]
    sprays: tuple[Spray, ...]
    limits: Array
    seed: int
    horizon_d: int = 28
    ways: Array | None = None

    @property
    def members(self) -> int:
        """Return the number of members."""
        return self.parameters.members

    @property
    def laid(self) -> HouseOutlook:
        """Return the house itself, as `LaterHouse` does when it is first needed."""
        return self

    def some(self, members: int) -> HouseOutlook:
        """Return the same house with its first members only, for a search that is quick."""
        return self if members >= self.members else self.between(0, members)

    def between(self, first: int, end: int) -> HouseOutlook:
        """Return the same house with some of its members; where the first is not among them, with other luck."""
        part = slice(first, min(end, self.members))
        return HouseOutlook(
            name=self.name,
            model=self.model,
            parameters=self.parameters.take(np.arange(self.members)[part]),
            state=np.ascontiguousarray(self.state[:, part]),
            today=self.today,
            temperature=self.temperature
            if self.temperature.shape[1] == 1
            else from_today(self.temperature[:, part], self.today),
            committed=tuple(_cut(item, part) for item in self.committed),
            sprays=tuple(_cut_spray(item, part) for item in self.sprays),
            limits=self.limits if self.limits.shape[2] == 1 else self.limits[:, :, part],
            seed=self.seed + first,
            horizon_d=self.horizon_d,
            ways=None if self.ways is None else np.ascontiguousarray(self.ways[..., part]),
        )

    def wandering(self, aphids: Array) -> Array:
        """Return the aphids of a run, shape (days + 1, pests, zones, members), moved by what no equation has."""
        return aphids if self.ways is None else aphids * self.ways[: len(aphids)]


class LaterHouse:
    """A house that is laid out when a run first needs it: what was tried before may tell all that is asked.

    Parameters
    ----------
    name, members, today, horizon_d
        As `HouseOutlook` has them.
    lay : callable
        Returns the house.
    """

    def __init__(
        self, *, name: str, members: int, today: int, horizon_d: int, lay: Callable[[], HouseOutlook]
    ) -> None:
        self.name, self.members, self.today, self.horizon_d = name, members, today, horizon_d
        self._lay = lay

    @cached_property
    def laid(self) -> HouseOutlook:
        """Return the house."""
        return self._lay()


AnyHouse = HouseOutlook | LaterHouse


def from_today(hours: Array, today: int) -> Array:
    """Return hours from today's midnight on, at their places; the past, which no plan reads, is left empty.

    So it takes no memory: hours of a season and 4,096 members are 150 MB, and a farm has many houses.
    """
    # Pages of an array of zeros are given out when they are first written to.
    kept = np.zeros(hours.shape)
    kept[24 * today :] = hours[24 * today :]
    return kept


@dataclass(frozen=True)
class Outcome:
    """How a schedule fares on every member.

    ``above`` has shape (days + 1, members): whether any pest in any zone is above its limit at that midnight;
    ``times_limit`` how many times its limit the worst of them is there.
    """

    above: NDArray[np.bool_]
    times_limit: Array

    def chance_from(self, day: int) -> float:
        """Return the chance of being above on any midnight from this day (counted from today) on."""
        return float(self.above[day:].any(axis=0).mean()) if day < len(self.above) else 0.0

    def chance_before(self, day: int) -> float:
        """Return the chance of being above on any midnight before this day."""
        return float(self.above[:day].any(axis=0).mean()) if day > 0 else 0.0

    def days_above(self) -> float:
        """Return the expected number of days above. [d]"""
        return float(self.above.mean(axis=1).sum())


def outcome(house: HouseOutlook, releases: Sequence[Release] = ()) -> Outcome:
    """Return how the house fares with what is committed and with these releases beside it."""
    done = run(
        house.model,
        house.parameters,
        house.state,
        house.temperature,
        first_day=house.today,
        days=house.horizon_d,
        releases=(*house.committed, *releases),
        sprays=house.sprays,
        seed=house.seed,
        small_numbers=SMALL_NUMBERS,
    )
    aphids = house.wandering(done.aphids)
    above = np.asarray((aphids > house.limits[None]).any(axis=(1, 2)))
    times = np.asarray((aphids / np.maximum(house.limits[None], LEAST_LIMIT)).max(axis=(1, 2)))
    return Outcome(above, times)


def _cut(release: Release, part: slice) -> Release:
    return replace(
        release, emergence=_of(release.emergence, part), share_female=_of(release.share_female, part)
    )


def _cut_spray(spray: Spray, part: slice) -> Spray:
    return replace(
        spray,
        kill_pest=_of(spray.kill_pest, part),
        kill_enemy=_of(spray.kill_enemy, part),
        residual_enemy=_of(spray.residual_enemy, part),
        residual_d=_of(spray.residual_d, part),
        kill_mummies=_of(spray.kill_mummies, part),
    )


def _of(value: Any, part: slice) -> Any:
    return value[part] if isinstance(value, np.ndarray) and value.size > 1 else value
