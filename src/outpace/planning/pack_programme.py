"""The integer programme of the cheapest whole packs, and its rule for ties."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from math import ceil

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from outpace.planning.goods import Arrival, Goods, Need, Terms, terms_of

Array = NDArray[np.float64]

MONEY_STEP = 1e-4  # two costs closer than this are the same


def cheapest_packs(stock: Sequence[Arrival], needs: Sequence[Need]) -> tuple[int, ...]:
    """Return how many packs of each arrival serve every need at the least cost.

    Of several answers of one cost: the fewest packs, then the fewest animals, then those that stand first in ``stock``.

    Parameters
    ----------
    stock : sequence of Arrival
        Each of use to some need.
    needs : sequence of Need
        Each served by some arrival.
    """
    packs = [0] * len(stock)
    for members in _apart(stock, needs):
        part = [stock[i] for i in members]
        wants = [need for need in needs if any(item.serves(need) for item in part)]
        for i, count in zip(members, _solved(_Programme(part, wants, terms_of(part))), strict=True):
            packs[i] = count
    return tuple(packs)


def _apart(stock: Sequence[Arrival], needs: Sequence[Need]) -> list[list[int]]:
    """Return the arrivals in groups that share neither a need nor an order, so that each can be solved by itself."""
    group = list(range(len(stock)))

    def join(members: Sequence[int]) -> None:
        joined = {group[i] for i in members}
        for i, name in enumerate(group):
            if name in joined:
                group[i] = min(joined)

    for term in terms_of(stock):
        join(term.members)
    for goods, day in dict.fromkeys((need.goods, need.day) for need in needs):
        join([i for i, item in enumerate(stock) if item.goods == goods and item.lasts_to(day)])
    return [[i for i, name in enumerate(group) if name == wanted] for wanted in sorted(set(group))]


class _Programme:
    """The integer programme: packs per arrival, animals per arrival and day, parcels, used or not, money per order."""

    def __init__(self, stock: Sequence[Arrival], needs: Sequence[Need], terms: Sequence[Terms]) -> None:
        demand: dict[tuple[Goods, date], int] = defaultdict(int)
        for need in needs:
            demand[need.goods, need.day] += need.number
        flows = [
            (i, (goods, day))
            for i, item in enumerate(stock)
            for goods, day in demand
            if item.goods == goods and item.lasts_to(day)
        ]
        self.packs, groups = len(stock), len(terms)
        self.parcel, self.used = self.packs + len(flows), self.packs + len(flows) + groups
        self.paid = self.used + groups
        width = self.paid + groups
        self.sizes = np.array([float(item.pack.pack_size) for item in stock])
        reach = np.zeros(self.packs)
        for i, place in flows:
            reach[i] += demand[place]
        fill = max(term.least_packs for term in terms)
        most_packs = np.ceil(reach / self.sizes) + fill
        self.top = np.full(width, np.inf)
        self.top[: self.packs] = most_packs
        self.top[self.packs : self.parcel] = [demand[place] for _, place in flows]
        self.top[self.used : self.paid] = 1.0
        self.whole = np.zeros(width)
        self.whole[: self.packs] = self.whole[self.parcel : self.paid] = 1.0
        self.cost = np.zeros(width)
        rows: list[Array] = []
        for place, number in demand.items():
            row = np.zeros(width)
            for j, (_, where) in enumerate(flows):
                row[self.packs + j] = where == place
            rows.append(row / number)
        self.low = [1.0] * len(rows)
        for i, size in enumerate(self.sizes):
            row = np.zeros(width)
            row[i] = 1.0
            for j, (source, _) in enumerate(flows):
                if source == i:
                    row[self.packs + j] = -1.0 / size
            rows.append(row)
        for g, term in enumerate(terms):
            members = list(term.members)
            room = float(most_packs[members].sum())
            self.cost[self.parcel + g], self.cost[self.paid + g] = term.freight, 1.0
            parcels = ceil(room / term.per_parcel) if term.per_parcel else 1
            dearest = max(stock[i].pack.price for i in members)
            self.top[self.parcel + g], self.top[self.paid + g] = parcels, term.least_money + room * dearest
            for column, scale in ((self.parcel + g, float(term.per_parcel or room)), (self.used + g, room)):
                row = np.zeros(width)
                row[members], row[column] = -1.0, scale
                rows.append(row)
            row = np.zeros(width)
            row[members], row[self.used + g] = 1.0, -float(term.least_packs)
            rows.append(row)
            row = np.zeros(width)
            row[members], row[self.paid + g] = [-stock[i].pack.price for i in members], 1.0
            rows.append(row)
            row = np.zeros(width)
            row[self.used + g], row[self.paid + g] = -term.least_money, 1.0
            rows.append(row)
        self.low += [0.0] * (len(rows) - len(self.low))
        self.rows = rows

    def least(self, aim: Array, held: Sequence[tuple[Array, float]]) -> Array:
        """Return the variables that make the aim least while each held sum stays at or below its value."""
        rows = np.vstack([*self.rows, *(-row for row, _ in held)])
        low = np.array([*self.low, *(-value for _, value in held)])
        done = milp(
            aim,
            integrality=self.whole.astype(np.int64),
            bounds=Bounds(np.zeros_like(self.top), self.top),
            constraints=LinearConstraint(rows, low, np.inf),
            options={"mip_rel_gap": 0.0},
        )
        if done.x is None:
            raise ValueError(f"the pooling of packs was not solved: {done.message}")
        return np.asarray(done.x)


def _solved(programme: _Programme) -> list[int]:
    n = programme.packs
    packs, animals, rank = (np.zeros_like(programme.cost) for _ in range(3))
    packs[:n], animals[:n], rank[:n] = 1.0, programme.sizes, np.arange(n)
    held: list[tuple[Array, float]] = []
    found = np.zeros_like(programme.cost)
    for aim, slack in ((programme.cost, MONEY_STEP), (packs, 0.5), (animals, 0.5), (rank, 0.5)):
        found = programme.least(aim, held)
        held.append((aim, float(aim @ found) + slack))
    return [int(count) for count in np.rint(found[:n])]
