"""From facts to numbers the kernel can run: each member's parameters, drawn over the ranges of the facts.

`draw` makes the table for one house. Four rows per pest are re-estimated from counts: ``log_growth`` (log of a
multiplier of the rate of increase), ``log_attack``, ``log_immigration`` and ``log_clumping``; each is 0 where the
books are right.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from outpace.facts.table import Fact, Facts
from outpace.simulation.bridge import Bridge
from outpace.simulation.hyper_rows import HYPER_ROWS, N_HYPER
from outpace.simulation.layout import Layout, Substages, lay_out
from outpace.simulation.model import HouseModel
from outpace.simulation.parameter_rows import ENEMY_ROWS, N_ENEMY, N_PAIR, N_PEST, PAIR_ROWS, PEST_ROWS
from outpace.simulation.predator_rows import N_PREDATOR, PREDATOR_ROWS
from outpace.simulation.responses import Shared

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Parameters:
    """The parameter table of one house and what its members share.

    Attributes
    ----------
    values : array of float, shape (n_parameters, members)
    names : tuple of str
        ``myzus_persicae.log_growth``, in the order of the rows.
    facts : tuple of Fact
        Every row that was used.
    inert : tuple of str
        Enemies of the model that do nothing to any of its pests.
    """

    values: Array
    names: tuple[str, ...]
    facts: tuple[Fact, ...]
    substages: Substages
    shared: Shared
    inert: tuple[str, ...]

    @property
    def members(self) -> int:
        return int(self.values.shape[1])

    def layout(self, model: HouseModel) -> Layout:
        """Return the layout of this house's state."""
        return lay_out(self.substages, len(model.zones))

    def row(
        self, name: str, *, pest: int | None = None, enemy: int | None = None, pair: int | None = None
    ) -> int:
        """Return the number of a row by name and index of its pest, enemy or pair.

        ``enemy`` counts wasps, predators, hyperparasitoids.

        Raises
        ------
        ValueError
            If there is no such row.
        """
        pests, enemies = len(self.substages.pests), len(self.substages.enemies)
        pairs = len(self.substages.pairs)
        after = pests * N_PEST + enemies * N_ENEMY + pairs * N_PAIR
        predators, hypers = len(self.substages.predators), len(self.substages.hypers)
        predator = None if enemy is None else enemy - enemies
        hyper = None if enemy is None else enemy - enemies - predators
        for index, count, first, size, rows in (
            (pest, pests, 0, N_PEST, PEST_ROWS),
            (enemy, enemies, pests * N_PEST, N_ENEMY, ENEMY_ROWS),
            (pair, pairs, pests * N_PEST + enemies * N_ENEMY, N_PAIR, PAIR_ROWS),
            (predator, predators, after, N_PREDATOR, PREDATOR_ROWS),
            (hyper, hypers, after + predators * N_PREDATOR, N_HYPER, HYPER_ROWS),
        ):
            if index is not None and 0 <= index < count and name in rows:
                return first + index * size + rows.index(name)
        raise ValueError(f"no parameter {name!r} of pest {pest}, enemy {enemy}, pair {pair}")

    def get(
        self, name: str, *, pest: int | None = None, enemy: int | None = None, pair: int | None = None
    ) -> Array:
        """Return a view of one row, shape (members,)."""
        row: Array = self.values[self.row(name, pest=pest, enemy=enemy, pair=pair)]
        return row

    def set(
        self,
        name: str,
        value: float | Array,
        *,
        pest: int | None = None,
        enemy: int | None = None,
        pair: int | None = None,
    ) -> Parameters:
        """Return the same parameters with one row replaced."""
        values = self.values.copy()
        values[self.row(name, pest=pest, enemy=enemy, pair=pair)] = value
        return replace(self, values=values)

    def take(self, members: NDArray[np.intp]) -> Parameters:
        """Return the members of these indices, as after a resampling."""
        return replace(self, values=np.ascontiguousarray(self.values[:, members]))

    def middle(self) -> Parameters:
        """Return one member with the median of every row."""
        return replace(self, values=np.median(self.values, axis=1, keepdims=True))


def draw(
    facts: Facts, model: HouseModel, members: int, seed: int, own: Iterable[Fact] = (), *, spread: bool = True
) -> Parameters:
    """Return the parameters of so many members of one house.

    Parameters
    ----------
    facts : Facts
    model : HouseModel
    members : int
    seed : int
        The same seed gives the same members; adding a species or a parameter leaves the others as they were.
    own : iterable of Fact
        Rows of this grower's own that stand before the books'.
    spread : bool, default True
        Without, every member has the values of the facts themselves.

    Raises
    ------
    OutpaceError
        If a fact that is needed is missing.
    """
    rows = tuple(own)
    bridge = Bridge(facts.with_own(rows) if rows else facts, model, members, seed, spread)
    values, names, substages, shared = bridge.table()
    searching = {enemy for _, enemy in substages.pairs}
    return Parameters(
        values=values,
        names=names,
        facts=tuple(bridge.used.values()),
        substages=substages,
        shared=shared,
        inert=tuple(
            [name for e, name in enumerate(model.enemies) if e not in searching]
            + [name for d, name in enumerate(model.predators) if not shared.hunters.accepted[d].any()]
        ),
    )
