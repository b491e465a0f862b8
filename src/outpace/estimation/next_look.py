"""What to look at next: the look that would move the chance to end well most, before it is made.

Each look is made in thought in a sample of the members: what would be found if this one were the truth? All others
are then weighed by how likely they make that finding [1]_. Nothing is simulated anew. A look is worth how far
the chance to end well moves, on average over what may be found.

References
----------
.. [1] Raiffa and Schlaifer 1961
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.assimilation import Posterior
from outpace.estimation.bands import HOUSE, SHARE_INFESTED, Bands
from outpace.estimation.likelihood import LEAST_MEAN, Standing, log_of_count
from outpace.estimation.standing import share_seen, standing_of
from outpace.estimation.verdict import Verdict, outcomes, word_of
from outpace.language import say

Array = NDArray[np.float64]

THOUGHT = 128  # findings that are thought through
UNITS = 20  # plants, leaves or shoots of another look
ZONE_UNITS = 10
JAR = 30  # mummies of a parcel kept back in a jar

HOLES_READ = 20  # holes of empty tan mummies

PLANTS, ZONE, MUMMIES, HOLES, EMERGENCE = "plants", "zone", "mummies", "holes", "emergence"


@dataclass(frozen=True, slots=True)
class Jar:
    """A parcel of which nobody has counted yet how many come out.

    ``emergence`` is the share by member, in the order of the posterior; ``day`` the first on which a count is fair.
    """

    lot: str
    emergence: Array
    day: int


@dataclass(frozen=True, slots=True)
class Look:
    """One look that could be made.

    Attributes
    ----------
    kind : str
        ``plants``, ``zone``, ``mummies``, ``holes`` or ``emergence``.
    what : str
        What to do, without the day.
    day : int
    moves : float
        By how much the chance to end well would move, on average.
    turns : float
        Chance that the verdict would read otherwise.
    """

    kind: str
    what: str
    day: int
    moves: float
    turns: float


def next_looks(
    posterior: Posterior,
    ahead: Bands,
    verdict: Verdict,
    *,
    mummies_from: int | None = None,
    taken: Array | None = None,
    jars: Sequence[Jar] = (),
    seed: int,
) -> tuple[Look, ...]:
    """Return the looks that could be made, the one that moves the chance to end well most first.

    Parameters
    ----------
    ahead : Bands
        From today on; the verdict was read from it.
    mummies_from : int, optional
        First day on which mummies can be seen, where it still lies ahead.
    taken : array of float, shape (members,), optional
        Share of tan mummies that hyperparasitoids take, where the members differ in it: a ragged hole was read before.
    jars : sequence of Jar
    """
    level = verdict.level
    live = ahead.live(level.pest, level.zone, level.unit)[: verdict.horizon_d + 1]
    members = Members(outcomes(live, level.level), above_now=verdict.above_now, seed=seed)
    unit = "plant" if level.unit == SHARE_INFESTED else level.unit
    several = say({"leaf": "leaves"}.get(unit, f"{unit}s"))
    enemies = [e for p, e in posterior.parameters.substages.pairs if p == level.pest]
    detection = share_seen(posterior.detection, live.shape[1], members.rng)

    def standing(day: int) -> Standing:
        at = slice(day - ahead.first_day, day - ahead.first_day + 1)
        here = replace(ahead, aphids=ahead.aphids[at], closed=ahead.closed[at], empty=ahead.empty[at])
        return standing_of(ahead.model, posterior.parameters, here, unit, detection)

    today = ahead.first_day
    found = []
    zones = [(HOUSE, PLANTS, UNITS, say("Look at {units} more {several}", units=UNITS, several=several))]
    if len(ahead.model.zones) > 1 and level.zone != HOUSE:
        name = ahead.model.zones[level.zone].name
        zones.append(
            (
                level.zone,
                ZONE,
                ZONE_UNITS,
                say(
                    "Look at {zone_units} more {several} in {name}",
                    zone_units=ZONE_UNITS,
                    several=several,
                    name=name,
                ),
            )
        )
    for zone, kind, units, what in zones:
        log = _of_looks(standing(today), level.pest, enemies, zone, units, members)
        found.append(Look(kind, what, today, *members.value(log)))
    if mummies_from is not None and enemies and today < mummies_from <= ahead.first_day + ahead.days:
        log = _of_looks(standing(mummies_from), level.pest, enemies, HOUSE, UNITS, members)
        what = say("Look for aphids and first mummies on {units} {several}", units=UNITS, several=several)
        found.append(Look(MUMMIES, what, mummies_from, *members.value(log)))
    if taken is not None and enemies:
        log = _of_shares(taken, HOLES_READ, members)
        what = say("Read the holes of {n} empty tan mummies, smooth or ragged", n=HOLES_READ)
        found.append(Look(HOLES, what, today, *members.value(log)))
    for jar in jars:
        log = _of_shares(jar.emergence, JAR, members)
        what = say("Count how many of {jar} mummies of lot {lot} came out in a jar", jar=JAR, lot=jar.lot)
        found.append(Look(EMERGENCE, what, jar.day, *members.value(log)))
    return tuple(sorted(found, key=lambda look: -look.moves))


class Members:
    """Members as possible truths, and what a finding would make of the verdict."""

    def __init__(
        self, ends: tuple[NDArray[np.bool_], NDArray[np.bool_]], *, above_now: bool, seed: int
    ) -> None:
        self.stays, self.ends = (each.astype(np.float64) for each in ends)
        self.above_now = above_now
        self.rng = np.random.default_rng([seed, 23])
        members = len(self.ends)
        self.truths = self.rng.choice(members, min(THOUGHT, members), replace=False)

    def value(self, log_likelihood: Array) -> tuple[float, float]:
        """Return by how much the chance to end well moves on average, and the chance that the word turns.

        Parameters
        ----------
        log_likelihood : array of float, shape (truths, members)
            Of what each truth would have found.
        """
        log = np.array(np.broadcast_to(log_likelihood, (len(self.truths), len(self.ends))))
        log[np.arange(len(self.truths)), self.truths] = -np.inf  # nobody is his own witness
        weights = np.exp(log - log.max(axis=1, keepdims=True))
        weights /= weights.sum(axis=1, keepdims=True)
        ends, stays = weights @ self.ends, weights @ self.stays
        word = word_of(float(self.stays.mean()), float(self.ends.mean()), self.above_now)
        turned = [word_of(s, e, self.above_now) != word for s, e in zip(stays, ends, strict=True)]
        return float(np.abs(ends - self.ends.mean()).mean()), float(np.mean(turned))


def _of_shares(share: Array, looked_at: int, members: Members) -> Array:
    """Return the log likelihood of so many of those looked at, a share by member; shape (truths, members)."""
    chance = np.clip(share, 1e-9, 1 - 1e-9)
    found = members.rng.binomial(looked_at, chance[members.truths])[:, None]
    return np.asarray(found * np.log(chance) + (looked_at - found) * np.log1p(-chance))


def _of_looks(
    here: Standing, pest: int, enemies: Sequence[int], zone: int, units: int, members: Members
) -> Array:
    """Return the log likelihood of counts on so many units, each on a plant of its own, shape (truths, members)."""
    total = _of_counts(here, pest, here.aphids[pest, zone], units, members)
    if enemies:
        total = total + _of_counts(here, pest, here.closed[list(enemies), zone].sum(axis=0), units, members)
    return total


def _of_counts(here: Standing, pest: int, stock: Array, units: int, members: Members) -> Array:
    mean = np.maximum(here.detection * stock, LEAST_MEAN)
    k = here.k(pest, mean)
    of = members.truths
    counts = members.rng.poisson(members.rng.gamma(k[of], mean[of] / k[of], (units, len(of)))).T
    numbers, places = np.unique(counts, return_inverse=True)
    times = np.zeros((len(of), len(numbers)))
    np.add.at(times, (np.arange(len(of))[:, None], places.reshape(counts.shape)), 1.0)
    table = log_of_count(numbers[:, None].astype(np.float64), mean[None], k[None])
    return np.asarray(times @ table)
