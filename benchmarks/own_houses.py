"""Houses that follow the model's own equations, and walks through them as the likelihood says walks are made.

What a filter is told is drawn here from the very law that it assumes: parameters and first densities from its prior,
luck, what no equation has, counts, classes, lines. So any miss is the filter's own. Truths that break the model are
another matter.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.bands import HOUSE, Bands, bands_of, joined, last_midnight, with_last_midnight
from outpace.estimation.forecast import wandering
from outpace.estimation.judgements import judgements
from outpace.estimation.likelihood import LEAST_MEAN, Standing
from outpace.estimation.mummy_dates import absence_counts_from
from outpace.estimation.no_finds import beta_of_range
from outpace.estimation.observations import WHOLE_HOUSE, LineSeen, Seen, WalkBuilder, units_per_plant
from outpace.estimation.plant_shares import split_clumping
from outpace.estimation.rescue import moved
from outpace.estimation.standing import share_seen
from outpace.estimation.starting import start_members
from outpace.facts.table import load
from outpace.simulation.model import HouseModel, Release, ZoneSpec
from outpace.simulation.parameters import Parameters, draw
from outpace.simulation.run import SMALL_NUMBERS, run
from outpace.terms.scouting import COUNT_CLASSES, LEAF

Array = NDArray[np.float64]

FACTS = load()
FIRST = (3.0, 1.0)  # aphids per plant at the start, and the s.d. of their log
CLASSES = tuple(
    (float(low), np.inf if high is None else float(high))
    for low, high in COUNT_CLASSES.values()
    if low or high
)
PRESENT = (1.0, np.inf)
MANY = 256


@dataclass(frozen=True)
class Design:
    """What is fixed before a truth is drawn.

    Attributes
    ----------
    told : str
        ``counts``, ``classes`` or ``line``.
    plants, leaves : int
        Looked at in each walk; leaves of each plant.
    """

    name: str
    model: HouseModel
    told: str = "counts"
    plants: int = 20
    leaves: int = 2
    walks: tuple[int, ...] = (0, 7, 14, 21)
    releases: tuple[Release, ...] = ()
    mean_degc: float = 20.0

    @property
    def today(self) -> int:
        return self.walks[-1]

    def temperature(self, days: int) -> Array:
        """Return hours of a plain spring, shape (hours, 1). [°C]"""
        hours = np.arange(24 * days)
        return np.asarray((self.mean_degc + 4.0 * np.sin(2 * np.pi * (hours / 24 - 0.35)))[:, None])

    def first(self) -> Array:
        """Return the prior of the first densities, shape (pests, zones, 2)."""
        return np.tile(np.array(FIRST), (len(self.model.pests), len(self.model.zones), 1))


def house(
    zones: int = 1,
    pests: tuple[str, ...] = ("myzus_persicae",),
    enemies: tuple[str, ...] = ("aphidius_colemani",),
) -> HouseModel:
    """Return an invented pepper house."""
    bays = tuple(ZoneSpec(f"bay {i + 1}", 300.0 / zones, 700.0 / zones) for i in range(zones))
    return HouseModel("sweet_pepper", bays, pests, enemies, 30.0, 1.0)


def weekly(enemies: int = 1, zones: int = 1, number: float = 1500.0) -> tuple[Release, ...]:
    """Return two releases a week apart, shared out over zones."""
    return tuple(
        Release(day, enemy, zone, number / zones)
        for day in (0.8, 7.8)
        for enemy in range(enemies)
        for zone in range(zones)
    )


TWO_PESTS = ("myzus_persicae", "macrosiphum_euphorbiae")
TWO_WASPS = ("aphidius_colemani", "aphidius_ervi")
DESIGNS = (
    Design("counts", house(), releases=weekly()),
    Design("classes", house(), told="classes", plants=30, leaves=1, releases=weekly()),
    Design("one line", house(), told="line", plants=30, leaves=1, releases=weekly()),
    Design("two zones", house(zones=2), releases=weekly(zones=2)),
    Design("two aphids", house(pests=TWO_PESTS, enemies=TWO_WASPS), releases=weekly(enemies=2)),
)


@dataclass(frozen=True)
class Truth:
    """One house drawn from the prior, run through all its days."""

    design: Design
    parameters: Parameters
    bands: Bands
    mummies_from: dict[int, float]
    """Day by enemy from which mummies are written down: before, their absence says nothing, and none are told."""

    def aphids(self, day: int, pest: int = 0) -> float:
        """Return live aphids per plant of the whole house."""
        return float(self.bands.aphids[day, pest, HOUSE, 0])

    def closed(self, day: int) -> float:
        """Return closed mummies per plant of the whole house."""
        return float(self.bands.closed[day, :, HOUSE, 0].sum())

    def learnable(self, name: str, pest: int = 0) -> float:
        """Return one of the four quantities that are re-estimated."""
        return float(self.parameters.get(f"log_{name}", pest=pest)[0])


def drawn(design: Design, seed: int, days_ahead: int, learnable: Mapping[str, float] | None = None) -> Truth:
    """Return a truth from the prior: one of many members, since what stands at their middle is shared by all.

    Parameters
    ----------
    learnable : mapping, optional
        Quantities of the first pest, such as ``growth``, that are given and not drawn.
    """
    many = draw(FACTS, design.model, MANY, 900_000 + seed)
    days = design.today + days_ahead
    state = start_members(design.model, many, design.first(), 800_000 + seed, set_no=0)[:, :1]
    parameters = many.take(np.zeros(1, dtype=np.intp))
    for name, value in (learnable or {}).items():
        parameters = parameters.set(f"log_{name}", value, pest=0)
    heat = design.temperature(days)
    rng = np.random.default_rng([seed, 31])
    parts: list[Bands] = []
    for since, until in pairwise((0, *design.walks[1:], days)):
        done = run(
            design.model,
            parameters,
            state,
            heat,
            first_day=since,
            days=until - since,
            releases=design.releases,
            seed=700_000 + seed,
            small_numbers=SMALL_NUMBERS if until > design.today else 0.0,
        )
        part, state = bands_of(design.model, parameters, done, since), done.state
        if until in design.walks:
            sd = judgements().left_out_sd * np.sqrt((until - since) / 7)
            state, last = moved(parameters, state, last_midnight(part), rng, sd)
            part = with_last_midnight(part, last)
        if until > design.today:
            part = wandering(part, 600_000 + seed)
        parts.append(part)
    dates = absence_counts_from(design.model, FACTS, many, heat, design.releases)
    return Truth(design, parameters, joined(parts, 0), dates)


def walks(truth: Truth, seed: int) -> list[Seen]:
    """Return the walks of the design through a truth."""
    told: list[Seen] = []
    for day in truth.design.walks:
        told.extend(_walk(truth, day, np.random.default_rng([seed, day, 2])))
    return told


def _walk(truth: Truth, day: int, rng: np.random.Generator) -> list[Seen]:
    design = truth.design
    here = _standing(truth, day, rng)
    if design.told == "line":
        return [_line(truth, here, day, pest, rng) for pest in range(len(design.model.pests))]
    pests, enemies, zones = (len(x) for x in (design.model.pests, design.model.enemies, design.model.zones))
    told = [e for e in range(enemies) if day >= truth.mummies_from.get(e, np.inf)]
    colours = tuple((e,) for e in told)
    host = {e: p for p, e in truth.parameters.substages.pairs}
    builder = WalkBuilder(float(day), LEAF, "random", pests, colours)
    for plant in range(design.plants):
        zone = plant % zones
        shares = [_plant_share(here, p, zone, rng) for p in range(pests)]
        for _ in range(design.leaves):
            counts = {
                p: _interval(design, _on_leaf(here, p, here.aphids[p, zone], shares[p], rng), rng)
                for p in range(pests)
            }
            shells = {
                c: tuple(
                    _on_leaf(here, host[e], stock[e, zone], shares[host[e]], rng)
                    for stock in (here.closed, here.empty)
                )
                for c, e in enumerate(told)
            }
            builder.add(counts, zone=zone, plant=plant, mummies=shells)  # type: ignore[arg-type]
    return [builder.seen()]


def _standing(truth: Truth, day: int, rng: np.random.Generator) -> Standing:
    model, parameters = truth.design.model, truth.parameters
    per = units_per_plant(model, LEAF)
    plants = np.append(model.plants, model.plants.sum())
    names = ("taylor_a", "taylor_b", "log_clumping")
    fact = FACTS.one(model.pests[0], "detection")
    return Standing(
        truth.bands.aphids[day] / per,
        truth.bands.closed[day] / per,
        truth.bands.empty[day] / per,
        plants * per,
        *(np.stack([parameters.get(name, pest=p) for p in range(len(model.pests))]) for name in names),
        share_seen(beta_of_range(fact.value, fact.low or 0.0, fact.high or 1.0), 1, rng),
    )


def _plant_share(here: Standing, pest: int, zone: int, rng: np.random.Generator) -> float:
    between, _ = split_clumping(here.k(pest, here.aphids[pest, zone]))
    return float(rng.gamma(between[0], 1 / between[0]))


def _on_leaf(here: Standing, pest: int, stock: Array, share: float, rng: np.random.Generator) -> float:
    mean = np.maximum(here.detection * stock, LEAST_MEAN)
    _, within = split_clumping(here.k(pest, mean))
    return float(rng.poisson(mean[0] * share * rng.gamma(within[0], 1 / within[0])))


def _interval(design: Design, count: float, rng: np.random.Generator) -> tuple[float, float]:
    if design.told == "counts" or count == 0:
        return count, count
    if rng.random() < 0.2:
        return PRESENT
    return next((low, high) for low, high in CLASSES if low <= count <= high)


def _line(truth: Truth, here: Standing, day: int, pest: int, rng: np.random.Generator) -> LineSeen:
    design, about = truth.design, judgements().about_sd
    zone = len(design.model.zones)
    mean = np.maximum(here.detection * here.aphids[pest, zone], LEAST_MEAN)
    k = here.k(pest, mean)[0]
    counts = rng.poisson(mean[0] * rng.gamma(k, 1 / k, design.plants))
    enemies = [e for p, e in truth.parameters.substages.pairs if p == pest]
    stock = here.detection * here.closed[enemies, zone].sum(axis=0)
    spread = float(1 / (design.plants * here.k(pest, stock)[0]) + about**2)
    mummies = rng.poisson(design.plants * stock[0] * rng.gamma(1 / spread, spread))
    total = float(counts.sum() * np.exp(about * rng.standard_normal())) if counts.any() else 0.0
    told = any(day >= truth.mummies_from.get(e, np.inf) for e in enemies)
    return LineSeen(
        float(day),
        pest,
        design.plants,
        int((counts > 0).sum()),
        total,
        float(mummies) if told else None,
        unit=LEAF,
        zone=WHOLE_HOUSE,
    )
