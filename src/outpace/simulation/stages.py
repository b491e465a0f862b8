"""One step of the aphids: rates from warmth, then nymphs, adults, stung aphids, births."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from outpace.simulation.bout import AREA
from outpace.simulation.chains import (
    Array,
    Cells,
    add_development,
    add_response,
    compiled,
    fill,
    place_on_grid,
    split_step,
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
    LEFT,
    MUMMIFIED,
    UNEXPLAINED,
)
from outpace.simulation.parameter_rows import (
    IMMATURE_DEATH,
    IMMIGRATION,
    LIFE,
    LOG_IMMIGRATION,
    MORTALITY,
    MUMMY_SHARE,
    N_ENEMY,
    N_PAIR,
    N_PEST,
    PRE_REPRODUCTIVE,
    SLOWNESS,
    WINGED_BIRTHS,
    WINGED_FLIGHT,
    WINGED_LEAVING,
)
from outpace.simulation.responses import Shared
from outpace.simulation.room import Room

MORTALITY_TABLE, AGEING_TABLE, FECUNDITY_TABLE, HEAT_TABLE = range(4)
STUNG_TABLE, MUMMY_TABLE = range(2)
ENEMY_HEAT_TABLE = 4
BIRTH_DEPTH = 5
"""Newborn reach so many substages within their step of birth; what would go further stays in the last."""
# Rows of the room's lanes.
(
    HALF,
    HALF_FIRST,
    KEEP,
    NEW,
    OLD_OUT,
    NEW_OUT,
    FLOW,
    WINGED_FLOW,
    SEEN,
    PASSED,
    BORNE,
    BIRTHS,
    REST,
    ONES,
    STAY,
) = range(15)


@compiled
def survive_heat(table: Array, cell: Cells, part: Array, width: int, dt: float, cool: Array) -> None:
    """Write the share of young that heat alone does not kill in a step."""
    fill(cool, width)
    add_response(table, cell, part, width, 0.5 * dt, cool)
    for m in range(width):
        half = min(cool[m], 1.0)
        cool[m] = (1.0 - half) / (1.0 + half)


@compiled
def step_rates(
    values: Array,
    rows: Rows,
    shared: Shared,
    temperature: Array,
    first_hour: int,
    hours: int,
    lo: int,
    width: int,
    dt: float,
    room: Room,
    cell: Cells,
) -> None:
    """Write the rates of one step: development by the hour, the other responses at the step's mean warmth."""
    wide = temperature.shape[1] > 1
    pests, enemies = rows.pest.shape[0], rows.enemy.shape[0]
    enemy_first = pests * N_PEST
    now, mean, part = room.lane[0], room.lane[1], room.lane[2]
    fill(mean, width)
    for i in range(pests + enemies):
        fill(room.rate[i], width)
    for hour in range(first_hour, first_hour + hours):
        for m in range(width):
            now[m] = temperature[hour, lo + m if wide else 0]
            mean[m] += now[m] / hours
        for i in range(pests + enemies):
            add_development(room.lines[i], now, width, 1.0 / hours, room.rate[i])
    place_on_grid(mean, width, cell, part)
    for p in range(pests):
        first = p * N_PEST
        survive, ageing, fecundity = room.survive[p], room.ageing[p], room.fecundity[p]
        fill(survive, width)
        fill(ageing, width)
        fill(fecundity, width)
        add_response(shared.pest_tables[p, MORTALITY_TABLE], cell, part, width, 1.0, survive)
        add_response(shared.pest_tables[p, AGEING_TABLE], cell, part, width, 1.0, ageing)
        add_response(shared.pest_tables[p, FECUNDITY_TABLE], cell, part, width, 1.0, fecundity)
        survive_heat(shared.pest_tables[p, HEAT_TABLE], cell, part, width, dt, room.cool[p])
        for m in range(width):
            room.heat[p, m] += room.rate[p, m] * dt
            survive[m] = max(0.0, 1.0 - survive[m] * values[first + MORTALITY, lo + m])
            ageing[m] /= values[first + LIFE, lo + m]
            fecundity[m] *= room.births_factor[p, m]
    for e in range(enemies):
        stung, mummy = room.survive_stung[e], room.survive_mummy[e]
        fill(stung, width)
        fill(mummy, width)
        add_response(shared.enemy_tables[e, STUNG_TABLE], cell, part, width, 1.0, stung)
        add_response(shared.enemy_tables[e, MUMMY_TABLE], cell, part, width, 1.0, mummy)
        survive_heat(shared.enemy_tables[e, ENEMY_HEAT_TABLE], cell, part, width, dt, room.cool[pests + e])
        for m in range(width):
            dying = values[enemy_first + e * N_ENEMY + IMMATURE_DEATH, lo + m]
            stung[m] = max(0.0, 1.0 - stung[m] * dying)
            mummy[m] = max(0.0, 1.0 - mummy[m] * dying)


@compiled
def pass_chain(
    state: Array, row: int, count: int, width: int, stay: Array, survive: Array, room: Room, flow: Array
) -> None:
    """Step a chain whose a/2 stands in the lane HALF."""
    lane = room.lane
    split_step(lane[HALF], stay, width, lane[KEEP], lane[NEW], lane[OLD_OUT], lane[NEW_OUT])
    sweep(
        state, row, count, width, flow, lane[KEEP], lane[NEW], lane[OLD_OUT], lane[NEW_OUT], survive,
        lane[SEEN], lane[PASSED],
    )  # fmt: skip


@compiled
def pass_ages(
    state: Array, row: int, count: int, width: int, stay: Array, shape: Array, room: Room, flow: Array
) -> None:
    """Step a chain of adult ages whose a/2 stands in the lane HALF."""
    lane = room.lane
    split_step(lane[HALF], stay, width, lane[KEEP], lane[NEW], lane[OLD_OUT], lane[NEW_OUT])
    sweep_bearing(
        state, row, count, width, flow, lane[KEEP], lane[NEW], lane[OLD_OUT], lane[NEW_OUT], shape,
        lane[SEEN], lane[BORNE],
    )  # fmt: skip


@compiled
def take_removed(rows: Rows, p: int, zone: int, stage: int, size: int, width: int, room: Room) -> None:
    """Share what hazards removed from a host stage between the wasps and the other causes; empty the lane SEEN."""
    seen, rest, spent = room.lane[SEEN], room.lane[REST], room.spent[zone, p, stage]
    for m in range(width):
        rest[m] += seen[m] * spent[m]
    for j in range(rows.pair.shape[0]):
        if rows.pair[j, 0] == p:
            stung, taken = room.to_stung[j, size], room.taken[zone, j, stage]
            for m in range(width):
                stung[m] += seen[m] * taken[m]
    fill(seen, width)


@compiled
def step_nymphs(
    state: Array, rows: Rows, shared: Shared, p: int, zone: int, width: int, dt: float, room: Room
) -> None:
    """Step the instars; the lane FLOW leaves with those that moult to adults."""
    half, flow, passed = room.lane[HALF], room.lane[FLOW], room.lane[PASSED]
    seen, stay, cool = room.lane[SEEN], room.lane[STAY], room.cool[p]
    book = room.pest_book[p, zone, DIED_YOUNG]
    fill(flow, width)
    fill(passed, width)
    for stage in range(4):
        count = rows.pest_count[p, stage]
        scale = 0.5 * dt * count / shared.instar_share[p, stage]
        for m in range(width):
            half[m] = scale * room.rate[p, m]
        if stage == 0:
            for m in range(width):
                room.lane[HALF_FIRST, m] = half[m]
        for m in range(width):
            stay[m] = room.stay[zone, p, stage, m] * cool[m]
        pass_chain(state, rows.pest[p, zone, stage], count, width, stay, room.survive[p], room, flow)
        for m in range(width):
            book[m] += seen[m] * (1.0 - cool[m])
            seen[m] *= cool[m]
        take_removed(rows, p, zone, stage, stage // 3, width, room)
    for m in range(width):
        book[m] += passed[m] * (1.0 - room.survive[p, m])


@compiled
def step_adults(
    state: Array,
    values: Array,
    rows: Rows,
    shared: Shared,
    p: int,
    zone: int,
    lo: int,
    width: int,
    dt: float,
    room: Room,
) -> None:
    """Step wingless and winged adults: moults in, births, flight, leaving, arrivals, death of age."""
    lane = room.lane
    half, flow, winged_flow = lane[HALF], lane[FLOW], lane[WINGED_FLOW]
    borne, births = lane[BORNE], lane[BIRTHS]
    first = p * N_PEST
    book = room.pest_book[p, zone]
    share = state[rows.pest[p, zone, WINGED_SHARE]]
    count = rows.pest_count[p, YOUNG_ADULTS]
    scale = 0.5 * dt * count
    for m in range(width):
        winged_flow[m] = flow[m] * share[m]
        flow[m] -= winged_flow[m]
        half[m] = scale * room.rate[p, m] / values[first + PRE_REPRODUCTIVE, lo + m]
    fill(borne, width)
    stay = room.stay[zone, p, 4]
    pass_chain(state, rows.pest[p, zone, YOUNG_ADULTS], count, width, stay, lane[ONES], room, flow)
    count = rows.pest_count[p, WINGLESS]
    for m in range(width):
        half[m] = 0.5 * dt * count * room.ageing[p, m]
    pass_ages(state, rows.pest[p, zone, WINGLESS], count, width, stay, shared.wingless_shape[p], room, flow)
    for m in range(width):
        book[DIED_OLD, m] += flow[m]
        births[m] += borne[m] * room.fecundity[p, m]
    take_removed(rows, p, zone, 4, 2, width, room)

    for m in range(width):
        half[m] = 0.5 * dt / values[first + WINGED_FLIGHT, lo + m]
    fill(borne, width)
    stay = room.stay[zone, p, 5]
    pass_chain(state, rows.pest[p, zone, FLYING], 1, width, stay, lane[ONES], room, winged_flow)
    count = rows.pest_count[p, WINGED]
    for m in range(width):
        left = winged_flow[m] * values[first + WINGED_LEAVING, lo + m]
        came = (
            dt
            * shared.zone[zone, AREA]
            * values[first + IMMIGRATION, lo + m]
            * math.exp(values[first + LOG_IMMIGRATION, lo + m])
        )
        book[LEFT, m] += left
        book[ARRIVED, m] += came
        winged_flow[m] += came - left
        half[m] = 0.5 * dt * count * room.ageing[p, m]
    pass_ages(
        state, rows.pest[p, zone, WINGED], count, width, stay, shared.winged_shape[p], room, winged_flow
    )
    for m in range(width):
        book[DIED_OLD, m] += winged_flow[m]
        births[m] += borne[m] * room.fecundity[p, m] * values[first + WINGED_BIRTHS, lo + m]
    take_removed(rows, p, zone, 5, 2, width, room)


@compiled
def step_stung(
    state: Array,
    values: Array,
    rows: Rows,
    shared: Shared,
    j: int,
    zone: int,
    lo: int,
    width: int,
    dt: float,
    room: Room,
) -> None:
    """Step the living stung aphids of one pair: a few late births, death with the wasp in them, mummies."""
    p, e = rows.pair[j, 0], rows.pair[j, 1]
    pests, enemies = rows.pest.shape[0], rows.enemy.shape[0]
    lane = room.lane
    half, passed, seen, rest, births = lane[HALF], lane[PASSED], lane[SEEN], lane[REST], lane[BIRTHS]
    book = room.pest_book[p, zone]
    count = rows.stung_count[j]
    bearing = max(1, count // 3)
    enemy_first = pests * N_PEST + e * N_ENEMY
    pair_first = pests * N_PEST + enemies * N_ENEMY + j * N_PAIR
    for m in range(width):
        time = values[enemy_first + MUMMY_SHARE, lo + m] * values[pair_first + SLOWNESS, lo + m]
        half[m] = 0.5 * dt * count * room.rate[pests + e, m] / time
    stay, survive, cool = lane[STAY], room.survive_stung[e], room.cool[pests + e]
    for m in range(width):
        stay[m] = room.stay_stung[zone, p, m] * cool[m]
    for size in range(N_SIZES):
        flow = room.to_stung[j, size]
        row = rows.stung[j, zone] + size * count
        each = shared.stung_births[j, size] / bearing
        fill(passed, width)
        pass_chain(state, row, bearing, width, stay, survive, room, flow)
        for m in range(width):
            births[m] += each * passed[m]
        pass_chain(state, row + bearing, count - bearing, width, stay, survive, room, flow)
        for m in range(width):
            book[DIED_STUNG, m] += passed[m] * (1.0 - survive[m])
            book[MUMMIFIED, m] += flow[m]
            room.to_mummy[e, m] += flow[m]
    for m in range(width):
        book[DIED_STUNG, m] += seen[m] * (1.0 - cool[m])
        rest[m] += seen[m] * cool[m] * (1.0 - room.stay_stung[zone, p, m])
    fill(seen, width)


@compiled
def give_birth(state: Array, rows: Rows, p: int, zone: int, width: int, room: Room) -> None:
    """Put the newborn of a step into the first substages, as one more inflow of the same linear step."""
    half, births, survive = room.lane[HALF_FIRST], room.lane[BIRTHS], room.survive[p]
    book = room.pest_book[p, zone]
    row = rows.pest[p, zone, 0]
    depth = min(rows.pest_count[p, 0], BIRTH_DEPTH)
    for m in range(width):
        book[BORN, m] += births[m]
    for r in range(row, row + depth - 1):
        for m in range(width):
            gone = births[m] * half[m] / (1.0 + half[m])
            state[r, m] += births[m] - gone
            births[m] = gone * survive[m]
            book[DIED_YOUNG, m] += gone - births[m]
    for m in range(width):
        state[row + depth - 1, m] += births[m]


@compiled
def step_pest(
    state: Array,
    values: Array,
    rows: Rows,
    shared: Shared,
    p: int,
    zone: int,
    lo: int,
    width: int,
    dt: float,
    room: Room,
    stung_here: NDArray[np.bool_],
) -> None:
    """Step one pest of one zone."""
    rest, births = room.lane[REST], room.lane[BIRTHS]
    fill(rest, width)
    fill(births, width)
    fill(room.lane[SEEN], width)
    pairs = rows.pair.shape[0]
    for j in range(pairs):
        if rows.pair[j, 0] == p:
            for size in range(N_SIZES):
                fill(room.to_stung[j, size], width)
    step_nymphs(state, rows, shared, p, zone, width, dt, room)
    step_adults(state, values, rows, shared, p, zone, lo, width, dt, room)
    for j in range(pairs):
        if rows.pair[j, 0] == p and stung_here[j, zone]:
            step_stung(state, values, rows, shared, j, zone, lo, width, dt, room)
    give_birth(state, rows, p, zone, width, room)
    book, crowded = room.pest_book[p, zone], room.crowded[zone, p]
    for m in range(width):
        by_crowding = rest[m] * crowded[m]
        book[CROWDED, m] += by_crowding
        book[UNEXPLAINED, m] += rest[m] - by_crowding
