"""What a walk would show: from densities in the house to the mean that a scout writes.

A later walk is compared with this and not with the density itself: it looks at few units, and the scout misses some.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from outpace.biology.dispersion import clumping_from_taylor
from outpace.estimation.bands import HOUSE, Bands
from outpace.estimation.standing import share_seen
from outpace.simulation.responses import LEAST_K, MOST_K

Array = NDArray[np.float64]

LEAST_MEAN = 1e-9


def mean_to_be_seen(
    bands: Bands,
    pest: int,
    unit: str,
    *,
    units: int,
    detection: tuple[float, float],
    rng: np.random.Generator,
    zone: int = HOUSE,
) -> Array:
    """Return draws of the mean per unit that a walk at each midnight would write, shape (days + 1, members).

    Parameters
    ----------
    bands : Bands
        What may stand in the house.
    unit : str
        ``leaf``, ``shoot`` or ``plant``.
    units : int
        How many are looked at; each is taken as one of the house, by itself.
    detection : (float, float)
        Of the beta law of the share of aphids that a scout sees; drawn once for each member.
    """
    if units < 1:
        raise ValueError("a walk looks at one unit at least")
    parameters = bands.parameters
    shown = share_seen(detection, parameters.members, rng)
    mean = np.maximum(shown * bands.live(pest, zone, unit), LEAST_MEAN)
    law = clumping_from_taylor(
        mean, parameters.get("taylor_a", pest=pest), parameters.get("taylor_b", pest=pest)
    )
    k = np.clip(law * np.exp(-parameters.get("log_clumping", pest=pest)), LEAST_K, MOST_K)
    # The sum of n negative binomial counts is one with n times mean and k.
    of_sum = rng.gamma(units * k, mean / k)
    return np.asarray(rng.poisson(of_sum) / units)
