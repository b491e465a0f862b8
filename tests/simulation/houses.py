"""Invented houses that the tests of the simulation share."""

from __future__ import annotations

import numpy as np

from outpace.facts.table import load
from outpace.simulation.model import HouseModel, ZoneSpec
from outpace.simulation.parameters import draw
from outpace.simulation.run import start

FACTS = load()


def house(
    pests=("myzus_persicae",),
    enemies=("aphidius_colemani",),
    *,
    crop="sweet_pepper",
    zones=((400.0, 1000.0),),
    **more,
):
    """One house; zones as (floor m², plants); ``more`` goes to the model."""
    specs = tuple(ZoneSpec(f"bay {i + 1}", area, plants) for i, (area, plants) in enumerate(zones))
    return HouseModel(
        crop, specs, tuple(pests), tuple(enemies), leaves_per_plant=60.0, leaf_area_m2=0.6, **more
    )


def steady(degc, days):
    """Constant temperature, shape (hours, 1)."""
    return np.full((24 * days, 1), float(degc))


def swinging(degc, days, swing=6.0):
    """A sine about a mean, shape (hours, 1)."""
    return degc + swing * np.sin(2 * np.pi * (np.arange(24 * days) - 9) / 24)[:, None]


def plain(model, members=1, seed=1, *, spread=False, **pest_rows):
    """Parameters without spread, with rows of every pest replaced by name."""
    parameters = draw(FACTS, model, members, seed, spread=spread)
    for p in range(len(model.pests)):
        for name, value in pest_rows.items():
            parameters = parameters.set(name, value, pest=p)
    return parameters


UNBOUNDED = {
    "ceiling": 1e15,
    "unexplained_loss": 0.0,
    "winged_least": 0.0,
    "winged_more": 0.0,
    "immigration": 0.0,
    "honeydew_half": 1e15,
}
"""Rows of a pest that grows alone: no crowding, no winged, nobody comes."""


def beginning(model, parameters, per_plant=1.0, *, seed=1, degc=20.0, calm=True):
    """The state of a house at its start, with the swings of growth and attack at rest if calm."""
    state = start(model, parameters, per_plant, seed, temperature=degc)
    if calm:
        for row in parameters.layout(model).rows.luck:
            state[row : row + 2] = 0.0
    return state
