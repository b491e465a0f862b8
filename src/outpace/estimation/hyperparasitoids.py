"""What ragged holes say of the next broods of wasps: the share that hyperparasitoids take."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from outpace.estimation.lot_quality import Beta, prior_of
from outpace.facts.table import Fact, Facts
from outpace.simulation.model import HouseModel
from outpace.simulation.parameters import Parameters

TAN = "tan"
NO_OTHER_LOT = 0.5  # a share between lots that no lot is there to speak of


def share_taken(facts: Facts, ragged: int, looked_at: int) -> Beta:
    """Return the share of tan mummies that hyperparasitoids take, after so many ragged holes of so many read.

    Before any hole is read it is near zero, and wide.

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> before, after = share_taken(load(), 0, 0), share_taken(load(), 9, 20)
    >>> round(before.a / (before.a + before.b), 2), round(after.a / (after.a + after.b), 2)
    (0.02, 0.4)
    """
    prior = prior_of(_before(facts), (), NO_OTHER_LOT)
    return Beta(prior.a + ragged, prior.b + looked_at - ragged)


def _before(facts: Facts) -> Fact:
    return facts.one("dendrocerus", "hyperparasitised_share_without_signs")


def with_share_taken(
    parameters: Parameters, model: HouseModel, facts: Facts, ragged: int, looked_at: int, seed: int
) -> Parameters:
    """Return the parameters with that share taken from the females that come out of tan mummies, member by member.

    What the hyperparasitoids' own broods add in later weeks is not in it.

    Parameters
    ----------
    ragged, looked_at : int
        Ragged holes, and holes that could be read, of empty tan mummies.
    """
    if ragged == 0:
        return parameters
    share = share_taken(facts, ragged, looked_at)
    taken = np.random.default_rng([seed, 19]).beta(share.a, share.b, parameters.members)
    for e, enemy in enumerate(model.enemies):
        if facts.species[enemy].mummy_colour == TAN:
            females = parameters.get("share_female", enemy=e)
            parameters = parameters.set("share_female", females * (1.0 - taken), enemy=e)
    return replace(parameters, facts=(*parameters.facts, _before(facts)))
