"""What was seen: walks, counts, mummies, other organisms, one-line walks, cards."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from outpace.terms.columns import AMOUNT, key, may, need

LEAF, SHOOT, PLANT = "leaf", "shoot", "plant"
COUNT_CLASSES = {
    "0": (0, 0),
    "1to3": (1, 3),
    "4to10": (4, 10),
    "11to30": (11, 30),
    "31to100": (31, 100),
    "over100": (101, None),
    "present": (1, None),
}
PESTS_UNNAMED = ("any", "unknown", "unknown small", "unknown large")


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    walk: str = key()
    farm: str = need()
    house: str = need()
    time: datetime = need(past=True)
    scout: str | None = may()
    unit: str = need(one_of=(LEAF, SHOOT, PLANT))
    chosen: str = need(one_of=("random", "fixed", "hunted"))
    leaf_position: str | None = may(one_of=("top", "middle", "low", "whole"))
    looked_at: int | None = may(least=0)
    minutes: float | None = may(**AMOUNT)
    repeats: str | None = may()
    finished: bool | None = may()


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    walk: str = key()
    unit_no: int = key(least=1)
    pest: str = key(species=True)
    zone: str | None = may()
    plant: str | None = may()
    aphids: str = need(count=True)
    winged: int | None = may(least=0)
    confidence: str | None = may(one_of=("sure", "fairly", "unsure"))
    note: str | None = may()


@dataclass(frozen=True, slots=True, kw_only=True)
class Mummies:
    walk: str = key()
    unit_no: int = key(least=1)
    colour: str = key(one_of=("tan", "black", "other"))
    closed: int | None = may(least=0)
    empty_smooth: int | None = may(least=0)
    empty_ragged: int | None = may(least=0)
    empty_unread: int | None = may(least=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    walk: str = key()
    unit_no: int = key(least=1)
    organism: str = key()
    stage: str | None = may()
    number: int | None = may(least=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkLine:
    walk: str = key()
    pest: str = key(species=True)
    looked_at: int = need(least=1)
    infested: int = need(least=0)
    aphids_about: int | None = may(least=0)
    mummies_about: int | None = may(least=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    farm: str = key()
    house: str = key()
    card: str = key()
    hung: datetime = need()
    taken: datetime | None = may()
    time: datetime = key(past=True)
    zone: str | None = may()
    winged: int | None = may(least=0)
