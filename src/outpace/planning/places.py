"""Where a schedule may put animals: each kind of goods on each day, at a ladder of numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from math import ceil

from outpace.planning.goods import Arrival, Goods
from outpace.planning.house_outlook import HouseOutlook
from outpace.planning.offer import Offer, released
from outpace.simulation.model import Release

Schedule = tuple[int, ...]
"""One rung of the ladder of each place; 0 is no release."""

ONE_BY_ONE = 16
"""Packs up to which every number has its own rung; above, rungs are a twelfth apart."""
APART = 12


@dataclass(frozen=True)
class Place:
    """One kind of goods on one day of delivery, from whom it can be had, and the numbers that may be let go.

    ``levels`` count what the label counts; they rise from 0. ``most_units`` holds for all goods of one enemy and day.
    """

    offers: tuple[Offer, ...]
    levels: tuple[int, ...]

    @cached_property
    def offer(self) -> Offer:
        """Return the first of the offers; in what is let go, they are alike."""
        return self.offers[0]

    @cached_property
    def goods(self) -> Goods:
        """Return enemy, form, and what the label counts."""
        return goods_of(self.offer)

    @property
    def day(self) -> date:
        """Return the day of delivery and release."""
        return self.offer.delivery

    @cached_property
    def units_per_label(self) -> float:
        """Return the units in the carrier for one that the label counts."""
        return self.offer.units / self.offer.pack.pack_size

    @property
    def least_pack(self) -> int:
        """Return the size of the smallest pack."""
        return min(offer.pack.pack_size for offer in self.offers)


def goods_of(offer: Offer) -> Goods:
    """Return what an offer is: enemy, form, and what its label counts."""
    return (offer.pack.enemy, offer.pack.form, offer.pack.label_counts)


def arrival_of(offer: Offer) -> Arrival:
    """Return the offer as any house of the farm can have it."""
    return Arrival(pack=offer.pack, delivery=offer.delivery, cutoff=offer.cutoff)


def places_of(
    offers: Sequence[Offer], *, parts: int = 1, levels: Sequence[int] | None = None
) -> tuple[Place, ...]:
    """Return the places of some offers, earliest first.

    Parameters
    ----------
    parts : int
        Into how many parts the smallest pack may be divided; 1 where no house could take the rest.
    levels : sequence of int, optional
        The rungs of every place above 0, instead of those made from packs and rates.
    """
    found: dict[tuple[date, Goods], list[Offer]] = {}
    for offer in sorted(
        offers, key=lambda item: (item.day, goods_of(item), item.pack.pack_size, item.pack.price)
    ):
        found.setdefault((offer.delivery, goods_of(offer)), []).append(offer)
    return tuple(
        Place(tuple(alike), (0, *levels) if levels is not None else _ladder(alike, parts))
        for alike in found.values()
    )


def _ladder(offers: Sequence[Offer], parts: int) -> tuple[int, ...]:
    size = min(offer.pack.pack_size for offer in offers)
    per_label = offers[0].units / offers[0].pack.pack_size
    most = max(ceil(offer.most_units / per_label / size - 1e-9) * size for offer in offers)
    least_whole = min(offer.least_packs * offer.pack.pack_size for offer in offers)
    least = max(offer.least_units for offer in offers) / per_label if parts > 1 else least_whole
    if parts > 1 and not least and any(offer.least_packs > 1 for offer in offers):
        least = least_whole
    most = max(most, least_whole, size)
    steps = {ceil(size * part / parts) for part in range(1, parts)} if parts > 1 else set()
    if parts > 1:
        steps |= {size * half // 2 for half in range(3, 8)}
        steps.add(max(1, ceil(least - 1e-9)))
    packs = 1
    while packs * size <= most:
        steps.add(packs * size)
        packs += 1 if packs < ONE_BY_ONE else max(1, packs // APART)
    steps.add(most)
    for offer in offers:
        steps |= {
            count * offer.pack.pack_size for count in range(1, ONE_BY_ONE + 1) if offer.pack.pack_size > size
        }
    return (0, *sorted(step for step in steps if least - 1e-9 <= step <= most))


def numbers_of(places: Sequence[Place], schedule: Schedule) -> tuple[int, ...]:
    """Return the labelled animals of each place."""
    return tuple(place.levels[rung] for place, rung in zip(places, schedule, strict=True))


def releases_at(
    house: HouseOutlook, places: Sequence[Place], numbers: Sequence[float], first: int = 0
) -> tuple[Release, ...]:
    """Return the releases of so many labelled animals at each place; ``first`` as in `released`."""
    return tuple(
        release
        for place, number in zip(places, numbers, strict=True)
        if number
        for release in released(house, place.offer, number * place.units_per_label, first)
    )


def within_most(places: Sequence[Place], schedule: Schedule) -> bool:
    """Return whether no day has more of one enemy than is tried, by more than one pack."""
    together: dict[tuple[int, int], float] = {}
    for place, rung in zip(places, schedule, strict=True):
        if rung:
            offer = place.offer
            where = (offer.day, offer.enemy)
            alone = where not in together
            together[where] = together.get(where, 0.0) + place.levels[rung] * place.units_per_label
            if not alone and together[where] > offer.most_units + offer.units:
                return False
    return True
