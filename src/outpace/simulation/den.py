"""Room for the predators of one pack of members, and what all members share about them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from outpace.simulation.chains import Array, compiled_allocating, packs_of, varying
from outpace.simulation.layout import HOST_STAGES, N_SIZES
from outpace.simulation.ledger import N_PREDATOR_CAUSES


class Hunters(NamedTuple):
    """What all members share about predators."""

    tables: Array  # (predators, 4, grid): death at a passage; activity; lifetime eggs; heat death
    stage_share: Array  # (predators, 5): egg, L1, L2, L3, pupa, of the thermal constant
    prey_share: Array  # (predators, 3): of what a larva eats, by larval stage
    accepted: Array  # (predators, pests)
    preference: Array  # (predators, 6): by host stage, at equal numbers
    worth: Array  # (predators, 6): of one aphid, in oldest nymphs
    mummy_taste: Array  # (predators,)
    egg_shape: Array  # (predators, days): share of lifetime eggs


class Den(NamedTuple):
    """Arrays of one pack; the last axis is the member unless told. All are empty in a house without predators."""

    lines: Array  # (predators, 4): the two straight lines of the rate of development
    rate: Array  # (predators): of development in this step [d⁻¹]
    survive: Array  # (predators): share that survives a passage
    cool: Array  # (predators): share of young that heat alone does not kill in half a step
    heat: Array  # (predators): mean rate of development over the day [d⁻¹]
    active: Array  # (predators): effect of the day's warmth on searching
    laying: Array  # (predators): lifetime eggs at the day's warmth
    resting: Array  # (predators): share of full-grown larvae that the day sends to rest
    loss: Array  # (predators, zones): of larvae [d⁻¹]
    poisoned: Array  # (predators, zones): share of that loss by residue
    laid: Array  # (predators, zones): eggs of this day [d⁻¹]
    fresh: Array  # (predators, zones): females that came out today
    book: Array  # (predators, zones, causes)
    eaten: Array  # (zones, pests, stages): hazard of aphids [d⁻¹]
    mummies_eaten: Array  # (zones, enemies): hazard of closed mummies [d⁻¹]
    bitten: Array  # (zones, pests, stages): share of aphids eaten in half a step
    spared: Array  # (zones, pests, sizes): share of stung aphids not eaten in half a step
    spared_mummies: Array  # (zones, enemies): share of closed mummies not eaten in half a step
    meal: Array  # (pests): food per leaf area [oldest nymphs m⁻²]
    here: NDArray[np.bool_]  # (predators, zones), not by member: whether any chain holds something


@compiled_allocating
def make_den(predators: int, pests: int, enemies: int, zones: int) -> Den:
    """Return empty arrays for one pack."""
    places = zones if predators else 0
    return Den(
        packs_of((predators, varying(4))),
        packs_of((predators,)),
        packs_of((predators,)),
        packs_of((predators,)),
        packs_of((predators,)),
        packs_of((predators,)),
        packs_of((predators,)),
        packs_of((predators,)),
        packs_of((predators, zones)),
        packs_of((predators, zones)),
        packs_of((predators, zones)),
        packs_of((predators, zones)),
        packs_of((predators, zones, varying(N_PREDATOR_CAUSES))),
        packs_of((places, pests, varying(HOST_STAGES))),
        packs_of((places, enemies)),
        packs_of((places, pests, varying(HOST_STAGES))),
        packs_of((places, pests, varying(N_SIZES))),
        packs_of((places, enemies)),
        packs_of((pests,)),
        np.zeros((predators, zones), dtype=np.bool_),
    )
