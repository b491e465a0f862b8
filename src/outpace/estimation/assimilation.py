"""Refitting a house to its walks: a particle filter over state and parameters together.

Members start wide on the first day and run through the house's temperature, releases and sprays. At each walk they are
weighed by its likelihood and resampled, state and parameters together; parameters are then shaken a little, the
state is not. Where too few members agree with a walk, more are run from the walk before it; where still too few
do, the walk is taken in steps in which densities may move too, and that is announced.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.bands import Bands, joined
from outpace.estimation.beta_range import beta_of_range
from outpace.estimation.blocks import Blocks
from outpace.estimation.cards import CardSeen, draw_catch
from outpace.estimation.likelihood import PlantMemory
from outpace.estimation.members import Shake
from outpace.estimation.mummy_dates import absence_counts_from, without_early_zeros
from outpace.estimation.observations import WHOLE_HOUSE, Seen, check_walks
from outpace.estimation.pooling import Beliefs, draw_believing
from outpace.estimation.standing import ties_of
from outpace.estimation.starting import first_density, start_members
from outpace.estimation.weighing import Ensemble, Evidence, go, weigh
from outpace.facts.table import Fact, Facts
from outpace.simulation.model import HouseModel, Release, Spray
from outpace.simulation.parameters import Parameters

Array = NDArray[np.float64]
Index = NDArray[np.intp]

LEARNABLE = ("growth", "attack", "immigration", "clumping")
NOT_LEARNED = 0.7
"""Posterior over prior standard deviation above which a quantity is still the books'."""


@dataclass(frozen=True)
class Posterior:
    """What is held of a house after its walks.

    Attributes
    ----------
    parameters, state, day : the members, equally weighted, at the midnight that begins ``day``
    learned : dict
        ``"myzus_persicae.growth"`` → posterior standard deviation over that of the books; above `NOT_LEARNED` the
        quantity is still the books'.
    effective_size : float
        The smallest over the walks, of ``members``.
    rescued : tuple of str
        One sentence for each walk that lay far from what was held likely.
    past : Bands
        From the first day to ``day``.
    walks : int
        That were taken in.
    lineage : array of int, shape (members,)
        From which member of the start each descends: what was drawn by member, temperature or a parcel's emergence,
        goes with it.
    detection : (float, float)
        Of the beta law of the share of aphids that a scout sees.
    """

    model: HouseModel
    parameters: Parameters
    state: Array
    day: int
    seed: int
    learned: dict[str, float]
    effective_size: float
    rescued: tuple[str, ...]
    past: Bands
    walks: int
    lineage: Index
    detection: tuple[float, float]

    @property
    def members(self) -> int:
        return self.parameters.members

    @property
    def facts(self) -> tuple[Fact, ...]:
        return self.parameters.facts

    def learned_of(self, pest: str) -> dict[str, float]:
        """Return quantity → posterior over prior standard deviation, of one pest."""
        return {name: self.learned[f"{pest}.{name}"] for name in LEARNABLE}


def refit(
    model: HouseModel,
    facts: Facts,
    temperature: Array,
    walks: Sequence[Seen],
    releases: Sequence[Release] = (),
    sprays: Sequence[Spray] = (),
    *,
    first_day: int = 0,
    until_day: int,
    members: int = 1024,
    seed: int,
    own: Iterable[Fact] = (),
    first: Array | None = None,
    beliefs: Beliefs | None = None,
    cards: Sequence[CardSeen] = (),
) -> Posterior:
    """Return what is held of a house on a day, after all walks up to then.

    Parameters
    ----------
    temperature : array of float, shape (hours, members) or (hours, 1)
        From the midnight of day 0, at least to ``until_day``. [°C]
    walks : sequence of WalkSeen and LineSeen
        Those after ``until_day`` are left out. A walk counts at the midnight nearest to it.
    releases, sprays : sequences
        From ``first_day`` on.
    first_day : int, default 0
        When the members start; the first walk or the first release, or soon before.
    until_day : int
        The posterior stands at the midnight that begins this day.
    members : int, default 1024
    seed : int
        The same seed gives the same posterior.
    own : iterable of Fact
        This grower's own rows.
    first : array of float, shape (pests, zones, 2), optional
        Aphids per plant at the start and the s.d. of their log; from the first walk, and wide, when not given.
    beliefs : dict, optional
        (pest, quantity) → what other houses or the last season have taught, in the place of the books' prior.
    cards : sequence of CardSeen
        Readings of sticky cards.

    Returns
    -------
    posterior : Posterior
    """
    if until_day < first_day:
        raise ValueError(f"until_day {until_day} lies before first_day {first_day}")
    heat = np.asarray(temperature, dtype=np.float64)
    if heat.ndim != 2 or heat.shape[1] not in (1, members):
        raise ValueError(f"temperature has shape {heat.shape}, must be (hours, 1) or (hours, {members})")
    known = sorted((w for w in walks if first_day <= w.day < until_day + 1), key=lambda w: w.day)
    check_walks(model, walks)
    read = [card for card in cards if first_day < card.day < until_day + 1]
    if any(not WHOLE_HOUSE <= card.zone < len(model.zones) for card in read):
        raise ValueError("a card hangs in a zone that the house has not")
    own_rows = tuple(own)
    books = draw_believing(facts, model, members, seed, own_rows)
    prior = draw_believing(facts, model, members, seed, own_rows, beliefs) if beliefs else books
    counts_from = absence_counts_from(model, facts, prior, heat, releases)
    accepting = {p: tuple(e for q, e in prior.substages.pairs if q == p) for p in range(len(model.pests))}
    known = [without_early_zeros(walk, counts_from, accepting) for walk in known]
    fact = facts.one(model.pests[0], "detection")
    low, high = fact.low, fact.high
    if low is None or high is None:
        raise ValueError("the detection needs a range")
    house = Ensemble(
        model=model,
        facts=facts,
        temperature=heat,
        releases=releases,
        sprays=sprays,
        seed=seed,
        own=own_rows,
        beliefs=beliefs,
        cards=read,
        log_catch=draw_catch(facts, members, seed),
        parameters=prior,
        state=np.zeros((0, members)),
        day=first_day,
        lineage=np.arange(members),
        shake=Shake(prior.values),
        memory=PlantMemory(),
        detection=beta_of_range(fact.value, low, high),
        ties=ties_of(model, prior),
        blocks=Blocks(model, prior.layout(model), ties_of(model, prior), prior.substages.pairs),
        segments=[],
        smallest=float(members),
        rescued=[],
        guess=np.zeros(0),
    )
    house.guess = (
        np.array(first)
        if first is not None
        else first_density(
            model,
            prior,
            heat,
            known,
            first_day=first_day,
            seen_share=house.detection[0] / sum(house.detection),
            seed=seed,
        )
    )
    house.state = start_members(model, prior, house.guess, seed, set_no=0)
    evidence: dict[int, tuple[list[Seen], list[CardSeen]]] = {}
    for walk in known:
        evidence.setdefault(_midnight(walk.day, first_day, until_day), ([], []))[0].append(walk)
    for card in read:
        evidence.setdefault(_midnight(card.day, first_day, until_day), ([], []))[1].append(card)
    for day, (of_walks, of_cards) in sorted(evidence.items()):
        weigh(house, Evidence(of_walks, of_cards), day)
    _, segment, house.state = go(house, house.parameters, house.state, until_day, set_no=0)
    house.segments.append(segment)
    return Posterior(
        model=model,
        parameters=house.parameters,
        state=house.state,
        day=until_day,
        seed=seed,
        learned=_learned(model, books, house.parameters),
        effective_size=house.smallest,
        rescued=tuple(house.rescued),
        past=joined(house.segments, first_day),
        walks=len(known),
        lineage=house.lineage,
        detection=house.detection,
    )


def _midnight(day: float, first_day: int, until_day: int) -> int:
    return int(np.clip(np.floor(day + 0.5), first_day, until_day))


def _learned(model: HouseModel, prior: Parameters, posterior: Parameters) -> dict[str, float]:
    found = {}
    for p, pest in enumerate(model.pests):
        for name in LEARNABLE:
            before = float(prior.get(f"log_{name}", pest=p).std())
            after = float(posterior.get(f"log_{name}", pest=p).std())
            found[f"{pest}.{name}"] = after / before if before > 0 else 1.0
    return found
