"""A pack that a house can have on a day, and what some of them cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import ceil

import numpy as np
from numpy.typing import NDArray

from outpace.planning.house_outlook import HouseOutlook
from outpace.simulation.model import Release
from outpace.terms.enemies import Pack

Array = NDArray[np.float64]

EVENING = 18 / 24


@dataclass(frozen=True)
class Offer:
    """One pack that can be had on one day for one house.

    ``enemy`` is its index in the model; ``units`` the units in the carrier per pack; ``emergence`` and ``share_female``
    the draws of a lot that has not been seen. ``least_packs`` is the smallest number of packs that may be released
    at a time, 1 or the lowest published rate; ``most_units`` the most units of this enemy that are tried at a time.
    ``least_units`` is that rate in units, for releases that share a pack. ``labour`` is the money, ``hours`` the
    time of one release in this house.
    """

    pack: Pack
    enemy: int
    delivery: date
    day: int
    cutoff: datetime
    next_cutoff: bool
    units: float
    emergence: Array
    share_female: Array
    least_packs: int
    labour: float
    most_units: float
    least_units: float = 0.0
    hours: float = 0.0


@dataclass(frozen=True)
class Cost:
    """What a schedule costs in the farm's money."""

    packs: float
    freight: float
    labour: float

    @property
    def total(self) -> float:
        """Return the sum."""
        return self.packs + self.freight + self.labour


def releases_of(house: HouseOutlook, offers: Sequence[Offer], counts: Sequence[float]) -> tuple[Release, ...]:
    """Return the releases of a schedule, spread over the zones by their plants, on the evening of delivery.

    ``counts`` are packs of each offer; a part of a pack where it is shared with other houses.
    """
    return tuple(
        release
        for offer, count in zip(offers, counts, strict=True)
        if count
        for release in released(house, offer, count * offer.units)
    )


def released(house: HouseOutlook, offer: Offer, units: float, first: int = 0) -> tuple[Release, ...]:
    """Return so many units of an offer let go in the zones of a house by their plants.

    ``first`` is the member of the offer's draws at which the house's members begin.
    """
    plants = house.model.plants
    share = plants / plants.sum()
    members = slice(first, first + house.members)
    return tuple(
        Release(
            day=offer.day + EVENING,
            enemy=offer.enemy,
            zone=zone,
            number=units * float(share[zone]),
            form=offer.pack.form,
            emergence=offer.emergence[members],
            share_female=offer.share_female[members],
        )
        for zone in range(len(plants))
    )


def cost_of(offers: Sequence[Offer], counts: Sequence[float]) -> Cost:
    """Return the cost of a schedule of whole packs: packs, one freight a parcel, minimum orders, hours of release."""
    packs = freight = labour = 0.0
    parcels: dict[tuple[str, date], list[tuple[Offer, int]]] = {}
    days: set[int] = set()
    for offer, count in zip(offers, counts, strict=True):
        if count:
            parcels.setdefault((offer.pack.supplier, offer.delivery), []).append((offer, ceil(count - 1e-9)))
            if offer.day not in days:
                labour += offer.labour
                days.add(offer.day)
    for lines in parcels.values():
        goods = sum(offer.pack.price * count for offer, count in lines)
        least = max(offer.pack.minimum_order_money or 0.0 for offer, _ in lines)
        packs += max(goods, least)
        per_parcel = min(offer.pack.packs_per_parcel or 10**9 for offer, _ in lines)
        boxes = ceil(sum(count for _, count in lines) / per_parcel)
        freight += boxes * max(offer.pack.freight_per_parcel or 0.0 for offer, _ in lines)
    return Cost(packs=packs, freight=freight, labour=labour)
