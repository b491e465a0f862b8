"""The cheapest whole packs for all houses of a farm, opened and shared within their life.

A small tunnel often needs a fraction of the smallest pack. Packs of one enemy, form and way of counting are taken as
the same goods whoever sells them; what is counted here is what the label counts. The programme is exact: an integer
programme solved to a gap of nothing.

Of several answers of the same cost the one with the fewest packs is taken, then the one with the fewest animals bought,
then the freshest: later deliveries first, then suppliers by name and small packs first. The order in which needs and
arrivals are given plays no part.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import ceil

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from outpace.planning.delivery_calendar import slots
from outpace.terms.enemies import Pack

Array = NDArray[np.float64]
Goods = tuple[str, str, str]

MONEY_STEP = 1e-4  # two costs closer than this are the same


@dataclass(frozen=True, slots=True, order=True)
class Need:
    """What one house is to release on one day, as the label counts.

    ``most`` is up to how many may be released where an opened pack has some over; ``number`` where nothing is said.
    """

    day: date
    house: str
    enemy: str
    form: str
    number: int
    label_counts: str = "units_in_pack"
    most: int | None = None

    @property
    def goods(self) -> Goods:
        """Return what may serve it: enemy, form, and what the label counts."""
        return (self.enemy, self.form, self.label_counts)


@dataclass(frozen=True, slots=True)
class Arrival:
    """One pack that can be had on one day, if it is ordered by the cut-off."""

    pack: Pack
    delivery: date
    cutoff: datetime

    @property
    def goods(self) -> Goods:
        """Return what it is: enemy, form, and what the label counts."""
        return (self.pack.enemy, self.pack.form, self.pack.label_counts)

    def serves(self, need: Need) -> bool:
        """Return whether it is the goods that are needed, and alive on that day."""
        return self.goods == need.goods and self.lasts_to(need.day)

    def lasts_to(self, day: date) -> bool:
        """Return whether the pack is there and within its life; without a stated life, on its own day only."""
        return 0 <= (day - self.delivery).days <= (self.pack.life_d or 0.0)


@dataclass(frozen=True, slots=True)
class Line:
    """Packs of one kind to order for one delivery; ``leftover`` is how many animals no house is given."""

    arrival: Arrival
    packs: int
    leftover: int


@dataclass(frozen=True, slots=True)
class Share:
    """What one house is given out of one line.

    ``draws_on`` is how many packs it is taken from; ``opens`` how many of those no house had opened before it, the
    packs of a line adding up to what is ordered.
    """

    arrival: Arrival
    house: str
    release: date
    number: int
    draws_on: int
    opens: int


@dataclass(frozen=True)
class Pooled:
    """What to order for a farm, and who gets what. Needs that no delivery can serve are ``unmet``, never dropped."""

    lines: tuple[Line, ...]
    shares: tuple[Share, ...]
    goods: float
    freight: float
    unmet: tuple[Need, ...]

    @property
    def total(self) -> float:
        """Return the cost of packs, minimum orders and freight. [farm's money]"""
        return self.goods + self.freight


@dataclass(frozen=True, slots=True)
class _Terms:
    """What a supplier asks for one delivery: the strictest of the packs that could be in it."""

    supplier: str
    delivery: date
    members: tuple[int, ...]
    freight: float
    per_parcel: int | None
    least_money: float
    least_packs: int


def arrivals(packs: Iterable[Pack], now: datetime, until: date) -> tuple[Arrival, ...]:
    """Return every pack on every delivery that can still be ordered, days without delivery left out.

    Parameters
    ----------
    now : datetime
        Local time of the farm, without an offset.
    until : date
        Last day of delivery of interest.
    """
    return tuple(
        Arrival(pack=pack, delivery=slot.delivery, cutoff=slot.cutoff)
        for pack in packs
        for slot in slots(pack, now, until)
    )


def pool(needs: Iterable[Need], offered: Iterable[Arrival]) -> Pooled:
    """Return the cheapest whole packs that serve every need within the life of the packs.

    An order below a supplier's least money is paid as if it reached it; one below its least number of packs is filled
    up with packs. Freight is paid for every parcel begun.

    Parameters
    ----------
    needs : iterable of Need
    offered : iterable of Arrival
        What can be had; see `arrivals`.

    Returns
    -------
    pooled : Pooled
        With shares that add up to every need that can be met, and animals left over per line.

    Raises
    ------
    ValueError
        If a need is below zero, or its ``most`` below its number.

    Examples
    --------
    One pack of 250 serves eight tunnels that need 30 each:

    >>> pack = Pack(supplier="S", enemy="aphidius_ervi", form="adults", pack_size=250, price=20.0,
    ...             label_counts="units_in_pack", cutoff_weekday="Thu", delivery_weekday="Wed")
    >>> wednesday = date(2026, 12, 2)
    >>> tunnels = [Need(wednesday, f"tunnel {i}", "aphidius_ervi", "adults", 30) for i in range(8)]
    >>> found = pool(tunnels, [Arrival(pack, wednesday, datetime(2026, 11, 26, 12))])
    >>> [(line.packs, line.leftover) for line in found.lines], found.total
    ([(1, 10)], 20.0)
    """
    wanted = sorted((need for need in needs if need.number), key=_place_of_need)
    for need in wanted:
        if need.number < 0 or (need.most is not None and need.most < need.number):
            raise ValueError(f"need of {need.house}: number {need.number}, most {need.most}")
    stock = sorted(
        (item for item in offered if any(item.serves(need) for need in wanted)),
        key=_place_of_arrival,
    )
    met = [need for need in wanted if any(item.serves(need) for item in stock)]
    unmet = tuple(need for need in wanted if need not in met)
    if not met:
        return Pooled((), (), 0.0, 0.0, unmet)
    terms = _terms(stock)
    packs = _solved(_Programme(stock, met, terms))
    goods, freight = cost_of_packs(stock, packs)
    given = _handed_out(stock, packs, met)
    left = [item.pack.pack_size * count for item, count in zip(stock, packs, strict=True)]
    for (i, _), number in given.items():
        left[i] -= number
    lines = tuple(
        Line(item, count, over) for item, count, over in zip(stock, packs, left, strict=True) if count
    )
    return Pooled(lines, _shares(stock, packs, met, given), goods, freight, unmet)


def cost_of_packs(offered: Sequence[Arrival], packs: Sequence[int]) -> tuple[float, float]:
    """Return what these packs cost and their freight, orders below the least money paid up to it."""
    goods = freight = 0.0
    for term in _terms(offered):
        count = sum(packs[i] for i in term.members)
        if not count:
            continue
        goods += max(sum(packs[i] * offered[i].pack.price for i in term.members), term.least_money)
        freight += term.freight * (ceil(count / term.per_parcel) if term.per_parcel else 1)
    return goods, freight


def below_least_packs(offered: Sequence[Arrival], packs: Sequence[int]) -> tuple[tuple[str, date, int], ...]:
    """Return supplier, delivery and least number of packs of each order that is too small to be taken."""
    return tuple(
        (term.supplier, term.delivery, term.least_packs)
        for term in _terms(offered)
        if 0 < sum(packs[i] for i in term.members) < term.least_packs
    )


def _place_of_need(need: Need) -> tuple[date, Goods, str, int]:
    return (need.day, need.goods, need.house, need.number)


def _place_of_arrival(item: Arrival) -> tuple[int, str, Goods, int, float]:
    return (-item.delivery.toordinal(), item.pack.supplier, item.goods, item.pack.pack_size, item.pack.price)


def _terms(stock: Sequence[Arrival]) -> tuple[_Terms, ...]:
    groups: dict[tuple[str, date], list[int]] = defaultdict(list)
    for i, item in enumerate(stock):
        groups[item.pack.supplier, item.delivery].append(i)
    return tuple(
        _Terms(
            supplier=supplier,
            delivery=delivery,
            members=tuple(members),
            freight=max(stock[i].pack.freight_per_parcel or 0.0 for i in members),
            per_parcel=min((n for i in members if (n := stock[i].pack.packs_per_parcel)), default=None),
            least_money=max(stock[i].pack.minimum_order_money or 0.0 for i in members),
            least_packs=max(stock[i].pack.minimum_order_packs or 0 for i in members),
        )
        for (supplier, delivery), members in groups.items()
    )


class _Programme:
    """The integer programme: packs per arrival, animals per arrival and day, parcels, used or not, money per order."""

    def __init__(self, stock: Sequence[Arrival], needs: Sequence[Need], terms: Sequence[_Terms]) -> None:
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


def _handed_out(
    stock: Sequence[Arrival], packs: Sequence[int], needs: Sequence[Need]
) -> dict[tuple[int, int], int]:
    """Return the animals from each arrival to each need: those whose life ends first are used first.

    Serving the days in turn from what spoils first never leaves a need open that could have been met.
    """
    left = [item.pack.pack_size * count for item, count in zip(stock, packs, strict=True)]
    by_end = sorted(
        (i for i, count in enumerate(packs) if count),
        key=lambda i: (stock[i].delivery.toordinal() + (stock[i].pack.life_d or 0.0), i),
    )
    given: dict[tuple[int, int], int] = {}
    for j, need in enumerate(needs):
        open_number = need.number
        for i in by_end:
            taken = min(open_number, left[i]) if stock[i].serves(need) else 0
            if taken:
                given[i, j] = taken
                left[i] -= taken
                open_number -= taken
        if open_number:
            raise ValueError(f"the pooling of packs left {open_number} of {need.house} open on {need.day}")
    for j, need in enumerate(needs):
        room = (need.most or need.number) - need.number
        for i in by_end:
            if (i, j) in given and room:
                takers = sum(1 for (k, later) in given if k == i and later >= j)
                extra = min(room, ceil(left[i] / takers))
                given[i, j] += extra
                left[i] -= extra
                room -= extra
    return given


def _shares(
    stock: Sequence[Arrival],
    packs: Sequence[int],
    needs: Sequence[Need],
    given: dict[tuple[int, int], int],
) -> tuple[Share, ...]:
    """Return who gets what, and which packs are opened for whom: full packs first within a day."""
    found: list[Share] = []
    for i, item in enumerate(stock):
        size = item.pack.pack_size
        takers = sorted(
            (needs[j].day, number % size != 0, needs[j].house, j, number)
            for (k, j), number in given.items()
            if k == i
        )
        begun = opened = 0
        for place, (day, _, house, _, number) in enumerate(takers):
            end = begun + number
            opens = ceil(end / size) - opened
            opened += opens
            if place == len(takers) - 1:
                opens += packs[i] - opened
            found.append(
                Share(
                    arrival=item,
                    house=house,
                    release=day,
                    number=number,
                    draws_on=ceil(end / size) - begun // size,
                    opens=opens,
                )
            )
            begun = end
    return tuple(found)
