"""Which fact fills which parameter of a predator."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from outpace.simulation.chains import Array, grid_temperatures
from outpace.simulation.den import Hunters
from outpace.simulation.draws import log_spread, spread_over
from outpace.simulation.layout import INSTARS, PREDATOR_BLOCKS, Substages
from outpace.simulation.model import FLOORS
from outpace.simulation.predator_rows import PREDATOR_ROWS
from outpace.simulation.responses import by_straight_lines

if TYPE_CHECKING:
    from outpace.simulation.bridge import Bridge

MOST_PER_STAGE = 4
MOST_PUPA = 8
MOST_CARRIER = 6
STAGES = ("egg", "L1", "L2", "L3", "pupa")
LARVAE = STAGES[1:4]
HOSTS = (*INSTARS, "adult", "winged")
THIRD = 0.4307272992954576
"""A third of a normal distribution lies within so many standard deviations of its middle."""
Counts = tuple[int, int, int, int, int, int, int]


class PredatorFacts:
    """The facts of one predator as rows of the parameter table; only midges stay for another brood."""

    def __init__(self, bridge: Bridge, name: str) -> None:
        self.bridge, self.name = bridge, name
        self.stays = bridge.facts.find(name, "egg_half_prey") is not None

    def value(self, quantity: str, stage: str = "") -> float:
        """Return the value of one row."""
        return self.bridge.one(self.name, quantity, stage=stage).value

    def drawn(self, quantity: str, *, least: float = 0.0, most: float = np.inf) -> Array:
        """Return draws of one quantity, shape (members,)."""
        z = self.bridge.normal(f"{self.name}.{quantity}")
        return spread_over(self.bridge.one(self.name, quantity), z, least=least, most=most)

    def substages(self) -> Counts:
        """Return how many rows each of the chains has."""
        square = self.value("development_cv") ** 2

        def rows(share: float, most: int) -> int:
            return int(min(max(round(share / square), 1), most))

        egg, first, second, third = (
            rows(self.value("instar_share", stage), MOST_PER_STAGE) for stage in STAGES[:4]
        )
        if not self.stays:
            return (egg, first, second, third, 0, 0, 0)
        square = (self.value("emergence_spread") / self.value("emergence_heat")) ** 2
        return (
            egg,
            first,
            second,
            third,
            rows(self.value("instar_share", "pupa"), MOST_PUPA),
            round(self.value("adult_life")),
            rows(1.0, MOST_CARRIER),
        )

    def tables(self, counts: Counts) -> Array:
        """Return death at a passage, activity, lifetime eggs and heat death over temperature."""
        grid = grid_temperatures()
        low, high = self.value("activity_low_temperature"), self.value("activity_high_temperature")
        rise = self.value("activity_rise")
        active = np.clip((grid - low) / rise, 0.0, 1.0) * np.clip((high - grid) / rise, 0.0, 1.0)
        passages = sum(counts[:5])
        death = np.full(len(grid), 1.0 - self.value("immature_survival") ** (1.0 / passages))
        eggs = by_straight_lines(self.bridge.warm(self.name, "eggs")) if self.stays else 0.0 * grid
        return np.stack([death, active, eggs, by_straight_lines(self.bridge.warm(self.name, "heat_death"))])

    def rows(self) -> Array:
        """Return the rows of the parameter table, shape (N_PREDATOR, members)."""
        named = self.bridge.development(self.name)
        best = self.bridge.one(self.name, "immature_survival")
        z = self.bridge.normal(f"{self.name}.immature_survival")
        survival = spread_over(best, z, least=0.01, most=0.995)
        named["immature_death"] = np.log(survival) / math.log(best.value)
        for row in ("larva_loss", "starving_loss", "prey_per_larva", "attack_rate"):
            named[row] = self.drawn(row)
        named["refuge_k"] = self.drawn("refuge_k", least=0.02)
        named["larvae_among_prey"] = self.drawn("larvae_among_prey", most=1.0)
        if self.bridge.model.ants:
            z = self.bridge.normal("any_predator.attack_factor_with_ants")
            named["attack_rate"] *= spread_over(self.bridge.one(self.name, "attack_factor_with_ants"), z)
        named["lot_emergence"] = self.drawn("emergence", most=1.0)
        nothing = dict.fromkeys(PREDATOR_ROWS, 0.0)
        nothing |= {"carrier_heat": 1.0, "day_length_spread": 1.0, "floor_survival": 1.0}
        nothing |= {"egg_half_prey": 1.0, "prey_for_egg_laying": 1.0}
        if self.stays:
            named |= self._of_midges()
        return np.stack(
            [named.get(row, nothing[row]) + np.zeros(self.bridge.members) for row in PREDATOR_ROWS]
        )

    def _of_midges(self) -> dict[str, Array]:
        """Return what only a predator has that lays its eggs here."""
        eggs = self.bridge.warm(self.name, "eggs")
        return {
            "share_female": self.drawn("share_female", most=1.0),
            "lot_share_female": self.drawn("share_female", most=1.0),
            "adult_loss": self.drawn("adult_loss"),
            "eggs": np.exp(log_spread(eggs) * self.bridge.normal(f"{self.name}.eggs")),
            "egg_half_prey": self.drawn("egg_half_prey", least=0.1),
            "prey_for_egg_laying": self.drawn("prey_for_egg_laying", least=0.1),
            "floor_survival": self._floor(),
            "critical_day_length": self.drawn("critical_day_length"),
            "critical_day_length_night": self.drawn("critical_day_length_night"),
            "day_length_spread": self.drawn("day_length_spread", least=0.01),
            "carrier_heat": self.drawn("emergence_heat", least=1.0),
            "exchange": self.drawn("zone_exchange", most=1.0),
        }

    def _floor(self) -> Array:
        """Return how many of the larvae that drop live, against a soft floor; of a floor not told, any one."""
        bridge, soft = self.bridge, self.value("immature_survival")
        z = bridge.normal(f"{self.name}.floor_survival")
        each = [np.ones(bridge.members)]
        for floor in FLOORS[1:]:
            fact = bridge.one(self.name, "immature_survival", stage=floor)
            each.append(spread_over(fact, z, least=0.0, most=soft) / soft)
        each[0] = each[1] + self._damp() * (each[0] - each[1])
        if bridge.model.floor is not None:
            return each[FLOORS.index(bridge.model.floor)]
        if not bridge.spread:
            return each[0]
        which = bridge.luck.normal(f"{self.name}.floor")
        return np.where(which < -THIRD, each[0], np.where(which < THIRD, each[1], each[2]))

    def _damp(self) -> Array:
        """Return how damp a soft floor is under the air of the house: 1 where it costs no pupa, 0 where it is dry."""
        bridge = self.bridge
        if bridge.model.humidity is None:
            return np.ones(bridge.members)
        z = bridge.normal(f"{self.name}.floor_humidity")
        dry, damp = (
            spread_over(bridge.one(self.name, "floor_humidity", stage=stage), z) for stage in ("dry", "damp")
        )
        return np.clip((bridge.model.humidity - dry) / np.maximum(damp - dry, 1.0), 0.0, 1.0)


def what_hunters_share(bridge: Bridge, hunters: Sequence[PredatorFacts], substages: Substages) -> Hunters:
    """Return what all members share about the predators of a house."""
    pests, grid = bridge.model.pests, len(grid_temperatures())
    ages = [counts[PREDATOR_BLOCKS.index("adults")] for counts in substages.predators]
    egg_shape = np.zeros((len(hunters), max(ages, default=0)))
    accepted = np.zeros((len(hunters), len(pests)))
    for d, hunter in enumerate(hunters):
        egg_shape[d, : ages[d]] = 1.0 / max(ages[d], 1)
        for p, pest in enumerate(pests):
            level = int(bridge.one(hunter.name, "host_match", other_species=pest).value)
            accepted[d, p] = hunter.value("host_match_factor", str(level))

    def of(quantity: str, stages: Sequence[str]) -> Array:
        values = [[hunter.value(quantity, stage) for stage in stages] for hunter in hunters]
        return np.array(values, dtype=np.float64).reshape(len(hunters), len(stages))

    tables = [hunter.tables(counts) for hunter, counts in zip(hunters, substages.predators, strict=True)]
    return Hunters(
        tables=np.stack(tables) if tables else np.zeros((0, 4, grid)),
        stage_share=of("instar_share", STAGES),
        prey_share=of("prey_share", LARVAE),
        accepted=accepted,
        preference=of("prey_preference", HOSTS),
        worth=of("prey_worth", HOSTS),
        mummy_taste=np.array([hunter.value("mummy_preference") for hunter in hunters]),
        egg_shape=egg_shape,
    )
