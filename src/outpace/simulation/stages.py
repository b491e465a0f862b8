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
    outlive_heat,
    passages,
    place_of,
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
    rows_at,
    spread,
    whole_part,
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
    """Write the rates of one step: development by the hour, the other responses at the step's mean warmth."""
    pests, enemies = rows.pest.shape[0], rows.enemy.shape[0]
    mean = spread(0.0)
    for hour in range(first_hour, first_hour + hours):
        mean += get(room.warmth, hour)
    place = place_of(mean * (1.0 / hours))
    part = place - whole_part(place)
    for i in range(pests + enemies):
        rate = spread(0.0)
        for hour in range(first_hour, first_hour + hours):
            rate += development(room.lines, i, get(room.warmth, hour))
        rate = rate * (1.0 / hours)
        put(room.rate, i, rate)
        at = rows_at(tables.warm[i], place)
        first, second, third, fourth = (
            at[0] + part * at[4], at[1] + part * at[5], at[2] + part * at[6], at[3] + part * at[7],
        )  # fmt: skip
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
def take_removed(rows: Rows, p: int, zone: int, stage: int, size: int, stood: Pack, room: Room) -> Pack:
    """Give the wasps what they stung of those that stood in a host stage; return what was lost otherwise."""
    for j in range(rows.pair.shape[0]):
        if rows.pair[j, 0] == p:
            add(room.to_stung, j, size, stood * get(room.taken, zone, j, stage))
    if rows.predator.shape[0] > 0:
        add(room.pest_book, p, zone, EATEN, stood * get(room.den.bitten, zone, p, stage))
    return stood * get(room.spent, zone, p, stage)


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
        passed += passages(half, factors[1], stay, stood, entered)
        hot += stood * (1.0 - cool)
        rest += take_removed(rows, p, zone, stage, stage // 3, stood * cool, room)
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
    ageing, fecundity = get(room.ageing, p), get(room.fecundity, p)
    winged_flow = flow * get(state, rows.pest[p, zone, WINGED_SHARE])
    flow = flow - winged_flow
    stay = get(room.stay, zone, p, 4)
    half = get(room.rate, p) * get(room.of_pest, p, YOUNG_HALF)
    count = rows.pest_count[p, YOUNG_ADULTS]
    flow, young, _ = sweep(
        state, rows.pest[p, zone, YOUNG_ADULTS], count, chain_factors(half, stay, one), flow
    )
    count = rows.pest_count[p, WINGLESS]
    factors = chain_factors(0.5 * dt * count * ageing, stay, one)
    old, stood, borne = sweep_bearing(
        state, rows.pest[p, zone, WINGLESS], count, factors, shared.wingless_shape[p], flow
    )
    births = borne * fecundity
    rest = take_removed(rows, p, zone, 4, 2, young + stood, room)

    stay = get(room.stay, zone, p, 5)
    factors = chain_factors(get(room.of_pest, p, FLYING_HALF), stay, one)
    winged_flow, flying, _ = sweep(state, rows.pest[p, zone, FLYING], 1, factors, winged_flow)
    left = winged_flow * get(room.of_pest, p, LEAVING)
    came = shared.zone[zone, AREA] * get(room.of_pest, p, CAME)
    count = rows.pest_count[p, WINGED]
    factors = chain_factors(0.5 * dt * count * ageing, stay, one)
    winged_old, stood, borne = sweep_bearing(
        state,
        rows.pest[p, zone, WINGED],
        count,
        factors,
        shared.winged_shape[p],
        winged_flow + (came - left),
    )
    births += borne * fecundity * get(room.of_pest, p, WINGED_FACTOR)
    rest += take_removed(rows, p, zone, 5, 2, flying + stood, room)
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
    stood = spread(0.0)
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
        bore = passages(half, factors[1], stay, first, entered)
        births += shared.stung_births[j, size] / bearing * bore
        flow, rest, entered = sweep(state, row + bearing, count - bearing, factors, flow)
        passed += bore + passages(half, factors[1], stay, rest, entered)
        if hunted:
            lost += eat_stung(p, zone, size, cool, first + rest, room)
        else:
            stood += first + rest
        mummies += flow
    add(room.pest_book, p, zone, DIED_STUNG, passed * (1.0 - survive) + stood * (1.0 - cool))
    add(room.pest_book, p, zone, MUMMIFIED, mummies)
    add(room.to_mummy, e, mummies)
    return births, lost + stood * cool * (1.0 - still)


@compiled
def give_birth(state: Array, rows: Rows, p: int, zone: int, room: Room, births: Pack) -> None:
    """Put the newborn of a step into the first substages, as one more inflow of the same linear step."""
    half = room.of_instar[p, 0] * get(room.rate, p)
    survive = get(room.survive, p)
    row = rows.pest[p, zone, 0]
    last = row + min(rows.pest_count[p, 0], BIRTH_DEPTH) - 1
    on = half / (1.0 + half)
    add(room.pest_book, p, zone, BORN, births)
    dead = spread(0.0)
    for r in range(row, last):
        gone = births * on
        add(state, r, births - gone)
        births = gone * survive
        dead += gone - births
    add(state, last, births)
    add(room.pest_book, p, zone, DIED_YOUNG, dead)


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
    give_birth(state, rows, p, zone, room, births)
    by_crowding = rest * get(room.crowded, zone, p)
    add(room.pest_book, p, zone, CROWDED, by_crowding)
    add(room.pest_book, p, zone, UNEXPLAINED, rest - by_crowding)
