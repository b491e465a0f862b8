"""What a walk would meet in the house, member by member, and what of it speaks of the parameters."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.bands import Bands
from outpace.estimation.judgements import judgements
from outpace.estimation.likelihood import Standing
from outpace.simulation.layout import HOST_SIZES, INSTARS
from outpace.simulation.model import HouseModel
from outpace.simulation.parameters import Parameters

Array = NDArray[np.float64]


def ties_of(model: HouseModel, parameters: Parameters) -> tuple[int | None, ...]:
    """Return for each enemy the one pest of the house that it lives on; None for several or none."""
    hosts: list[list[int]] = [
        [p for p, e in parameters.substages.pairs if e == x] for x in range(len(model.enemies))
    ]
    return tuple(each[0] if len(each) == 1 else None for each in hosts)


def standing_of(
    model: HouseModel, parameters: Parameters, segment: Bands, unit: str, detection: Array
) -> Standing:
    per = model.units_per_plant(unit, segment.first_day + segment.days)[0]
    pests = range(len(model.pests))
    plants = np.append(model.plants, model.plants.sum())
    return Standing(
        aphids=segment.aphids[-1] / per[:, None],
        closed=segment.closed[-1] / per[:, None],
        empty=segment.empty[-1] / per[:, None],
        units=plants * per,
        taylor_a=np.stack([parameters.get("taylor_a", pest=p) for p in pests]),
        taylor_b=np.stack([parameters.get("taylor_b", pest=p) for p in pests]),
        log_clumping=np.stack([parameters.get("log_clumping", pest=p) for p in pests]),
        detection=detection,
    )


def share_seen(detection: tuple[float, float], draws: int, rng: np.random.Generator) -> Array:
    """Return the share of the house's mean that walks would show but for chance, shape (draws,).

    A scout sees a share of the aphids, by a beta law; and a walk's plants, light and eyes differ from the house beyond
    chance, so that the share may be above one. Mean seen over mean there is that of the beta law.
    """
    sd = judgements().walk_differs_sd
    return np.asarray(rng.beta(*detection, draws) * np.exp(sd * rng.standard_normal(draws) - 0.5 * sd**2))


def read_by_likelihood(parameters: Parameters, cards: bool = False) -> NDArray[np.bool_]:
    """Return which parameters the likelihood reads; with cards also how many aphids fly in."""
    names = ("log_clumping", "taylor_a", "taylor_b", *(("log_immigration", "immigration") if cards else ()))
    return np.array([name.rsplit(".", 1)[-1] in names for name in parameters.names])


def traits_of(model: HouseModel, segment: Bands, state: Array) -> Array:
    """Return what is to be seen of the state of members, shape (traits, members), mostly on logs."""
    layout = segment.parameters.layout(model)
    parts = [segment.aphids[-1], segment.closed[-1], segment.empty[-1]]
    traits = [np.log(part.reshape(-1, part.shape[-1]) + 1e-6) for part in parts]
    for p in range(len(model.pests)):
        stung = layout.holding(*(f"stung_{size}" for size in HOST_SIZES), pest=p)
        traits.append(np.log(state[stung].sum(axis=0, keepdims=True) + 1e-3))
        young = layout.holding(*INSTARS, pest=p)
        traits.append(np.log(state[young].sum(axis=0, keepdims=True) + 1e-3))
    traits.append(np.log(state[layout.holding("females")].sum(axis=0, keepdims=True) + 1e-3))
    traits.append(state[layout.holding("luck")])
    traits.append(segment.parameters.values[read_by_likelihood(segment.parameters)])
    return np.concatenate(traits)
