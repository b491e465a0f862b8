"""The daily bout: what crowding, clumping and searching enemies will do to one zone from midnight to midnight.

Expected attacks are fixed here, once a day; through the day hosts are then removed at constant hazard. So the share that
escapes does not depend on the number of steps.
"""

from __future__ import annotations

import math

from numba import njit

from outpace.simulation.layout import FEMALES, N_SIZES, WINGED, WINGLESS
from outpace.simulation.parameter_rows import (
    ACCEPTANCE,
    ATTACK_RATE,
    AVOIDANCE,
    CEILING,
    CEILING_LOSS,
    HANDLING_TIME,
    HONEYDEW_HALF,
    INTERFERENCE,
    LOG_ATTACK,
    LOG_CLUMPING,
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

LEAST_K = 0.02
MOST_K = 200.0
HOST_STAGES = 6
"""N1, N2, N3, N4, wingless adults, winged adults."""
PLANTS, LEAVES, LEAF_AREA, AREA = range(4)


@njit(nogil=True)
def daily_hazard(attacks, k):
    """Return the constant hazard per day that lets the share (1 + m/k)^-k of hosts escape. [d⁻¹]"""
    return k * math.log(1.0 + attacks / k)


@njit(nogil=True)
def clumping_k(density, a, b, log_clumping):
    """Return the negative-binomial k of a mean by Taylor's law; Poisson where the law says less than Poisson."""
    if density <= 0.0:
        return MOST_K
    excess = a * density**b - density
    k = MOST_K
    if excess > density * density / MOST_K:
        k = density * density / excess
    return min(max(k * math.exp(-log_clumping), LEAST_K), MOST_K)


@njit(nogil=True)
def count_hosts(state, rows, zone, width, hosts, stung):
    """Write the numbers of each host stage, and of living stung aphids by pair and size."""
    hosts[:] = 0.0
    stung[:] = 0.0
    for p in range(rows.pest.shape[0]):
        for block in range(WINGED + 1):
            stage = block if block < 4 else (4 if block <= WINGLESS else 5)
            first = rows.pest[p, zone, block]
            for r in range(first, first + rows.pest_count[p, block]):
                for m in range(width):
                    hosts[p, stage, m] += state[r, m]
    for j in range(rows.pair.shape[0]):
        count = rows.stung_count[j]
        for size in range(N_SIZES):
            first = rows.stung[j, zone] + size * count
            for r in range(first, first + count):
                for m in range(width):
                    stung[j, size, m] += state[r, m]


@njit(nogil=True)
def crowd(values, rows, shared, zone, lo, width, hosts, stung, density, node, loss, crowded, winged):
    """Average crowding over the leaves as they are: few leaves crowded, many bare.

    Writes aphids per leaf, the relative density at the nodes of its distribution, the daily loss by crowding and
    in all [d⁻¹], and the share of moults that become winged.
    """
    nodes = shared.nodes.shape[1]
    leaves = shared.zone[zone, LEAVES]
    finest = shared.nodes.shape[0] - 1
    spacing = math.log(MOST_K / LEAST_K) / finest
    for p in range(rows.pest.shape[0]):
        first = p * N_PEST
        for m in range(width):
            number = 0.0
            for stage in range(HOST_STAGES):
                number += hosts[p, stage, m]
            for j in range(rows.pair.shape[0]):
                if rows.pair[j, 0] == p:
                    number += stung[j, 0, m] + stung[j, 1, m] + stung[j, 2, m]
            mean = number / leaves
            density[p, m] = mean
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
                node[p, i, m] = relative
                here = relative * mean
                full = (here / ceiling) ** 2
                felt_loss += relative * at_ceiling * full / (1.0 + at_ceiling * full / 3.0)
                felt_winged += relative * here * here / (here * here + half * half)
            crowded[p, m] = felt_loss / nodes
            loss[p, m] = felt_loss / nodes + values[first + UNEXPLAINED_LOSS, lo + m]
            winged[p, m] = (
                values[first + WINGED_LEAST, lo + m]
                + values[first + WINGED_MORE, lo + m] * felt_winged / nodes
            )


@njit(nogil=True)
def sting(
    state, values, rows, shared, zone, lo, width, hosts, stung, density, node,
    luck, searching, activity, eggs, appeal, met, hazard,
):  # fmt: skip
    """Write the daily hazard of each host stage of each pair. [d⁻¹]

    ``searching`` is the part of the day that a female of each enemy lives, ``activity`` the effect of the day's
    warmth on the bout, ``eggs`` her lifetime eggs at that warmth; ``appeal`` and ``met`` are room to work in.
    """
    nodes = shared.nodes.shape[1]
    pairs = rows.pair.shape[0]
    pair_first = rows.pest.shape[0] * N_PEST + rows.enemy.shape[0] * N_ENEMY
    area = shared.zone[zone, LEAF_AREA]
    plants = shared.zone[zone, PLANTS]
    hazard[:] = 0.0
    for e in range(rows.enemy.shape[0]):
        first = rows.pest.shape[0] * N_PEST + e * N_ENEMY
        females_row = rows.enemy[e, zone, FEMALES]
        ages = rows.enemy_count[e, FEMALES]
        for m in range(width):
            females = 0.0
            for age in range(ages):
                females += state[females_row + age, m]
            if females <= 0.0 or activity[e, m] <= 0.0:
                continue
            wasted = 1.0 - values[first + AVOIDANCE, lo + m]
            for j in range(pairs):
                if rows.pair[j, 1] != e:
                    continue
                p = rows.pair[j, 0]
                appeal[j] = values[pair_first + j * N_PAIR + ACCEPTANCE, lo + m] * math.exp(
                    values[p * N_PEST + LOG_ATTACK, lo + m] + luck[p, m]
                )
                worth = 0.0
                for stage in range(HOST_STAGES):
                    worth += shared.preference[j, stage] * hosts[p, stage, m]
                for other in range(pairs):
                    if rows.pair[other, 0] == p:
                        worth += wasted * (
                            shared.preference[j, 1] * stung[other, 0, m]
                            + shared.preference[j, 3] * stung[other, 1, m]
                            + shared.preference[j, 4] * stung[other, 2, m]
                        )
                met[j] = appeal[j] * worth / area
            crowd_of_females = max(1.0, females / plants)
            searched = values[first + ATTACK_RATE, lo + m] * crowd_of_females ** (
                -values[first + INTERFERENCE, lo + m]
            )
            handling = values[first + HANDLING_TIME, lo + m]
            demand = 0.0
            met_in_all = 0.0
            for i in range(nodes):
                worth = 0.0
                wet = 0.0
                for j in range(pairs):
                    if rows.pair[j, 1] == e:
                        worth += met[j] * node[rows.pair[j, 0], i, m]
                for p in range(rows.pest.shape[0]):
                    wet += density[p, m] * node[p, i, m] / values[p * N_PEST + HONEYDEW_HALF, lo + m]
                found = searched * worth / (1.0 + wet * wet)
                demand += found / (1.0 + handling * found)
                met_in_all += worth
            if met_in_all <= 0.0:
                continue
            met_in_all /= nodes
            demand *= activity[e, m] / nodes
            laid = 0.0
            for age in range(ages):
                ripe = eggs[e, m] * shared.egg_shape[e, age]
                laid += state[females_row + age, m] * min(demand, ripe)
            laid *= searching[e, m]
            k = values[first + REFUGE_K, lo + m]
            for j in range(pairs):
                if rows.pair[j, 1] == e:
                    per_worth = laid * appeal[j] / (area * met_in_all)
                    for stage in range(HOST_STAGES):
                        hazard[j, stage, m] = daily_hazard(per_worth * shared.preference[j, stage], k)


@njit(nogil=True)
def share_out(rows, days, width, hazard, loss, stay, stay_stung, taken):
    """Write the shares of hosts that stay in one step, and of those removed that each pair takes."""
    for p in range(rows.pest.shape[0]):
        for m in range(width):
            stay_stung[p, m] = math.exp(-loss[p, m] * days)
        for stage in range(HOST_STAGES):
            for m in range(width):
                total = loss[p, m]
                for j in range(rows.pair.shape[0]):
                    if rows.pair[j, 0] == p:
                        total += hazard[j, stage, m]
                stay[p, stage, m] = math.exp(-total * days)
                for j in range(rows.pair.shape[0]):
                    if rows.pair[j, 0] == p:
                        taken[j, stage, m] = hazard[j, stage, m] / total if total > 0.0 else 0.0
