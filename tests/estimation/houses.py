"""Invented houses for the tests of the filter: one simulated truth, and walks through it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from outpace.estimation.observations import WalkBuilder, WalkSeen
from outpace.facts.table import load
from outpace.simulation.model import HouseModel, Release, ZoneSpec
from outpace.simulation.parameters import Parameters, draw
from outpace.simulation.run import Run, run, start

FACTS = load()
PLANTS, LEAVES = 700.0, 30.0
DETECTION = 0.85


def house(pest: str = "myzus_persicae", enemies: tuple[str, ...] = ("aphidius_colemani",)) -> HouseModel:
    return HouseModel(
        crop="sweet_pepper",
        zones=(ZoneSpec("whole", 300.0, PLANTS),),
        pests=(pest,),
        enemies=enemies,
        leaves_per_plant=LEAVES,
        leaf_area_m2=1.0,
    )


def temperature(mean: float = 18.0, days: int = 90, swing: float = 4.0) -> np.ndarray:
    hours = np.arange(24 * days)
    return (mean + swing * np.sin(2 * np.pi * (hours / 24 - 0.35)))[:, None]


@dataclass(frozen=True)
class Truth:
    """One member of the model itself, run once; what stands there per plant."""

    model: HouseModel
    parameters: Parameters
    run: Run
    member: int

    def aphids(self, day: int) -> float:
        return float(self.run.aphids[day, 0, 0, self.member] / PLANTS)

    def closed(self, day: int) -> float:
        return float(self.run.mummies_closed[day, :, 0, self.member].sum() / PLANTS)


def simulate(
    seed: int,
    *,
    model: HouseModel | None = None,
    heat: np.ndarray | None = None,
    releases: tuple[Release, ...] = (),
    per_plant: float = 3.0,
    days: int = 60,
) -> Truth:
    model = model or house()
    parameters = draw(FACTS, model, 32, 50_000 + seed)
    state = start(model, parameters, per_plant, 60_000 + seed)
    done = run(
        model,
        parameters,
        state,
        temperature() if heat is None else heat,
        first_day=0,
        days=days,
        releases=releases,
        seed=70_000 + seed,
    )
    return Truth(model, parameters, done, seed % 32)


def walk(
    truth: Truth,
    day: int,
    seed: int,
    *,
    plants: int = 20,
    leaves: int = 2,
    chosen: str = "random",
    mummies: bool = True,
) -> WalkSeen:
    """Look at leaves of plants: gamma shares between plants and leaves, a scout who misses some."""
    rng = np.random.default_rng([seed, day])
    mean = max(truth.aphids(day) / LEAVES, 1e-9)
    closed = truth.closed(day) / LEAVES
    a, b, clumping = (
        truth.parameters.get(name, pest=0)[truth.member] for name in ("taylor_a", "taylor_b", "log_clumping")
    )
    excess = a * mean**b - mean
    k = np.clip((mean**2 / excess if excess > 0 else 200.0) * np.exp(-clumping), 0.02, 200.0)
    half = 1 / np.expm1(0.5 * np.log1p(1 / k))
    colours = ((0,),) if mummies and truth.model.enemies else ()
    told = WalkBuilder(day + 0.4, "leaf", chosen, 1, colours)
    for plant in range(plants):
        share = rng.gamma(half, 1 / half)
        for _ in range(leaves):
            here = rng.poisson(DETECTION * mean * share * rng.gamma(half, 1 / half))
            shells = {0: (float(rng.poisson(DETECTION * closed * share)), np.nan)} if colours else None
            told.add({0: (float(here), float(here))}, zone=0, plant=plant, mummies=shells)
    return told.seen()
