"""The cheapest whole packs for all houses of a farm, opened and shared within their life.

A small tunnel often needs a fraction of the smallest pack. Packs of one enemy, form and way of counting are taken as
the same goods whoever sells them; what is counted here is what the label counts. The programme is exact: an integer
programme solved to a gap of nothing.

Of several answers of the same cost the one with the fewest packs is taken, then the one with the fewest animals bought,
then the freshest: later deliveries first, then suppliers by name and small packs first. The order in which needs and
arrivals are given plays no part.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

from outpace.planning.goods import Arrival, Goods, Need, cost_of_packs
from outpace.planning.pack_programme import cheapest_packs


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


def pool(needs: Iterable[Need], offered: Iterable[Arrival]) -> Pooled:
    """Return the cheapest whole packs that serve every need within the life of the packs.

    An order below a supplier's least money is paid as if it reached it; one below its least number of packs is filled
    up with packs. Freight is paid for every parcel begun.

    Parameters
    ----------
    needs : iterable of Need
    offered : iterable of Arrival
        What can be had; see `outpace.planning.goods.arrivals`.

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

    >>> from datetime import datetime
    >>> from outpace.terms.enemies import Pack
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
    return given_out(stock, cheapest_packs(stock, met), met, unmet)


def given_out(
    stock: Sequence[Arrival], packs: Sequence[int], met: Sequence[Need], unmet: tuple[Need, ...] = ()
) -> Pooled:
    """Return who gets what of packs that are enough for every need.

    Parameters
    ----------
    stock, packs : sequences
        Arrivals, and how many packs of each are bought.
    met : sequence of Need
        In the order of days.
    """
    goods, freight = cost_of_packs(stock, packs)
    given = _handed_out(stock, packs, met)
    left = [item.pack.pack_size * count for item, count in zip(stock, packs, strict=True)]
    for (i, _), number in given.items():
        left[i] -= number
    lines = tuple(
        Line(item, count, over) for item, count, over in zip(stock, packs, left, strict=True) if count
    )
    return Pooled(lines, _shares(stock, packs, met, given), goods, freight, unmet)


def _place_of_need(need: Need) -> tuple[date, Goods, str, int]:
    return (need.day, need.goods, need.house, need.number)


def _place_of_arrival(item: Arrival) -> tuple[int, str, Goods, int, float]:
    return (-item.delivery.toordinal(), item.pack.supplier, item.goods, item.pack.pack_size, item.pack.price)


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
