"""Sticky cards as evidence: winged aphids caught in a time tell of those that fly, and of how many fly in.

A card catches the winged that come down on a small floor around it. How large that floor is, nobody has measured here:
it is drawn wide for each member, the same for all cards of the house, and learned like any other. So a first catch says
little, a catch that rises or falls says more, and cards never find the aphids on the plants.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.likelihood import LEAST_MEAN, Parts, log_of_count
from outpace.estimation.observations import WHOLE_HOUSE
from outpace.facts.table import Facts
from outpace.simulation.draws import NINE_TENTHS
from outpace.simulation.model import HouseModel
from outpace.simulation.parameters import Parameters

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class CardSeen:
    """Winged aphids counted on a card at one reading.

    Parameters
    ----------
    day : float
        Of the reading, days since day 0 of the house's calendar.
    days : float
        Since it was hung or read before. [d]
    winged : int
        Caught in that time, of all aphids.
    zone : int
        Index in the model; `WHOLE_HOUSE` where it is not known.
    """

    day: float
    days: float
    winged: int
    zone: int = WHOLE_HOUSE

    def __post_init__(self) -> None:
        if not self.days > 0 or self.winged < 0:
            raise ValueError("a card hangs for a time above 0 and catches no fewer than 0")


def draw_catch(facts: Facts, members: int, seed: int) -> Array:
    """Return by member the log of the floor whose landings one card catches, shape (members,). [log m²]"""
    fact = facts.one("", "card_catch")
    if fact.low is None or fact.high is None:
        raise ValueError("the catch of a card needs a range")
    spread = math.log(fact.high / fact.low) / (2 * NINE_TENTHS)
    rng = np.random.default_rng([seed, 29])
    return np.asarray(math.log(fact.value) + spread * rng.standard_normal(members))


def landings(model: HouseModel, parameters: Parameters, state: Array) -> Array:
    """Return winged aphids that come down per floor area and day, shape (zones + 1, members). [m⁻² d⁻¹]

    Those that fly in from outside, and those of the house that end a flight. The last zone is the whole house.
    """
    layout = parameters.layout(model)
    areas = np.array([zone.area_m2 for zone in model.zones])
    ending = np.zeros((len(areas), parameters.members))
    coming = np.zeros(parameters.members)
    for p in range(len(model.pests)):
        coming += parameters.get("immigration", pest=p) * np.exp(parameters.get("log_immigration", pest=p))
        for z in range(len(areas)):
            flying = state[layout.find("flying", pest=p, zone=z).rows].sum(axis=0)
            ending[z] += flying / parameters.get("winged_flight", pest=p)
    whole = ending.sum(axis=0, keepdims=True) / areas.sum()
    return np.concatenate([ending / areas[:, None], whole]) + coming


def cards_log_likelihood(facts: Facts, cards: Sequence[CardSeen], landing: Array, log_catch: Array) -> Parts:
    """Return the log likelihood of card readings, by zone; shared by all aphids of the house.

    Parameters
    ----------
    landing : array of float, shape (zones + 1, members)
        Of `landings`, on the day of the reading.
    log_catch : array of float, shape (members,)
    """
    k = np.full(len(log_catch), facts.one("", "card_clumping").value)
    parts: Parts = {}
    for card in cards:
        mean = np.maximum(np.exp(log_catch) * landing[card.zone] * card.days, LEAST_MEAN)
        log = log_of_count(float(card.winged), mean, k)
        parts[(None, card.zone)] = parts.get((None, card.zone), 0.0) + log
    return parts
