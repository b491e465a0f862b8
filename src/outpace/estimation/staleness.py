"""How old a walk may be: in growth of the aphid, not in days alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.starting import growth_alone
from outpace.language import say
from outpace.simulation.model import HouseModel
from outpace.simulation.parameters import Parameters

Array = NDArray[np.float64]

WARN_TIMES = 4.0
NO_VERDICT_D = 10
LOOK_PLANTS = 10
"""A look at so many plants opens the forecast again."""


@dataclass(frozen=True, slots=True)
class Staleness:
    """How old the last walk is and what could have happened since.

    ``times_grown`` is the growth of few aphids without enemies since then, at the house's temperature.
    """

    days: float
    times_grown: float

    @property
    def warn(self) -> bool:
        """Whether the aphid could have grown four-fold, or more than ten days have passed."""
        return self.times_grown >= WARN_TIMES or self.closed

    @property
    def closed(self) -> bool:
        """Whether the walk is too old for a verdict and a forecast."""
        return self.days > NO_VERDICT_D

    @property
    def message(self) -> str:
        """Return the warning in one sentence; empty if there is none."""
        if self.closed:
            return say(
                "the last walk is {days:.0f} days old: no verdict and no forecast from it; look at "
                "{look_plants} plants to open it again",
                days=self.days,
                look_plants=LOOK_PLANTS,
            )
        if self.warn:
            return say(
                "the last walk is {days:.0f} days old, and since then this aphid could have grown "
                "{times_grown:.0f}-fold where no enemy held it",
                days=self.days,
                times_grown=self.times_grown,
            )
        return ""


def staleness(
    model: HouseModel,
    parameters: Parameters,
    temperature: Array,
    *,
    last_walk: float,
    today: float,
    pest: int,
    seed: int = 0,
) -> Staleness:
    """Return how stale the last walk is.

    Parameters
    ----------
    temperature : array of float, shape (hours, members) or (hours, 1)
        From the midnight of day 0, at least to ``today``. [°C]
    last_walk, today : float
        Days since day 0. A walk of before day 0 is as old as it is; growth is reckoned from day 0 on.
    """
    if today < last_walk:
        raise ValueError("the last walk lies ahead of today")
    since = max(last_walk, 0.0)
    first, end = int(np.floor(since)), int(np.ceil(today))
    end = min(end, temperature.shape[0] // 24)
    grown = 1.0
    if end > first:
        whole = growth_alone(
            model, parameters, temperature, pest=pest, first_day=first, days=end - first, seed=seed
        )
        grown = float(whole ** ((today - since) / (end - first)))
    return Staleness(today - last_walk, grown)


def days_until_grown(
    model: HouseModel,
    parameters: Parameters,
    temperature: Array,
    *,
    from_day: int,
    pest: int,
    times: float = WARN_TIMES,
    most: int = NO_VERDICT_D,
    seed: int = 0,
) -> int:
    """Return after how many days few aphids without enemies have grown so many times, at most ``most``.

    Until then holds what a clean walk has shown.
    """
    for days in range(1, most):
        if (from_day + days) * 24 > temperature.shape[0]:
            break
        grown = growth_alone(
            model, parameters, temperature, pest=pest, first_day=from_day, days=days, seed=seed
        )
        if grown >= times:
            return days
    return most
