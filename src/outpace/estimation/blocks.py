"""Weighing a house part by part: each pest in each zone by what was seen of it there.

A walk through four zones with two pests says eight things. Members that agree with all eight at once are rare, so each
part of the state (one pest in one zone, with the enemies whose mummies are tied to it) is resampled by its own
likelihood [1]_. The parts are then put together so that they rank among members as they do among those that
agree with the whole walk, however loosely: zones that rise together go on doing so. With one pest in one
zone this is plain resampling.

References
----------
.. [1] Rebeschini and van Handel 2015
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.bands import HOUSE, Bands, per_plant
from outpace.estimation.likelihood import Parts
from outpace.estimation.members import effective_size, systematic, tempering, weights_of
from outpace.simulation.layout import Layout
from outpace.simulation.model import HouseModel

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Key = tuple[int, int]

TOGETHER = 0.1  # of the members: effective size from which the whole walk is weighed at once
LOOSE = 0.1  # of the members: effective size of those that agree with the whole walk loosely


@dataclass(frozen=True)
class Chosen:
    """Who survives: by part, by pest for what all its zones share, and for what the whole house shares."""

    of: dict[Key, Index]
    of_pest: tuple[Index, ...]
    whole: Index

    def parents(self, members: int) -> Chosen:
        """Return the same among so many members, where several sets stood side by side."""
        return Chosen(
            {key: index % members for key, index in self.of.items()},
            tuple(index % members for index in self.of_pest),
            self.whole % members,
        )


class Blocks:
    """The parts of a house and the rows of the state that belong to each."""

    def __init__(
        self,
        model: HouseModel,
        layout: Layout,
        ties: tuple[int | None, ...],
        pairs: tuple[tuple[int, int], ...],
    ) -> None:
        self.model = model
        self.keys: list[Key] = [(p, z) for p in range(len(model.pests)) for z in range(len(model.zones))]
        self.home = [
            ties[e] if ties[e] is not None else min((p for p, x in pairs if x == e), default=0)
            for e in range(len(model.enemies))
        ]
        self.rows: dict[Key, list[int]] = {key: [] for key in self.keys}
        self.luck: list[list[int]] = [[] for _ in model.pests]
        for block in layout.blocks:
            rows = range(block.first, block.first + block.count)
            if block.zone is None:
                self.luck[block.pest or 0] += rows
                continue
            pest = block.pest
            if pest is None:
                wasp = block.enemy is not None and block.enemy < len(self.home)
                pest = self.home[block.enemy or 0] if wasp else 0  # predators and residues go with the first
            self.rows[(pest or 0, block.zone)] += rows

    def local(self, parts: Parts) -> dict[Key, Array]:
        """Return the log likelihood of each part; what was seen of the whole house is shared out evenly."""
        zones, pests = len(self.model.zones), len(self.model.pests)
        found = {}
        for pest, zone in self.keys:
            log = np.zeros(1)
            for (of_pest, of_zone), each in parts.items():
                share = 1.0
                if of_pest is None:
                    share /= pests
                elif of_pest != pest:
                    continue
                if of_zone == HOUSE:
                    share /= zones
                elif of_zone != zone:
                    continue
                log = log + share * each
            found[(pest, zone)] = log
        return found

    def least_size(self, local: dict[Key, Array], members: int) -> float:
        """Return the smallest effective size of any part; ``members`` where nothing was seen."""
        sizes = [effective_size(weights_of(log)) for log in local.values() if log.size > 1]
        return min(sizes, default=float(members))

    def choose(
        self,
        local: dict[Key, Array],
        steps: dict[Key, float],
        here: Bands,
        members: int,
        rng: np.random.Generator,
    ) -> Chosen:
        """Return who survives when each part takes its step of the walk.

        Parameters
        ----------
        local : dict
            Part → log likelihood, shape (n,).
        steps : dict
            Part → exponent of its likelihood, 1 for all of it.
        here : Bands
            Its last midnight gives the order of members in each part.
        """
        n = here.aphids.shape[-1]
        draw = rng.random()
        logs = {key: steps[key] * np.broadcast_to(local[key], (n,)) for key in self.keys}
        all_at_once = weights_of(np.sum(list(logs.values()), axis=0))
        if len(self.keys) == 1 or effective_size(all_at_once) >= TOGETHER * members:
            index = systematic(all_at_once, members, draw)
            return Chosen(dict.fromkeys(self.keys, index), (index,) * len(self.model.pests), index)
        whole = self._loosely(np.sum(list(logs.values()), axis=0), members, draw)
        of = {}
        for pest, zone in self.keys:
            index = systematic(weights_of(logs[(pest, zone)]), members, draw)
            density = here.aphids[-1, pest, zone]
            ranks = np.argsort(np.argsort(density[whole], kind="stable"), kind="stable")
            of[(pest, zone)] = index[np.argsort(density[index], kind="stable")][ranks]
        of_pest = []
        for pest in range(len(self.model.pests)):
            log = np.sum([logs[key] for key in self.keys if key[0] == pest], axis=0)
            of_pest.append(self._loosely(log, members, draw))
        return Chosen(of, tuple(of_pest), whole)

    def _loosely(self, log: Array, members: int, draw: float) -> Index:
        step = tempering(log, 1.0, LOOSE * members)
        return systematic(weights_of(step * log), members, draw)

    def state(self, state: Array, chosen: Chosen) -> Array:
        """Return the state of the survivors, shape (n_state, members)."""
        after = np.empty((state.shape[0], len(chosen.whole)))
        for key, rows in self.rows.items():
            after[rows] = state[np.ix_(np.array(rows, dtype=np.intp), chosen.of[key])]
        for rows, index in zip(self.luck, chosen.of_pest, strict=True):
            after[rows] = state[np.ix_(np.array(rows, dtype=np.intp), index)]
        return after

    def bands(self, bands: Bands, chosen: Chosen) -> Bands:
        """Return the days of the survivors."""
        if len(self.keys) == 1:
            index = chosen.whole
            return replace(
                bands,
                aphids=bands.aphids[..., index],
                closed=bands.closed[..., index],
                empty=bands.empty[..., index],
                parameters=bands.parameters.take(index),
            )
        zones, members = len(self.model.zones), len(chosen.whole)
        parts = []
        for numbers, pest_of in (
            (bands.aphids, list(range(len(self.model.pests)))),
            (bands.closed, self.home),
            (bands.empty, self.home),
        ):
            after = np.empty((*numbers.shape[:2], zones, members))
            for i, pest in enumerate(pest_of):
                for z in range(zones):
                    after[:, i, z] = numbers[:, i, z][:, chosen.of[(pest or 0, z)]]
            parts.append(per_plant(self.model, after * self.model.plants[:, None]))
        return replace(
            bands,
            aphids=parts[0],
            closed=parts[1],
            empty=parts[2],
            parameters=bands.parameters.take(chosen.whole),
        )

    def values(self, values: Array, names: tuple[str, ...], chosen: Chosen) -> Array:
        """Return parameters of the survivors: those of a pest by all its zones, others by the whole house."""
        after = values[:, chosen.whole]
        for p, pest in enumerate(self.model.pests):
            rows = [i for i, name in enumerate(names) if name.startswith(f"{pest}.")]
            after[rows] = values[np.ix_(np.array(rows, dtype=np.intp), chosen.of_pest[p])]
        return after
