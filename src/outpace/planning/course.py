"""What each course of action leads to in one house: aphids above the level day by day, and from when it pays.

All courses meet the same members with the same luck, so two of them differ only by what is done.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaincc, gammainccinv

from outpace.biology.dispersion import clumping_from_taylor
from outpace.estimation.verdict import outcomes
from outpace.planning.house_outlook import HouseOutlook
from outpace.simulation.model import Release, Spray
from outpace.simulation.responses import LEAST_K, MOST_K
from outpace.simulation.run import SMALL_NUMBERS, Run, run

Array = NDArray[np.float64]

NINETY = (0.05, 0.95)


@dataclass(frozen=True)
class Fate:
    """How a house fares under one course, member by member.

    Attributes
    ----------
    above : array of bool, shape (days + 1, members)
        Whether any aphid in any zone is above its level at that midnight.
    unit_days : array of float, shape (members,)
        Live aphids above the level, in the unit the level is counted in, summed over the days and aphids; zones count
        by their plants. A crop two aphids a leaf above its level for three days has 6. [unit d]
    ends_well : array of bool, shape (members,)
        In the last week at or under the level everywhere, and not growing.
    searching : array of float, shape (days + 1, members)
        Adult female wasps, and hunting stages of predators.
    in_mummies : array of float, shape (days + 1, members)
        Closed mummies.
    """

    above: NDArray[np.bool_]
    unit_days: Array
    ends_well: NDArray[np.bool_]
    searching: Array
    in_mummies: Array

    @property
    def chance_ever_above(self) -> float:
        """Return the chance of being above on any day from tomorrow's midnight on."""
        return float(self.above[1:].any(axis=0).mean())


def fate(
    house: HouseOutlook,
    levels: Sequence[float],
    *,
    releases: Sequence[Release] = (),
    sprays: Sequence[Spray] = (),
    committed: Sequence[Release] | None = None,
) -> Fate:
    """Return how the house fares when this is done beside what is there.

    Parameters
    ----------
    levels : sequence of float
        The action level of each aphid, in the unit it is counted in.
    committed : sequence of Release, optional
        What is still let go of the orders placed; all of it when not given.
    """
    done = run(
        house.model,
        house.parameters,
        house.state,
        house.temperature,
        first_day=house.today,
        days=house.horizon_d,
        releases=(*(house.committed if committed is None else committed), *releases),
        sprays=(*house.sprays, *sprays),
        seed=house.seed,
        small_numbers=SMALL_NUMBERS,
    )
    ratio = house.wandering(done.aphids) / house.limits[None]
    plants = house.model.plants
    share = (plants / plants.sum())[None, None, :, None]
    worth = np.asarray(levels, dtype=float)[None, :, None, None]
    over = (np.maximum(ratio - 1.0, 0.0) * share * worth)[1:]
    well = np.ones(house.members, dtype=np.bool_)
    for pest in range(ratio.shape[1]):
        for zone in range(ratio.shape[2]):
            well &= outcomes(ratio[:, pest, zone], 1.0)[1]
    searching = done.females.sum(axis=(1, 2))
    for kind in ("larvae", "adults"):
        searching = searching + done.predators[kind].sum(axis=(1, 2))
    return Fate(
        above=np.asarray((ratio > 1.0).any(axis=(1, 2))),
        unit_days=np.asarray(over.sum(axis=(0, 1, 2))),
        ends_well=well,
        searching=np.asarray(searching),
        in_mummies=np.asarray(done.mummies_closed.sum(axis=(1, 2))),
    )


@dataclass(frozen=True, slots=True)
class Paying:
    """What a course costs and when it pays against another.

    Attributes
    ----------
    saved : float
        Unit-days above the level that it spares, on average. [unit d]
    saved_low, saved_high : float
        The middle nine tenths of the members. [unit d]
    error : float
        Standard error of ``saved``, the luck being common. [unit d]
    break_even_loss : float or None
        Money lost per unit above the level and day from which the dearer course pays; None where it spares nothing, or
        what it costs was not told.
    """

    saved: float
    saved_low: float
    saved_high: float
    error: float
    break_even_loss: float | None


def paying(course: Fate, other: Fate, more_money: float | None) -> Paying:
    """Return from which loss on a course pays that costs so much more than another.

    Examples
    --------
    >>> import numpy as np
    >>> def told(unit_days):
    ...     none = np.zeros((2, 2))
    ...     return Fate(none > 1, np.array(unit_days), none[0] > 1, none, none)
    >>> paying(told([2.0, 4.0]), told([12.0, 14.0]), 50.0).break_even_loss
    5.0
    """
    spared = other.unit_days - course.unit_days
    mean = float(spared.mean())
    low, high = (float(value) for value in np.quantile(spared, NINETY))
    even = None
    if more_money is not None and mean > 0:
        even = max(more_money, 0.0) / mean
    return Paying(mean, low, high, float(spared.std() / np.sqrt(spared.size)), even)


def share_on_worst(part: float, k: ArrayLike) -> Array:
    """Return the share of all aphids that sits on the worst part of the plants.

    Plants differ in density as a gamma with shape *k*, the mixing law of the negative binomial.

    Parameters
    ----------
    part : float
        Share of the plants, 0 to 1.
    k : array of float
        Clumping between plants; small is clumped.

    Returns
    -------
    share : array of float
        Between ``part`` and 1.

    Examples
    --------
    >>> share_on_worst(0.05, [0.1, 1.0, 1e6]).round(2)
    array([0.61, 0.2 , 0.05])
    """
    shape = np.atleast_1d(np.asarray(k, dtype=float))
    if not 0 <= part <= 1 or (shape <= 0).any():
        raise ValueError(f"part {part} must be from 0 to 1, and k above 0")
    from_density = gammainccinv(shape, part)
    return np.asarray(np.clip(gammaincc(shape + 1.0, from_density), part, 1.0))


def standing_now(house: HouseOutlook) -> Run:
    """Return what stands in the house at its first midnight, without running it."""
    return run(
        house.model,
        house.parameters,
        house.state,
        house.temperature,
        first_day=house.today,
        days=0,
        seed=house.seed,
    )


def clumping_now(house: HouseOutlook, aphids: Array, pest: int) -> Array:
    """Return the clumping between plants of so many aphids in the house, shape (members,)."""
    mean = np.maximum(aphids / float(house.model.plants.sum()), 1e-9)
    parameters = house.parameters
    law = clumping_from_taylor(
        mean, parameters.get("taylor_a", pest=pest), parameters.get("taylor_b", pest=pest)
    )
    return np.clip(law * np.exp(-parameters.get("log_clumping", pest=pest)), LEAST_K, MOST_K)


def on_a_part(spray: Spray, aphids_met: Array, enemies_met: Array) -> Spray:
    """Return a treatment of some plants as the treatment of the house that meets only its share of all animals."""
    return replace(
        spray,
        kill_pest=np.asarray(spray.kill_pest) * aphids_met,
        kill_enemy=np.asarray(spray.kill_enemy) * enemies_met,
        kill_mummies=np.asarray(spray.kill_mummies) * aphids_met,
        residual_enemy=np.asarray(spray.residual_enemy) * enemies_met,
    )
