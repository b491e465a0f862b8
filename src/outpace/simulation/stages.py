"""One step of the aphids: rates from warmth, then nymphs, adults, stung aphids, births."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from outpace.simulation.bout import AREA
from outpace.simulation.chains import (
    Array,
    chain_factors,
    compiled,
    development,
    exposed,
    outlive_heat,
    passages,
    responses_at,
    sweep,
    sweep_bearing,
)
from outpace.simulation.layout import (
    FLYING,
    N_SIZES,
    WINGED,
    WINGED_SHARE,
    WINGLESS,
    YOUNG_ADULTS,
    Rows,
)
from outpace.simulation.ledger import (
    ARRIVED,
    BORN,
    CROWDED,
    DIED_OLD,
    DIED_STUNG,
    DIED_YOUNG,
    EATEN,
    LEFT,
    MUMMIFIED,
    UNEXPLAINED,
)
from outpace.simulation.packs import (
    Pack,
    add,
    get,
    most,
    put,
    spread,
)
from outpace.simulation.predators import eat_stung
from outpace.simulation.responses import Shared, Tables
from outpace.simulation.room import Room
from outpace.simulation.run_constants import (
    CAME,
    DEATH_OF,
    FLYING_HALF,
    LEAVING,
    LIFE_RATE,
    MORTALITY_OF,
    WINGED_FACTOR,
    YOUNG_HALF,
)

AGEING_TABLE = 1
"""Of the tables of a pest."""
BIRTH_DEPTH = 5
"""Newborn reach so many substages within their step of birth; what would go further stays in the last."""


@compiled
def step_rates(rows: Rows, tables: Tables, first_hour: int, hours: int, dt: float, room: Room) -> None:
    """Write the rates of one step: each the mean over its hours."""
    pests, enemies = rows.pest.shape[0], rows.enemy.shape[0]
    for i in range(pests + enemies):
        rate = spread(0.0)
        for hour in range(first_hour, first_hour + hours):
            rate += development(room.lines, i, get(room.warmth, hour))
        rate = rate * (1.0 / hours)
        put(room.rate, i, rate)
        first, second, third, fourth = responses_at(tables.warm[i], room.place, first_hour, hours)
        if i < pests:
            add(room.heat, i, rate * dt)
            put(room.survive, i, most(1.0 - first * get(room.of_pest, i, MORTALITY_OF), spread(0.0)))
            put(room.ageing, i, second * get(room.of_pest, i, LIFE_RATE))
            put(room.fecundity, i, third * get(room.births_factor, i))
            put(room.cool, i, outlive_heat(fourth, dt))
        else:
            dying = get(room.of_enemy, i - pests, DEATH_OF)
            put(room.survive_stung, i - pests, most(1.0 - first * dying, spread(0.0)))
            put(room.survive_mummy, i - pests, most(1.0 - second * dying, spread(0.0)))
            put(room.cool, i, outlive_heat(third, dt))


@compiled
def take_removed(rows: Rows, p: int, zone: int, stage: int, size: int, found: Pack, room: Room) -> Pack:
    """Give the wasps what they stung of those that hazards found in a host stage; return what was lost otherwise."""
    for j in range(rows.pair.shape[0]):
        if rows.pair[j, 0] == p:
            add(room.to_stung, j, size, found * get(room.taken, zone, j, stage))
    if rows.predator.shape[0] > 0:
        add(room.pest_book, p, zone, EATEN, found * get(room.den.bitten, zone, p, stage))
    return found * get(room.spent, zone, p, stage)


@compiled
def step_nymphs(state: Array, rows: Rows, p: int, zone: int, room: Room) -> tuple[Pack, Pack]:
    """Step the instars; return those that moult to adults and those lost to other causes than wasps."""
    cool, survive, rate = get(room.cool, p), get(room.survive, p), get(room.rate, p)
    flow = spread(0.0)
    passed = spread(0.0)
    rest = spread(0.0)
    hot = spread(0.0)
    for stage in range(4):
        count = rows.pest_count[p, stage]
        half = room.of_instar[p, stage] * rate
        stay = get(room.stay, zone, p, stage) * cool
        factors = chain_factors(half, stay, survive)
        flow, stood, entered = sweep(state, rows.pest[p, zone, stage], count, factors, flow)
        passed += passages(half, stay, factors, stood, entered)
        found = exposed(half, stay, factors, stood, entered)
        hot += found * (1.0 - cool)
        rest += take_removed(rows, p, zone, stage, stage // 3, found * cool, room)
    add(room.pest_book, p, zone, DIED_YOUNG, hot + passed * (1.0 - survive))
    return flow, rest


@compiled
def step_adults(
    state: Array, rows: Rows, shared: Shared, p: int, zone: int, dt: float, room: Room, flow: Pack
) -> tuple[Pack, Pack]:
    """Step wingless and winged adults: moults in, births, flight, leaving, arrivals, death of age.

    Return births and those lost to other causes than wasps.
    """
    one = spread(1.0)
    ageing, fecundity = get(room.ageing, p), get(room.fecundity, p) * shared.births[zone, p]
    winged_flow = flow * get(state, rows.pest[p, zone, WINGED_SHARE])
    flow = flow - winged_flow
    stay = get(room.stay, zone, p, 4)
    half = get(room.rate, p) * get(room.of_pest, p, YOUNG_HALF)
    count = rows.pest_count[p, YOUNG_ADULTS]
    factors = chain_factors(half, stay, one)
    flow, stood, entered = sweep(state, rows.pest[p, zone, YOUNG_ADULTS], count, factors, flow)
    found = exposed(half, stay, factors, stood, entered)
    count = rows.pest_count[p, WINGLESS]
    half = 0.5 * dt * count * ageing
    factors = chain_factors(half, stay, one)
    old, stood, entered, borne = sweep_bearing(
        state, rows.pest[p, zone, WINGLESS], count, factors, shared.wingless_shape[p], flow
    )
    births = borne * fecundity
    found += exposed(half, stay, factors, stood, entered)
    rest = take_removed(rows, p, zone, 4, 2, found, room)

    stay = get(room.stay, zone, p, 5)
    half = get(room.of_pest, p, FLYING_HALF)
    factors = chain_factors(half, stay, one)
    winged_flow, stood, entered = sweep(state, rows.pest[p, zone, FLYING], 1, factors, winged_flow)
    found = exposed(half, stay, factors, stood, entered)
    left = winged_flow * get(room.of_pest, p, LEAVING)
    came = shared.zone[zone, AREA] * get(room.of_pest, p, CAME)
    count = rows.pest_count[p, WINGED]
    half = 0.5 * dt * count * ageing
    factors = chain_factors(half, stay, one)
    winged_old, stood, entered, borne = sweep_bearing(
        state,
        rows.pest[p, zone, WINGED],
        count,
        factors,
        shared.winged_shape[p],
        winged_flow + (came - left),
    )
    births += borne * fecundity * get(room.of_pest, p, WINGED_FACTOR)
    found += exposed(half, stay, factors, stood, entered)
    rest += take_removed(rows, p, zone, 5, 2, found, room)
    add(room.pest_book, p, zone, LEFT, left)
    add(room.pest_book, p, zone, ARRIVED, came)
    add(room.pest_book, p, zone, DIED_OLD, old + winged_old)
    return births, rest


@compiled
def step_stung(state: Array, rows: Rows, shared: Shared, j: int, zone: int, room: Room) -> tuple[Pack, Pack]:
    """Step the living stung aphids of one pair: a few late births, death with the wasp in them, mummies.

    Return births and those lost to other causes than wasps.
    """
    p, e = rows.pair[j, 0], rows.pair[j, 1]
    i = rows.pest.shape[0] + e
    count = rows.stung_count[j]
    bearing = max(1, count // 3)
    half = get(room.rate, i) * get(room.of_pair, j)
    survive, cool, still = get(room.survive_stung, e), get(room.cool, i), get(room.stay_stung, zone, p)
    stay = still * cool
    factors = chain_factors(half, stay, survive)
    births = spread(0.0)
    found = spread(0.0)
    passed = spread(0.0)
    mummies = spread(0.0)
    lost = spread(0.0)
    hunted = rows.predator.shape[0] > 0
    for size in range(N_SIZES):
        if hunted:
            stay = still * cool * get(room.den.spared, zone, p, size)
            factors = chain_factors(half, stay, survive)
        row = rows.stung[j, zone] + size * count
        flow, first, entered = sweep(state, row, bearing, factors, get(room.to_stung, j, size))
        bore = passages(half, stay, factors, first, entered)
        births += shared.stung_births[j, size] / bearing * bore
        flow, later, entered_later = sweep(state, row + bearing, count - bearing, factors, flow)
        passed += bore + passages(half, stay, factors, later, entered_later)
        here = exposed(half, stay, factors, first + later, entered + entered_later)
        if hunted:
            lost += eat_stung(p, zone, size, cool, here, room)
        else:
            found += here
        mummies += flow
    add(room.pest_book, p, zone, DIED_STUNG, passed * (1.0 - survive) + found * (1.0 - cool))
    add(room.pest_book, p, zone, MUMMIFIED, mummies)
    add(room.to_mummy, e, mummies)
    return births, lost + found * cool * (1.0 - still)


@compiled
def give_birth(state: Array, rows: Rows, p: int, zone: int, room: Room, births: Pack) -> Pack:
    """Put the newborn of a step into the first substages, as one more inflow of the same linear step.

    Hazards find them in the step's second half; return those lost to other causes than wasps.
    """
    half, survive, cool = room.of_instar[p, 0] * get(room.rate, p), get(room.survive, p), get(room.cool, p)
    stay = get(room.stay, zone, p, 0) * cool
    row = rows.pest[p, zone, 0]
    last = row + min(rows.pest_count[p, 0], BIRTH_DEPTH) - 1
    on = half / (1.0 + half)
    add(room.pest_book, p, zone, BORN, births)
    dead = spread(0.0)
    found = spread(0.0)
    for r in range(row, last):
        gone = births * on
        add(state, r, stay * (births - gone))
        found += births - gone
        births = gone * survive
        dead += gone - births
    add(state, last, stay * births)
    found += births
    add(room.pest_book, p, zone, DIED_YOUNG, dead + found * (1.0 - cool))
    for j in range(rows.pair.shape[0]):
        if rows.pair[j, 0] == p:
            put(room.to_stung, j, 0, spread(0.0))
    rest = take_removed(rows, p, zone, 0, 0, found * cool, room)
    for j in range(rows.pair.shape[0]):
        if rows.pair[j, 0] == p:
            add(state, rows.stung[j, zone], get(room.to_stung, j, 0))
    return rest


@compiled
def step_pest(
    state: Array,
    rows: Rows,
    shared: Shared,
    p: int,
    zone: int,
    dt: float,
    room: Room,
    stung_here: NDArray[np.bool_],
) -> None:
    """Step one pest of one zone."""
    pairs = rows.pair.shape[0]
    for j in range(pairs):
        if rows.pair[j, 0] == p:
            for size in range(N_SIZES):
                put(room.to_stung, j, size, spread(0.0))
    moulting, rest = step_nymphs(state, rows, p, zone, room)
    births, lost = step_adults(state, rows, shared, p, zone, dt, room, moulting)
    rest += lost
    for j in range(pairs):
        if rows.pair[j, 0] == p and stung_here[j, zone]:
            more, lost = step_stung(state, rows, shared, j, zone, room)
            births += more
            rest += lost
    rest += give_birth(state, rows, p, zone, room, births)
    by_crowding = rest * get(room.crowded, zone, p)
    add(room.pest_book, p, zone, CROWDED, by_crowding)
    add(room.pest_book, p, zone, UNEXPLAINED, rest - by_crowding)
