"""Looking ahead from what is held of a house."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.assimilation import Posterior
from outpace.estimation.bands import HOUSE, Bands, bands_of, per_plant
from outpace.estimation.judgements import judgements
from outpace.estimation.weighing import in_order, of_members
from outpace.simulation.layout import PREDATOR_BLOCKS
from outpace.simulation.model import HouseModel, Release, Spray
from outpace.simulation.parameters import Parameters
from outpace.simulation.run import SMALL_NUMBERS, run

Array = NDArray[np.float64]


def look_ahead(
    posterior: Posterior,
    model: HouseModel,
    temperature: Array,
    releases: Sequence[Release] = (),
    sprays: Sequence[Spray] = (),
    days: int = 28,
    *,
    parameters: Parameters | None = None,
    state: Array | None = None,
) -> Bands:
    """Return what may stand in the house on each of the days ahead.

    Parameters
    ----------
    posterior : Posterior
    temperature : array of float, shape (hours, members) or (hours, 1)
        From the midnight of day 0, the past included, to ``posterior.day + days``. [°C]
    releases, sprays : sequences
        What is placed, and for a what-if what is planned. Those before ``posterior.day`` are already in the state.
    days : int, default 28
    parameters, state : optional
        Members that stand in for the posterior's own, for "what if it were otherwise".

    Returns
    -------
    bands : Bands
        The same posterior gives the same luck, so two plans differ only by the plans.
    """
    members = posterior.parameters if parameters is None else parameters
    done = run(
        model,
        members,
        posterior.state if state is None else state,
        in_order(temperature, posterior.lineage),
        first_day=posterior.day,
        days=days,
        releases=[of_members(release, posterior.lineage) for release in releases],
        sprays=[of_members(spray, posterior.lineage) for spray in sprays],
        seed=posterior.seed,
        small_numbers=SMALL_NUMBERS,
    )
    return wandering(bands_of(model, members, done, posterior.day), posterior.seed)


def wandering(bands: Bands, seed: int) -> Bands:
    """Return bands in which densities go on moving by what no equation has, as they do from walk to walk.

    The first midnight stays as it is. The same seed gives the same ways, whatever is let go or sprayed.
    """
    ways = ways_ahead(bands.model, bands.days, bands.aphids.shape[-1], seed)
    plants = bands.model.plants[:, None]
    return replace(bands, aphids=per_plant(bands.model, bands.aphids[:, :, :HOUSE] * ways * plants))


def ways_ahead(model: HouseModel, days: int, members: int, seed: int) -> Array:
    """Return what densities are multiplied by for what no equation has, shape (days + 1, pests, zones, members).

    One at the first midnight. More days leave the first ones as they are.
    """
    shape = (len(model.pests), len(model.zones), members)
    rng = np.random.default_rng([seed, 37])
    steps = judgements().left_out_sd / np.sqrt(7.0) * rng.standard_normal((days, *shape))
    return np.asarray(np.exp(np.cumsum(np.concatenate([np.zeros((1, *shape)), steps]), axis=0)))


def without_enemies(posterior: Posterior, model: HouseModel, enemies: Sequence[int]) -> Array:
    """Return the state without the adults, mummies and carriers of some wasps, and without some predators.

    Living aphids that they stung already stay: their fate is sealed.
    """
    layout = posterior.parameters.layout(model)
    state = posterior.state.copy()
    for enemy in enemies:
        for zone in range(len(model.zones)):
            wasp = enemy < len(model.enemies)
            for name in ("females", "mummies", "carrier") if wasp else PREDATOR_BLOCKS:
                state[layout.find(name, enemy=enemy, zone=zone).rows] = 0.0
    return state
