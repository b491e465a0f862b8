"""Refitting a house to its walks: a particle filter over state and parameters together.

Members start wide on the first day and run through the house's temperature, releases and sprays. At each walk they are
weighed by its likelihood and resampled, state and parameters together; parameters are then shaken a little, the
state is not. Where too few members agree with a walk, more are run from the walk before it; where still too few
do, the walk is taken in steps in which densities may move too, and that is announced.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.bands import Bands, bands_of, joined, side_by_side, taken
from outpace.estimation.likelihood import PlantMemory, line_log_likelihood, walk_log_likelihood
from outpace.estimation.members import Refresh, Shake, effective_size, systematic, tempering, weights_of
from outpace.estimation.mummy_dates import absence_counts_from, without_early_zeros
from outpace.estimation.no_finds import beta_of_range
from outpace.estimation.observations import Seen, WalkSeen
from outpace.estimation.rescue import moved
from outpace.estimation.standing import read_by_likelihood, standing_of, ties_of, traits_of
from outpace.estimation.starting import first_density, start_members
from outpace.facts.table import Fact, Facts
from outpace.simulation.model import HouseModel, Release, Spray
from outpace.simulation.parameters import Parameters, draw
from outpace.simulation.run import run

Array = NDArray[np.float64]
Index = NDArray[np.intp]

LEARNABLE = ("growth", "attack", "immigration", "clumping")
NOT_LEARNED = 0.7
"""Posterior over prior standard deviation above which a quantity is still the books'."""

ENOUGH = 0.25  # of the members: effective size below which more members are run
COLLAPSED = 0.05  # of the members: effective size below which the walk is taken in steps
MOST_SETS = 8  # sets of members run at most for one walk
SHAKE, HARD_SHAKE = 0.15, 0.35  # width of the shake after a resampling, and where few members were left
SMOOTHED_WALKS = 2  # walks by which the past before them is still corrected


@dataclass(frozen=True)
class Posterior:
    """What is held of a house after its walks.

    Attributes
    ----------
    parameters, state, day : the members, equally weighted, at the midnight that begins ``day``
    learned : dict
        ``"myzus_persicae.growth"`` → posterior over prior standard deviation; above `NOT_LEARNED` the quantity
        is still the books'.
    effective_size : float
        The smallest over the walks, of ``members``.
    rescued : tuple of str
        One sentence for each walk that lay far from what was held likely.
    past : Bands
        From the first day to ``day``.
    walks : int
        That were taken in.
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

    @property
    def members(self) -> int:
        return self.parameters.members

    @property
    def facts(self) -> tuple[Fact, ...]:
        return self.parameters.facts

    def learned_of(self, pest: str) -> dict[str, float]:
        """Return quantity → posterior over prior standard deviation, of one pest."""
        return {name: self.learned[f"{pest}.{name}"] for name in LEARNABLE}


@dataclass
class _Filter:
    """The members on their way through the days; one step a walk."""

    model: HouseModel
    facts: Facts
    temperature: Array
    releases: Sequence[Release]
    sprays: Sequence[Spray]
    seed: int
    own: tuple[Fact, ...]
    parameters: Parameters
    state: Array
    day: int
    lineage: Index
    shake: Shake
    memory: PlantMemory
    detection: tuple[float, float]
    ties: tuple[int | None, ...]
    segments: list[Bands]
    smallest: float
    rescued: list[str]
    guess: Array
    refresh: Refresh | None = None  # None: nothing weighed yet, and another set is another draw of the start

    @property
    def members(self) -> int:
        return self.parameters.members


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
    own_rows = tuple(own)
    prior = draw(facts, model, members, seed, own_rows)
    counts_from = absence_counts_from(model, facts, prior, heat, releases)
    accepting = {p: tuple(e for q, e in prior.substages.pairs if q == p) for p in range(len(model.pests))}
    known = [without_early_zeros(walk, counts_from, accepting) for walk in known]
    fact = facts.one(model.pests[0], "detection")
    low, high = fact.low, fact.high
    if low is None or high is None:
        raise ValueError("the detection needs a range")
    filter_ = _Filter(
        model=model,
        facts=facts,
        temperature=heat,
        releases=releases,
        sprays=sprays,
        seed=seed,
        own=own_rows,
        parameters=prior,
        state=np.zeros((0, members)),
        day=first_day,
        lineage=np.arange(members),
        shake=Shake(prior.values),
        memory=PlantMemory(),
        detection=beta_of_range(fact.value, low, high),
        ties=ties_of(model, prior),
        segments=[],
        smallest=float(members),
        rescued=[],
        guess=np.zeros(0),
    )
    filter_.guess = first_density(
        model,
        prior,
        heat,
        known,
        first_day=first_day,
        seen_share=filter_.detection[0] / sum(filter_.detection),
        seed=seed,
    )
    filter_.state = start_members(model, prior, filter_.guess, seed, set_no=0)
    for day in sorted({_midnight(w.day, first_day, until_day) for w in known}):
        _weigh(filter_, [w for w in known if _midnight(w.day, first_day, until_day) == day], day)
    _, segment, filter_.state = _go(filter_, filter_.parameters, filter_.state, until_day, set_no=0)
    filter_.segments.append(segment)
    return Posterior(
        model=model,
        parameters=filter_.parameters,
        state=filter_.state,
        day=until_day,
        seed=seed,
        learned=_learned(model, prior, filter_.parameters),
        effective_size=filter_.smallest,
        rescued=tuple(filter_.rescued),
        past=joined(filter_.segments, first_day),
        walks=len(known),
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


# --- from walk to walk ---------------------------------------------------------------------------------------


def _heat_of(filter_: _Filter, lineage: Index, until: int) -> Array:
    """Return the temperature in the order of the members, who may have changed places."""
    heat = filter_.temperature
    if heat.shape[1] == 1 or np.array_equal(lineage, np.arange(len(lineage))):
        return heat
    turned = np.empty((until * 24, heat.shape[1]))
    span = slice(filter_.day * 24, until * 24)
    turned[span] = heat[span][:, lineage]
    return turned


def _turned(release: Release, lineage: Index) -> Release:
    def turned(value: float | Array | None) -> float | Array | None:
        return value[lineage] if isinstance(value, np.ndarray) and value.ndim else value

    return replace(release, emergence=turned(release.emergence), share_female=turned(release.share_female))


def _go(
    filter_: _Filter, parameters: Parameters, state: Array, until: int, set_no: int
) -> tuple[Parameters, Bands, Array]:
    """Run members from where the filter stands to a midnight."""
    done = run(
        filter_.model,
        parameters,
        state,
        _heat_of(filter_, filter_.lineage, until),
        first_day=filter_.day,
        days=until - filter_.day,
        releases=[_turned(release, filter_.lineage) for release in filter_.releases],
        sprays=filter_.sprays,
        seed=filter_.seed + 104729 * set_no,
    )
    return parameters, bands_of(filter_.model, parameters, done, filter_.day), done.state


def _another_set(filter_: _Filter, set_no: int) -> tuple[Parameters, Array]:
    """Return members to run once more from where the filter stands, with other luck and parameters nearby."""
    if set_no == 0:
        return filter_.parameters, filter_.state
    if filter_.refresh is None:
        drawn = draw(
            filter_.facts, filter_.model, filter_.members, filter_.seed + 15485863 * set_no, filter_.own
        )
        return drawn, start_members(filter_.model, drawn, filter_.guess, filter_.seed, set_no)
    rng = np.random.default_rng([filter_.seed, 13, filter_.day, set_no])
    return replace(filter_.parameters, values=filter_.refresh(rng, SHAKE)), filter_.state


def _weigh(filter_: _Filter, seen: Sequence[Seen], day: int) -> None:
    """Take in the walks of one day."""
    members = filter_.members
    sets: list[tuple[Parameters, Bands, Array]] = []
    logs: list[Array] = []
    memories: list[PlantMemory] = []
    size = 0.0
    while len(sets) < MOST_SETS and size < ENOUGH * members:
        set_no = len(sets)
        sets.append(_go(filter_, *_another_set(filter_, set_no), day, set_no))
        found, memory = _log_likelihood(filter_, seen, sets[-1][0], sets[-1][1], day, set_no)
        logs.append(found)
        memories.append(memory)
        size = effective_size(weights_of(np.concatenate(logs)))
    filter_.smallest = min(filter_.smallest, size)
    rng = np.random.default_rng([filter_.seed, 17, day])
    everything = np.concatenate(logs)
    values = np.concatenate([each[0].values for each in sets], axis=1)
    state = np.concatenate([each[2] for each in sets], axis=1)
    sure = size >= COLLAPSED * members
    step = 1.0 if sure else tempering(everything, 1.0, COLLAPSED * members)
    chosen = systematic(weights_of(step * everything), members, rng.random())
    whole = side_by_side([each[1] for each in sets])
    filter_.refresh = Refresh(
        filter_.shake,
        values,
        traits_of(filter_.model, whole, state),
        read_by_likelihood(filter_.parameters),
        chosen,
    )
    segment = taken(whole, chosen)
    filter_.parameters = replace(filter_.parameters, values=np.ascontiguousarray(values[:, chosen]))
    filter_.state = np.ascontiguousarray(state[:, chosen])
    parents = np.asarray(chosen % members, dtype=np.intp)
    if sure:
        width = SHAKE if size >= ENOUGH * members else HARD_SHAKE
        filter_.parameters = replace(filter_.parameters, values=filter_.refresh(rng, width))
    else:
        stayed = _rescue(filter_, seen, segment, day, step, rng)
        parents, segment = parents[stayed], taken(segment, stayed)
        traits = traits_of(filter_.model, segment, filter_.state)
        everyone = np.arange(members)
        filter_.refresh = Refresh(
            filter_.shake, filter_.parameters.values, traits, read_by_likelihood(filter_.parameters), everyone
        )
    filter_.memory = memories[0]
    filter_.lineage = filter_.lineage[parents]
    late = len(filter_.segments) - SMOOTHED_WALKS
    filter_.segments = [
        taken(each, parents) if i >= late else each for i, each in enumerate(filter_.segments)
    ]
    filter_.segments.append(segment)
    filter_.day = day


def _log_likelihood(
    filter_: _Filter, seen: Sequence[Seen], parameters: Parameters, segment: Bands, day: int, set_no: int
) -> tuple[Array, PlantMemory]:
    rng = np.random.default_rng([filter_.seed, 19, day, set_no])
    memory = filter_.memory
    total = np.zeros(filter_.members)
    # Detection is not learned from single looks: drawn anew for each day of walking.
    detection = rng.beta(*filter_.detection, filter_.members)
    for walk in seen:
        standing = standing_of(filter_.model, parameters, segment, walk.unit, detection)
        if isinstance(walk, WalkSeen):
            found, memory = walk_log_likelihood(walk, standing, filter_.ties, memory)
        else:
            on_it = {e for p, e in parameters.substages.pairs if p == walk.pest}
            found = line_log_likelihood(walk, standing, tuple(sorted(on_it)))
        total += found
    return total, memory


def _rescue(
    filter_: _Filter,
    seen: Sequence[Seen],
    segment: Bands,
    day: int,
    done: float,
    rng: np.random.Generator,
) -> Index:
    """Take in the rest of a walk in steps, moving densities a little before each; return who stayed."""
    members = filter_.members
    parents = np.arange(members)
    here = replace(segment, aphids=segment.aphids[-1:], closed=segment.closed[-1:], empty=segment.empty[-1:])
    steps = 1
    while done < 1.0:
        filter_.state, here = moved(filter_.parameters, filter_.state, here, rng)
        found, _ = _log_likelihood(filter_, seen, filter_.parameters, here, day, 100 + steps)
        step = tempering(found, 1.0 - done, COLLAPSED * members)
        if steps >= 20:
            step = 1.0 - done
        chosen = systematic(weights_of(step * found), members, rng.random())
        filter_.parameters = replace(
            filter_.parameters, values=filter_.shake(filter_.parameters.values[:, chosen], rng, HARD_SHAKE)
        )
        filter_.state = np.ascontiguousarray(filter_.state[:, chosen])
        here = taken(here, chosen)
        parents = parents[chosen]
        done, steps = done + step, steps + 1
    filter_.rescued.append(
        f"the walk of day {day} lay far from what was held likely; it was taken in {steps} steps"
    )
    return parents
