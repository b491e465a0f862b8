"""Room for the kernel to work in: one set of arrays per block of members, made once."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from outpace.simulation.chains import Array, compiled_allocating
from outpace.simulation.layout import HOST_STAGES, N_SIZES
from outpace.simulation.ledger import N_ENEMY_CAUSES, N_PEST_CAUSES
from outpace.simulation.parameter_rows import N_ENEMY, N_PAIR, N_PEST


class Room(NamedTuple):
    """Arrays of one block; the last axis is the member. Pests before enemies where both share an axis."""

    warmth: Array  # (24): temperature of each hour of the day [°C]
    values: Array  # the table of parameters of these members
    of_pest: Array  # (pests, 11): what holds for the whole run, see `outpace.simulation.run_constants`
    of_enemy: Array  # (enemies, 6)
    of_pair: Array  # (pairs): a/2 of living stung aphids over the wasp's rate of development [d]
    lines: Array  # (pests + enemies, 4): the two straight lines of the rate of development
    rate: Array  # (pests + enemies): of development in this step [d⁻¹]
    heat: Array  # (pests): development of this day, 1 from birth to adult
    survive: Array  # (pests): share that survives a passage
    cool: Array  # (pests + enemies): share of young that heat alone does not kill in a step
    ageing: Array  # (pests): 1 / adult life [d⁻¹]
    fecundity: Array  # (pests): lifetime births
    births_factor: Array  # (pests)
    survive_stung: Array  # (enemies)
    survive_mummy: Array  # (enemies)
    activity: Array  # (enemies): effect of the day's warmth on the bout
    eggs: Array  # (enemies): lifetime eggs at the day's warmth
    hosts: Array  # (pests, stages): at midnight
    stung: Array  # (pairs, sizes): at midnight
    density: Array  # (pests): aphids per leaf
    wet: Array  # (pests): aphids per leaf over those that halve the search by honeydew
    node: Array  # (pests, nodes): relative density
    luck: Array  # (pests): swing of log attack
    loss: Array  # (zones, pests): all that takes aphids but wasps [d⁻¹]
    crowded: Array  # (zones, pests): of these, the share that crowding takes
    winged_wish: Array  # (zones, pests): share of moults that the day's crowding asks to be winged
    hazard: Array  # (zones, pairs, stages): of being stung [d⁻¹]
    stay: Array  # (zones, pests, stages): share that no hazard removes in a step
    stay_stung: Array  # (zones, pests)
    taken: Array  # (zones, pairs, stages): share stung in a step
    spent: Array  # (zones, pests, stages): share lost otherwise in a step
    to_stung: Array  # (pairs, sizes): stung in this step
    to_mummy: Array  # (enemies): mummified in this step
    fresh: Array  # (enemies, zones): females that came out today
    pest_book: Array  # (pests, zones, causes)
    enemy_book: Array  # (enemies, zones, causes)
    pair: Array  # (2, pairs): appeal and hosts met


@compiled_allocating
def make_room(pests: int, enemies: int, pairs: int, zones: int, nodes: int, width: int) -> Room:
    """Return empty arrays for one block."""
    return Room(
        np.empty((24, width)),
        np.empty((pests * N_PEST + enemies * N_ENEMY + pairs * N_PAIR, width)),
        np.empty((pests, 11, width)),
        np.empty((enemies, 6, width)),
        np.empty((pairs, width)),
        np.empty((pests + enemies, 4, width)),
        np.empty((pests + enemies, width)),
        np.empty((pests, width)),
        np.empty((pests, width)),
        np.empty((pests + enemies, width)),
        np.empty((pests, width)),
        np.empty((pests, width)),
        np.empty((pests, width)),
        np.empty((enemies, width)),
        np.empty((enemies, width)),
        np.empty((enemies, width)),
        np.empty((enemies, width)),
        np.empty((pests, HOST_STAGES, width)),
        np.empty((pairs, N_SIZES, width)),
        np.empty((pests, width)),
        np.empty((pests, width)),
        np.empty((pests, nodes, width)),
        np.empty((pests, width)),
        np.empty((zones, pests, width)),
        np.empty((zones, pests, width)),
        np.empty((zones, pests, width)),
        np.empty((zones, pairs, HOST_STAGES, width)),
        np.empty((zones, pests, HOST_STAGES, width)),
        np.empty((zones, pests, width)),
        np.empty((zones, pairs, HOST_STAGES, width)),
        np.empty((zones, pests, HOST_STAGES, width)),
        np.empty((pairs, N_SIZES, width)),
        np.empty((enemies, width)),
        np.zeros((enemies, zones, width)),
        np.zeros((pests, zones, N_PEST_CAUSES, width)),
        np.zeros((enemies, zones, N_ENEMY_CAUSES, width)),
        np.empty((2, pairs, width)),
    )
