"""The daily bout: what crowding, clumping and searching enemies will do to one zone from midnight to midnight.

Expected attacks are fixed here, once a day; through the day hosts are then removed at constant hazard. So the
share that escapes does not depend on the number of steps.
"""

from __future__ import annotations

import math

from outpace.simulation.chains import (
    Array,
    Cells,
    add_response,
    add_rows,
    compiled,
    fill,
    place_on_grid,
)
from outpace.simulation.layout import FEMALES, HOST_STAGES, N_SIZES, WINGED, WINGLESS, Rows
from outpace.simulation.parameter_rows import (
    ACCEPTANCE,
    ADULT_LOSS,
    ATTACK_RATE,
    AVOIDANCE,
    CEILING,
    CEILING_LOSS,
    EGGS,
    FECUNDITY,
    GROWTH_LEVERAGE,
    HANDLING_TIME,
    HONEYDEW_HALF,
    INTERFERENCE,
    LOG_ATTACK,
    LOG_CLUMPING,
    LOG_GROWTH,
    N_ENEMY,
    N_PAIR,
    N_PEST,
    REFUGE_K,
    TAYLOR_A,
    TAYLOR_B,
    UNEXPLAINED_LOSS,
    WINGED_HALF,
    WINGED_LEAST,
    WINGED_MORE,
)
from outpace.simulation.responses import LEAST_K, MOST_K, Shared
from outpace.simulation.room import Room

PLANTS, LEAVES, LEAF_AREA, AREA = range(4)
MOST_CROWDING = 3.0
"""Crowding takes at most this, however dense a leaf. [d⁻¹]"""
MOST_RESIDUE = 0.999999


@compiled
def daily_hazard(attacks: float, k: float) -> float:
    """Return the constant hazard per day that lets the share (1 + m/k)^-k of hosts escape. [d⁻¹]"""
    return k * math.log1p(attacks / k)


@compiled
def clumping_k(density: float, a: float, b: float, log_clumping: float) -> float:
    """Return the negative-binomial k of a mean by Taylor's law; Poisson where the law says less than Poisson."""
    if density <= 0.0:
        return MOST_K
    excess = a * density**b - density
    k = MOST_K
    if excess > density * density / MOST_K:
        k = density * density / excess
    return min(max(k * math.exp(-log_clumping), LEAST_K), MOST_K)


ACTIVITY_TABLE, EGGS_TABLE = 2, 3
WATCH_HOURS = 3
"""The effect of warmth on the bout is averaged over parts of the day so long, whatever the step."""


@compiled
def warm_day(
    values: Array,
    rows: Rows,
    shared: Shared,
    temperature: Array,
    first_hour: int,
    lo: int,
    width: int,
    room: Room,
    cell: Cells,
) -> None:
    """Write what the day's warmth does to the bout and to egg laying."""
    wide = temperature.shape[1] > 1
    enemies = rows.enemy.shape[0]
    enemy_first = rows.pest.shape[0] * N_PEST
    now, part, whole = room.lane[0], room.lane[1], room.lane[2]
    fill(whole, width)
    for e in range(enemies):
        fill(room.activity[e], width)
        fill(room.eggs[e], width)
    for watch in range(24 // WATCH_HOURS):
        fill(now, width)
        for hour in range(first_hour + watch * WATCH_HOURS, first_hour + (watch + 1) * WATCH_HOURS):
            for m in range(width):
                now[m] += temperature[hour, lo + m if wide else 0] / WATCH_HOURS
        for m in range(width):
            whole[m] += now[m] * WATCH_HOURS / 24.0
        place_on_grid(now, width, cell, part)
        for e in range(enemies):
            add_response(
                shared.enemy_tables[e, ACTIVITY_TABLE],
                cell,
                part,
                width,
                WATCH_HOURS / 24.0,
                room.activity[e],
            )
    place_on_grid(whole, width, cell, part)
    for e in range(enemies):
        add_response(shared.enemy_tables[e, EGGS_TABLE], cell, part, width, 1.0, room.eggs[e])
        for m in range(width):
            room.eggs[e, m] *= values[enemy_first + e * N_ENEMY + EGGS, lo + m]


@compiled
def read_luck(state: Array, values: Array, rows: Rows, lo: int, width: int, room: Room) -> None:
    """Write the day's swing of log attack, and what growth and its swing make of births."""
    for p in range(rows.pest.shape[0]):
        first = p * N_PEST
        for m in range(width):
            room.luck[p, m] = state[rows.luck[p] + 1, m]
            growth = math.exp(values[first + LOG_GROWTH, lo + m] + state[rows.luck[p], m])
            room.births_factor[p, m] = values[first + FECUNDITY, lo + m] * math.exp(
                values[first + GROWTH_LEVERAGE, lo + m] * (growth - 1.0)
            )


@compiled
def count_hosts(state: Array, rows: Rows, zone: int, width: int, room: Room) -> None:
    """Count each host stage, and living stung aphids by pair and size."""
    for p in range(rows.pest.shape[0]):
        for stage in range(HOST_STAGES):
            fill(room.hosts[p, stage], width)
        for block in range(WINGED + 1):
            stage = block if block < 4 else (4 if block <= WINGLESS else 5)
            add_rows(state, rows.pest[p, zone, block], rows.pest_count[p, block], width, room.hosts[p, stage])
    for j in range(rows.pair.shape[0]):
        count = rows.stung_count[j]
        for size in range(N_SIZES):
            fill(room.stung[j, size], width)
            add_rows(state, rows.stung[j, zone] + size * count, count, width, room.stung[j, size])


@compiled
def crowd(values: Array, rows: Rows, shared: Shared, zone: int, lo: int, width: int, room: Room) -> None:
    """Average crowding over the leaves as they are: few leaves crowded, many bare.

    Writes aphids per leaf, the relative density at the nodes of its distribution, the daily loss to all but wasps and
    the share of it by crowding, and the share of moults that become winged.
    """
    nodes = shared.nodes.shape[1]
    leaves = shared.zone[zone, LEAVES]
    finest = shared.nodes.shape[0] - 1
    spacing = math.log(MOST_K / LEAST_K) / finest
    number = room.lane[0]
    for p in range(rows.pest.shape[0]):
        first = p * N_PEST
        fill(number, width)
        add_rows(room.hosts[p], 0, HOST_STAGES, width, number)
        for j in range(rows.pair.shape[0]):
            if rows.pair[j, 0] == p:
                add_rows(room.stung[j], 0, N_SIZES, width, number)
        for m in range(width):
            mean = number[m] / leaves
            room.density[p, m] = mean
            k = clumping_k(
                mean,
                values[first + TAYLOR_A, lo + m],
                values[first + TAYLOR_B, lo + m],
                values[first + LOG_CLUMPING, lo + m],
            )
            place = math.log(k / LEAST_K) / spacing
            cell = min(max(int(place), 0), finest - 1)
            part = place - cell
            ceiling = values[first + CEILING, lo + m]
            at_ceiling = values[first + CEILING_LOSS, lo + m]
            half = values[first + WINGED_HALF, lo + m]
            felt_loss = 0.0
            felt_winged = 0.0
            for i in range(nodes):
                relative = shared.nodes[cell, i] + part * (shared.nodes[cell + 1, i] - shared.nodes[cell, i])
                room.node[p, i, m] = relative
                here = relative * mean
                full = at_ceiling * (here / ceiling) ** 2
                felt_loss += relative * full / (1.0 + full / MOST_CROWDING)
                felt_winged += relative * here * here / (here * here + half * half)
            felt_loss /= nodes
            total = felt_loss + values[first + UNEXPLAINED_LOSS, lo + m]
            room.loss[zone, p, m] = total
            room.crowded[zone, p, m] = felt_loss / total if total > 0.0 else 0.0
            room.winged_wish[zone, p, m] = (
                values[first + WINGED_LEAST, lo + m]
                + values[first + WINGED_MORE, lo + m] * felt_winged / nodes
            )


@compiled
def worth_of_pair(rows: Rows, shared: Shared, j: int, wasted: float, m: int, room: Room) -> float:
    """Return the hosts of a pair weighted by preference; stung ones count as far as they are not refused."""
    p = rows.pair[j, 0]
    worth = 0.0
    for stage in range(HOST_STAGES):
        worth += shared.preference[j, stage] * room.hosts[p, stage, m]
    for other in range(rows.pair.shape[0]):
        if rows.pair[other, 0] == p:
            worth += wasted * (
                shared.preference[j, 1] * room.stung[other, 0, m]
                + shared.preference[j, 3] * room.stung[other, 1, m]
                + shared.preference[j, 4] * room.stung[other, 2, m]
            )
    return worth


@compiled
def sting(
    state: Array, values: Array, rows: Rows, shared: Shared, zone: int, lo: int, width: int, room: Room
) -> None:
    """Write the daily hazard of each host stage of each pair, fixed for the day. [d⁻¹]"""
    nodes = shared.nodes.shape[1]
    pests, pairs = rows.pest.shape[0], rows.pair.shape[0]
    enemy_first = pests * N_PEST
    pair_first = enemy_first + rows.enemy.shape[0] * N_ENEMY
    area = shared.zone[zone, LEAF_AREA]
    plants = shared.zone[zone, PLANTS]
    hazard = room.hazard[zone]
    appeal, met = room.pair[0], room.pair[1]
    for j in range(pairs):
        for stage in range(HOST_STAGES):
            fill(hazard[j, stage], width)
    for e in range(rows.enemy.shape[0]):
        first = enemy_first + e * N_ENEMY
        females_row = rows.enemy[e, zone, FEMALES]
        ages = rows.enemy_count[e, FEMALES]
        for m in range(width):
            females = 0.0
            for age in range(ages):
                females += state[females_row + age, m]
            if females <= 0.0 or room.activity[e, m] <= 0.0:
                continue
            for j in range(pairs):
                if rows.pair[j, 1] == e:
                    p = rows.pair[j, 0]
                    wasted = 1.0 - values[first + AVOIDANCE, lo + m]
                    appeal[j] = values[pair_first + j * N_PAIR + ACCEPTANCE, lo + m] * math.exp(
                        values[p * N_PEST + LOG_ATTACK, lo + m] + room.luck[p, m]
                    )
                    met[j] = appeal[j] * worth_of_pair(rows, shared, j, wasted, m, room) / area
            searched = values[first + ATTACK_RATE, lo + m]
            if females > plants:
                searched *= (females / plants) ** (-values[first + INTERFERENCE, lo + m])
            handling = values[first + HANDLING_TIME, lo + m]
            demand = 0.0
            met_in_all = 0.0
            for i in range(nodes):
                worth = 0.0
                wet = 0.0
                for j in range(pairs):
                    if rows.pair[j, 1] == e:
                        worth += met[j] * room.node[rows.pair[j, 0], i, m]
                for p in range(pests):
                    wet += (
                        room.density[p, m] * room.node[p, i, m] / values[p * N_PEST + HONEYDEW_HALF, lo + m]
                    )
                found = searched * worth / (1.0 + wet * wet)
                demand += found / (1.0 + handling * found)
                met_in_all += worth
            if met_in_all <= 0.0:
                continue
            met_in_all /= nodes
            demand *= room.activity[e, m] / nodes
            laid = 0.0
            for age in range(ages):
                ripe = room.eggs[e, m] * shared.egg_shape[e, age]
                laid += state[females_row + age, m] * min(demand, ripe)
            residue = state[rows.residue[zone], m]
            gone = values[first + ADULT_LOSS, lo + m]
            if residue > 0.0:
                gone -= math.log(1.0 - min(residue, MOST_RESIDUE))
            if gone > 1e-9:
                laid *= (1.0 - math.exp(-gone)) / gone
            k = values[first + REFUGE_K, lo + m]
            for j in range(pairs):
                if rows.pair[j, 1] == e:
                    per_worth = laid * appeal[j] / (area * met_in_all)
                    for stage in range(HOST_STAGES):
                        hazard[j, stage, m] = daily_hazard(per_worth * shared.preference[j, stage], k)


@compiled
def share_out(rows: Rows, zone: int, days: float, width: int, room: Room) -> None:
    """Write the shares of hosts that stay in one step, that each pair stings and that are lost otherwise."""
    for p in range(rows.pest.shape[0]):
        loss = room.loss[zone, p]
        for m in range(width):
            room.stay_stung[zone, p, m] = math.exp(-loss[m] * days)
        for stage in range(HOST_STAGES):
            stay, spent = room.stay[zone, p, stage], room.spent[zone, p, stage]
            for m in range(width):
                total = loss[m]
                for j in range(rows.pair.shape[0]):
                    if rows.pair[j, 0] == p:
                        total += room.hazard[zone, j, stage, m]
                stay[m] = math.exp(-total * days)
                each = (1.0 - stay[m]) / total if total > 0.0 else 0.0
                spent[m] = loss[m] * each
                for j in range(rows.pair.shape[0]):
                    if rows.pair[j, 0] == p:
                        room.taken[zone, j, stage, m] = room.hazard[zone, j, stage, m] * each
