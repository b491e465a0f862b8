"""Room for the kernel to work in: one set of arrays per block of members, made once."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from outpace.simulation.brood import Brood, make_brood
from outpace.simulation.chains import Array, compiled_allocating, packs_of, varying
from outpace.simulation.den import Den, make_den
from outpace.simulation.hyper_rows import N_HYPER
from outpace.simulation.layout import HOST_STAGES, N_SIZES
from outpace.simulation.ledger import N_ENEMY_CAUSES, N_PEST_CAUSES
from outpace.simulation.parameter_rows import N_ENEMY, N_PAIR, N_PEST
from outpace.simulation.predator_rows import N_PREDATOR


class Room(NamedTuple):
    """Arrays of one block; the last axis is the member. Pests before enemies where both share an axis."""

    warmth: Array  # (24): temperature of each hour of the day [°C]
    place: Array  # (24): where in the tables of responses these stand
    values: Array  # the table of parameters of these members
    of_pest: Array  # (pests, 11): what holds for the whole run, see `outpace.simulation.run_constants`
    of_enemy: Array  # (enemies, 5)
    of_pair: Array  # (pairs): a/2 of living stung aphids over the wasp's rate of development [d]
    of_instar: Array  # (pests, 4), the same for all: a/2 over the rate of development [d]
    lines: Array  # (pests + enemies, 4): the two straight lines of the rate of development
    rate: Array  # (pests + enemies): of development in this step [d⁻¹]
    heat: Array  # (pests): development of this day, 1 from birth to adult
    survive: Array  # (pests): share that survives a passage
    cool: Array  # (pests + enemies): share of young that heat alone does not kill in half a step
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
    stay: Array  # (zones, pests, stages): share that no hazard removes in half a step
    stay_stung: Array  # (zones, pests)
    taken: Array  # (zones, pairs, stages): share stung in half a step
    spent: Array  # (zones, pests, stages): share lost otherwise in half a step
    to_stung: Array  # (pairs, sizes): stung in this step
    to_mummy: Array  # (enemies): mummified in this step
    fresh: Array  # (enemies, zones): females that came out today
    pest_book: Array  # (pests, zones, causes)
    enemy_book: Array  # (enemies, zones, causes)
    doomed: Array  # (zones): share of closed mummies that a spray of today kills inside
    lost: Array  # (zones, enemies): females, without poison [d⁻¹]
    resting: Array  # (enemies): share of the mummies of this day that rest until spring
    pull: Array  # (zones): what draws flyers to a zone
    leaving: Array  # (zones): flyers that leave it
    coming: Array  # (zones)
    pair: Array  # (2, pairs): appeal and hosts met
    den: Den  # what predators need
    brood: Brood  # what hyperparasitoids need


@compiled_allocating
def make_room(
    pests: int, enemies: int, pairs: int, predators: int, hypers: int, zones: int, nodes: int
) -> Room:
    """Return empty arrays for one block."""
    table = pests * N_PEST + enemies * N_ENEMY + pairs * N_PAIR + predators * N_PREDATOR + hypers * N_HYPER
    return Room(
        packs_of((varying(24),)),
        packs_of((varying(24),)),
        packs_of((table,)),
        packs_of((pests, varying(11))),
        packs_of((enemies, varying(5))),
        packs_of((pairs,)),
        np.empty((pests, 4)),
        packs_of((pests + enemies, varying(4))),
        packs_of((pests + enemies,)),
        packs_of((pests,)),
        packs_of((pests,)),
        packs_of((pests + enemies,)),
        packs_of((pests,)),
        packs_of((pests,)),
        packs_of((pests,)),
        packs_of((enemies,)),
        packs_of((enemies,)),
        packs_of((enemies,)),
        packs_of((enemies,)),
        packs_of((pests, varying(HOST_STAGES))),
        packs_of((pairs, varying(N_SIZES))),
        packs_of((pests,)),
        packs_of((pests,)),
        packs_of((pests, nodes)),
        packs_of((pests,)),
        packs_of((zones, pests)),
        packs_of((zones, pests)),
        packs_of((zones, pests)),
        packs_of((zones, pairs, varying(HOST_STAGES))),
        packs_of((zones, pests, varying(HOST_STAGES))),
        packs_of((zones, pests)),
        packs_of((zones, pairs, varying(HOST_STAGES))),
        packs_of((zones, pests, varying(HOST_STAGES))),
        packs_of((pairs, varying(N_SIZES))),
        packs_of((enemies,)),
        packs_of((enemies, zones)),
        packs_of((pests, zones, varying(N_PEST_CAUSES))),
        packs_of((enemies, zones, varying(N_ENEMY_CAUSES))),
        packs_of((zones,)),
        packs_of((zones, enemies)),
        packs_of((enemies,)),
        packs_of((zones,)),
        packs_of((zones,)),
        packs_of((zones,)),
        packs_of((varying(2), pairs)),
        make_den(predators, pests, enemies, zones),
        make_brood(hypers, enemies, zones),
    )
