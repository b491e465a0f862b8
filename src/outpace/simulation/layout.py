"""Where each part of the state stands: blocks of rows, one column per member.

A block is a chain of substages (or a single row) of one pest or enemy in one zone. Code asks for blocks by name; the
kernel gets their first rows as integer arrays. A new kind of animal adds blocks and a field to `Rows`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Integers = NDArray[np.int64]

INSTARS = ("N1", "N2", "N3", "N4")
PEST_BLOCKS = (*INSTARS, "young_adults", "wingless", "flying", "winged", "winged_share")
ENEMY_BLOCKS = ("females", "mummies", "dead_mummies", "shells", "carrier")
PREDATOR_BLOCKS = ("eggs", "L1", "L2", "L3", "pupae", "adults", "carrier")
HOST_SIZES = ("N1_to_N3", "N4", "adult")

YOUNG_ADULTS, WINGLESS, FLYING, WINGED, WINGED_SHARE = range(4, 9)
FEMALES, MUMMIES, DEAD_MUMMIES, SHELLS, CARRIER = range(5)
EGGS, L1, L2, L3, PUPAE, ADULTS, PREDATOR_CARRIER = range(7)
N_SIZES = len(HOST_SIZES)
HOST_STAGES = 6
"""N1, N2, N3, N4, wingless adults, winged adults."""


@dataclass(frozen=True, slots=True)
class Substages:
    """How many rows each chain has: the more, the narrower the spread of its duration.

    ``pests`` has for each pest (N1, N2, N3, N4, young adults, wingless ages, winged ages); ``enemies`` for each
    enemy (female ages, living stung, mummies, carrier); ``pairs`` lists (pest, enemy) that accept each other;
    ``predators`` has for each predator (eggs, L1, L2, L3, pupae, adult ages, carrier), 0 for what does not stay here;
    ``hypers`` has for each hyperparasitoid the rows of its young inside mummies.
    """

    pests: tuple[tuple[int, int, int, int, int, int, int], ...]
    enemies: tuple[tuple[int, int, int, int], ...]
    pairs: tuple[tuple[int, int], ...]
    predators: tuple[tuple[int, int, int, int, int, int, int], ...] = ()
    hypers: tuple[int, ...] = ()


class Rows(NamedTuple):
    """The layout as the kernel reads it: first rows and numbers of rows."""

    pest: Integers  # (pests, zones, 9)
    pest_count: Integers  # (pests, 9)
    enemy: Integers  # (enemies, zones, 5)
    enemy_count: Integers  # (enemies, 5)
    pair: Integers  # (pairs, 2)
    stung: Integers  # (pairs, zones)
    stung_count: Integers  # (pairs,)
    residue: Integers  # (zones,): kill per day, then its fall per day
    luck: Integers  # (pests,): swing of log births, then of log attack
    predator: Integers  # (predators, zones, 7)
    predator_count: Integers  # (predators, 7)
    hyper: Integers  # (hypers, zones, 1): females
    hyper_young: Integers  # (hypers, enemies, zones): in the mummies of each wasp
    hyper_count: Integers  # (hypers,)
    ragged: Integers  # (enemies, zones): shells with a ragged hole, where there are hyperparasitoids


@dataclass(frozen=True, slots=True)
class Block:
    """Rows ``first`` to ``first + count`` of the state hold this.

    ``enemy`` counts the wasps first, then the predators, as `HouseModel.agents` does, then the hyperparasitoids. Their
    young are named ``hyper_young_0`` and so on, and have the wasp in whose mummies they are.
    """

    name: str
    pest: int | None
    enemy: int | None
    zone: int | None
    first: int
    count: int

    @property
    def rows(self) -> slice:
        return slice(self.first, self.first + self.count)


@dataclass(frozen=True, slots=True)
class Layout:
    """All blocks of one house in the order of the state's rows."""

    blocks: tuple[Block, ...]
    n_state: int
    rows: Rows

    def find(
        self, name: str, *, pest: int | None = None, enemy: int | None = None, zone: int | None = None
    ) -> Block:
        """Return the block of that name.

        Raises
        ------
        KeyError
            If there is none.
        """
        for block in self.blocks:
            if (block.name, block.pest, block.enemy, block.zone) == (name, pest, enemy, zone):
                return block
        raise KeyError(f"no block {name!r} of pest {pest}, enemy {enemy}, zone {zone}")

    def holding(self, *names: str, pest: int | None = None, zone: int | None = None) -> Integers:
        """Return the rows of all blocks with one of the names, of one pest and zone if given."""
        found = [
            np.arange(b.first, b.first + b.count)
            for b in self.blocks
            if b.name in names and (pest is None or b.pest == pest) and (zone is None or b.zone == zone)
        ]
        return np.concatenate(found) if found else np.zeros(0, dtype=np.int64)


@lru_cache(maxsize=64)
def lay_out(substages: Substages, zones: int) -> Layout:
    """Return the layout of a house with so many zones.

    Examples
    --------
    >>> layout = lay_out(Substages(((4, 4, 4, 4, 2, 8, 4),), ((7, 8, 4, 4),), ((0, 0),)), zones=1)
    >>> layout.n_state, layout.find("stung_N4", pest=0, enemy=0, zone=0)
    (77, Block(name='stung_N4', pest=0, enemy=0, zone=0, first=40, count=8))
    """
    blocks: list[Block] = []
    row = 0

    def add(
        name: str, count: int, pest: int | None = None, enemy: int | None = None, zone: int | None = None
    ) -> int:
        nonlocal row
        blocks.append(Block(name, pest, enemy, zone, row, count))
        row += count
        return row - count

    n_pests, n_enemies, n_pairs = len(substages.pests), len(substages.enemies), len(substages.pairs)
    pest_count = np.zeros((n_pests, len(PEST_BLOCKS)), dtype=np.int64)
    for p, counts in enumerate(substages.pests):
        pest_count[p] = (*counts[:6], 1, counts[6], 1)
    enemy_count = np.zeros((n_enemies, len(ENEMY_BLOCKS)), dtype=np.int64)
    for e, (females, _, mummies, carrier) in enumerate(substages.enemies):
        enemy_count[e] = (females, mummies, 1, 1, carrier)
    rows = Rows(
        pest=np.zeros((n_pests, zones, len(PEST_BLOCKS)), dtype=np.int64),
        pest_count=pest_count,
        enemy=np.zeros((n_enemies, zones, len(ENEMY_BLOCKS)), dtype=np.int64),
        enemy_count=enemy_count,
        pair=np.array(substages.pairs, dtype=np.int64).reshape(n_pairs, 2),
        stung=np.zeros((n_pairs, zones), dtype=np.int64),
        stung_count=np.array([substages.enemies[e][1] for _, e in substages.pairs], dtype=np.int64),
        residue=np.zeros(zones, dtype=np.int64),
        luck=np.zeros(n_pests, dtype=np.int64),
        predator=np.zeros((len(substages.predators), zones, len(PREDATOR_BLOCKS)), dtype=np.int64),
        predator_count=np.array(substages.predators, dtype=np.int64).reshape(-1, len(PREDATOR_BLOCKS)),
        hyper=np.zeros((len(substages.hypers), zones, 1), dtype=np.int64),
        hyper_young=np.zeros((len(substages.hypers), n_enemies, zones), dtype=np.int64),
        hyper_count=np.array(substages.hypers, dtype=np.int64),
        ragged=np.zeros((n_enemies, zones), dtype=np.int64),
    )
    for z in range(zones):
        for p in range(n_pests):
            for i, name in enumerate(PEST_BLOCKS):
                rows.pest[p, z, i] = add(name, int(pest_count[p, i]), pest=p, zone=z)
        for j, (p, e) in enumerate(substages.pairs):
            rows.stung[j, z] = row
            for size in HOST_SIZES:
                add(f"stung_{size}", substages.enemies[e][1], pest=p, enemy=e, zone=z)
        for e in range(n_enemies):
            for i, name in enumerate(ENEMY_BLOCKS):
                rows.enemy[e, z, i] = add(name, int(enemy_count[e, i]), enemy=e, zone=z)
        for d, counts in enumerate(substages.predators):
            for i, name in enumerate(PREDATOR_BLOCKS):
                rows.predator[d, z, i] = add(name, counts[i], enemy=n_enemies + d, zone=z)
        for h, count in enumerate(substages.hypers):
            animal = n_enemies + len(substages.predators) + h
            rows.hyper[h, z, 0] = add("hyper_females", 1, enemy=animal, zone=z)
            for e in range(n_enemies):
                rows.hyper_young[h, e, z] = add(f"hyper_young_{h}", count, enemy=e, zone=z)
        for e in range(n_enemies if substages.hypers else 0):
            rows.ragged[e, z] = add("ragged_shells", 1, enemy=e, zone=z)
        rows.residue[z] = add("residue", 2, zone=z)
    for p in range(n_pests):
        rows.luck[p] = add("luck", 2, pest=p)
    return Layout(tuple(blocks), row, rows)
