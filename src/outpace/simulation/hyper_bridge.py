"""Which fact fills which parameter of a hyperparasitoid."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from outpace.biology.temperature_response import thermal_performance
from outpace.simulation.chains import Array
from outpace.simulation.draws import spread_over
from outpace.simulation.hyper_rows import HYPER_ROWS

if TYPE_CHECKING:
    from outpace.simulation.bridge import Bridge

MOST_YOUNG = 8
"""Rows of the young, as of mummies that hold a wasp: a narrower spread would cost more than it shows."""
REFERENCE_TEMPERATURE = 20.0
"""Where searching and laying are as in the facts; elsewhere they go with the rate of development. [°C]"""
DEVELOPMENT = ("lower_threshold", "thermal_constant", "optimum_temperature", "upper_temperature")


class HyperFacts:
    """The facts of one hyperparasitoid as rows of the parameter table."""

    def __init__(self, bridge: Bridge, name: str) -> None:
        self.bridge, self.name = bridge, name

    def drawn(self, quantity: str, *, least: float = 0.0, most: float = np.inf) -> Array:
        """Return draws of one quantity, shape (members,)."""
        z = self.bridge.normal(f"{self.name}.{quantity}")
        return spread_over(self.bridge.one(self.name, quantity), z, least=least, most=most)

    def substages(self) -> int:
        """Return how many rows the young inside mummies have."""
        variation = self.bridge.one(self.name, "development_cv").value
        return int(min(max(round(1.0 / variation**2), 1), MOST_YOUNG))

    def rows(self) -> Array:
        """Return the rows of the parameter table, shape (N_HYPER, members)."""
        named = self.bridge.development(self.name)
        named["pace"] = np.maximum(
            thermal_performance(REFERENCE_TEMPERATURE, *(named[name] for name in DEVELOPMENT)), 1e-3
        )
        survival = self.drawn("immature_survival", least=0.01, most=0.999)
        named["survive"] = survival ** (1.0 / self.substages())
        named["share_female"] = self.drawn("share_female", most=1.0)
        named["adult_loss"] = 1.0 / self.drawn("adult_life", least=1.0)
        named["eggs_per_day"] = self.drawn("eggs_per_day")
        named["attack_rate"] = self.drawn("attack_rate")
        named["handling_time"] = self.drawn("handling_time")
        named["refuge_k"] = self.drawn("refuge_k", least=0.02)
        named["exchange"] = self.drawn("zone_exchange", most=1.0)
        return np.stack([named[row] + np.zeros(self.bridge.members) for row in HYPER_ROWS])
