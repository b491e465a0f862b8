"""The integer programme of the cheapest whole packs, and its rule for ties.

What houses need is either given, or one of several choices of each house is taken by the programme itself.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from outpace.planning.goods import Arrival, Goods, Need, Terms, terms_of

Array = NDArray[np.float64]

MONEY_STEP = 1e-4  # two costs closer than this are the same
MOST_NODES = 20_000  # of the search tree; what is not proved by then is said

Demand = Mapping[tuple[Goods, date], int]


@dataclass(frozen=True)
class Choice:
    """One schedule of one house: what it needs by goods and day, and what is paid for it beside packs and freight.

    ``chance`` is that of being above the level with it, ``holds`` whether that is what was asked for.
    """

    needs: Demand
    labour: float = 0.0
    chance: float = 0.0
    holds: bool = True


@dataclass(frozen=True)
class Chosen:
    """The choice of each house by its place in the list, the packs of each arrival of use, and the gap that is left."""

    choices: tuple[int, ...]
    stock: tuple[Arrival, ...]
    packs: tuple[int, ...]
    gap: float


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

    def __init__(
        self,
        stock: Sequence[Arrival],
        needs: Sequence[Need],
        terms: Sequence[Terms],
        houses: Sequence[Sequence[Choice]] = (),
    ) -> None:
        demand: dict[tuple[Goods, date], int] = defaultdict(int)
        for need in needs:
            demand[need.goods, need.day] += need.number
        fixed = dict(demand)
        for choices in houses:
            for place in dict.fromkeys(place for choice in choices for place in choice.needs):
                demand[place] += max(choice.needs.get(place, 0) for choice in choices)
        flows = [
            (i, (goods, day))
            for i, item in enumerate(stock)
            for goods, day in demand
            if item.goods == goods and item.lasts_to(day)
        ]
        self.packs, groups = len(stock), len(terms)
        self.parcel, self.used = self.packs + len(flows), self.packs + len(flows) + groups
        self.paid = self.used + groups
        self.chosen = self.paid + groups
        self.column = [(h, choice) for h, choices in enumerate(houses) for choice in choices]
        width = self.chosen + len(self.column)
        self.sizes = np.array([float(item.pack.pack_size) for item in stock])
        reach = np.zeros(self.packs)
        for i, place in flows:
            reach[i] += demand[place]
        fill = max((term.least_packs for term in terms), default=0)
        most_packs = np.ceil(reach / self.sizes) + fill
        self.top = np.full(width, np.inf)
        self.top[: self.packs] = most_packs
        self.top[self.packs : self.parcel] = [demand[place] for _, place in flows]
        self.top[self.used : self.paid] = 1.0
        self.top[self.chosen :] = 1.0
        self.whole = np.zeros(width)
        self.whole[: self.packs] = self.whole[self.parcel : self.paid] = self.whole[self.chosen :] = 1.0
        self.cost = np.zeros(width)
        rows: list[Array] = []
        self.low: list[float] = []
        for place, number in demand.items():
            row = np.zeros(width)
            for j, (_, where) in enumerate(flows):
                row[self.packs + j] = where == place
            for c, (_, choice) in enumerate(self.column):
                row[self.chosen + c] = -float(choice.needs.get(place, 0))
            rows.append(row / number)
            self.low.append(fixed.get(place, 0) / number)
        for h in range(len(houses)):
            row = np.zeros(width)
            for c, (house, _) in enumerate(self.column):
                row[self.chosen + c] = house == h
            # One choice a house: at least one, and, since the rest costs nothing less, at most one.
            rows += [row, -row]
            self.low += [1.0, -1.0]
        self.cost[self.chosen :] = [choice.labour for _, choice in self.column]
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

    def least(
        self, aim: Array, held: Sequence[tuple[Array, float]], close: float = 0.0
    ) -> tuple[Array, float]:
        """Return the variables that make the aim least while each held sum stays at or below its value, and the gap.

        What is within ``close`` of the least, as a share of it, is good enough.
        """
        rows = np.vstack([*self.rows, *(-row for row, _ in held)])
        low = np.array([*self.low, *(-value for _, value in held)])
        done = milp(
            aim,
            integrality=self.whole.astype(np.int64),
            bounds=Bounds(np.zeros_like(self.top), self.top),
            constraints=LinearConstraint(rows, low, np.inf),
            options={"mip_rel_gap": close, "node_limit": MOST_NODES},
        )
        if done.x is None:
            raise ValueError(f"the pooling of packs was not solved: {done.message}")
        gap = 0.0 if done.status == 0 else float(done.mip_gap or 0.0)
        return np.asarray(done.x), gap


def _solved(programme: _Programme) -> list[int]:
    n = programme.packs
    packs, animals, rank = (np.zeros_like(programme.cost) for _ in range(3))
    packs[:n], animals[:n], rank[:n] = 1.0, programme.sizes, np.arange(n)
    held: list[tuple[Array, float]] = []
    found = np.zeros_like(programme.cost)
    for aim, slack in ((programme.cost, MONEY_STEP), (packs, 0.5), (animals, 0.5), (rank, 0.5)):
        found, _ = programme.least(aim, held)
        held.append((aim, float(aim @ found) + slack))
    return [int(count) for count in np.rint(found[:n])]


def cheapest_choices(
    stock: Sequence[Arrival],
    houses: Sequence[Sequence[Choice]],
    *,
    budget: float | None = None,
    ties: bool = True,
    close: float = 0.0,
) -> Chosen:
    """Return one choice of each house and the whole packs that serve them, together at the least cost.

    Of several answers of one cost: the fewest packs, then the fewest animals bought, then the fewest let go, then the
    earliest, then the choices that stand first in the lists of the first houses. Where not every house can be held,
    as many are held as can be, then the sum of the chances is least, and only then the cost.

    Parameters
    ----------
    stock : sequence of Arrival
        What can be had; enough of it to serve each choice.
    houses : sequence of sequence of Choice
        At least one for each house.
    budget : float, optional
        Most that packs, freight and labour may come to.
    ties : bool, default True
        Whether the rule for ties is applied; without, any of the cheapest is taken, as is enough on the way.
    close : float, default 0
        How much dearer than the cheapest, as a share of it, is good enough: on the way only.
    """
    stock = [
        item for item in stock if any(_fits(item, choice.needs) for choices in houses for choice in choices)
    ]
    programme = _Programme(stock, (), terms_of(stock), houses)
    zero = np.zeros_like(programme.cost)
    n, first = programme.packs, programme.chosen
    held: list[tuple[Array, float]] = []
    if budget is not None:
        held.append((programme.cost, budget + MONEY_STEP))
    aims: list[tuple[Array, float]] = []
    if not all(choice.holds for _, choice in programme.column):
        lost, chances = zero.copy(), zero.copy()
        lost[first:] = [not choice.holds for _, choice in programme.column]
        chances[first:] = [0.0 if choice.holds else choice.chance for _, choice in programme.column]
        aims += [(lost, 0.5), (chances, 1e-6)]
    aims.append((programme.cost, MONEY_STEP))
    if ties:
        packs, animals, given, late = zero.copy(), zero.copy(), zero.copy(), zero.copy()
        packs[:n], animals[:n] = 1.0, programme.sizes
        given[first:] = [sum(choice.needs.values()) for _, choice in programme.column]
        start = min((day for _, choice in programme.column for _, day in choice.needs), default=date.min)
        late[first:] = [
            sum(number * (day - start).days for (_, day), number in choice.needs.items())
            for _, choice in programme.column
        ]
        aims += [(packs, 0.5), (animals, 0.5), (given, 0.5), (late, 0.5)]
        for h in range(len(houses)):
            place = zero.copy()
            members = [c for c, (house, _) in enumerate(programme.column) if house == h]
            place[[first + c for c in members]] = np.arange(len(members))
            aims.append((place, 0.5))
        rank = zero.copy()
        rank[:n] = np.arange(n)
        aims.append((rank, 0.5))
    found, worst = zero, 0.0
    for aim, slack in aims:
        found, gap = programme.least(aim, held, close if aim is programme.cost else 0.0)
        worst = max(worst, gap) if aim is programme.cost else worst
        held.append((aim, float(aim @ found) + slack))
    return Chosen(
        choices=tuple(
            int(np.argmax([found[first + c] for c, (house, _) in enumerate(programme.column) if house == h]))
            for h in range(len(houses))
        ),
        stock=tuple(stock),
        packs=tuple(int(count) for count in np.rint(found[:n])),
        gap=worst,
    )


def _fits(item: Arrival, needs: Demand) -> bool:
    return any(item.goods == goods and item.lasts_to(day) for goods, day in needs)
