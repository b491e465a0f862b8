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

from outpace.estimation.bands import Bands, bands_of, joined, last_midnight, side_by_side
from outpace.estimation.blocks import Blocks, Chosen, Key
from outpace.estimation.likelihood import Parts, PlantMemory, line_log_likelihood, walk_log_likelihood
from outpace.estimation.members import Refresh, Shake, tempering
from outpace.estimation.mummy_dates import absence_counts_from, without_early_zeros
from outpace.estimation.no_finds import beta_of_range
from outpace.estimation.observations import Seen, WalkSeen, check_walks
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
MOST_STEPS = 20  # in which a walk is taken in at most
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
    blocks: Blocks
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
    check_walks(model, walks)
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
        blocks=Blocks(model, prior.layout(model), ties_of(model, prior), prior.substages.pairs),
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
    members, blocks = filter_.members, filter_.blocks
    sets: list[tuple[Parameters, Bands, Array]] = []
    logs: list[dict[Key, Array]] = []
    memory = filter_.memory
    size = 0.0
    while len(sets) < MOST_SETS and size < ENOUGH * members:
        set_no = len(sets)
        sets.append(_go(filter_, *_another_set(filter_, set_no), day, set_no))
        parts, told = _log_likelihood(filter_, seen, sets[-1][0], sets[-1][1], day, set_no)
        memory = told if set_no == 0 else memory
        local = blocks.local(parts)
        logs.append({key: np.broadcast_to(log, (members,)) for key, log in local.items()})
        size = blocks.least_size(_whole(logs), members)
    filter_.smallest = min(filter_.smallest, size)
    rng = np.random.default_rng([filter_.seed, 17, day])
    before = side_by_side([each[1] for each in sets])
    state = np.concatenate([each[2] for each in sets], axis=1)
    left = dict.fromkeys(blocks.keys, 1.0)
    chosen = _take_step(filter_, _whole(logs), left, before, rng)
    _survive(filter_, before, state, chosen)
    segment = blocks.bands(before, chosen)
    chosen = chosen.parents(members)
    _follow(filter_, chosen)
    steps = 1
    while max(left.values()) > 0 and steps < MOST_STEPS:
        segment, steps = _another_step(filter_, seen, segment, left, day, steps, rng), steps + 1
    if steps > 1:
        filter_.rescued.append(
            f"the walk of day {day} lay far from what was held likely; it was taken in {steps} steps"
        )
    filter_.memory = memory
    filter_.segments.append(segment)
    width = SHAKE if size >= ENOUGH * members and steps == 1 else HARD_SHAKE
    if filter_.refresh is not None:
        filter_.parameters = replace(filter_.parameters, values=filter_.refresh(rng, width))
    filter_.day = day


def _whole(logs: Sequence[dict[Key, Array]]) -> dict[Key, Array]:
    """Return the log likelihoods of sets of members as those of one."""
    return {key: np.concatenate([each[key] for each in logs]) for key in logs[0]}


def _take_step(
    filter_: _Filter, local: dict[Key, Array], left: dict[Key, float], here: Bands, rng: np.random.Generator
) -> Chosen:
    """Choose the survivors, by all that is left of the walk where enough members agree with it, else by a part."""
    least = COLLAPSED * filter_.members
    steps = {key: tempering(log, left[key], least) if left[key] > 0 else 0.0 for key, log in local.items()}
    for key in left:
        left[key] = max(0.0, left[key] - steps[key])
    return filter_.blocks.choose(local, steps, here, filter_.members, rng)


def _survive(filter_: _Filter, before: Bands, state: Array, chosen: Chosen) -> None:
    """Put the survivors in the place of the members."""
    blocks, model = filter_.blocks, filter_.model
    values = before.parameters.values
    filter_.state = blocks.state(state, chosen)
    after_values = blocks.values(values, before.parameters.names, chosen)
    filter_.parameters = replace(filter_.parameters, values=after_values)
    after = replace(blocks.bands(before, chosen), parameters=filter_.parameters)
    filter_.refresh = Refresh(
        filter_.shake,
        values,
        traits_of(model, before, state),
        read_by_likelihood(filter_.parameters),
        after_values=after_values,
        after_traits=traits_of(model, after, filter_.state),
        own=chosen.whole,
    )


def _follow(filter_: _Filter, chosen: Chosen) -> None:
    """Let the recent past and the temperatures go with the survivors."""
    filter_.lineage = filter_.lineage[chosen.whole]
    late = len(filter_.segments) - SMOOTHED_WALKS
    filter_.segments = [
        filter_.blocks.bands(each, chosen) if i >= late else each for i, each in enumerate(filter_.segments)
    ]


def _another_step(
    filter_: _Filter,
    seen: Sequence[Seen],
    segment: Bands,
    left: dict[Key, float],
    day: int,
    steps: int,
    rng: np.random.Generator,
) -> Bands:
    """Take in more of a walk, moving densities a little before; return the survivors' days."""
    filter_.state, here = moved(filter_.parameters, filter_.state, last_midnight(segment), rng)
    here = replace(here, parameters=filter_.parameters)
    parts, _ = _log_likelihood(filter_, seen, filter_.parameters, here, day, 100 + steps)
    if steps == MOST_STEPS - 1:
        parts = {key: np.zeros_like(log) for key, log in parts.items()}
    local = filter_.blocks.local(parts)
    everyone = {key: np.broadcast_to(log, (filter_.members,)) for key, log in local.items()}
    chosen = _take_step(filter_, everyone, left, here, rng)
    _survive(filter_, here, filter_.state, chosen)
    _follow(filter_, chosen)
    return filter_.blocks.bands(segment, chosen)


def _log_likelihood(
    filter_: _Filter, seen: Sequence[Seen], parameters: Parameters, segment: Bands, day: int, set_no: int
) -> tuple[Parts, PlantMemory]:
    rng = np.random.default_rng([filter_.seed, 19, day, set_no])
    memory = filter_.memory
    parts: Parts = {}
    # Detection is not learned from single looks: drawn anew for each day of walking.
    detection = rng.beta(*filter_.detection, filter_.members)
    for walk in seen:
        standing = standing_of(filter_.model, parameters, segment, walk.unit, detection)
        if isinstance(walk, WalkSeen):
            found, memory = walk_log_likelihood(walk, standing, filter_.ties, memory)
        else:
            on_it = {e for p, e in parameters.substages.pairs if p == walk.pest}
            line = line_log_likelihood(walk, standing, tuple(sorted(on_it)))
            found = {(walk.pest, walk.zone): line}
        for key, log in found.items():
            parts[key] = parts[key] + log if key in parts else log
    return parts, memory
