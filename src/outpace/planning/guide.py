"""What a schedule of one house costs by itself, beside others, or on top of what the farm orders anyway.

Guides lead the search; what is paid in the end comes from the programme of the whole farm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import product
from math import ceil

from outpace.planning.goods import Goods
from outpace.planning.offer import Offer
from outpace.planning.places import Place, Schedule

Parcel = tuple[str, date]


@dataclass
class Guide:
    """Reckons the cost of schedules.

    Parameters
    ----------
    places : sequence of Place
    freight : float
        Share of the freight that falls on this house.
    by_animal : bool
        Whether animals cost their part of a pack, as where packs are shared.
    open_parcels : set of (supplier, delivery)
        Parcels that come anyway: no freight.
    spare : mapping of (goods, day) to int
        Animals that are over in packs bought anyway.
    """

    places: Sequence[Place]
    freight: float = 1.0
    by_animal: bool = False
    open_parcels: frozenset[Parcel] = frozenset()
    spare: Mapping[tuple[Goods, date], int] = field(default_factory=dict)
    _days: list[tuple[int, ...]] = field(init=False)
    _known: dict[tuple[int, tuple[int, ...]], float] = field(init=False, default_factory=dict)
    _costs: dict[Schedule, float] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        by_day: dict[date, list[int]] = {}
        for i, place in enumerate(self.places):
            by_day.setdefault(place.day, []).append(i)
        self._days = [tuple(by_day[day]) for day in sorted(by_day)]

    def cost(self, schedule: Schedule) -> float:
        """Return packs, freight and labour of a schedule."""
        total = self._costs.get(schedule)
        if total is None:
            total = self._costs[schedule] = self._of_days(schedule)
        return total

    def _of_days(self, schedule: Schedule) -> float:
        total = 0.0
        for d, members in enumerate(self._days):
            rungs = tuple(schedule[i] for i in members)
            if not any(rungs):
                continue
            found = self._known.get((d, rungs))
            if found is None:
                found = self._known[d, rungs] = self._of_day(members, rungs)
            total += found
        return total

    def _of_day(self, members: Sequence[int], rungs: Sequence[int]) -> float:
        used = [
            (self.places[i], self.places[i].levels[rung])
            for i, rung in zip(members, rungs, strict=True)
            if rung
        ]
        labour = max(place.offer.labour for place, _ in used)
        suppliers = [sorted({offer.pack.supplier for offer in place.offers}) for place, _ in used]
        return labour + min(self._bought(used, choice) for choice in product(*suppliers))

    def _bought(self, used: Sequence[tuple[Place, int]], choice: Sequence[str]) -> float:
        total = 0.0
        for supplier in dict.fromkeys(choice):
            goods, packs, offers = 0.0, 0, []
            for (place, number), name in zip(used, choice, strict=True):
                if name != supplier:
                    continue
                own = [offer for offer in place.offers if offer.pack.supplier == supplier]
                offers += own
                number = max(0, number - self.spare.get((place.goods, place.day), 0))
                if self.by_animal:
                    goods += number * min(offer.pack.price / offer.pack.pack_size for offer in own)
                    packs += 1
                else:
                    money, count = cheapest_cover(own, number)
                    goods, packs = goods + money, packs + count
            if not packs:
                continue
            opened = (supplier, offers[0].delivery) in self.open_parcels
            if not self.by_animal and not opened:
                goods = max(goods, max(offer.pack.minimum_order_money or 0.0 for offer in offers))
                lacking = max(offer.pack.minimum_order_packs or 0 for offer in offers) - packs
                if lacking > 0:
                    goods += lacking * min(offer.pack.price for offer in offers)
                    packs += lacking
            per_parcel = min((offer.pack.packs_per_parcel or 10**9 for offer in offers), default=10**9)
            boxes = max(ceil(packs / per_parcel) - opened, 0)
            total += goods + self.freight * boxes * max(
                offer.pack.freight_per_parcel or 0.0 for offer in offers
            )
        return total


def cheapest_cover(offers: Sequence[Offer], number: int) -> tuple[float, int]:
    """Return money and packs of about the cheapest packs of one supplier that hold so many animals."""
    if number <= 0:
        return 0.0, 0
    by_size = sorted(offers, key=lambda offer: -offer.pack.pack_size)
    largest, rest = by_size[0], by_size[1:]
    enough = ceil(number / largest.pack.pack_size)
    best = (enough * largest.pack.price, enough)
    if rest:
        for count in {max(0, enough - 1), max(0, enough - 2), 0}:
            money, packs = cheapest_cover(rest, number - count * largest.pack.pack_size)
            best = min(best, (money + count * largest.pack.price, packs + count))
    return best
