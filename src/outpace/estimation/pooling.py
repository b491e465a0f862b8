"""What houses teach each other: the prior of one house from the walks of the others, and from last season.

A quantity that is re-estimated (log growth, attack, immigration, clumping) is taken to vary about the books as the sum
of three parts: one that all houses of a farm share, one that houses of one crop share, and one of its own [1]_. What
each house's own walks say of it is what its posterior adds to its prior. From what the others say follows the prior
of a house, in closed form; how much houses share is weighed over its range by how well it explains what they say.

References
----------
.. [1] Morris 1983
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from outpace.facts.table import Fact, Facts
from outpace.simulation.model import HouseModel
from outpace.simulation.parameters import Parameters, draw

Array = NDArray[np.float64]

SHARES = 5  # values of each share that are weighed
SAYS_NOTHING = 0.999  # posterior over prior s.d. above which a house said nothing


@dataclass(frozen=True, slots=True)
class Belief:
    """A normal belief of one quantity on the log: its mean and standard deviation."""

    mean: float
    sd: float


Beliefs = Mapping[tuple[str, str], Belief]
"""(pest, quantity such as ``growth``) → what stands in the place of the books' prior."""


@dataclass(frozen=True, slots=True)
class Taught:
    """What one house has taught of a quantity: its posterior under a prior."""

    crop: str
    prior: Belief
    posterior: Belief

    def says(self) -> Belief | None:
        """Return what the house's own walks say, without the prior; None where they say nothing.

        Examples
        --------
        >>> said = Taught("", Belief(0.0, 1.0), Belief(0.5, math.sqrt(0.5))).says()
        >>> round(said.mean, 3), round(said.sd, 3)
        (1.0, 1.0)
        """
        if self.posterior.sd >= SAYS_NOTHING * self.prior.sd:
            return None
        precision = self.posterior.sd**-2 - self.prior.sd**-2
        mean = self.posterior.mean * self.posterior.sd**-2 - self.prior.mean * self.prior.sd**-2
        return Belief(mean / precision, precision**-0.5)


def pooled(books: Belief, crop: str, others: Sequence[Taught], of_farm: Array, of_crop: Array) -> Belief:
    """Return the prior of a house from what other houses of its farm have taught.

    Parameters
    ----------
    books : Belief
        Without any other house.
    crop : str
        Of the house.
    of_farm, of_crop : array of float
        Values of the shares of the variance that houses of the farm have in common, and houses of one crop on top.
    """
    told = [(each.crop, said) for each in others if (said := each.says()) is not None]
    if not told:
        return books
    heard = np.array([said.mean for _, said in told]) - books.mean
    noise = np.diag([said.sd**2 for _, said in told])
    alike = np.array([[a == b for b, _ in told] for a, _ in told], dtype=np.float64)
    mine = np.array([each == crop for each, _ in told], dtype=np.float64)
    variance = books.sd**2
    logs, means, variances = [], [], []
    for farm, in_crop in itertools.product(of_farm, of_crop):
        own = max(0.0, 1.0 - farm - in_crop)
        total = variance * (farm + in_crop * alike + own * np.eye(len(told))) + noise
        beside = variance * (farm + in_crop * mine)
        gain = np.linalg.solve(total, beside)
        means.append(float(gain @ heard))
        variances.append(variance - float(gain @ beside))
        logs.append(-0.5 * (np.linalg.slogdet(total)[1] + heard @ np.linalg.solve(total, heard)))
    weights = np.exp(np.array(logs) - max(logs))
    weights /= weights.sum()
    mean = float(weights @ means)
    spread = float(weights @ (np.array(variances) + (np.array(means) - mean) ** 2))
    return Belief(books.mean + mean, math.sqrt(spread))


def of_farm_and_crop(facts: Facts) -> tuple[Array, Array]:
    """Return the values of both shares that are weighed, over the ranges of the facts."""
    rows = [facts.one("", "pooling_share", stage=stage) for stage in ("farm", "crop")]
    low_high = [
        (row.value if row.low is None else row.low, row.value if row.high is None else row.high)
        for row in rows
    ]
    farm, crop = (np.linspace(low, high, SHARES) for low, high in low_high)
    return farm, crop


def next_season(belief: Belief, books: Belief, carry: float) -> Belief:
    """Return what is believed as the next season starts: drawn back to the books and wider, never wider than they.

    Examples
    --------
    >>> later = next_season(Belief(0.3, 0.1), Belief(0.0, 0.2), 0.5)
    >>> later.mean, round(later.sd, 3)
    (0.15, 0.18)
    """
    variance = carry**2 * belief.sd**2 + (1 - carry**2) * books.sd**2
    return Belief(books.mean + carry * (belief.mean - books.mean), min(math.sqrt(variance), books.sd))


def books_of(facts: Facts, pest: str, quantity: str) -> Belief:
    """Return what the books believe of a quantity: nothing amiss, within their width."""
    return Belief(0.0, facts.one(pest, "learnable_sd", stage=quantity).value)


def draw_believing(
    facts: Facts,
    model: HouseModel,
    members: int,
    seed: int,
    own: Sequence[Fact] = (),
    beliefs: Beliefs | None = None,
) -> Parameters:
    """Return members drawn over the facts, with what is believed of this house in the place of the books' prior."""
    drawn = draw(facts, model, members, seed, own)
    if not beliefs:
        return drawn
    values = drawn.values.copy()
    for p, pest in enumerate(model.pests):
        for (of_pest, quantity), belief in beliefs.items():
            if of_pest == pest:
                row = drawn.row(f"log_{quantity}", pest=p)
                values[row] = belief.mean + belief.sd * values[row] / books_of(facts, pest, quantity).sd
    return replace(drawn, values=values)
