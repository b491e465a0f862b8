"""What is bought and let go: packs, orders, allocations, lots, checks, releases, banker plants."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from outpace.terms.columns import AMOUNT, SIZE, key, may, need

DAYS_OF_WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    supplier: str = key()
    enemy: str = key(species=True)
    form: str = key(one_of=("adults", "mummies", "pupae", "larvae", "eggs"))
    pack_size: int = key(least=1)
    valid_from: date | None = may(key=True)
    label_counts: str = need(one_of=("units_in_pack", "adults_expected", "unknown"))
    price: float = need(**AMOUNT)
    freight_per_parcel: float | None = may(**AMOUNT)
    packs_per_parcel: int | None = may(least=1)
    minimum_order_money: float | None = may(**AMOUNT)
    minimum_order_packs: int | None = may(least=0)
    life_d: float | None = may(**SIZE)
    life_at_degc: float | None = may()
    cutoff_weekday: str = need(one_of=DAYS_OF_WEEK)
    cutoff_time: str | None = may(clock=True)
    delivery_weekday: str = need(each_of=DAYS_OF_WEEK)
    lead_d: int | None = may(least=0)
    no_delivery: str | None = may()


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    order: str = key()
    line: int = key(least=1)
    farm: str = need()
    placed: datetime | None = may(past=True)
    supplier: str = need()
    enemy: str = need(species=True)
    form: str = need(one_of=("adults", "mummies", "pupae", "larvae", "eggs"))
    packs: int = need(least=1)
    pack_size: int = need(least=1)
    delivery_date: date = need()
    status: str = need(one_of=("planned", "placed", "arrived", "cancelled"))
    unit_price: float | None = may(**AMOUNT)
    freight: float | None = may(**AMOUNT)
    invoice: str | None = may()
    substitute_for: str | None = may()


@dataclass(frozen=True, slots=True, kw_only=True)
class Allocation:
    order: str = key()
    line: int = key(least=1)
    farm: str = key()
    house: str = key()
    zone: str | None = may(key=True)
    release_date: date = key()
    number: int = need(least=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    lot: str = key()
    order: str | None = may()
    line: int | None = may(least=1)
    enemy: str = need(species=True)
    form: str = need(one_of=("adults", "mummies", "pupae", "larvae", "eggs"))
    label_counts: str = need(one_of=("units_in_pack", "adults_expected", "unknown"))
    labelled_number: int = need(least=0)
    packs: int | None = may(least=1)
    packed: date | None = may(past=True)
    arrived: datetime | None = may(past=True)
    parcel_degc: float | None = may(least=-30, most=60)
    condition: str | None = may()
    note: str | None = may()


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    lot: str = key()
    time: datetime = key(past=True)
    kind: str = key(one_of=("emergence", "sex", "live count", "jar"))
    looked_at: int = need(least=0)
    positive: int = need(least=0)
    days: float | None = may(**AMOUNT)
    degc: float | None = may(least=-30, most=60)
    ragged: int | None = may(least=0)
    note: str | None = may()


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    release: str = key()
    farm: str = need()
    house: str = need()
    zone: str | None = may()
    time: datetime = need(past=True)
    lot: str = need()
    number: int = need(least=0)
    points: int | None = may(least=1)
    canopy_degc: float | None = may(least=-30, most=60)
    person: str | None = may()
    minutes: float | None = may(**AMOUNT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Banker:
    banker: str = key()
    farm: str = need()
    house: str = need()
    zone: str | None = may()
    set_out: datetime = need(past=True)
    plants: int = need(least=1)
    withdrawn_on: datetime | None = may()
    minutes: float | None = may(**AMOUNT)
    note: str | None = may()
