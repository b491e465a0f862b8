"""Room for whole individuals: what is few is taken out of the continuous state for a day and lives by itself.

A species of a zone is few in a member when fewer than the switch count of it stand there at midnight: aphids with
their living stung ones, closed mummies, and females, each for itself.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from outpace.simulation.chains import Array, compiled_allocating, packs_of, varying
from outpace.simulation.layout import HOST_STAGES
from outpace.simulation.ledger import N_PEST_CAUSES
from outpace.simulation.packs import WIDTH

Counts = NDArray[np.int32]
Flags = NDArray[np.bool_]
Words = NDArray[np.uint64]

MOST_WAITING = 2048
"""Aphids, or mummies, of one species, zone and member that can wait for their turn to live a part of a day."""
DESK = 16
PACE, RISK, ONCE, WINGLESS_YOUNG, WINGED_YOUNG, TEETH, OF_PAIR = range(7)
"""Lines of the desk: rates of leaving substages by block, hazards by host stage, single figures, young borne at each
passage of adult ages, hazards of predators by host stage; then for each pair hazards of stings, that of stung ones,
and for each enemy that of mummies."""
(
    HEAT,
    ALIVE_ON,
    AGEING,
    BEARING,
    HOT,
    STUNG_ON,
) = range(6)
"""Sums over a part of a day. Of a pest: development, that times survival of a passage, ageing, that times lifetime
births, share that heat spares. Of an enemy: development, that times survival in the mummy, share that heat spares, and
development times survival while stung."""


class Few(NamedTuple):
    """Arrays of one block of members."""

    pest: Flags  # (pests, zones, members)
    all_few: Flags  # (pests, zones): in every member of the block
    mummies: Flags  # (enemies, zones, members)
    females: Flags  # (enemies, zones, members)
    whole: Counts  # (members, states): individuals taken out
    hazard: Array  # (zones, pairs, stages, members): of being stung, of few pests [d⁻¹]
    book: Array  # (pests, zones, causes, members): that of few pests
    sums: Array  # (pests + enemies, 6, members): over a part of the day
    number: Array  # (pests, zones, members): at midnight, and who came since
    total: Array  # (1)
    broken: Array  # (1): what is not whole
    key: Words  # (zones, members): of this day
    desk: Array  # (lines, DESK): what the individuals of one species and member live by
    lived: Counts  # (states): where individuals of one member stand after a part of the day
    tally: Array  # (causes): of one pest and member
    place: Counts  # (MOST_WAITING): block and substage of an aphid that waits to live
    born: Array  # (MOST_WAITING): time from which it lives
    born_key: Words  # (MOST_WAITING)
    formed: Array  # (MOST_WAITING): time at which a mummy formed
    formed_key: Words  # (MOST_WAITING)
    formed_of: Counts  # (MOST_WAITING): its pair
    waits: Counts  # (2): how many aphids, how many mummies


@compiled_allocating
def make_few(pests: int, enemies: int, pairs: int, zones: int, states: int) -> Few:
    """Return empty arrays for one block."""
    return Few(
        np.zeros((pests, zones, varying(WIDTH)), dtype=np.bool_),
        np.zeros((pests, zones), dtype=np.bool_),
        np.zeros((enemies, zones, varying(WIDTH)), dtype=np.bool_),
        np.zeros((enemies, zones, varying(WIDTH)), dtype=np.bool_),
        np.zeros((varying(WIDTH), states), dtype=np.int32),
        np.zeros((zones, pairs, varying(HOST_STAGES), varying(WIDTH))),
        np.zeros((pests, zones, varying(N_PEST_CAUSES), varying(WIDTH))),
        np.zeros((pests + enemies, varying(6), varying(WIDTH))),
        np.zeros((pests, zones, varying(WIDTH))),
        packs_of((varying(1),)),
        packs_of((varying(1),)),
        np.zeros((zones, varying(WIDTH)), dtype=np.uint64),
        np.zeros((varying(OF_PAIR) + 2 * pairs + enemies, varying(DESK))),
        np.zeros(states, dtype=np.int32),
        np.zeros(varying(N_PEST_CAUSES)),
        np.zeros(varying(MOST_WAITING), dtype=np.int32),
        np.zeros(varying(MOST_WAITING)),
        np.zeros(varying(MOST_WAITING), dtype=np.uint64),
        np.zeros(varying(MOST_WAITING)),
        np.zeros(varying(MOST_WAITING), dtype=np.uint64),
        np.zeros(varying(MOST_WAITING), dtype=np.int32),
        np.zeros(varying(2), dtype=np.int32),
    )
