"""The daily bout: what crowding, clumping and searching enemies will do to one zone from midnight to midnight.

Expected attacks are fixed here, once a day; through the day hosts are then removed at constant hazard. So the
share that escapes does not depend on the number of steps.
"""

from __future__ import annotations

import math

from outpace.simulation.chains import Array, compiled, place_of, sum_rows
from outpace.simulation.layout import FEMALES, FLYING, HOST_STAGES, N_SIZES, YOUNG_ADULTS, Rows
from outpace.simulation.pack_functions import exp, log, log1p, power
from outpace.simulation.packs import (
    Pack,
    any_of,
    get,
    least,
    most,
    put,
    rows_at,
    select,
    spread,
    whole_part,
)
from outpace.simulation.parameter_rows import (
    ACCEPTANCE,
    ADULT_LOSS,
    ATTACK_RATE,
    AVOIDANCE,
    CEILING,
    CEILING_LOSS,
    EGGS,
    FECUNDITY,
    FOOD_HALF,
    GROWTH_LEVERAGE,
    HANDLING_TIME,
    HONEYDEW_HALF,
    HUNGRY_LOSS,
    INTERFERENCE,
    LOG_ATTACK,
    LOG_GROWTH,
    N_ENEMY,
    N_PAIR,
    N_PEST,
    REFUGE_K,
    REST_DAY_LENGTH,
    REST_SHARE,
    REST_TEMPERATURE,
    TAYLOR_A,
    TAYLOR_B,
    UNEXPLAINED_LOSS,
    WINGED_HALF,
    WINGED_LEAST,
    WINGED_MORE,
)
from outpace.simulation.responses import LEAST_K, MOST_GROWTH, MOST_K, MOST_NODES, Shared, Tables
from outpace.simulation.room import Room
from outpace.simulation.run_constants import LESS_CLUMPED

PLANTS, LEAVES, LEAF_AREA, AREA = range(4)
MOST_CROWDING = 3.0
"""Crowding takes at most this, however dense a leaf. [d⁻¹]"""
MOST_RESIDUE = 0.999999
WATCH_HOURS = 3
"""The effect of warmth on the bout is averaged over parts of the day so long, whatever the step."""


@compiled
def daily_hazard(attacks: Pack, k: Pack) -> Pack:
    """Return the constant hazard per day that lets the share (1 + m/k)^-k of hosts escape. [d⁻¹]"""
    return k * log1p(attacks / k)


@compiled
def clumping_k(density: Pack, a: Pack, b: Pack, less_clumped: Pack) -> Pack:
    """Return the negative-binomial k of a mean by Taylor's law; Poisson where the law says less than Poisson."""
    excess = a * power(density, b) - density
    squared = density * density
    by_law = excess > squared * (1.0 / MOST_K)
    k = select(by_law, squared, spread(MOST_K)) / select(by_law, excess, spread(1.0))
    k = least(most(k * less_clumped, spread(LEAST_K)), spread(MOST_K))
    return select(density > 0.0, k, spread(MOST_K))


@compiled
def warm_day(rows: Rows, tables: Tables, daylight: float, room: Room) -> None:
    """Write what the day's warmth does to the bout and to egg laying, and with its length to mummies that form."""
    pests = rows.pest.shape[0]
    for e in range(rows.enemy.shape[0]):
        whole = spread(0.0)
        activity = spread(0.0)
        for watch in range(24 // WATCH_HOURS):
            now = sum_rows(room.warmth, watch * WATCH_HOURS, WATCH_HOURS)
            whole += now
            place = place_of(now * (1.0 / WATCH_HOURS))
            at = rows_at(tables.warm[pests + e], place)
            activity += at[3] + (place - whole_part(place)) * at[7]
        put(room.activity, e, activity * (WATCH_HOURS / 24.0))
        place = place_of(whole * (1.0 / 24.0))
        at = rows_at(tables.eggs[e], place)
        eggs = at[0] + (place - whole_part(place)) * at[1]
        first = pests * N_PEST + e * N_ENEMY
        put(room.eggs, e, eggs * get(room.values, first + EGGS))
        cold = whole * (1.0 / 24.0) < get(room.values, first + REST_TEMPERATURE)
        resting = select(cold, get(room.values, first + REST_SHARE), spread(0.0))
        short = spread(daylight) < get(room.values, first + REST_DAY_LENGTH)
        put(room.resting, e, select(short, resting, spread(0.0)))


@compiled
def read_luck(state: Array, rows: Rows, room: Room) -> None:
    """Write the day's swing of log attack, and what growth and its swing make of births."""
    for p in range(rows.pest.shape[0]):
        first = p * N_PEST
        put(room.luck, p, get(state, rows.luck[p] + 1))
        # By the leverage a large swing would give births by the million before crowding can answer.
        grown = exp(get(room.values, first + LOG_GROWTH) + get(state, rows.luck[p])) - 1.0
        growth = least(grown, spread(MOST_GROWTH))
        births = get(room.values, first + FECUNDITY) * exp(get(room.values, first + GROWTH_LEVERAGE) * growth)
        put(room.births_factor, p, births)


@compiled
def count_hosts(state: Array, rows: Rows, zone: int, room: Room) -> None:
    """Count each host stage, and living stung aphids by pair and size."""
    for p in range(rows.pest.shape[0]):
        for stage in range(4):
            put(room.hosts, p, stage, sum_rows(state, rows.pest[p, zone, stage], rows.pest_count[p, stage]))
        for stage, young in ((4, YOUNG_ADULTS), (5, FLYING)):
            adults = sum_rows(state, rows.pest[p, zone, young], rows.pest_count[p, young])
            adults += sum_rows(state, rows.pest[p, zone, young + 1], rows.pest_count[p, young + 1])
            put(room.hosts, p, stage, adults)
    for j in range(rows.pair.shape[0]):
        count = rows.stung_count[j]
        for size in range(N_SIZES):
            put(room.stung, j, size, sum_rows(state, rows.stung[j, zone] + size * count, count))


@compiled
def crowd(rows: Rows, shared: Shared, tables: Tables, zone: int, room: Room) -> None:
    """Average crowding over the leaves as they are: few leaves crowded, many bare.

    Writes aphids per leaf, the relative density at the nodes of its distribution, the daily loss to all but wasps and
    the share of it by crowding, and the share of moults that become winged.
    """
    nodes = shared.nodes.shape[1]
    leaves = shared.zone[zone, LEAVES]
    finest = shared.nodes.shape[0] - 1
    spacing = math.log(MOST_K / LEAST_K) / finest
    for p in range(rows.pest.shape[0]):
        first = p * N_PEST
        number = sum_rows(room.hosts[p], 0, HOST_STAGES)
        for j in range(rows.pair.shape[0]):
            if rows.pair[j, 0] == p:
                number += sum_rows(room.stung[j], 0, N_SIZES)
        mean = number * (1.0 / leaves)
        put(room.density, p, mean)
        put(room.wet, p, mean / get(room.values, first + HONEYDEW_HALF))
        k = clumping_k(
            mean,
            get(room.values, first + TAYLOR_A),
            get(room.values, first + TAYLOR_B),
            get(room.of_pest, p, LESS_CLUMPED),
        )
        place = most(log(k * (1.0 / LEAST_K)) * (1.0 / spacing), spread(0.0))
        cell = least(whole_part(place), spread(finest - 1.0))
        part = place - cell
        below, above = rows_at(tables.nodes, cell), rows_at(tables.nodes, cell + 1.0)
        for i in range(MOST_NODES):
            if i < nodes:
                put(room.node, p, i, below[i] + part * (above[i] - below[i]))
        per_ceiling = mean / get(room.values, first + CEILING)
        at_ceiling = get(room.values, first + CEILING_LOSS) * (per_ceiling * per_ceiling)
        half = get(room.values, first + WINGED_HALF)
        half_squared = half * half
        felt_loss = spread(0.0)
        felt_winged = spread(0.0)
        for i in range(nodes):
            relative = get(room.node, p, i)
            full = at_ceiling * (relative * relative)
            here = relative * mean
            squared = here * here
            felt_loss += relative * full / (1.0 + full * (1.0 / MOST_CROWDING))
            felt_winged += relative * squared / (squared + half_squared)
        felt_loss = felt_loss * (1.0 / nodes)
        total = felt_loss + get(room.values, first + UNEXPLAINED_LOSS)
        put(room.loss, zone, p, total)
        put(room.crowded, zone, p, share_of(felt_loss, total))
        wish = get(room.values, first + WINGED_MORE) * (felt_winged * (1.0 / nodes))
        put(room.winged_wish, zone, p, get(room.values, first + WINGED_LEAST) + wish)


@compiled
def share_of(part: Pack, total: Pack) -> Pack:
    """Return part / total, nil where there is nothing."""
    some = total > 0.0
    return select(some, part, spread(0.0)) / select(some, total, spread(1.0))


@compiled
def worth_of_pair(rows: Rows, shared: Shared, j: int, wasted: Pack, room: Room) -> Pack:
    """Return the hosts of a pair weighted by preference; stung ones count as far as they are not refused."""
    p = rows.pair[j, 0]
    worth = spread(0.0)
    stung = spread(0.0)
    for stage in range(HOST_STAGES):
        worth += shared.preference[j, stage] * get(room.hosts, p, stage)
    for other in range(rows.pair.shape[0]):
        if rows.pair[other, 0] == p:
            stung += shared.preference[j, 1] * get(room.stung, other, 0)
            stung += shared.preference[j, 3] * get(room.stung, other, 1)
            stung += shared.preference[j, 4] * get(room.stung, other, 2)
    return worth + wasted * stung


@compiled
def sting(state: Array, rows: Rows, shared: Shared, zone: int, room: Room) -> None:
    """Write the daily hazard of each host stage of each pair, fixed for the day. [d⁻¹]"""
    pairs = rows.pair.shape[0]
    for j in range(pairs):
        for stage in range(HOST_STAGES):
            put(room.hazard, zone, j, stage, spread(0.0))
    food = spread(0.0)
    for p in range(rows.pest.shape[0]):
        food += get(room.density, p)
    for e in range(rows.enemy.shape[0]):
        first = rows.pest.shape[0] * N_PEST + e * N_ENEMY
        half = get(room.values, first + FOOD_HALF)
        hungry = get(room.values, first + HUNGRY_LOSS) * half / (half + food)
        put(room.lost, zone, e, get(room.values, first + ADULT_LOSS) + hungry)
        females = sum_rows(state, rows.enemy[e, zone, FEMALES], rows.enemy_count[e, FEMALES])
        if any_of(females > 0.0) and any_of(get(room.activity, e) > 0.0):
            sting_with(state, rows, shared, zone, e, females, room)


@compiled
def sting_with(
    state: Array, rows: Rows, shared: Shared, zone: int, e: int, females: Pack, room: Room
) -> None:
    """Write the hazard that one enemy of a zone brings."""
    values = room.values
    nodes = shared.nodes.shape[1]
    pests, pairs = rows.pest.shape[0], rows.pair.shape[0]
    first = pests * N_PEST + e * N_ENEMY
    pair_first = pests * N_PEST + rows.enemy.shape[0] * N_ENEMY
    area = shared.zone[zone, LEAF_AREA]
    wasted = 1.0 - get(values, first + AVOIDANCE)
    for j in range(pairs):
        if rows.pair[j, 1] == e:
            p = rows.pair[j, 0]
            appeal = get(values, pair_first + j * N_PAIR + ACCEPTANCE) * exp(
                get(values, p * N_PEST + LOG_ATTACK) + get(room.luck, p)
            )
            put(room.pair, 0, j, appeal)
            put(room.pair, 1, j, appeal * worth_of_pair(rows, shared, j, wasted, room) * (1.0 / area))
    searched = get(values, first + ATTACK_RATE)
    per_plant = females * (1.0 / shared.zone[zone, PLANTS])
    if any_of(per_plant > 1.0):
        crowded = most(per_plant, spread(1.0))
        searched = searched * power(crowded, -1.0 * get(values, first + INTERFERENCE))
    handling = get(values, first + HANDLING_TIME)
    demand = spread(0.0)
    met = spread(0.0)
    for i in range(nodes):
        worth = spread(0.0)
        wet = spread(0.0)
        for j in range(pairs):
            if rows.pair[j, 1] == e:
                worth += get(room.pair, 1, j) * get(room.node, rows.pair[j, 0], i)
        for p in range(pests):
            wet += get(room.wet, p) * get(room.node, p, i)
        # found = searched × worth / (1 + wet²), of which found / (1 + handling × found) are met in a day.
        found = searched * worth
        demand += found / (1.0 + wet * wet + handling * found)
        met += worth
    met = met * (1.0 / nodes)
    demand = demand * get(room.activity, e) * (1.0 / nodes)
    eggs = get(room.eggs, e)
    laid = spread(0.0)
    for age in range(rows.enemy_count[e, FEMALES]):
        ripe = eggs * shared.egg_shape[e, age]
        laid += get(state, rows.enemy[e, zone, FEMALES] + age) * least(demand, ripe)
    gone = get(room.lost, zone, e) + poison_of(get(state, rows.residue[zone]))
    searching = gone > 1e-9
    gone = select(searching, gone, spread(1.0))
    laid = laid * select(searching, (1.0 - exp(-1.0 * gone)) / gone, spread(1.0))
    k = get(values, first + REFUGE_K)
    per_appeal = share_of(laid, area * met)
    for j in range(pairs):
        if rows.pair[j, 1] == e:
            per_worth = per_appeal * get(room.pair, 0, j)
            for stage in range(HOST_STAGES):
                if shared.preference[j, stage] > 0.0:
                    attacks = per_worth * shared.preference[j, stage]
                    put(room.hazard, zone, j, stage, daily_hazard(attacks, k))


@compiled
def poison_of(residue: Pack) -> Pack:
    """Return the hazard to adult enemies of a residue that kills this share a day. [d⁻¹]"""
    if not any_of(residue > 0.0):
        return spread(0.0)
    return -1.0 * log(1.0 - least(residue, spread(MOST_RESIDUE)))


@compiled
def share_out(rows: Rows, zone: int, days: float, room: Room) -> None:
    """Write the shares of hosts that stay in some time, that each pair stings and that are lost otherwise."""
    pairs, hunted = rows.pair.shape[0], rows.predator.shape[0] > 0
    for p in range(rows.pest.shape[0]):
        loss = get(room.loss, zone, p)
        put(room.stay_stung, zone, p, exp(loss * -days))
        for stage in range(HOST_STAGES):
            total = loss
            for j in range(pairs):
                if rows.pair[j, 0] == p:
                    total += get(room.hazard, zone, j, stage)
            if hunted:
                total += get(room.den.eaten, zone, p, stage)
            stay = exp(total * -days)
            each = share_of(1.0 - stay, total)
            put(room.stay, zone, p, stage, stay)
            put(room.spent, zone, p, stage, loss * each)
            if hunted:
                put(room.den.bitten, zone, p, stage, get(room.den.eaten, zone, p, stage) * each)
            for j in range(pairs):
                if rows.pair[j, 0] == p:
                    put(room.taken, zone, j, stage, get(room.hazard, zone, j, stage) * each)
