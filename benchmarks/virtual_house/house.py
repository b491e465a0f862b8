"""A virtual house: what truly stands in it, day by day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from benchmarks.virtual_house.individuals import (
    AGE,
    DEAD,
    HIDDEN,
    HYPER,
    PACE,
    PLANT,
    PROGRESS,
    REST,
    SOUND,
    STUNG,
    WINGED,
    aphids_live,
    wasps_search,
)
from benchmarks.virtual_house.truth import Truth
from benchmarks.virtual_house.weather import house_hours, logged
from numpy.typing import NDArray

Array = NDArray[np.float64]

ROOM = 240_000  # rows of aphids at most
MANY, FEW = 40_000, 5_000  # rows above which each stands for two, and below which it is two again
MANY_WASPS = 4_000


def pace_at(hours: Array, base: float, upper: float, softness: float) -> Array:
    """Return the pace of development, not scaled: a line from the base, bent softly to zero at the upper end."""
    warm = np.clip(hours - base, 0, None)
    return warm * (1 - np.exp(-np.clip(upper - hours, 0, None) / softness))


@dataclass(frozen=True, slots=True)
class LetGo:
    """Enemies truly let go on a day: mummies as the label counts them, and what share of them lives."""

    day: int
    number: float
    lives: float
    points: int = 12


@dataclass(frozen=True, slots=True)
class Treatment:
    """A spray: shares of aphids and wasps killed where it reaches, and the residue's toll on wasps that fades."""

    day: int
    kills_aphids: float
    kills_wasps: float
    residue: float
    residue_days: float


class VirtualHouse:
    """The truth of one season, stepped by days."""

    def __init__(self, truth: Truth, days: int) -> None:
        self.truth, self.day = truth, 0
        self.hours = house_hours(truth, days)
        self.logger = logged(truth, self.hours)
        rng = np.random.default_rng([truth.seed, 104])
        plants = truth.plants
        self.rng = rng
        self.quality = np.exp(truth.quality_sd * rng.standard_normal(plants))
        along = np.linspace(-1, 1, truth.columns)
        self.offset = truth.gradient * np.tile(along, truth.rows)
        self.numbers = np.zeros((ROOM, 5), np.float32)
        self.kinds = np.zeros((ROOM, 4), np.int32)
        self.aphids, self.weight = 0, 1.0
        self.wasp_plant, self.wasp_age, self.wasp_eggs = np.zeros(0, np.int64), np.zeros(0), np.zeros(0)
        self.wasp_weight = 1.0
        # Closed mummies: plant, progress, pace, what they hold, and for how many each stands.
        self.mummies = np.zeros((0, 5))
        self.carrier = np.zeros((0, 3))  # plant, days at 20 °C until it flies, for how many
        self.smooth, self.ragged = np.zeros(plants), np.zeros(plants)
        self.hypers = 0.0
        self.residues: list[Treatment] = []
        self.mean_by_day = [0.0]
        founders = max(2, rng.poisson(truth.founders * plants))
        spots = rng.integers(0, plants, founders)
        self._settle(np.repeat(spots, rng.geometric(0.4, founders)), grown=False)
        self.mean_by_day[0] = self.per_plant

    @property
    def per_plant(self) -> float:
        """Live aphids per plant, stung ones that still live included."""
        return float(self.aphids * self.weight / self.truth.plants)

    @property
    def by_plant(self) -> Array:
        """Live aphids on each plant, shape (plants,)."""
        return np.bincount(self.kinds[: self.aphids, PLANT], minlength=self.truth.plants) * self.weight

    @property
    def closed_by_plant(self) -> Array:
        """Closed mummies on each plant, shape (plants,)."""
        return np.bincount(
            self.mummies[:, 0].astype(int), weights=self.mummies[:, 4], minlength=self.truth.plants
        )

    def step(self, let_go: Sequence[LetGo] = (), treatments: Sequence[Treatment] = ()) -> None:
        """Let one day pass; what people do comes in the morning."""
        truth, day = self.truth, self.day
        # Each day has its own luck, whatever was done before: two policies share it.
        self.rng = np.random.default_rng([truth.seed, 105, day])
        for each in let_go:
            self._hang(each)
        killed = np.zeros(truth.plants)
        for spray in treatments:
            reach = self.rng.beta(8, 2, truth.plants)
            killed = 1 - (1 - killed) * (1 - spray.kills_aphids * reach)
            stays = self.rng.random(len(self.wasp_age)) >= spray.kills_wasps
            self._keep_wasps(stays)
            self.residues.append(spray)
        self._newcomers()
        self._predators(killed)
        hours = self.hours[day][None, :] + self.offset[:, None]
        own = pace_at(np.array([20.0]), truth.base, truth.upper, truth.softness)[0]
        grow = pace_at(hours, truth.base, truth.upper, truth.softness).mean(axis=1) / own / truth.nymph_days
        wasp_own = pace_at(np.array([20.0]), truth.wasp_base, truth.wasp_upper, 4.0)[0]
        wasp_pace = pace_at(hours, truth.wasp_base, truth.wasp_upper, 4.0).mean(axis=1) / wasp_own
        warmth = grow * truth.nymph_days
        births = np.exp(-(((hours - truth.births_best) / truth.births_width) ** 2)).mean(axis=1)
        bear = truth.births * births / np.exp(-(((20.0 - truth.births_best) / truth.births_width) ** 2))
        mummy_plant, mummy_pace = np.empty(ROOM // 2, np.int64), np.empty(ROOM // 2)
        here = self.by_plant.astype(np.float64)
        self._search(hours)
        self.aphids, made = aphids_live(
            self.rng, self.numbers, self.kinds, self.aphids, self.weight, here, grow,
            wasp_pace / (truth.wasp_days * truth.to_mummy), warmth, bear, self.quality, truth.rows, truth.columns,
            truth.nymph_death, truth.adult_death, truth.crowd_at, truth.pace_sd, truth.births_fade_days,
            truth.winged_most, truth.winged_at, truth.winged_leave, truth.stroll, truth.stroll_crowded, truth.hidden,
            truth.bearing_stung, killed, mummy_plant, mummy_pace,
        )  # fmt: skip
        self._mummies_age(wasp_pace)
        fresh = np.stack(
            [
                mummy_plant[:made],
                np.zeros(made),
                mummy_pace[:made],
                np.where(self.rng.random(made) < truth.mummy_death, DEAD, SOUND),
                np.full(made, self.weight),
            ],
            axis=1,
        )
        self.mummies = np.concatenate([self.mummies, fresh])
        self._carrier_empties(wasp_pace)
        self._scale()
        self.day += 1
        self.mean_by_day.append(self.per_plant)

    # --- parts of a day --------------------------------------------------------------------------------------

    def _settle(self, plants: NDArray[np.int64], *, grown: bool) -> None:
        n, at, rng, truth = len(plants), self.aphids, self.rng, self.truth
        rows = slice(at, at + n)
        self.numbers[rows, PROGRESS] = 1.0 if grown else rng.random(n) * 1.2
        self.numbers[rows, PACE] = np.exp(truth.pace_sd * rng.standard_normal(n))
        self.numbers[rows, AGE] = 0.0 if grown else 3 * rng.random(n)
        self.numbers[rows, STUNG], self.numbers[rows, REST] = -1.0, 1.0
        self.kinds[rows, PLANT] = plants
        self.kinds[rows, WINGED] = int(grown)
        self.kinds[rows, HIDDEN] = rng.random(n) < truth.hidden
        self.aphids += n

    def _newcomers(self) -> None:
        """Winged aphids come in, most of them at the door end."""
        truth, rng = self.truth, self.rng
        n = rng.poisson(truth.immigrants * truth.area_m2 / self.weight)
        column = np.minimum(rng.exponential(0.35, n), 0.999) * truth.columns
        self._settle(rng.integers(0, truth.rows, n) * truth.columns + column.astype(int), grown=True)

    def _predators(self, killed: Array) -> None:
        """Wild enemies find some of the crowded plants in a day and eat a good part of what is there."""
        here = self.by_plant
        chance = self.truth.predators * here / (here + 20.0)
        found = self.rng.random(len(here)) < chance
        killed[found] = 1 - (1 - killed[found]) * (1 - self.rng.beta(2, 2, int(found.sum())))

    def _hang(self, each: LetGo) -> None:
        truth, rng = self.truth, self.rng
        points = np.linspace(0, truth.plants - 1, min(each.points, truth.plants)).astype(int)
        expected = each.number * each.lives * truth.share_female / self.wasp_weight
        n = rng.poisson(expected)
        waits = rng.gamma(3.0, 0.9, n)
        rows = np.stack([rng.choice(points, n), waits, np.full(n, self.wasp_weight)], axis=1)
        self.carrier = np.concatenate([self.carrier, rows])

    def _carrier_empties(self, wasp_pace: Array) -> None:
        if len(self.carrier):
            self.carrier[:, 1] -= wasp_pace[self.carrier[:, 0].astype(int)]
            out = self.carrier[:, 1] <= 0
            self._fly(self.carrier[out, 0], self.carrier[out, 2])
            self.carrier = self.carrier[~out]

    def _fly(self, plants: Array, numbers: Array) -> None:
        """Let females begin to search."""
        whole = self.rng.poisson(numbers / self.wasp_weight) if len(numbers) else np.zeros(0, int)
        exact = np.all(numbers == self.wasp_weight) if len(numbers) else False
        each = np.ones(len(numbers), int) if exact else whole
        at = np.repeat(plants.astype(np.int64), each)
        self.wasp_plant = np.concatenate([self.wasp_plant, at])
        self.wasp_age = np.concatenate([self.wasp_age, np.zeros(len(at))])
        eggs = self.truth.eggs * np.exp(0.2 * self.rng.standard_normal(len(at)))
        self.wasp_eggs = np.concatenate([self.wasp_eggs, eggs])

    def _search(self, hours: Array) -> None:
        truth = self.truth
        light = hours[:, 7:20]
        active = np.mean((light > 11) & (light < 32), axis=1) * np.clip(
            (hours.mean(axis=1) - 8) / 12, 0.1, 1.2
        )
        loss = np.full(truth.plants, truth.wasp_loss)
        for spray in self.residues:
            age = self.day - spray.day
            if age < spray.residue_days:
                loss -= np.log(max(1 - spray.residue * (1 - age / spray.residue_days), 1e-3))
        left = wasps_search(
            self.rng, self.numbers, self.kinds, self.aphids, self.weight, self.wasp_plant, self.wasp_age,
            self.wasp_eggs, len(self.wasp_age), self.wasp_weight, active, loss, truth.rows, truth.columns,
            truth.visits, truth.finding, truth.sting_cap, truth.type_iii_at, truth.following,
            truth.following_power, truth.hindrance, truth.eggs_per_day, truth.accepts, 0.07,
        )  # fmt: skip
        self._keep_wasps(np.arange(len(self.wasp_age)) < left)

    def _keep_wasps(self, stays: NDArray[np.bool_]) -> None:
        self.wasp_plant, self.wasp_age = self.wasp_plant[stays], self.wasp_age[stays]
        self.wasp_eggs = self.wasp_eggs[stays]

    def _mummies_age(self, wasp_pace: Array) -> None:
        truth, rng = self.truth, self.rng
        fall = np.exp(-truth.shells_fall)
        self.smooth = rng.binomial(self.smooth.astype(int), fall).astype(float)
        self.ragged = rng.binomial(self.ragged.astype(int), fall).astype(float)
        self.hypers *= np.exp(-0.09)
        if self.day >= truth.hyper_arrive:
            self.hypers += rng.poisson(0.15)
        if not len(self.mummies):
            return
        table = self.mummies
        plant = table[:, 0].astype(int)
        table[:, 1] += wasp_pace[plant] * table[:, 2] / (truth.wasp_days * (1 - truth.to_mummy))
        chance = rng.random(len(table))
        if self.hypers > 0:
            stock = table[:, 4].sum()
            met = min(
                self.hypers * 12 * truth.hyper_search * stock / (stock + 40 * truth.plants * 0.02), stock
            )
            struck = (table[:, 3] == SOUND) & (table[:, 1] < 0.8) & (chance < 1 - np.exp(-met / stock))
            table[struck, 3] = HYPER
        out = (table[:, 3] == SOUND) & (table[:, 1] >= 1.0)
        ragged = (table[:, 3] == HYPER) & (table[:, 1] >= 1.9)
        lost = (table[:, 3] == DEAD) & (chance < 1 - fall)
        female = out & (rng.random(len(table)) < truth.share_female)
        self._fly(table[female, 0], table[female, 4])
        self.smooth += np.bincount(plant[out], weights=table[out, 4], minlength=truth.plants)
        self.ragged += np.bincount(plant[ragged], weights=table[ragged, 4], minlength=truth.plants)
        self.hypers += 0.5 * float(table[ragged, 4].sum())
        self.mummies = table[~(out | ragged | lost)]

    def _scale(self) -> None:
        """Keep the number of rows in hand: in crowds a row stands for more animals."""
        rng = self.rng
        while self.aphids > MANY:
            stay = np.flatnonzero(rng.random(self.aphids) < 0.5)
            self.numbers[: len(stay)], self.kinds[: len(stay)] = self.numbers[stay], self.kinds[stay]
            self.aphids, self.weight = len(stay), self.weight * 2
        while self.weight > 1 and self.aphids < FEW:
            n = self.aphids
            self.numbers[n : 2 * n], self.kinds[n : 2 * n] = self.numbers[:n], self.kinds[:n]
            self.aphids, self.weight = 2 * n, self.weight / 2
        while len(self.wasp_age) > MANY_WASPS:
            self._keep_wasps(rng.random(len(self.wasp_age)) < 0.5)
            self.wasp_weight *= 2
        while self.wasp_weight > 1 and len(self.wasp_age) < MANY_WASPS // 8:
            self.wasp_plant, self.wasp_age = np.tile(self.wasp_plant, 2), np.tile(self.wasp_age, 2)
            self.wasp_eggs = np.tile(self.wasp_eggs, 2)
            self.wasp_weight /= 2
        if len(self.mummies) > MANY:
            stay = rng.random(len(self.mummies)) < 0.5
            self.mummies = self.mummies[stay]
            self.mummies[:, 4] *= 2
