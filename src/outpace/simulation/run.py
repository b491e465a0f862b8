"""Running a house: start it, let it go for some days, read what stands there.

::

    parameters = draw(facts, model, members=1024, seed=1)
    state = start(model, parameters, per_plant=0.5, seed=1)
    run_ = run(model, parameters, state, temperature, first_day=0, days=42, releases=[...], sprays=[...], seed=1)
    run_.aphids          # (days + 1, pests, zones, members); index d = the midnight that begins first_day + d
    run_.winged, run_.nymphs, run_.stung                        # the same shape
    run_.mummies_closed, run_.mummies_empty, run_.females       # (days + 1, enemies, zones, members)
    run_.predators["larvae"]                                    # (days + 1, predators, zones, members)
    run_.ragged                                                 # (days + 1, enemies, zones, members): of the empty ones
    run_.hyperparasitoids                                       # (days + 1, hyperparasitoids, zones, members): females
    run_.state                                                  # (n_state, members), to go on from
    run_.pest_ledger["born"]                                    # (pests, zones, members), sums over the run
    run_.enemy_ledger["emerged"]                                # (enemies, zones, members)
    run_.predator_ledger["laid"]                                # (predators, zones, members)
    run_.hyper_ledger["emerged"]                                # (hyperparasitoids, zones, members)

Numbers are absolute per zone: divide by the zone's plants and leaves. ``temperature`` has shape (hours, members)
or (hours, 1); its hour 0 is the local midnight of day 0, whatever ``first_day`` is. The same seed gives the same luck
on the same day, so two plans on the same members differ only by the plans.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from outpace.simulation import kernel, life_cycle, stages
from outpace.simulation import parameter_rows as rows
from outpace.simulation.draws import luck_of_day, luck_of_days
from outpace.simulation.events import daylight_of, events_of
from outpace.simulation.layout import Layout
from outpace.simulation.ledger import ENEMY_CAUSES, HYPER_CAUSES, PEST_CAUSES, PREDATOR_CAUSES
from outpace.simulation.midnight import OUT_ENEMY, OUT_PEST
from outpace.simulation.model import HouseModel, Release, Spray
from outpace.simulation.packs import WIDTH
from outpace.simulation.parameters import Parameters
from outpace.simulation.predators import OUT_PREDATOR
from outpace.simulation.responses import Shared, tables_of

Array = NDArray[np.float64]

BLOCK = 128
STEPS_PER_DAY = (8, 12, 24, 48, 96)
"""The first of these that is fine enough is used: at 8 the rate of increase is right to 0.03 %, as at 24."""
SMALL_NUMBERS = 16.0
"""Switch count of forecasts and plans: of so few newborn at least one founds a colony, all but surely."""
MOST_SMALL = 512.0
START_TEMPERATURE = 20.0
"""Temperature of the age structure a house starts with. [°C]"""
PREDATOR_KINDS = ("eggs", "larvae", "pupae", "adults")
MOST_PER_STEP = 2.0
"""A substage must not be left faster than this per step, or numbers would swing below zero."""


@dataclass(frozen=True)
class Run:
    """What stood in the house at each midnight, and the sums by cause; see the head of this module."""

    aphids: Array
    winged: Array
    nymphs: Array
    stung: Array
    mummies_closed: Array
    mummies_empty: Array
    females: Array
    state: Array
    pest_ledger: dict[str, Array]
    enemy_ledger: dict[str, Array]
    predators: dict[str, Array]
    predator_ledger: dict[str, Array]
    ragged: Array
    hyperparasitoids: Array
    hyper_ledger: dict[str, Array]


def start(
    model: HouseModel,
    parameters: Parameters,
    per_plant: ArrayLike,
    seed: int,
    *,
    temperature: float = START_TEMPERATURE,
) -> Array:
    """Return the state of a house with aphids in a stable age structure and no enemies yet.

    Parameters
    ----------
    per_plant : array of float, broadcast to shape (pests, zones, members)
        Live aphids per plant.
    seed : int
        Of the swings of growth and attack that this house starts in.
    temperature : float
        The age structure is that of steady growth at this temperature. [°C]

    Returns
    -------
    state : array of float, shape (n_state, members)
    """
    layout = parameters.layout(model)
    pests, zones, members = len(model.pests), len(model.zones), parameters.members
    numbers = np.broadcast_to(np.asarray(per_plant, dtype=float), (pests, zones, members))
    if not np.isfinite(numbers).all() or (numbers < 0).any():
        raise ValueError("aphids per plant must be finite and not below 0")
    state = np.zeros((layout.n_state, members))
    luck = luck_of_day(seed, -1, pests, members)
    for p in range(pests):
        values = parameters.values[p * rows.N_PEST : (p + 1) * rows.N_PEST]
        growth = life_cycle.SteadyGrowth(
            np.median(values, axis=1, keepdims=True),
            parameters.shared,
            p,
            layout.rows.pest_count[p],
            temperature,
        )
        for z, zone in enumerate(model.zones):
            life_cycle.stable_rows(layout, growth, p, z, numbers[p, z] * zone.plants, state)
        state[layout.rows.luck[p]] = luck[2 * p] * values[rows.GROWTH_SWING]
        state[layout.rows.luck[p] + 1] = luck[2 * p + 1] * values[rows.ATTACK_SWING]
    return state


def run(
    model: HouseModel,
    parameters: Parameters,
    state: Array,
    temperature: ArrayLike,
    *,
    first_day: int,
    days: int,
    releases: Sequence[Release] = (),
    sprays: Sequence[Spray] = (),
    seed: int = 0,
    noise: bool = True,
    steps_per_day: int | None = None,
    small_numbers: float = 0.0,
    threads: int = 2,
    block: int = BLOCK,
) -> Run:
    """Return what happens in a house over some days.

    Parameters
    ----------
    state : array of float, shape (n_state, members)
        At the midnight that begins ``first_day``; not changed.
    temperature : array of float, shape (hours, members) or (hours, 1)
        From the midnight of day 0. [°C]
    releases, sprays : sequences
        Those outside these days are passed over.
    seed : int
        Of the swings of growth and attack, by day.
    noise : bool, default True
        Without, the swings that stand in ``state`` fade and no new ones come.
    steps_per_day : int, optional
        Divides 24, or is a multiple of it; 8, or finer where a member is quick, when not given.
    small_numbers : float, default 0
        The switch count: what is fewer than this in a zone lives by whole individuals and by their luck; 0 keeps all
        numbers continuous, expectations that never die out.
    threads, block : int
        Of no effect on the numbers.

    Raises
    ------
    ValueError
        If shapes do not fit, temperature is missing or not finite, or the steps are too coarse.
    """
    if not 0 <= small_numbers <= MOST_SMALL:
        raise ValueError(f"small_numbers {small_numbers} must be from 0 to {MOST_SMALL}")
    layout = parameters.layout(model)
    members = parameters.members
    heat = np.ascontiguousarray(temperature, dtype=np.float64)
    _check(layout, members, state, heat, first_day, days)
    steps = choose_steps(parameters, layout, steps_per_day)
    pests, zones, enemies = len(model.pests), len(model.zones), len(model.enemies)
    events, amounts = events_of(model, parameters, releases, sprays, first_day, days, steps)
    draws = (
        luck_of_days(seed, first_day, days, pests, members)
        if noise and days
        else np.zeros((days, 2 * pests, 1))
    )
    heat, draws, amounts, values = (
        to_whole_packs(array, members) for array in (heat, draws, amounts, parameters.values)
    )
    after = np.array(to_whole_packs(state, members), order="C")
    columns = after.shape[1]
    hunters = len(model.predators)
    hypers = len(model.hyperparasitoids)
    ragged = enemies if hypers else 0
    lines = OUT_PEST * pests + OUT_ENEMY * enemies + OUT_PREDATOR * hunters + ragged + hypers
    out = np.empty((days + 1, lines * zones, columns))
    causes = pests * len(PEST_CAUSES) + enemies * len(ENEMY_CAUSES) + hunters * len(PREDATOR_CAUSES)
    causes += hypers * len(HYPER_CAUSES)
    ledger = np.empty((causes * zones, columns))
    _advance_all(
        threads,
        columns,
        max(1, block // WIDTH) * WIDTH,
        (
            after, values, heat, draws, daylight_of(model, first_day, days), events, amounts, layout.rows,
            parameters.shared, model.ground(first_day, days), tables_of(parameters.shared), out, ledger,
        ),
        (first_day * 24, days, steps, float(small_numbers), np.uint64(seed % 2**64)),
    )  # fmt: skip
    after, out, ledger = np.ascontiguousarray(after[:, :members]), out[..., :members], ledger[:, :members]
    of_pests = out[:, : OUT_PEST * pests * zones].reshape(days + 1, OUT_PEST, pests, zones, members)
    end = (OUT_PEST * pests + OUT_ENEMY * enemies) * zones
    of_enemies = out[:, OUT_PEST * pests * zones : end].reshape(days + 1, OUT_ENEMY, enemies, zones, members)
    start_, end = end, end + OUT_PREDATOR * hunters * zones
    of_predators = out[:, start_:end].reshape(days + 1, OUT_PREDATOR, hunters, zones, members)
    of_shells = out[:, end : end + ragged * zones].reshape(days + 1, ragged, zones, members)
    of_hypers = out[:, end + ragged * zones :].reshape(days + 1, hypers, zones, members)
    split = pests * zones * len(PEST_CAUSES)
    pest_book = ledger[:split].reshape(pests, zones, len(PEST_CAUSES), members)
    end = split + enemies * zones * len(ENEMY_CAUSES)
    enemy_book = ledger[split:end].reshape(enemies, zones, len(ENEMY_CAUSES), members)
    start_, end = end, end + hunters * zones * len(PREDATOR_CAUSES)
    predator_book = ledger[start_:end].reshape(hunters, zones, len(PREDATOR_CAUSES), members)
    hyper_book = ledger[end:].reshape(hypers, zones, len(HYPER_CAUSES), members)
    return Run(
        aphids=of_pests[:, 0],
        winged=of_pests[:, 1],
        nymphs=of_pests[:, 2],
        stung=of_pests[:, 3],
        mummies_closed=of_enemies[:, 0],
        mummies_empty=of_enemies[:, 1],
        females=of_enemies[:, 2],
        state=after,
        pest_ledger={cause: pest_book[:, :, i] for i, cause in enumerate(PEST_CAUSES)},
        enemy_ledger={cause: enemy_book[:, :, i] for i, cause in enumerate(ENEMY_CAUSES)},
        predators={kind: of_predators[:, i] for i, kind in enumerate(PREDATOR_KINDS)},
        predator_ledger={cause: predator_book[:, :, i] for i, cause in enumerate(PREDATOR_CAUSES)},
        ragged=of_shells if hypers else np.zeros((days + 1, enemies, zones, members)),
        hyperparasitoids=of_hypers,
        hyper_ledger={cause: hyper_book[:, :, i] for i, cause in enumerate(HYPER_CAUSES)},
    )


def to_whole_packs(array: ArrayLike, members: int) -> Array:
    """Return an array whose last axis is the member, with the last one repeated up to whole packs."""
    found = np.ascontiguousarray(array, dtype=np.float64)
    more = -members % WIDTH
    if found.shape[-1] != members or not more:
        return found
    return np.concatenate([found, np.repeat(found[..., -1:], more, axis=-1)], axis=-1)


def ready() -> None:
    """Compile the loop, or load it from the disk; the first call on a machine takes some seconds."""
    _advance()


COMPILED = (
    "kernel", "stages", "mummies", "midnight", "bout", "room", "chains", "inner_functions",
    "packs", "pack_functions", "run_constants",
    "parameter_rows", "layout", "ledger", "responses", "den", "hunt", "predators", "predator_rows",
    "brood", "hyperparasitoids", "hyper_rows",
    "counter_luck", "ground", "few", "whole_counts", "whole_days", "whole_lives",
)  # fmt: skip
"""The files the compiled loop is made of."""


@lru_cache(maxsize=1)
def _advance() -> Any:
    digest = hashlib.sha256()
    for name in COMPILED:
        digest.update((Path(__file__).parent / f"{name}.py").read_bytes())
    return kernel.compile_advance(int.from_bytes(digest.digest()[:6], "big"))


_pools: dict[int, ThreadPoolExecutor] = {}
_pools_lock = threading.Lock()


def _pool(threads: int) -> ThreadPoolExecutor:
    with _pools_lock:
        if threads not in _pools:
            _pools[threads] = ThreadPoolExecutor(max_workers=threads, thread_name_prefix="kernel")
        return _pools[threads]


def _advance_all(
    threads: int, members: int, block: int, arrays: tuple[Any, ...], span: tuple[Any, ...]
) -> None:
    advance: Any = _advance()
    starts = range(0, members, block)
    threads = min(threads, len(starts))
    if threads <= 1:
        advance(*_with_own_ground(arrays), 0, members, *span)
        return
    waiting = iter(starts)  # whoever is free takes the next: `next` of a range is one undivided action

    def work() -> None:
        own = _with_own_ground(arrays)
        for lo in waiting:
            advance(*own, lo, min(lo + block, members), *span)

    for job in [_pool(threads).submit(work) for _ in range(threads)]:
        job.result()


def _with_own_ground(arrays: tuple[Any, ...]) -> tuple[Any, ...]:
    """Return the arrays with zones that one thread may write to, day by day."""
    return tuple(
        array._replace(zone=array.zone.copy()) if isinstance(array, Shared) else array for array in arrays
    )


def _check(layout: Layout, members: int, state: Array, heat: Array, first_day: int, days: int) -> None:
    if state.shape != (layout.n_state, members):
        raise ValueError(f"state has shape {state.shape}, must be {(layout.n_state, members)}")
    if days < 0 or first_day < 0:
        raise ValueError(f"first_day {first_day} and days {days} must not be below 0")
    if heat.ndim != 2 or heat.shape[1] not in (1, members):
        raise ValueError(f"temperature has shape {heat.shape}, must be (hours, 1) or (hours, {members})")
    if heat.shape[0] < (first_day + days) * 24:
        raise ValueError(
            f"temperature covers {heat.shape[0]} h, {(first_day + days) * 24} h from day 0 are needed"
        )
    if not np.isfinite(heat[first_day * 24 : (first_day + days) * 24]).all():
        raise ValueError("temperature has gaps: fill them first")


def choose_steps(parameters: Parameters, layout: Layout, asked: int | None = None) -> int:
    """Return the steps per day: as asked, else the first of the usual ones that is fine enough.

    Raises
    ------
    ValueError
        If the steps asked for do not fit a day, or more would leave a substage in a step than stands there.
    """
    if asked is not None and (asked < 1 or (24 % asked and asked % 24)):
        raise ValueError(f"steps_per_day {asked} must divide 24 or be a multiple of it")
    fastest = _fastest_passage(parameters, layout)
    for steps in STEPS_PER_DAY if asked is None else (asked,):
        if fastest < MOST_PER_STEP * steps:
            return steps
    raise ValueError(
        f"steps_per_day {asked or STEPS_PER_DAY[-1]} is too coarse here: at least {int(fastest / MOST_PER_STEP) + 1}"
    )


def _fastest_passage(parameters: Parameters, layout: Layout) -> float:
    """Return the highest rate at which any member can leave any substage. [d⁻¹]"""
    fastest = 0.0
    pests = len(parameters.substages.pests)
    shared = parameters.shared
    for p in range(pests):
        rate = _fastest_rate(parameters, pest=p)
        counts = layout.rows.pest_count[p]
        young = parameters.get("pre_reproductive", pest=p)
        ageing = shared.pest_tables[p, stages.AGEING_TABLE].max() / parameters.get("life", pest=p)
        fastest = max(
            fastest,
            float(np.max(rate * np.max(counts[:4] / shared.instar_share[p]))),
            float(np.max(rate * counts[4] / young)),
            float(np.max(ageing * counts[5])),
            float(np.max(1.0 / parameters.get("winged_flight", pest=p))),
        )
    for d, predator in enumerate(parameters.substages.predators):
        agent = len(parameters.substages.enemies) + d
        rate = _fastest_rate(parameters, enemy=agent)
        heat = parameters.get("thermal_constant", enemy=agent) / parameters.get("carrier_heat", enemy=agent)
        of_heat = np.max(np.array(predator[:5]) / shared.hunters.stage_share[d])
        fastest = max(fastest, float(np.max(rate * of_heat)), float(np.max(rate * predator[6] * heat)))
    for h, rows_of_young in enumerate(parameters.substages.hypers):
        agent = len(parameters.substages.enemies) + len(parameters.substages.predators) + h
        fastest = max(fastest, float(np.max(_fastest_rate(parameters, enemy=agent) * rows_of_young)))
    for j, (_, e) in enumerate(parameters.substages.pairs):
        rate = _fastest_rate(parameters, enemy=e)
        share = parameters.get("mummy_share", enemy=e)
        _, stung, mummies, carrier = parameters.substages.enemies[e]
        heat = parameters.get("thermal_constant", enemy=e) / parameters.get("carrier_heat", enemy=e)
        fastest = max(
            fastest,
            float(np.max(rate * stung / share / parameters.get("slowness", pair=j))),
            float(np.max(rate * mummies / (1.0 - share))),
            float(np.max(rate * carrier * heat)),
        )
    return fastest


def _fastest_rate(parameters: Parameters, *, pest: int | None = None, enemy: int | None = None) -> Array:
    at = {"pest": pest, "enemy": enemy}
    return (
        parameters.get("optimum_temperature", **at) - parameters.get("lower_threshold", **at)
    ) / parameters.get("thermal_constant", **at)
