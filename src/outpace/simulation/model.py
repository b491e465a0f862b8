"""What is simulated: one house with its zones, pests and enemies, and what people do in it.

Days are counted from day 0 of the caller's calendar, at local midnight; there are no dates below this layer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FLOORS = ("soft floor", "dry floor", "covered floor")
"""Damp soil or litter; dry soil; concrete, woven cloth or plastic mulch."""


OF_GROUND = {"leaf": 1, "m2": 3}
"""Units of which the ground tells how many there are: plants, leaves, leaf area, floor."""


@dataclass(frozen=True, slots=True)
class ZoneSpec:
    """A bay, bed or block of rows: its floor area [m²] and the plants on it.

    Crop, leaves and leaf area of a plant are those of the house where they are not given.
    """

    name: str
    area_m2: float
    plants: float
    crop: str | None = None
    leaves_per_plant: float | None = None
    leaf_area_m2: float | None = None

    def __post_init__(self) -> None:
        if not self.area_m2 > 0 or not self.plants > 0:
            raise ValueError(f"zone {self.name!r}: area and plants must be above 0")


@dataclass(frozen=True, slots=True)
class CropDay:
    """Leaves and leaf area of one plant [m²] on a day, as shares of those of the model; straight lines run between."""

    day: float
    leaves: float
    leaf_area: float


@dataclass(frozen=True, slots=True)
class Strip:
    """Leaves carried out of a zone, or of all when ``zone`` is None; with ``crop`` the flyers go too."""

    day: float
    share: float
    zone: int | None = None
    crop: bool = False


@dataclass(frozen=True, slots=True)
class HouseModel:
    """One house as the simulation sees it.

    Parameters
    ----------
    crop : str
        Key of the crop in the facts, ``sweet_pepper``.
    zones : tuple of ZoneSpec
        At least one.
    pests, enemies, predators : tuple of str
        Keys of the species in the facts; their order is the order of every array. ``enemies`` are the wasps.
    hyperparasitoids : tuple of str
        Keys of those that may sting the wasps' mummies; they come by releases only.
    leaves_per_plant : float
    leaf_area_m2 : float
        Leaf area of one plant. [m²]
    vent_area_m2 : float, optional
        Open area of vents and sides, through which wasps are lost; as in a house of usual openings while unknown. [m²]
    floor : str, optional
        What midge larvae drop on, one of `FLOORS`; when not given each member has one of them.
    humidity : float, optional
        Mean of the air; where it is dry a soft floor dries, and fewer midges live in it. Without it the floor is as
        told. [%]
    shoots_per_plant : float
        Stems with a growing tip; one unless told.
    latitude : float, optional
        North above 0; without it days are taken as long. [degrees]
    day_of_year : int
        Of day 0; 1 is the first of January.
    ants : bool
        Whether ants tend the aphids.
    crop_days : tuple of CropDay
        How the crop's leaves change, in the order of days; constant when empty.
    strips : tuple of Strip
        Leaves taken off, and the end of the crop.
    length_m : float, optional
        Of the house, along which the zones lie in their order; each is as long as wide while unknown. [m]
    """

    crop: str
    zones: tuple[ZoneSpec, ...]
    pests: tuple[str, ...]
    enemies: tuple[str, ...]
    leaves_per_plant: float
    leaf_area_m2: float
    vent_area_m2: float | None = None
    predators: tuple[str, ...] = ()
    hyperparasitoids: tuple[str, ...] = ()
    floor: str | None = None
    latitude: float | None = None
    day_of_year: int = 1
    ants: bool = False
    crop_days: tuple[CropDay, ...] = ()
    strips: tuple[Strip, ...] = ()
    length_m: float | None = None
    humidity: float | None = None
    shoots_per_plant: float = 1.0

    def __post_init__(self) -> None:
        if not self.zones or not self.pests:
            raise ValueError("a house needs at least one zone and one pest")
        if not self.leaves_per_plant > 0 or not self.leaf_area_m2 > 0:
            raise ValueError("leaves per plant and leaf area must be above 0")
        if self.floor is not None and self.floor not in FLOORS:
            raise ValueError(f"floor {self.floor!r} is none of {', '.join(FLOORS)}")
        animals = (*self.agents, *self.hyperparasitoids)
        for names in (self.pests, animals, tuple(zone.name for zone in self.zones)):
            if len(set(names)) != len(names):
                raise ValueError(f"a name stands twice in {names}")

    @property
    def agents(self) -> tuple[str, ...]:
        """Wasps, then predators: the order by which a release names its animal."""
        return (*self.enemies, *self.predators)

    @property
    def plants(self) -> Array:
        """Plants of each zone, shape (zones,)."""
        return np.array([zone.plants for zone in self.zones])

    @property
    def centres_m(self) -> Array:
        """Where the middle of each zone lies along the house, shape (zones,). [m]"""
        lengths = self.lengths_m
        middles: Array = np.cumsum(lengths) - 0.5 * lengths
        return middles

    @property
    def lengths_m(self) -> Array:
        """How long each zone is, along the house, shape (zones,). [m]"""
        areas = np.array([zone.area_m2 for zone in self.zones])
        lengths: Array = np.sqrt(areas) if self.length_m is None else self.length_m * areas / areas.sum()
        return lengths

    def ground(self, first_day: int, days: int) -> Array:
        """Return plants, leaves, leaf area [m²] and floor [m²] of each zone by day, shape (days, zones, 4)."""
        still = np.array(
            [
                (
                    zone.plants,
                    zone.plants * (zone.leaves_per_plant or self.leaves_per_plant),
                    zone.plants * (zone.leaf_area_m2 or self.leaf_area_m2),
                    zone.area_m2,
                )
                for zone in self.zones
            ]
        )
        by_day = np.repeat(still[None], max(days, 1), axis=0)
        if self.crop_days:
            when = first_day + 0.5 + np.arange(len(by_day))
            known = [row.day for row in self.crop_days]
            by_day[:, :, 1] *= np.interp(when, known, [row.leaves for row in self.crop_days])[:, None]
            by_day[:, :, 2] *= np.interp(when, known, [row.leaf_area for row in self.crop_days])[:, None]
        return by_day

    def units_per_plant(self, unit: str, first_day: int = 0, days: int = 1) -> Array:
        """Return leaves, shoots, plants or m² of floor to a plant by day, shape (days, zones + 1); last the house.

        Parameters
        ----------
        unit : {"leaf", "shoot", "plant", "m2"}
        """
        ground = self.ground(first_day, days)
        whole = np.concatenate([ground, ground.sum(axis=1, keepdims=True)], axis=1)
        if unit in OF_GROUND:
            share: Array = whole[:, :, OF_GROUND[unit]] / whole[:, :, 0]
            return share
        return np.full(whole.shape[:2], {"shoot": self.shoots_per_plant, "plant": 1.0}[unit])

    @property
    def area_m2(self) -> float:
        """Floor area of all zones together. [m²]"""
        return float(sum(zone.area_m2 for zone in self.zones))


@dataclass(frozen=True, slots=True)
class Release:
    """Enemies let go in one zone.

    Parameters
    ----------
    day : float
        Days since day 0; 5.375 is nine o'clock in the morning of day 5.
    enemy, zone : int
        Index in the model; ``enemy`` among its agents, and after them its hyperparasitoids.
    number : float
        Animals in the parcel, both sexes, before losses. Of hyperparasitoids, females that come in.
    form : str
        ``adults`` search at once; ``larvae`` and ``eggs`` of predators stand on the leaves at once; anything else
        comes out of the carrier by heat.
    emergence, share_female : float or array of shape (members,), optional
        Share that comes out (or lives, of adults) and share of those that are female, from the lot's own check;
        taken from the facts, with their spread, when not given.
    """

    day: float
    enemy: int
    zone: int
    number: float
    form: str = "mummies"
    emergence: float | Array | None = None
    share_female: float | Array | None = None


@dataclass(frozen=True, slots=True)
class Spray:
    """A treatment of one zone, or of all when ``zone`` is None.

    ``kill_pest`` and ``kill_enemy`` are the shares of aphids and of adult enemies killed at once. ``residual_enemy`` is
    the share of adult enemies that the residue kills on the first day; it falls evenly to zero over ``residual_d``
    days. Each is a number or an array of shape (members,). ``kill_mummies`` is the share that dies inside its mummy.
    """

    day: float
    zone: int | None = None
    kill_pest: float | Array = 0.0
    kill_enemy: float | Array = 0.0
    residual_enemy: float | Array = 0.0
    residual_d: float | Array = 0.0
    kill_mummies: float | Array = 0.0
