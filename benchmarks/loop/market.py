"""What can be bought for a virtual house, when it comes, and what a season has cost.

All policies buy whole packs at the same terms. A virtual house stands for a part of a larger one, so packs and
freight are told per m²: a pack of 250 shared by 5,000 m².
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from benchmarks.virtual_house.season import Parcel, Plan

PACK_PER_M2 = 0.05
LEAD_D = 3
"""Days from the walk, on whose evening the order goes out, until the parcel is let go."""
WEEK_D = 7


@dataclass(frozen=True, slots=True)
class Prices:
    """What things cost [money]: an insect; a parcel, a release and a walk, each per m² of house.

    Judged, within the ranges that the trade is told to ask (recalled, to a half); labour at 20 an hour, 15 minutes a
    release and half an hour a walk per 1,000 m².
    """

    name: str
    insect: float
    parcel: float
    release: float = 0.005
    walk: float = 0.0


MIDDLE = Prices("middle", insect=0.06, parcel=0.015)
PRICES = (
    Prices("insects alone", insect=1.0, parcel=0.0, release=0.0),
    MIDDLE,
    Prices("dear insects", insect=0.15, parcel=0.015),
    Prices("cheap insects, dear freight", insect=0.02, parcel=0.10),
    Prices("middle, walks paid for", insect=0.06, parcel=0.015, walk=0.010),
)
"""Prices at which the same seasons are counted; policies decide at the middle ones."""


def number_of(packs: int, area_m2: float) -> int:
    """Return the insects in so many packs, by the label."""
    return max(1, round(packs * PACK_PER_M2 * area_m2)) if packs else 0


def packs_at(rate: float) -> int:
    """Return the whole packs that give at least a rate. [m⁻²]"""
    return ceil(rate / PACK_PER_M2 - 1e-9)


def order_now(packs: int, area_m2: float) -> Plan:
    """Return the plan that orders so many packs for the next delivery."""
    return Plan(((LEAD_D, number_of(packs, area_m2)),)) if packs else Plan()


@dataclass(frozen=True, slots=True)
class Bought:
    """What was bought in a season until it ended or failed: insects per m², and how many parcels."""

    insects_per_m2: float
    parcels: int

    def cost(self, prices: Prices, walks: int) -> float:
        """Return the cost per m². [money m⁻²]"""
        return (
            prices.insect * self.insects_per_m2
            + (prices.parcel + prices.release) * self.parcels
            + prices.walk * walks
        )


def bought(parcels: Sequence[Parcel], area_m2: float, until_d: int) -> Bought:
    """Return what was let go before a day; what was to come later is called off and not paid."""
    there = [parcel for parcel in parcels if parcel.planned < until_d and parcel.number]
    return Bought(sum(parcel.number for parcel in there) / area_m2, len(there))
