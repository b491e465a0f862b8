"""Members of a house over days, and the bands that are read from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from outpace.biology.dispersion import clumping_from_taylor, zero_share
from outpace.simulation.model import HouseModel
from outpace.simulation.parameters import Parameters
from outpace.simulation.responses import LEAST_K, MOST_K
from outpace.simulation.run import Run

Array = NDArray[np.float64]

QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
HOUSE = -1
"""Index of the whole house among the zones of a band."""

SHARE_INFESTED = "share_infested"


@dataclass(frozen=True, slots=True)
class Bands:
    """What may stand in a house at each midnight, member by member.

    Attributes
    ----------
    first_day : int
        Index 0 of the arrays is the midnight that begins this day.
    aphids, closed, empty : array of float
        Per plant; shape (days + 1, pests or enemies, zones + 1, members). Live aphids include living stung ones.
        The last zone is the whole house, its plants counting alike.
    parameters : Parameters
        Of the same members.
    """

    model: HouseModel
    first_day: int
    aphids: Array
    closed: Array
    empty: Array
    parameters: Parameters

    @property
    def days(self) -> int:
        return len(self.aphids) - 1

    def live(self, pest: int, zone: int = HOUSE, unit: str = "plant") -> Array:
        """Return live aphids per leaf, shoot, plant or m² of floor, shape (days + 1, members).

        Leaves are those of each day. For ``share_infested`` the share of plants with at least one.
        """
        per_plant = self.aphids[:, pest, zone]
        if unit == SHARE_INFESTED:
            return infested_share(per_plant, self.parameters, pest)
        return per_plant / self._units(unit, zone)

    def _units(self, unit: str, zone: int) -> Array:
        """Return how many units a plant has at each midnight, shape (days + 1, 1)."""
        units: Array = self.model.units_per_plant(unit, self.first_day, len(self.aphids))[:, [zone]]
        return units

    def mummies(
        self, enemies: tuple[int, ...] | None = None, zone: int = HOUSE, unit: str = "plant"
    ) -> Array:
        """Return closed mummies per unit of some enemies or of all, shape (days + 1, members)."""
        chosen = self.closed if enemies is None else self.closed[:, list(enemies)]
        per = 1.0 if unit == SHARE_INFESTED else self._units(unit, zone)
        return np.asarray(chosen[:, :, zone].sum(axis=1) / per)

    def quantiles(self, pest: int, zone: int = HOUSE, unit: str = "plant") -> Array:
        """Return q05, q25, q50, q75, q95 of live aphids per unit, shape (days + 1, 5)."""
        return np.quantile(self.live(pest, zone, unit), QUANTILES, axis=1).T

    def mummy_quantiles(
        self, enemies: tuple[int, ...] | None = None, zone: int = HOUSE, unit: str = "plant"
    ) -> Array:
        """Return q05, q25, q50, q75, q95 of closed mummies per unit, shape (days + 1, 5)."""
        return np.quantile(self.mummies(enemies, zone, unit), QUANTILES, axis=1).T

    def chance_above(self, level: float, pest: int, zone: int = HOUSE, unit: str = "plant") -> Array:
        """Return the chance that the mean is above a level at each midnight, shape (days + 1,)."""
        return np.asarray((self.live(pest, zone, unit) > level).mean(axis=1))

    def chance_ever_above(
        self,
        level: float,
        pest: int,
        zone: int = HOUSE,
        unit: str = "plant",
        *,
        from_day: int | None = None,
        to_day: int | None = None,
    ) -> float:
        """Return the chance that the mean is above a level on any day from one to another, both included."""
        start = 0 if from_day is None else max(0, from_day - self.first_day)
        end = self.days if to_day is None else min(self.days, to_day - self.first_day)
        if start > end:
            raise ValueError("no day of the forecast lies in that span")
        return float((self.live(pest, zone, unit)[start : end + 1] > level).any(axis=0).mean())


def bands_of(model: HouseModel, parameters: Parameters, run: Run, first_day: int) -> Bands:
    """Return the bands of a run."""
    return Bands(
        model=model,
        first_day=first_day,
        aphids=per_plant(model, run.aphids),
        closed=per_plant(model, run.mummies_closed),
        empty=per_plant(model, run.mummies_empty),
        parameters=parameters,
    )


def per_plant(model: HouseModel, numbers: Array) -> Array:
    """Return numbers per zone (..., zones, members) as numbers per plant (..., zones + 1, members)."""
    plants = model.plants[:, None]
    whole = numbers.sum(axis=-2, keepdims=True) / plants.sum()
    return np.concatenate([numbers / plants, whole], axis=-2)


def infested_share(mean: Array, parameters: Parameters, pest: int) -> Array:
    """Return the share of plants with at least one aphid at a mean per plant, shape (days, members)."""
    safe = np.maximum(mean, 1e-9)
    law = clumping_from_taylor(
        safe, parameters.get("taylor_a", pest=pest), parameters.get("taylor_b", pest=pest)
    )
    k = np.clip(law * np.exp(-parameters.get("log_clumping", pest=pest)), LEAST_K, MOST_K)
    return 1.0 - np.asarray(zero_share(safe, k))


def last_midnight(bands: Bands) -> Bands:
    """Return the last midnight alone."""
    return replace(
        bands,
        first_day=bands.first_day + bands.days,
        aphids=bands.aphids[-1:],
        closed=bands.closed[-1:],
        empty=bands.empty[-1:],
    )


def with_last_midnight(bands: Bands, last: Bands) -> Bands:
    """Return bands with another last midnight."""
    return replace(
        bands,
        aphids=np.concatenate([bands.aphids[:-1], last.aphids]),
        closed=np.concatenate([bands.closed[:-1], last.closed]),
        empty=np.concatenate([bands.empty[:-1], last.empty]),
    )


def side_by_side(sets: Sequence[Bands]) -> Bands:
    """Return several sets of members as one."""
    values = np.concatenate([each.parameters.values for each in sets], axis=1)
    return replace(
        sets[0],
        aphids=np.concatenate([each.aphids for each in sets], axis=-1),
        closed=np.concatenate([each.closed for each in sets], axis=-1),
        empty=np.concatenate([each.empty for each in sets], axis=-1),
        parameters=replace(sets[0].parameters, values=values),
    )


def joined(segments: Sequence[Bands], first_day: int) -> Bands:
    """Return pieces that meet at midnights as one; at a meeting the later one speaks."""

    def meet(name: str) -> Array:
        parts = [getattr(each, name)[:-1] for each in segments[:-1]]
        return np.concatenate([*parts, getattr(segments[-1], name)])

    return replace(
        segments[-1], first_day=first_day, aphids=meet("aphids"), closed=meet("closed"), empty=meet("empty")
    )
