"""Room for the hyperparasitoids of one pack of members."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from outpace.simulation.chains import Array, compiled_allocating, packs_of, varying
from outpace.simulation.ledger import N_HYPER_CAUSES


class Brood(NamedTuple):
    """Arrays of one pack; the last axis is the member unless told. All are empty in a house without them."""

    lines: Array  # (hypers, 4): the two straight lines of the rate of development
    rate: Array  # (hypers): of development in this step [d⁻¹]
    warm: Array  # (hypers): the day's mean development over that at the reference temperature
    fresh: Array  # (hypers, zones): females that came out today
    book: Array  # (hypers, zones, causes)
    hazard: Array  # (hypers, zones): of a closed mummy, to be stung [d⁻¹]
    unstung: Array  # (zones): share of closed mummies that none stings in half a step
    part: Array  # (zones, enemies): of mummies that are stung or eaten, the share stung
    stung: Array  # (enemies): mummies stung in this step
    here: NDArray[np.bool_]  # (enemies, zones), not by member: whether young are or will be there today


@compiled_allocating
def make_brood(hypers: int, enemies: int, zones: int) -> Brood:
    """Return empty arrays for one pack."""
    places = zones if hypers else 0
    return Brood(
        packs_of((hypers, varying(4))),
        packs_of((hypers,)),
        packs_of((hypers,)),
        packs_of((hypers, zones)),
        packs_of((hypers, zones, varying(N_HYPER_CAUSES))),
        packs_of((hypers, zones)),
        packs_of((places,)),
        packs_of((places, enemies)),
        packs_of((enemies if hypers else varying(0),)),
        np.zeros((enemies, zones), dtype=np.bool_),
    )
