"""What all members share: responses to temperature as tables, age shapes, preferences, the zones.

A table holds one number per quarter degree from -20 to 60 °C; the kernel reads between by straight lines.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from outpace.biology.dispersion import gamma_nodes
from outpace.facts.table import Fact
from outpace.simulation.chains import Array, grid_temperatures
from outpace.simulation.den import Hunters

NODES = 6
MOST_NODES = 8
"""What a row of the kernel's table of nodes can hold."""
FINENESS = 65
ENEMY_STEP_TABLES, EGGS_TABLE = [0, 1, 4, 2], 3
LEAST_K = 0.02
MOST_K = 200.0
"""Range of the clumping k; at the upper end aphids lie as if at random."""
MOST_GROWTH = 1.0
"""What a house's own growth and its swing add to the rate of increase, at most: as much again."""


class Shared(NamedTuple):
    """Everything the kernel needs that is the same for all members."""

    pest_tables: Array  # (pests, 4, grid): death at a passage, 1 / adult life, lifetime births, heat death
    enemy_tables: (
        Array  # (enemies, 4, grid): death at a passage while stung, in the mummy; activity; lifetime eggs
    )
    wingless_shape: Array  # (pests, ages): share of lifetime births
    winged_shape: Array  # (pests, ages)
    egg_shape: Array  # (enemies, days): share of lifetime eggs
    instar_share: Array  # (pests, 4)
    preference: Array  # (pairs, 6): of attacks, by host stage
    stung_births: Array  # (pairs, 3): young borne after the sting, by host size
    nodes: Array  # (fineness, nodes): relative density at the nodes of a gamma distribution, over log k
    zone: Array  # (zones, 4): plants, leaves, leaf area [m²], floor [m²]
    hunters: Hunters  # what all members share about predators
    near: Array  # (zones, zones): nearness of two zones, nil of a zone to itself
    beside: Array  # (zones, zones): share of those who walk off their plant in one zone that come to another
    births: Array  # (zones, pests): births on its crop over those on the crop of the house


def by_straight_lines(rows: Sequence[Fact], *, nil_at: float | None = None, to_nil: bool = False) -> Array:
    """Return a table through the rows' values; level beyond the first and last row.

    Parameters
    ----------
    rows : sequence of Fact
        In the order of temperature, or a single row that holds at any.
    nil_at : float, optional
        Temperature above the last row at which the response is nil. [°C]
    to_nil : bool, default False
        Carry the first line on, below the first row, until it meets nil.

    Returns
    -------
    table : array of float, shape (GRID_SIZE,)
    """
    grid = grid_temperatures()
    if len(rows) == 1 and rows[0].temperature_degc is None:
        return np.full(len(grid), rows[0].value)
    degrees = [float(row.temperature_degc or 0.0) for row in rows]
    values = [row.value for row in rows]
    if to_nil and len(rows) > 1 and values[1] > values[0] > 0:
        slope = (values[1] - values[0]) / (degrees[1] - degrees[0])
        degrees.insert(0, degrees[0] - values[0] / slope)
        values.insert(0, 0.0)
    if nil_at is not None and degrees[-1] < nil_at:
        degrees.append(nil_at)
        values.append(0.0)
    return np.interp(grid, degrees, values)


def node_table(count: int = NODES, fineness: int = FINENESS) -> Array:
    """Return the nodes over a grid of log k, shape (fineness, count)."""
    return np.ascontiguousarray(gamma_nodes(np.geomspace(LEAST_K, MOST_K, fineness), count).T)


def pool(shape: Sequence[float], classes: int) -> Array:
    """Return an age shape over fewer or more classes of the same life, summing to 1.

    Examples
    --------
    >>> pool([0.1, 0.4, 0.3, 0.2], 2)
    array([0.5, 0.5])
    """
    reached = np.concatenate(([0.0], np.cumsum(shape)))
    ends = np.interp(np.linspace(0.0, 1.0, classes + 1), np.linspace(0.0, 1.0, len(shape) + 1), reached)
    shares: Array = np.diff(ends) / reached[-1]
    return shares


class Tables(NamedTuple):
    """The same for looking up by packs of members: each row is eight numbers wide."""

    warm: (
        Array  # (pests + enemies, GRID_SIZE, 8): four responses, then their rises to the next quarter degree
    )
    eggs: Array  # (enemies, GRID_SIZE, 8): lifetime eggs, their rise, nothing
    nodes: Array  # (fineness, 8): as `Shared.nodes`, then nothing
    hunters: Array  # (predators, GRID_SIZE, 8): as `Hunters.tables`, then their rises


def tables_of(shared: Shared) -> Tables:
    """Return the tables as the kernel reads them.

    The responses of pests are those of `Shared.pest_tables`, of enemies death while stung and in the mummy, heat death,
    activity.
    """
    four = np.concatenate([shared.pest_tables[:, :4], shared.enemy_tables[:, ENEMY_STEP_TABLES]])
    eggs = np.zeros((len(shared.enemy_tables), four.shape[2], 8))
    eggs[:, :, 0] = shared.enemy_tables[:, EGGS_TABLE]
    eggs[:, :-1, 1] = np.diff(eggs[:, :, 0])
    nodes = np.zeros((len(shared.nodes), 8))
    nodes[:, : shared.nodes.shape[1]] = shared.nodes
    rises = np.diff(four, axis=2, append=four[:, :, -1:])
    warm = np.concatenate([four, rises], axis=1).transpose(0, 2, 1)
    four = shared.hunters.tables
    hunters = np.concatenate([four, np.diff(four, axis=2, append=four[:, :, -1:])], axis=1).transpose(0, 2, 1)
    return Tables(np.ascontiguousarray(warm), eggs, nodes, np.ascontiguousarray(hunters))
