"""What else is kept: sprays, harvests, decisions, permits, own facts, forecasts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from outpace.terms.columns import AMOUNT, SHARE, key, may, need


@dataclass(frozen=True, slots=True, kw_only=True)
class Spray:
    spray: str = key()
    farm: str = need()
    house: str = need()
    zone: str | None = may()
    crop: str | None = may()
    bbch: int | None = may(least=0, most=999)
    start: datetime = need()
    end: datetime | None = may()
    kind: str | None = may(one_of=("insecticide", "fungicide", "sulphur", "soap", "other"))
    product: str | None = may()
    registration_no: str | None = may()
    active: str | None = may()
    action_group: str | None = may()
    dose: float | None = may(**AMOUNT)
    dose_unit: str | None = may()
    amount_total: float | None = may(**AMOUNT)
    area_m2: float | None = may(**AMOUNT)
    wind: str | None = may()
    reason: str | None = may()
    operator: str | None = may()
    operator_licence: str | None = may()
    reentry_h: float | None = may(**AMOUNT)
    harvest_interval_d: float | None = may(**AMOUNT)
    bees_out_until: datetime | None = may()
    kill_pest_share: float | None = may(**SHARE)
    kill_enemy_share: float | None = may(**SHARE)
    residual_enemy_share: float | None = may(**SHARE)
    residual_d: float | None = may(**AMOUNT)
    minutes: float | None = may(**AMOUNT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Harvest:
    harvest: str = key()
    farm: str = need()
    house: str = need()
    zone: str | None = may()
    time: datetime = need(past=True)
    lot_code: str = need()
    amount: float | None = may(**AMOUNT)
    unit: str | None = may()


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    decision: str = key()
    farm: str = need()
    house: str = need()
    time: datetime = need(past=True)
    verdict: str | None = may(one_of=("Holding", "Unclear", "Losing"))
    chosen: str = need()
    reason: str | None = may()
    person: str | None = may()


@dataclass(frozen=True, slots=True, kw_only=True)
class Permit:
    farm: str = key()
    enemy: str = key(species=True)
    country: str = key()
    seen: bool = need()
    number: str | None = may()
    time: datetime = need(past=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnFact:
    farm: str = key()
    species: str = key(species=True)
    other_species: str | None = may(key=True)
    crop: str | None = may(key=True)
    quantity: str = key()
    value: float = need()
    sd: float = need(**AMOUNT)
    unit: str = need()
    seasons: int = need(least=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    farm: str = key()
    house: str = key()
    pest: str = key(species=True)
    zone: str | None = may(key=True)
    made: datetime = key(past=True)
    for_date: date = key()
    quantity: str = key()
    q05: float = need()
    q25: float = need()
    q50: float = need()
    q75: float = need()
    q95: float = need()
