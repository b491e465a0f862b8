"""What a spray does to the wasps inside mummies: at the midnight after it, a share of them dies where they sit.

They are the best protected of all, and slow: that they die up to a day late moves nothing a scout could see. The dead
stay as closed mummies until they fall. A run is parted at such a midnight and put together again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields, replace
from functools import wraps
from typing import Any, ParamSpec, TypeVar

import numpy as np
from numpy.typing import NDArray

from outpace.simulation.layout import Layout
from outpace.simulation.model import Spray

Array = NDArray[np.float64]
Asked = ParamSpec("Asked")
Result = TypeVar("Result")


def next_night(sprays: Sequence[Spray], first_day: int, days: int) -> int | None:
    """Return the first midnight of a run at which sprayed mummies die, or None.

    Examples
    --------
    >>> next_night([Spray(4.5, kill_mummies=0.2), Spray(2.9), Spray(9.0, kill_mummies=0.5)], 2, 5)
    5
    """
    nights = [
        int(np.floor(spray.day)) + 1
        for spray in sprays
        if first_day <= spray.day < first_day + days and np.any(np.asarray(spray.kill_mummies) > 0)
    ]
    return min(nights, default=None)


def die_in_mummies(
    state: Array, layout: Layout, sprays: Sequence[Spray], night: int
) -> tuple[Array, dict[tuple[int, int], Array]]:
    """Return the state after the mummies sprayed on the day before a midnight died, and how many.

    The number has shape (members,) for each enemy and zone.
    """
    after = state.copy()
    killed: dict[tuple[int, int], Array] = {}
    for spray in sprays:
        if int(np.floor(spray.day)) + 1 != night:
            continue
        for block in layout.blocks:
            if block.name != "mummies" or block.enemy is None or block.zone is None:
                continue
            if spray.zone is None or spray.zone == block.zone:
                dead = after[block.rows] * np.asarray(spray.kill_mummies)
                after[block.rows] -= dead
                after[layout.find("dead_mummies", enemy=block.enemy, zone=block.zone).first] += dead.sum(
                    axis=0
                )
                place = (block.enemy, block.zone)
                killed[place] = killed.get(place, 0.0) + dead.sum(axis=0)
    return after, killed


def nights_apart(run: Callable[Asked, Result]) -> Callable[Asked, Result]:
    """Return the same function, parted at each midnight at which sprayed mummies die."""

    @wraps(run)
    def parted(*given: Any, **told: Any) -> Any:
        sprays, first_day, days = told.get("sprays", ()), told["first_day"], told["days"]
        night = next_night(sprays, first_day, days)
        if night is None:
            return run(*given, **told)
        model, parameters, state, temperature, *more = given
        before: Any = run(model, parameters, state, temperature, *more, **{**told, "days": night - first_day})
        changed, killed = die_in_mummies(before.state, parameters.layout(model), sprays, night)
        for (enemy, zone), number in killed.items():
            before.enemy_ledger["died_in_mummy"][enemy, zone] += number
        rest = {**told, "first_day": night, "days": first_day + days - night}
        return _joined(before, parted(model, parameters, changed, temperature, *more, **rest))

    return parted


def _joined(before: Any, after: Any) -> Any:
    """Return two results as one: days one after the other, causes added up, the state at the end."""
    told: dict[str, Any] = {}
    for field in fields(before):
        first, second = getattr(before, field.name), getattr(after, field.name)
        if field.name.endswith("_ledger"):
            told[field.name] = {cause: first[cause] + second[cause] for cause in first}
        elif isinstance(first, dict):
            told[field.name] = {key: np.concatenate([first[key][:-1], second[key]]) for key in first}
        elif field.name != "state":
            told[field.name] = np.concatenate([first[:-1], second])
    return replace(after, **told)
