"""Moving densities: by what no equation has from walk to walk, and when a walk lies far from what was held likely."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.bands import HOUSE, Bands, per_plant
from outpace.simulation.layout import HOST_SIZES, INSTARS
from outpace.simulation.parameters import Parameters

Array = NDArray[np.float64]

MOVE_SD = 0.35  # of the log densities, at each step
LIVING = (
    *INSTARS,
    "young_adults",
    "wingless",
    "flying",
    "winged",
    *(f"stung_{size}" for size in HOST_SIZES),
)
OF_ENEMIES = ("females", "mummies", "dead_mummies", "shells")


def moved(
    parameters: Parameters, state: Array, here: Bands, rng: np.random.Generator, sd: float = MOVE_SD
) -> tuple[Array, Bands]:
    """Return the state and its only midnight with densities moved, member by member.

    All aphids of a pest in a zone are multiplied by one number, all of an enemy by another; ages keep their shares.

    Parameters
    ----------
    sd : float
        Of the logs of those numbers.
    """
    model = here.model
    layout = parameters.layout(model)
    after = state.copy()
    aphids, closed, empty = (part[:, :, :HOUSE].copy() for part in (here.aphids, here.closed, here.empty))
    for z in range(len(model.zones)):
        for p in range(len(model.pests)):
            factor = np.exp(sd * rng.standard_normal(parameters.members))
            after[layout.holding(*LIVING, pest=p, zone=z)] *= factor
            aphids[:, p, z] *= factor
        for e in range(len(model.enemies)):
            factor = np.exp(sd * rng.standard_normal(parameters.members))
            for name in OF_ENEMIES:
                after[layout.find(name, enemy=e, zone=z).rows] *= factor
            closed[:, e, z] *= factor
            empty[:, e, z] *= factor
    plants = model.plants[:, None]
    return after, replace(
        here,
        aphids=per_plant(model, aphids * plants),
        closed=per_plant(model, closed * plants),
        empty=per_plant(model, empty * plants),
    )
