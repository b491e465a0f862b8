"""Steady growth of one pest at one temperature: its rate of increase and its age structure.

The same chains as in the kernel, in the steady state where all classes grow alike. Used to start a house, to turn a
multiplier of growth into one of births, and to balance growth at the ceiling.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from outpace.simulation import parameter_rows as rows
from outpace.simulation.chains import grid_temperatures
from outpace.simulation.layout import PEST_BLOCKS, WINGED, WINGED_SHARE, Layout
from outpace.simulation.responses import MOST_GROWTH, Shared

Array = NDArray[np.float64]


class SteadyGrowth:
    """Passage rates of one pest at one temperature, for all members, and what follows from them.

    Parameters
    ----------
    values : array of float, shape (N_PEST, members)
        The pest's rows of the parameter table.
    shared : Shared
    pest : int
    counts : sequence of int, shape (9,)
        Rows of each of the pest's chains.
    temperature : float
        [°C]
    """

    def __init__(
        self, values: Array, shared: Shared, pest: int, counts: NDArray[np.int64], temperature: float
    ) -> None:
        grid = grid_temperatures()
        death, ageing, births, heat = (np.interp(temperature, grid, t) for t in shared.pest_tables[pest])
        self.heat = heat
        lower, constant = values[rows.LOWER], values[rows.CONSTANT]
        optimum, upper = values[rows.OPTIMUM], values[rows.UPPER]
        peak = (optimum - lower) / constant
        rate = np.minimum((temperature - lower) / constant, peak * (upper - temperature) / (upper - optimum))
        rate = np.maximum(rate, 1e-9)
        self.counts = counts
        self.survive = np.maximum(0.0, 1.0 - death * values[rows.MORTALITY])
        shares = [*shared.instar_share[pest], values[rows.PRE_REPRODUCTIVE]]
        adult = ageing / values[rows.LIFE]
        self.leave = [counts[i] * rate / shares[i] for i in range(5)]
        self.leave += [
            counts[5] * adult,
            1.0 / values[rows.WINGED_FLIGHT] + 0.0 * adult,
            counts[WINGED] * adult,
        ]
        growth = np.exp(
            values[rows.GROWTH_LEVERAGE] * np.minimum(np.exp(values[rows.LOG_GROWTH]) - 1.0, MOST_GROWTH)
        )
        self.births = births * growth * values[rows.FECUNDITY]
        self.winged = values[rows.WINGED_LEAST]
        self.settle = 1.0 - values[rows.WINGED_LEAVING]
        self.winged_births = values[rows.WINGED_BIRTHS]
        self.shapes = (shared.wingless_shape[pest], shared.winged_shape[pest])

    def reproduction(self, rate: Array) -> Array:
        """Return the discounted births of a newborn at a rate of increase; 1 at the true rate."""
        newborn = np.ones_like(self.births)
        for i in range(4):
            newborn = (
                newborn
                * (self.survive * self.leave[i] / (self.leave[i] + rate + self.heat)) ** self.counts[i]
            )
        wingless = (1 - self.winged) * newborn * (self.leave[4] / (self.leave[4] + rate)) ** self.counts[4]
        winged = self.winged * newborn * self.leave[6] / (self.leave[6] + rate) * self.settle
        total = np.zeros_like(self.births)
        for j, share in enumerate(self.shapes[0]):
            total += wingless * share * (self.leave[5] / (self.leave[5] + rate)) ** (j + 1)
        for j, share in enumerate(self.shapes[1]):
            total += winged * self.winged_births * share * (self.leave[7] / (self.leave[7] + rate)) ** (j + 1)
        all_born: Array = self.births * total
        return all_born

    def rate(self) -> Array:
        """Return the rate of increase, shape (members,). [d⁻¹]"""
        slowest = np.minimum.reduce([leave + 0.0 * self.births for leave in self.leave])
        low, high = np.maximum(-0.5, -0.9 * slowest), np.full_like(self.births, 2.0)
        for _ in range(60):
            middle = 0.5 * (low + high)
            grows = self.reproduction(middle) > 1.0
            low, high = np.where(grows, middle, low), np.where(grows, high, middle)
        root: Array = 0.5 * (low + high)
        return root

    def generation_time(self, rate: Array) -> Array:
        """Return the mean age of mothers at birth of their young in steady growth, shape (members,). [d]"""
        step = 1e-5
        up, down = self.reproduction(rate + step), self.reproduction(rate - step)
        age: Array = -(np.log(np.maximum(up, 1e-300)) - np.log(np.maximum(down, 1e-300))) / (2.0 * step)
        return age

    def structure(self, rate: Array) -> list[Array]:
        """Return the numbers in each row of each chain, for one newborn a day; (rows, members) each."""
        flow = np.ones_like(self.births)
        chains: list[Array] = []
        winged_flow = flow
        for i in range(WINGED + 1):
            if i == 4:
                winged_flow = flow * self.winged
                flow = flow * (1 - self.winged)
            if i == 6:
                flow = winged_flow
            if i == WINGED:
                flow = flow * self.settle
            chain = []
            for _ in range(self.counts[i]):
                here = flow / (self.leave[i] + rate + (self.heat if i < 4 else 0.0))
                chain.append(here)
                flow = here * self.leave[i] * (self.survive if i < 4 else 1.0)
            chains.append(np.stack(chain))
        return chains


def stable_rows(
    layout: Layout, growth: SteadyGrowth, pest: int, zone: int, numbers: Array, state: Array
) -> None:
    """Write ``numbers`` aphids, shape (members,), into the state in the age structure of steady growth."""
    chains = growth.structure(growth.rate())
    total = np.sum([chain.sum(axis=0) for chain in chains], axis=0)
    for i, chain in enumerate(chains):
        block = layout.find(PEST_BLOCKS[i], pest=pest, zone=zone)
        state[block.rows] = chain * (numbers / total)
    state[layout.find(PEST_BLOCKS[WINGED_SHARE], pest=pest, zone=zone).first] = growth.winged
