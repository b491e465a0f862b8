"""One house as the planner sees it, and the chance that a schedule of releases keeps it under its level."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from outpace.simulation.model import HouseModel, Release, Spray
from outpace.simulation.parameters import Parameters
from outpace.simulation.run import SMALL_NUMBERS, run

Array = NDArray[np.float64]


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

    @property
    def members(self) -> int:
        """Return the number of members."""
        return self.parameters.members

    def some(self, members: int) -> HouseOutlook:
        """Return the same house with its first members only, for a search that is quick."""
        if members >= self.members:
            return self
        keep = np.arange(members)
        heat = self.temperature if self.temperature.shape[1] == 1 else self.temperature[:, :members]
        return HouseOutlook(
            name=self.name,
            model=self.model,
            parameters=self.parameters.take(keep),
            state=np.ascontiguousarray(self.state[:, :members]),
            today=self.today,
            temperature=np.ascontiguousarray(heat),
            committed=tuple(_cut(item, members) for item in self.committed),
            sprays=tuple(_cut_spray(item, members) for item in self.sprays),
            limits=self.limits[:, :, :members],
            seed=self.seed,
            horizon_d=self.horizon_d,
        )


@dataclass(frozen=True)
class Outcome:
    """How a schedule fares on every member.

    ``above`` has shape (days + 1, members): whether any pest in any zone is above its limit at that midnight.
    """

    above: NDArray[np.bool_]

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
    return Outcome(np.asarray((done.aphids > house.limits[None]).any(axis=(1, 2))))


def _cut(release: Release, members: int) -> Release:
    return Release(
        day=release.day,
        enemy=release.enemy,
        zone=release.zone,
        number=release.number,
        form=release.form,
        emergence=_first(release.emergence, members),
        share_female=_first(release.share_female, members),
    )


def _cut_spray(spray: Spray, members: int) -> Spray:
    kill_pest, kill_enemy = _first(spray.kill_pest, members), _first(spray.kill_enemy, members)
    residual, span = _first(spray.residual_enemy, members), _first(spray.residual_d, members)
    return Spray(
        day=spray.day,
        zone=spray.zone,
        kill_pest=kill_pest if kill_pest is not None else 0.0,
        kill_enemy=kill_enemy if kill_enemy is not None else 0.0,
        residual_enemy=residual if residual is not None else 0.0,
        residual_d=span if span is not None else 0.0,
    )


def _first(value: float | Array | None, members: int) -> float | Array | None:
    return value[:members] if isinstance(value, np.ndarray) and value.size > 1 else value
