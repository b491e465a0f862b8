"""What houses need and what can be had: animals by day, packs by delivery, and the terms of an order."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import ceil

from outpace.planning.delivery_calendar import slots
from outpace.terms.enemies import Pack

Goods = tuple[str, str, str]


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
class Terms:
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


def terms_of(stock: Sequence[Arrival]) -> tuple[Terms, ...]:
    """Return the terms of every order, one for each supplier and delivery."""
    groups: dict[tuple[str, date], list[int]] = defaultdict(list)
    for i, item in enumerate(stock):
        groups[item.pack.supplier, item.delivery].append(i)
    return tuple(
        Terms(
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


def cost_of_packs(offered: Sequence[Arrival], packs: Sequence[int]) -> tuple[float, float]:
    """Return what these packs cost and their freight, orders below the least money paid up to it."""
    goods = freight = 0.0
    for term in terms_of(offered):
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
        for term in terms_of(offered)
        if 0 < sum(packs[i] for i in term.members) < term.least_packs
    )
