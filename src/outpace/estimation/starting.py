"""Where the members of a house start: rough, wide densities, so that the first walk itself decides."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.judgements import judgements
from outpace.estimation.observations import LineSeen, Seen, middle_of, units_per_plant
from outpace.simulation.model import HouseModel
from outpace.simulation.parameters import Parameters
from outpace.simulation.run import run, start

Array = NDArray[np.float64]


def first_density(
    model: HouseModel,
    parameters: Parameters,
    temperature: Array,
    walks: Sequence[Seen],
    *,
    first_day: int,
    seen_share: float,
    seed: int,
) -> Array:
    """Return a rough number of aphids per plant at the start and the s.d. of its log.

    From the first walk that is a sample, taken back to the start by the growth of few aphids without enemies.

    Parameters
    ----------
    temperature : array of float, shape (hours, members) or (hours, 1)
    walks : sequence
        In the order of days.
    seen_share : float
        Mean share of aphids that a scout sees.

    Returns
    -------
    guess : array of float, shape (pests, zones, 2)
    """
    judged = judgements()
    zones = len(model.zones)
    guess = np.empty((len(model.pests), zones, 2))
    for p in range(len(model.pests)):
        guess[p, :, 0], guess[p, :, 1] = judged.unseen_per_plant, judged.unseen_sd
        for walk in walks:
            rough = None if walk.hunted else _rough(walk, p, zones)
            if rough is None:
                continue
            weeks = max(0.0, walk.day - first_day) / 7.0
            guess[p, :, 0] = rough * units_per_plant(model, walk.unit, walk.day) / seen_share
            few = 1 / np.sqrt(walk.found(p) + judged.missed)  # what few finds leave open
            guess[p, :, 1] = np.sqrt(judged.first_sd**2 + few**2 + (judged.first_sd_per_week * weeks) ** 2)
            gap = min(round(walk.day), temperature.shape[0] // 24) - first_day
            if gap > 0:
                guess[p, :, 0] /= growth_alone(
                    model, parameters, temperature, pest=p, first_day=first_day, days=gap, seed=seed
                )
            break
    return guess


def _rough(walk: Seen, pest: int, zones: int) -> Array | None:
    """Return a rough mean per unit by zone, shape (zones,); None where the pest was not looked for."""
    judged = judgements()
    if isinstance(walk, LineSeen):
        if walk.pest != pest:
            return None
        about = walk.aphids_about if walk.aphids_about is not None else judged.per_infested * walk.infested
        return np.full(zones, (about + judged.missed) / walk.looked_at)
    told = np.isfinite(walk.high[pest]) | (walk.low[pest] > 0)
    if not told.any():
        return None
    counts = middle_of(walk.low[pest], walk.high[pest])
    whole = (counts[told].sum() + judged.missed) / told.sum()
    means = np.empty(zones)
    for z in range(zones):
        here = told & (walk.zone == z)
        means[z] = (counts[here].sum() + judged.units_of_house * whole) / (here.sum() + judged.units_of_house)
    return means


def growth_alone(
    model: HouseModel,
    parameters: Parameters,
    temperature: Array,
    *,
    pest: int,
    first_day: int,
    days: int,
    seed: int,
) -> float:
    """Return by how much few aphids without enemies or newcomers multiply, at the middle of the facts."""
    middle = parameters.middle()
    for p in range(len(model.pests)):
        middle = middle.set("log_immigration", -50.0, pest=p)
    few = np.zeros((len(model.pests), len(model.zones), 1))
    few[pest] = 1e-6
    state = start(model, middle, few, seed)
    heat = np.asarray(temperature.mean(axis=1, keepdims=True), dtype=np.float64)
    alone = run(model, middle, state, heat, first_day=first_day, days=days, noise=False, threads=1)
    sums = alone.aphids[:, pest].sum(axis=(1, 2))
    return float(max(sums[-1] / sums[0], 1e-3))


def start_members(model: HouseModel, parameters: Parameters, guess: Array, seed: int, set_no: int) -> Array:
    """Return the state of members spread about the rough densities, shape (n_state, members).

    Half of what is not known of the start, in variance, is shared by the zones of the house.
    """
    rng = np.random.default_rng([seed, 11, set_no])
    pests, zones = guess.shape[:2]
    house = rng.standard_normal((pests, 1, parameters.members))
    zone = rng.standard_normal((pests, zones, parameters.members))
    z = house if zones == 1 else np.sqrt(0.5) * (house + zone)
    return start(model, parameters, guess[:, :, :1] * np.exp(guess[:, :, 1:] * z), seed + 7919 * set_no)
