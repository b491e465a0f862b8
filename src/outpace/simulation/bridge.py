"""Which fact fills which parameter: the one place where names of quantities meet rows of the kernel's table."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from outpace.facts.table import Fact, Facts
from outpace.simulation.den import Hunters
from outpace.simulation.draws import Luck, draw_pair, spread_over
from outpace.simulation.hyper_bridge import HyperFacts
from outpace.simulation.hyper_rows import HYPER_ROWS
from outpace.simulation.layout import HOST_SIZES, INSTARS, Substages
from outpace.simulation.model import HouseModel
from outpace.simulation.parameter_rows import ENEMY_ROWS, PAIR_ROWS, PEST_ROWS
from outpace.simulation.pest_bridge import (
    WINGED_AGES,
    WINGLESS_AGES,
    births_on,
    pest_rows,
    pest_substages,
    pest_tables,
)
from outpace.simulation.predator_bridge import PredatorFacts, what_hunters_share
from outpace.simulation.predator_rows import PREDATOR_ROWS
from outpace.simulation.responses import Shared, by_straight_lines, node_table, pool
from outpace.simulation.wasp_bridge import egg_shares, pair_rows, wasp_rows, wasp_substages, wasp_tables

Array = NDArray[np.float64]


class Bridge:
    """Collects the facts of one house and remembers which were used."""

    def __init__(self, facts: Facts, model: HouseModel, members: int, seed: int, spread: bool) -> None:
        self.facts = facts
        self.model = model
        self.members = members
        self.luck = Luck(seed, members)
        self.spread = spread
        self.used: dict[str, Fact] = {}
        wrong = [name for name in model.enemies if facts.species[name].guild != "wasp"]
        wrong += [name for name in model.predators if facts.species[name].guild == "wasp"]
        if wrong:
            raise ValueError(f"{', '.join(wrong)}: wasps are enemies of a model, all others its predators")
        self.pairs = tuple(
            (p, e)
            for p, pest in enumerate(model.pests)
            for e, enemy in enumerate(model.enemies)
            if self.one(enemy, "host_match", other_species=pest).value > 0
        )

    def table(self) -> tuple[Array, tuple[str, ...], Substages, Shared]:
        """Return the parameter table, the names of its rows, the substages and what the members share."""
        pests = tuple(pest_substages(self, name) for name in self.model.pests)
        enemies = tuple(wasp_substages(self, name) for name in self.model.enemies)
        hunters = tuple(PredatorFacts(self, name) for name in self.model.predators)
        hypers = tuple(HyperFacts(self, name) for name in self.model.hyperparasitoids)
        substages = Substages(
            pests,
            enemies,
            self.pairs,
            tuple(hunter.substages() for hunter in hunters),
            tuple(hyper.substages() for hyper in hypers),
        )
        shared = self._shared(substages, what_hunters_share(self, hunters, substages))
        blocks = [pest_rows(self, p, substages, shared) for p in range(len(self.model.pests))]
        names = [f"{pest}.{row}" for pest in self.model.pests for row in PEST_ROWS]
        for e, enemy in enumerate(self.model.enemies):
            blocks.append(wasp_rows(self, e))
            names += [f"{enemy}.{row}" for row in ENEMY_ROWS]
        for p, e in self.pairs:
            blocks.append(pair_rows(self, self.model.pests[p], self.model.enemies[e]))
            names += [f"{self.model.enemies[e]}.{self.model.pests[p]}.{row}" for row in PAIR_ROWS]
        for hunter in hunters:
            blocks.append(hunter.rows())
            names += [f"{hunter.name}.{row}" for row in PREDATOR_ROWS]
        for hyper in hypers:
            blocks.append(hyper.rows())
            names += [f"{hyper.name}.{row}" for row in HYPER_ROWS]
        return np.ascontiguousarray(np.concatenate(blocks)), tuple(names), substages, shared

    def one(self, species: str, quantity: str, **where: str) -> Fact:
        """Return one row and note its use."""
        fact = self.facts.one(species, quantity, **where)
        self.used[fact.key] = fact
        return fact

    def warm(self, species: str, quantity: str, **where: str) -> tuple[Fact, ...]:
        """Return the rows of a quantity by temperature and note their use."""
        rows = self.facts.by_temperature(species, quantity, **where)
        if not rows:
            self.facts.one(species, quantity, **where)
        self.used.update((row.key, row) for row in rows)
        return rows

    def normal(self, name: str) -> Array:
        """Return the members' standard normal numbers of that name; zeros without spread."""
        return self.luck.normal(name) if self.spread else np.zeros(self.members)

    def drawn(
        self, species: str, quantity: str, *, least: float = -np.inf, most: float = np.inf, **where: str
    ) -> Array:
        """Return draws of one row, shape (members,)."""
        fact = self.one(species, quantity, **where)
        return spread_over(fact, self.normal(f"{species}.{quantity}"), least=least, most=most)

    def _shared(self, substages: Substages, hunters: Hunters) -> Shared:
        model = self.model
        egg_shape = np.zeros((len(model.enemies), max([c[0] for c in substages.enemies], default=1)))
        shapes = []
        for e, enemy in enumerate(model.enemies):
            egg_shape[e, : substages.enemies[e][0]] = egg_shares(self, enemy)
        for pest in model.pests:
            shapes.append(
                [self.one(pest, "fecundity_age_shape", stage=f"adult {i + 1:02d}").value for i in range(10)]
            )
        preference = np.zeros((len(self.pairs), 6))
        births = np.zeros((len(self.pairs), len(HOST_SIZES)))
        for j, (p, e) in enumerate(self.pairs):
            enemy, other = model.enemies[e], model.pests[p]
            for i, stage in enumerate((*INSTARS, "adult", "winged")):
                preference[j, i] = self.one(
                    enemy, "instar_preference", other_species=other, stage=stage
                ).value
            young = [
                self.one(enemy, "stung_births", other_species=other, stage=stage).value
                for stage in (*INSTARS, "adult")
            ]
            births[j] = (np.mean(young[:3]), young[3], young[4])
        return Shared(
            pest_tables=np.stack([pest_tables(self, p, substages) for p in range(len(model.pests))]),
            enemy_tables=np.stack([wasp_tables(self, e, substages) for e in range(len(model.enemies))])
            if model.enemies
            else np.zeros((0, 5, len(by_straight_lines(self.warm(model.pests[0], "lifetime_fecundity"))))),
            wingless_shape=np.array([pool(shape, WINGLESS_AGES) for shape in shapes]),
            winged_shape=np.array([pool(shape, WINGED_AGES) for shape in shapes]),
            egg_shape=egg_shape,
            instar_share=np.array(
                [
                    [self.one(pest, "instar_share", stage=stage).value for stage in INSTARS]
                    for pest in model.pests
                ]
            ),
            preference=preference,
            stung_births=births,
            nodes=node_table(),
            zone=model.ground(0, 1)[0],
            near=self._near(),
            beside=self._beside(),
            births=np.array(
                [[births_on(self, zone.crop, pest) for pest in model.pests] for zone in model.zones]
            ),
            hunters=hunters,
        )

    def _near(self) -> Array:
        """Return how near zones lie to each other: a Laplace kernel of the distance flown in a day."""
        centres = self.model.centres_m
        if len(centres) == 1:
            return np.zeros((1, 1))
        apart = np.abs(centres[:, None] - centres)
        near: Array = np.exp(-apart / self.one("any_wasp", "dispersal_distance").value)
        np.fill_diagonal(near, 0.0)
        shares: Array = near / near.sum(axis=1, keepdims=True)
        return shares

    def _beside(self) -> Array:
        """Return the share of walkers that cross to each next zone: those who start within reach of its edge."""
        lengths = self.model.lengths_m
        across: Array = np.zeros((len(lengths), len(lengths)))
        if len(lengths) > 1:
            reach = self.one("any_aphid", "walking_distance").value
            for z, length in enumerate(lengths):
                for other in (z - 1, z + 1):
                    if 0 <= other < len(lengths):
                        across[z, other] = min(0.5 * reach / length, 0.25)
        return across

    def development(self, species: str) -> dict[str, Array]:
        """Return the four rows of development of a species, threshold and constant drawn as a pair."""
        correlation = self.one(species, "threshold_constant_correlation").value
        threshold, constant = draw_pair(
            self.one(species, "lower_threshold"),
            self.one(species, "thermal_constant"),
            correlation,
            self.normal(f"{species}.lower_threshold"),
            self.normal(f"{species}.thermal_constant"),
        )
        optimum = self.drawn(species, "optimum_temperature")
        upper = self.drawn(species, "upper_temperature")
        return {
            "lower_threshold": threshold,
            "thermal_constant": constant,
            "optimum_temperature": optimum,
            "upper_temperature": np.maximum(upper, optimum + 1.0),
        }
