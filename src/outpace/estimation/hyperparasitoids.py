"""Hyperparasitoids of a house: the share of mummies they take by season and by ragged holes, and what lives there now.

The past of a house is told by its counts, so hyperparasitoids are not run there. At today's midnight each member gets
as many as take its share, and from then on their own broods decide.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from outpace.biology.temperature_response import thermal_performance
from outpace.estimation.assimilation import Posterior
from outpace.estimation.lot_quality import Beta, prior_of
from outpace.facts.table import Fact, Facts
from outpace.simulation.parameters import Parameters

Array = NDArray[np.float64]

GENUS = "dendrocerus"
"""Stands for all: the first of the year, and the one of which most is known."""
TAN = "tan"
NO_OTHER_LOT = 0.5  # a share between lots that no lot is there to speak of
MONTHS = ("April", "June")
LEAST_SHARE, MOST_SHARE = 0.01, 0.95
LEAST_PACE = 0.1  # of that at 20 °C: in the cold nobody can say how many sit still
DEVELOPMENT = ("lower_threshold", "thermal_constant", "optimum_temperature", "upper_temperature")


def without_signs(facts: Facts) -> Fact:
    """Return the share where nothing points to them."""
    return facts.one(GENUS, "hyperparasitised_share_without_signs")


def of_season(facts: Facts, heat: float, daylight: float) -> Fact:
    """Return the share in a house that harbours them, by the heat since the shortest day and the hours of light.

    The log odds run in a straight line through the published shares of April and June; heat and light count alike.
    Light follows the latitude, so the season of the south is its own.

    Parameters
    ----------
    heat : float
        Above the threshold of the facts' note, since the shortest day or the planting. [°C d]
    daylight : float
        [h]

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> [round(of_season(load(), *at).value, 2) for at in ((1400.0, 13.4), (2400.0, 15.5), (300.0, 8.5))]
    [0.4, 0.7, 0.04]
    """
    shares = [facts.one(GENUS, "hyperparasitised_share", stage=month) for month in MONTHS]
    heats = [facts.one(GENUS, "season_heat", stage=month).value for month in MONTHS]
    lights = [facts.one(GENUS, "season_day_length", stage=month).value for month in MONTHS]
    reached = 0.5 * (heat - heats[0]) / (heats[1] - heats[0])
    reached += 0.5 * (daylight - lights[0]) / (lights[1] - lights[0])
    first, second = (np.log(fact.value / (1.0 - fact.value)) for fact in shares)
    odds = np.exp(first + reached * (second - first))
    share = float(np.clip(odds / (1.0 + odds), LEAST_SHARE, MOST_SHARE))
    nearest = shares[0] if reached < 0.5 else shares[1]
    low, high = nearest.low or 0.0, nearest.high or 1.0
    return replace(
        nearest, value=share, low=share * low / nearest.value, high=min(share * high / nearest.value, 1.0)
    )


def share_taken(before: Fact, ragged: int, looked_at: int) -> Beta:
    """Return the share of tan mummies that hyperparasitoids take, after so many ragged holes of so many read.

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> bare = without_signs(load())
    >>> [round(share_taken(bare, *holes).mean, 2) for holes in ((0, 0), (9, 20))]
    [0.02, 0.4]
    """
    prior = prior_of(before, (), NO_OTHER_LOT)
    return Beta(prior.a + ragged, prior.b + looked_at - ragged)


def drawn_share(share: Beta, seed: int, members: int) -> Array:
    """Return the members' shares, shape (members,); the same seed gives the same."""
    drawn: Array = np.random.default_rng([seed, 19]).beta(share.a, share.b, members)
    return np.clip(drawn, 0.0, MOST_SHARE)


def with_hyperparasitoids(
    posterior: Posterior, share: Beta, temperature: Array, told: tuple[Fact, ...] = ()
) -> Posterior:
    """Return the members with hyperparasitoids in them, each as many as take its share of the mummies.

    Of the closed mummies that share holds their young, of the empty ones that share is ragged. Females are as many as
    sting it in the time a mummy is closed at this warmth, but no more than the mummies they could have come from.

    Parameters
    ----------
    share : Beta
        Of mummies that hyperparasitoids take.
    temperature : array of float, shape (members,)
        Mean of these days. [°C]
    told : tuple of Fact
        What the share rests on.
    """
    model, parameters = posterior.model, posterior.parameters
    layout, state = parameters.layout(model), posterior.state.copy()
    taken = drawn_share(share, posterior.seed, parameters.members)
    hyper = len(model.agents)
    kinds = len(model.hyperparasitoids)
    area = model.ground(posterior.day, 1)[0][:, 2]
    for z in range(len(model.zones)):
        closed = np.zeros(parameters.members)
        ever = np.zeros(parameters.members)
        for e in range(len(model.enemies)):
            rows = layout.find("mummies", enemy=e, zone=z).rows
            inside = state[rows].sum(axis=0)
            closed += inside
            state[rows] *= 1.0 - taken
            for h in range(kinds):
                young = layout.find(f"hyper_young_{h}", enemy=e, zone=z)
                state[young.rows] = inside * taken / (kinds * young.count)
            shells = layout.find("shells", enemy=e, zone=z).first
            ever += inside + state[shells]
            state[layout.find("ragged_shells", enemy=e, zone=z).first] = state[shells] * taken
            state[shells] *= 1.0 - taken
        asked = -np.log(1.0 - taken) / _days_closed(parameters, len(model.enemies), temperature)
        for h in range(kinds):
            each = _females(parameters, hyper + h, asked / kinds, closed, area[z], temperature)
            state[layout.find("hyper_females", enemy=hyper + h, zone=z).first] = np.minimum(
                each, ever / kinds
            )
    known = replace(parameters, facts=(*parameters.facts, *told))
    return replace(posterior, state=state, parameters=known)


def without_hyperparasitoids(posterior: Posterior) -> Array:
    """Return the state with the wasps alive in all closed mummies, and no hyperparasitoid about."""
    model = posterior.model
    layout, state = posterior.parameters.layout(model), posterior.state.copy()
    for z in range(len(model.zones)):
        for h in range(len(model.hyperparasitoids)):
            state[layout.find("hyper_females", enemy=len(model.agents) + h, zone=z).first] = 0.0
            for e in range(len(model.enemies)):
                young = layout.find(f"hyper_young_{h}", enemy=e, zone=z)
                wasps = layout.find("mummies", enemy=e, zone=z)
                state[wasps.rows] += state[young.rows].sum(axis=0) / wasps.count
                state[young.rows] = 0.0
    return state


def _days_closed(parameters: Parameters, enemies: int, temperature: Array) -> Array:
    """Return how long a mummy of the wasps is closed, in the mean over them. [d]"""
    days = [
        (1.0 - parameters.get("mummy_share", enemy=e)) / np.maximum(_pace(parameters, e, temperature), 1e-3)
        for e in range(enemies)
    ]
    mean: Array = np.mean(days, axis=0)
    return mean


def _pace(parameters: Parameters, enemy: int, temperature: Array) -> Array:
    rate: Array = thermal_performance(
        temperature, *(parameters.get(name, enemy=enemy) for name in DEVELOPMENT)
    )
    return rate


def _females(
    parameters: Parameters, hyper: int, hazard: Array, closed: Array, area: float, temperature: Array
) -> Array:
    """Return the females that bring a hazard, by the law of the kernel turned round."""
    k = parameters.get("refuge_k", enemy=hyper)
    attacks = k * np.expm1(np.minimum(hazard / k, 20.0))
    pace = _pace(parameters, hyper, temperature) / parameters.get("pace", enemy=hyper)
    warm = np.maximum(pace, LEAST_PACE)
    search = parameters.get("attack_rate", enemy=hyper) * warm / area
    found = 1.0 + parameters.get("handling_time", enemy=hyper) * search * closed
    ripe = parameters.get("eggs_per_day", enemy=hyper) * warm / np.maximum(closed, 1e-9)
    females: Array = attacks / np.minimum(search / found, ripe)
    return females
