"""Where the crop stands: farm, houses, zones, action levels, crop stages, plants in, climate."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from outpace.terms.columns import AMOUNT, SHARE, SIZE, key, may, need


@dataclass(frozen=True, slots=True, kw_only=True)
class Farm:
    farm: str = key()
    latitude: float = need(least=-90, most=90)
    longitude: float = need(least=-180, most=180)
    time_zone: str = need()
    currency: str = need()
    risk: float | None = may(**SHARE)
    labour_per_h: float | None = may(**AMOUNT)
    area_unit: str | None = may(one_of=("m2", "ft2", "decare", "mu", "ha", "acre"))
    temperature_unit: str | None = may(one_of=("degc", "degf"))
    country: str | None = may()


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    farm: str = key()
    house: str = key()
    crop: str = need()
    area_m2: float = need(**SIZE, most=1_000_000)
    plants: int = need(least=1, most=10_000_000)
    length_m: float | None = may(**SIZE)
    width_m: float | None = may(**SIZE)
    leaves_per_plant: float | None = may(**SIZE)
    zones: int | None = may(least=1, most=16)
    vent_area_m2: float | None = may(**AMOUNT)
    floor: str | None = may(one_of=("soil", "concrete", "fabric", "mulch"))
    cover: str | None = may()
    heating_setpoint_degc: float | None = may(least=-20, most=45)
    vent_setpoint_degc: float | None = may(least=-20, most=60)
    planted: date | None = may()
    removed: date | None = may()
    bees_in: bool | None = may()
    virus_sensitive: bool | None = may()
    action_level: float | None = may(**AMOUNT)
    action_unit: str | None = may(one_of=("leaf", "shoot", "plant", "share_infested"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    farm: str = key()
    house: str = key()
    zone: str = key()
    crop: str | None = may()
    area_m2: float | None = may(**SIZE)
    plants: int | None = may(least=1)
    door: bool | None = may()
    vent: bool | None = may()


@dataclass(frozen=True, slots=True, kw_only=True)
class ActionLevel:
    farm: str = key()
    house: str = key()
    pest: str = key(species=True)
    unit: str = key(one_of=("leaf", "shoot", "plant", "share_infested"))
    level: float = need(**AMOUNT)
    since: date | None = may(stored_as="from")


@dataclass(frozen=True, slots=True, kw_only=True)
class CropStage:
    farm: str = key()
    house: str = key()
    time: datetime = key(past=True)
    leaves_per_plant: float | None = may(**SIZE)
    height_m: float | None = may(**SIZE, most=10)
    bbch: int | None = may(least=0, most=999)
    leaves_removed_share: float | None = may(**SHARE)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantsIn:
    batch: str = key()
    farm: str = need()
    house: str | None = may()
    time: datetime | None = may(past=True)
    source: str | None = may()
    crop: str = need()
    number: int | None = may(least=0)
    looked_at: int | None = may(least=0)
    finds: str | None = may()
    sprays_told: str | None = may(one_of=("yes", "no", "unknown"))
    sprays: str | None = may()


@dataclass(frozen=True, slots=True, kw_only=True)
class Climate:
    farm: str = key()
    house: str = key()
    zone: str | None = may(key=True)
    sensor: str | None = may(key=True)
    place: str | None = may(key=True, one_of=("canopy", "air", "outside"))
    source: str | None = may(key=True, one_of=("logger", "typed", "forecast"))
    issued: datetime | None = may(key=True)
    time: datetime = key()
    temperature_degc: float = need(least=-40, most=60)
    humidity_pct: float | None = may(least=0, most=100)
    radiation_w_per_m2: float | None = may(least=0, most=1500)
    flag: str | None = may()
