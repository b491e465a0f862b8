"""Members on their way from walk to walk: run, weighed, resampled, refreshed.

Where too few members agree with a walk, more are run from the walk before it; where still too few do, the walk is
taken in steps in which densities may move too, and that is announced.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.bands import Bands, bands_of, last_midnight, side_by_side, with_last_midnight
from outpace.estimation.blocks import Blocks, Chosen, Key
from outpace.estimation.cards import CardSeen, cards_log_likelihood, landings
from outpace.estimation.judgements import judgements
from outpace.estimation.likelihood import Parts, PlantMemory, line_log_likelihood, walk_log_likelihood
from outpace.estimation.members import Refresh, Shake, tempering
from outpace.estimation.observations import Seen, WalkSeen
from outpace.estimation.pooling import Beliefs, draw_believing
from outpace.estimation.rescue import moved
from outpace.estimation.standing import read_by_likelihood, share_seen, standing_of, traits_of
from outpace.estimation.starting import start_members
from outpace.facts.table import Fact, Facts
from outpace.language import say
from outpace.simulation.model import HouseModel, Release, Spray
from outpace.simulation.parameters import Parameters
from outpace.simulation.run import run

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Deed = TypeVar("Deed", Release, Spray)

ENOUGH = 0.25  # of the members: effective size below which more members are run
COLLAPSED = 0.05  # of the members: effective size below which the walk is taken in steps
MOST_STEPS = 20  # in which a walk is taken in at most
MOST_SETS = 8  # sets of members run at most for one walk
DAYS_PER_WEEK = 7.0
SHAKE, HARD_SHAKE = 0.15, 0.35  # width of the shake after a resampling, and where few members were left


@dataclass(frozen=True)
class Evidence:
    """What was seen on one day."""

    walks: Sequence[Seen]
    cards: Sequence[CardSeen] = ()


@dataclass
class Ensemble:
    """The members on their way through the days; one step a walk."""

    model: HouseModel
    facts: Facts
    temperature: Array
    releases: Sequence[Release]
    sprays: Sequence[Spray]
    seed: int
    own: tuple[Fact, ...]
    beliefs: Beliefs | None
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
    cards: Sequence[CardSeen]
    log_catch: Array
    refresh: Refresh | None = None  # None: nothing weighed yet, and another set is another draw of the start

    @property
    def members(self) -> int:
        return self.parameters.members


def in_order(heat: Array, lineage: Index) -> Array:
    """Return the temperature in the order of the members, who may have changed places."""
    if heat.shape[1] == 1 or np.array_equal(lineage, np.arange(len(lineage))):
        return heat
    return heat[:, lineage]


def of_members(what: Deed, lineage: Index) -> Deed:
    """Return a release or a spray with what is drawn by member in the order of the members."""
    drawn = {
        field.name: getattr(what, field.name)[lineage]
        for field in fields(what)
        if isinstance(getattr(what, field.name), np.ndarray) and getattr(what, field.name).ndim
    }
    return replace(what, **drawn) if drawn else what


def go(
    house: Ensemble, parameters: Parameters, state: Array, until: int, set_no: int
) -> tuple[Parameters, Bands, Array]:
    """Run members from where the filter stands to a midnight."""
    done = run(
        house.model,
        parameters,
        state,
        _heat_until(house, until),
        first_day=house.day,
        days=until - house.day,
        releases=[of_members(release, house.lineage) for release in house.releases],
        sprays=[of_members(spray, house.lineage) for spray in house.sprays],
        seed=house.seed + 104729 * set_no,
    )
    return parameters, bands_of(house.model, parameters, done, house.day), done.state


def _heat_until(house: Ensemble, until: int) -> Array:
    """Return the temperature of the days to come until a midnight; what lies before is not read."""
    heat = house.temperature
    if heat.shape[1] == 1 or until == house.day:
        return heat
    turned = np.empty((until * 24, heat.shape[1]))
    span = slice(house.day * 24, until * 24)
    turned[span] = in_order(heat[span], house.lineage)
    return turned


def _another_set(house: Ensemble, set_no: int) -> tuple[Parameters, Array]:
    """Return members to run once more from where the filter stands, with other luck and parameters nearby."""
    if set_no == 0:
        return house.parameters, house.state
    if house.refresh is None:
        drawn = draw_believing(
            house.facts,
            house.model,
            house.members,
            house.seed + 15485863 * set_no,
            house.own,
            house.beliefs,
        )
        return drawn, start_members(house.model, drawn, house.guess, house.seed, set_no)
    rng = np.random.default_rng([house.seed, 13, house.day, set_no])
    return replace(house.parameters, values=house.refresh(rng, SHAKE)), house.state


def weigh(house: Ensemble, seen: Evidence, day: int) -> None:
    """Take in the walks and the card readings of one day."""
    members, blocks = house.members, house.blocks
    sets: list[tuple[Parameters, Bands, Array]] = []
    logs: list[dict[Key, Array]] = []
    memory = house.memory
    size = 0.0
    while len(sets) < MOST_SETS and size < ENOUGH * members:
        set_no = len(sets)
        sets.append(
            _moved_by_what_is_left_out(house, *go(house, *_another_set(house, set_no), day, set_no), set_no)
        )
        parts, told = _log_likelihood(house, seen, *sets[-1], day, set_no)
        memory = told if set_no == 0 else memory
        local = blocks.local(parts)
        logs.append({key: np.broadcast_to(log, (members,)) for key, log in local.items()})
        size = blocks.least_size(_whole(logs), members)
    house.smallest = min(house.smallest, size)
    rng = np.random.default_rng([house.seed, 17, day])
    before = side_by_side([each[1] for each in sets])
    state = np.concatenate([each[2] for each in sets], axis=1)
    left = dict.fromkeys(blocks.keys, 1.0)
    chosen = _take_step(house, _whole(logs), left, before, rng)
    _survive(house, before, state, chosen)
    segment = blocks.bands(before, chosen)
    chosen = chosen.parents(members)
    _follow(house, chosen)
    steps = 1
    while max(left.values()) > 0 and steps < MOST_STEPS:
        segment, steps = _another_step(house, seen, segment, left, day, steps, rng), steps + 1
    if steps > 1:
        house.rescued.append(
            say(
                "the walk of day {day} lay far from what was held likely; it was taken in {steps} steps",
                day=day,
                steps=steps,
            )
        )
    house.memory = memory
    house.segments.append(segment)
    width = SHAKE if size >= ENOUGH * members and steps == 1 else HARD_SHAKE
    if house.refresh is not None:
        house.parameters = replace(house.parameters, values=house.refresh(rng, width))
    if house.cards:
        house.log_catch = house.shake.shaken(house.log_catch[None], rng, width)[0]
    house.day = day


def _moved_by_what_is_left_out(
    house: Ensemble, parameters: Parameters, bands: Bands, state: Array, set_no: int
) -> tuple[Parameters, Bands, Array]:
    """Move densities by what no equation has, as a random walk would in the days since the filter stood."""
    if bands.days == 0:
        return parameters, bands, state
    rng = np.random.default_rng([house.seed, 29, house.day + bands.days, set_no])
    sd = judgements().left_out_sd * np.sqrt(bands.days / DAYS_PER_WEEK)
    state, last = moved(parameters, state, last_midnight(bands), rng, sd)
    return parameters, with_last_midnight(bands, last), state


def _whole(logs: Sequence[dict[Key, Array]]) -> dict[Key, Array]:
    """Return the log likelihoods of sets of members as those of one."""
    return {key: np.concatenate([each[key] for each in logs]) for key in logs[0]}


def _take_step(
    house: Ensemble, local: dict[Key, Array], left: dict[Key, float], here: Bands, rng: np.random.Generator
) -> Chosen:
    """Choose the survivors, by all that is left of the walk where enough members agree with it, else by a part."""
    least = COLLAPSED * house.members
    steps = {key: tempering(log, left[key], least) if left[key] > 0 else 0.0 for key, log in local.items()}
    for key in left:
        left[key] = max(0.0, left[key] - steps[key])
    return house.blocks.choose(local, steps, here, house.members, rng)


def _survive(house: Ensemble, before: Bands, state: Array, chosen: Chosen) -> None:
    """Put the survivors in the place of the members."""
    blocks, model = house.blocks, house.model
    values = before.parameters.values
    house.state = blocks.state(state, chosen)
    after_values = blocks.values(values, before.parameters.names, chosen)
    house.parameters = replace(house.parameters, values=after_values)
    after = replace(blocks.bands(before, chosen), parameters=house.parameters)
    house.refresh = Refresh(
        house.shake,
        values,
        traits_of(model, before, state),
        read_by_likelihood(house.parameters, bool(house.cards)),
        after_values=after_values,
        after_traits=traits_of(model, after, house.state),
        own=chosen.whole,
    )


def _follow(house: Ensemble, chosen: Chosen) -> None:
    """Let the temperatures and the catch of cards go with the survivors.

    The days before the walk before are left as they were: later walks would leave too few different pasts of them.
    """
    house.lineage = house.lineage[chosen.whole]
    house.log_catch = house.log_catch[chosen.whole]


def _another_step(
    house: Ensemble,
    seen: Evidence,
    segment: Bands,
    left: dict[Key, float],
    day: int,
    steps: int,
    rng: np.random.Generator,
) -> Bands:
    """Take in more of a walk, moving densities a little before; return the survivors' days."""
    if house.refresh is not None:
        house.parameters = replace(house.parameters, values=house.refresh(rng, SHAKE))
    house.state, here = moved(house.parameters, house.state, last_midnight(segment), rng)
    here = replace(here, parameters=house.parameters)
    parts, _ = _log_likelihood(house, seen, house.parameters, here, house.state, day, 100 + steps)
    if steps == MOST_STEPS - 1:
        parts = {key: np.zeros_like(log) for key, log in parts.items()}
    local = house.blocks.local(parts)
    everyone = {key: np.broadcast_to(log, (house.members,)) for key, log in local.items()}
    chosen = _take_step(house, everyone, left, here, rng)
    _survive(house, here, house.state, chosen)
    _follow(house, chosen)
    return house.blocks.bands(segment, chosen)


def _log_likelihood(
    house: Ensemble,
    seen: Evidence,
    parameters: Parameters,
    segment: Bands,
    state: Array,
    day: int,
    set_no: int,
) -> tuple[Parts, PlantMemory]:
    rng = np.random.default_rng([house.seed, 19, day, set_no])
    memory = house.memory
    parts: Parts = {}
    # What a scout sees is not learned from single looks: drawn anew for each day of walking.
    detection = share_seen(house.detection, house.members, rng)
    if seen.cards:
        caught = cards_log_likelihood(
            house.facts, seen.cards, landings(house.model, parameters, state), house.log_catch
        )
        parts.update(caught)
    for walk in seen.walks:
        standing = standing_of(house.model, parameters, segment, walk.unit, detection)
        if isinstance(walk, WalkSeen):
            found, memory = walk_log_likelihood(walk, standing, house.ties, memory)
        else:
            on_it = {e for p, e in parameters.substages.pairs if p == walk.pest}
            line = line_log_likelihood(walk, standing, tuple(sorted(on_it)))
            found = {(walk.pest, walk.zone): line}
        for key, log in found.items():
            parts[key] = parts[key] + log if key in parts else log
    return parts, memory
