"""Draw what the facts leave open, and remember which rows were used."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from outpace.facts.table import Fact, Facts

Array = NDArray[np.float64]

NORMAL_95 = 1.645
"""Standard deviations from the middle to a 95 % limit of a normal distribution."""

REACH = 1.3
"""A draw goes little further than the printed range."""


class Drawing:
    """Values of many draws from the ranges of the facts; low and high are taken as a 90 % range."""

    def __init__(self, facts: Facts, draws: int, seed: int) -> None:
        self.facts = facts
        self.draws = draws
        self.random = np.random.default_rng(seed)
        self._used: dict[str, Fact] = {}

    @property
    def used(self) -> tuple[Fact, ...]:
        """Return the rows drawn from so far, each once."""
        return tuple(self._used.values())

    def value(self, species: str, quantity: str, *, crop: str = "", stage: str = "") -> Array:
        """Return draws of one quantity, shape (draws,)."""
        fact = self._use(self.facts.one(species, quantity, crop=crop, stage=stage))
        return within(fact, self.random.standard_normal(self.draws))

    def pair(self, species: str, *, other: str = "") -> tuple[Array, Array]:
        """Return draws of lower threshold and thermal constant as a pair, each of shape (draws,).

        A study with a low threshold finds a large constant: drawn apart, they would spread the time at a cool
        temperature far more than any study does.
        """
        threshold = self._use(self.facts.one(species, "lower_threshold", other_species=other))
        constant = self._use(self.facts.one(species, "thermal_constant", other_species=other))
        correlation = self._use(self.facts.one(species, "threshold_constant_correlation")).value
        first, second = self.random.standard_normal((2, self.draws))
        second = correlation * first + np.sqrt(1 - correlation**2) * second
        return within(threshold, first), within(constant, second)

    def curve(self, species: str, quantity: str, hours: Array, *, crop: str = "") -> Array:
        """Return draws of a quantity that follows temperature, shape (hours, draws).

        Straight lines between the temperatures of the rows, level beyond; all rows of a draw deviate alike.
        """
        rows = [self._use(fact) for fact in self.facts.by_temperature(species, quantity, crop=crop)]
        deviates = self.random.standard_normal(self.draws)
        levels = np.array([within(fact, deviates) for fact in rows])
        at = np.array([fact.temperature_degc or 0.0 for fact in rows])
        if len(rows) == 1:
            return np.broadcast_to(levels, (len(hours), self.draws))
        left = np.clip(np.searchsorted(at, hours) - 1, 0, len(at) - 2)
        share = np.clip((hours - at[left]) / (at[left + 1] - at[left]), 0.0, 1.0)[:, None]
        return np.asarray(levels[left] * (1 - share) + levels[left + 1] * share)

    def shape(self, species: str, quantity: str, stages: list[str]) -> Array:
        """Return the shares of a quantity that is told by stage, shape (stages,)."""
        return np.array([self._use(self.facts.one(species, quantity, stage=each)).value for each in stages])

    def _use(self, fact: Fact) -> Fact:
        self._used.setdefault(fact.key, fact)
        return fact


def within(fact: Fact, deviates: Array) -> Array:
    """Return the values that standard normal deviates stand for in the range of a row.

    Either side of the value has its own standard deviation. A row without a range gives its value.
    What cannot be negative stays so, and a share stays at most 1.
    """
    low = fact.value if fact.low is None else fact.low
    high = fact.value if fact.high is None else fact.high
    side = np.where(deviates < 0, fact.value - low, high - fact.value)
    drawn = fact.value + side * np.clip(deviates / NORMAL_95, -REACH, REACH)
    least = low / 2 if low >= 0 else -np.inf
    most = 1.0 if fact.unit == "1" and high <= 1 else np.inf
    return np.asarray(np.clip(drawn, least, most))
