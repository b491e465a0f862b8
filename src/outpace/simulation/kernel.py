"""One ensemble through the days: the compiled loop.

Arrays in, arrays out: no dates, names, files or hidden randomness. Members are independent columns and are stepped
in blocks with the member innermost, so results do not depend on the size of a block or on the thread that ran it.
The order of a day is that of `outpace.simulation.step_order`.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from outpace.simulation.bout import AREA, HOST_STAGES, PLANTS, count_hosts, crowd, share_out, sting
from outpace.simulation.chains import (
    add_development,
    add_response,
    anything_in,
    development_lines,
    place_on_grid,
    split_step,
    sweep,
    sweep_bearing,
)
from outpace.simulation.layout import (
    CARRIER,
    DEAD_MUMMIES,
    FEMALES,
    FLYING,
    MUMMIES,
    N_SIZES,
    SHELLS,
    WINGED,
    WINGED_SHARE,
    WINGLESS,
    YOUNG_ADULTS,
)
from outpace.simulation.ledger import (
    ARRIVED,
    BORN,
    CROWDED,
    DIED_IN_MUMMY,
    DIED_OLD,
    DIED_STUNG,
    DIED_YOUNG,
    EMERGED,
    FORMED,
    HATCHED,
    LEFT,
    MALES,
    MOVED,
    MUMMIFIED,
    N_ENEMY_CAUSES,
    N_PEST_CAUSES,
    RELEASED,
    UNEXPLAINED,
    WENT,
)
from outpace.simulation.midnight import age_females, lay_residue, look, mix_zones, spray, swing
from outpace.simulation.parameter_rows import (
    ADULT_LOSS,
    CARRIER_HEAT,
    CONSTANT,
    EGGS,
    ENEMY_EXCHANGE,
    FECUNDITY,
    GROWTH_LEVERAGE,
    IMMATURE_DEATH,
    IMMIGRATION,
    LIFE,
    LOG_GROWTH,
    LOG_IMMIGRATION,
    MORTALITY,
    MUMMY_SHARE,
    N_ENEMY,
    N_PAIR,
    N_PEST,
    PEST_EXCHANGE,
    PRE_REPRODUCTIVE,
    SHARE_FEMALE,
    SLOWNESS,
    WINGED_BIRTHS,
    WINGED_FLIGHT,
    WINGED_LEAVING,
)

ADULTS, IN_CARRIER, SPRAYED_ON = range(3)
"""Kinds of event."""
TINY = 1e-60
"""Numbers below this are set to zero at midnight: subnormal numbers would slow the machine a hundred-fold."""
MORTALITY_TABLE, AGEING_TABLE, FECUNDITY_TABLE = range(3)
STUNG_TABLE, MUMMY_TABLE, ACTIVITY_TABLE, EGGS_TABLE = range(4)
BIRTH_DEPTH = 3
"""Newborn reach so many substages within their step of birth; what would go further stays in the last."""


@njit(nogil=True)
def read_hour(temperature, hour, lo, width, now, cell, part):
    """Read one hour's temperature of each member and its place in the response tables."""
    wide = temperature.shape[1] > 1
    for m in range(width):
        now[m] = temperature[hour, lo + m if wide else 0]
    place_on_grid(now, width, cell, part)


@njit(nogil=True)
def take_removed(rows, p, zone, stage, size, width, seen, stay, taken, to_stung, crowded, loss, pest_book):
    """Share what hazards removed from a host stage between the wasps and the other causes."""
    for m in range(width):
        removed = seen[m] * (1.0 - stay[p, stage, m])
        rest = removed
        for j in range(rows.pair.shape[0]):
            if rows.pair[j, 0] == p:
                stung = removed * taken[j, stage, m]
                to_stung[j, size, m] += stung
                rest -= stung
        by_crowding = rest * crowded[p, m] / loss[p, m] if loss[p, m] > 0.0 else 0.0
        pest_book[p, zone, CROWDED, m] += by_crowding
        pest_book[p, zone, UNEXPLAINED, m] += rest - by_crowding


@njit(nogil=True)
def give_birth(state, row, count, width, births, half, survive, pest_book, p, zone):
    """Put the newborn of a step into the first substages, as one more inflow of the same linear step."""
    depth = min(count, BIRTH_DEPTH)
    for m in range(width):
        pest_book[p, zone, BORN, m] += births[m]
        flow = births[m]
        for r in range(row, row + depth - 1):
            gone = flow * half[m] / (1.0 + half[m])
            state[r, m] += flow - gone
            flow = gone * survive[m]
            pest_book[p, zone, DIED_YOUNG, m] += gone - flow
        state[row + depth - 1, m] += flow


@njit(nogil=True)
def advance_block(
    state, values, temperature, draws, events, amounts, rows, shared, out, ledger, lo, width, first_hour, days, steps
):  # fmt: skip
    """Step one block of members, standing alone in ``state``, from midnight to midnight ``days`` later."""
    pests, zones = rows.pest.shape[0], rows.pest.shape[1]
    enemies, pairs = rows.enemy.shape[0], rows.pair.shape[0]
    enemy_first = pests * N_PEST
    pair_first = enemy_first + enemies * N_ENEMY
    dt = 1.0 / steps
    nodes = shared.nodes.shape[1]

    now = np.empty(width)
    cell = np.empty(width, dtype=np.int64)
    part = np.empty(width)
    lines = np.empty((pests + enemies, 4, width))
    rate = np.empty((pests + enemies, width))
    survive = np.empty((pests, width))
    ageing = np.empty((pests, width))
    fecundity = np.empty((pests, width))
    survive_stung = np.empty((enemies, width))
    survive_mummy = np.empty((enemies, width))
    heat = np.empty((pests, width))
    activity = np.empty((enemies, width))
    eggs = np.empty((enemies, width))
    searching = np.empty((enemies, width))
    births_factor = np.empty((pests, width))
    hosts = np.empty((pests, HOST_STAGES, width))
    stung_now = np.empty((pairs, N_SIZES, width))
    density = np.empty((pests, width))
    node = np.empty((pests, nodes, width))
    luck = np.empty((pests, width))
    appeal = np.empty(pairs)
    met = np.empty(pairs)
    loss = np.empty((zones, pests, width))
    crowded = np.empty((zones, pests, width))
    winged_wish = np.empty((zones, pests, width))
    hazard = np.empty((zones, pairs, HOST_STAGES, width))
    stay = np.empty((zones, pests, HOST_STAGES, width))
    stay_stung = np.empty((zones, pests, width))
    taken = np.empty((zones, pairs, HOST_STAGES, width))
    to_stung = np.empty((pairs, N_SIZES, width))
    to_mummy = np.empty((enemies, width))
    fresh = np.zeros((enemies, zones, width))
    stung_active = np.empty((pairs, zones), dtype=np.bool_)
    mummies_active = np.empty((enemies, zones), dtype=np.bool_)
    carrier_active = np.empty((enemies, zones), dtype=np.bool_)
    half = np.empty(width)
    half_first = np.empty(width)
    keep = np.empty(width)
    new = np.empty(width)
    old_out = np.empty(width)
    new_out = np.empty(width)
    ones = np.ones(width)
    flow = np.empty(width)
    winged_flow = np.empty(width)
    seen = np.empty(width)
    passed = np.empty(width)
    borne = np.empty(width)
    births = np.empty(width)
    weights = np.empty(zones)
    share = np.empty(width)
    pest_book = np.zeros((pests, zones, N_PEST_CAUSES, width))
    enemy_book = np.zeros((enemies, zones, N_ENEMY_CAUSES, width))

    for z in range(zones):
        weights[z] = shared.zone[z, PLANTS] / shared.zone[:, PLANTS].sum()
    for p in range(pests):
        development_lines(values, p * N_PEST, lo, width, lines[p])
    for e in range(enemies):
        development_lines(values, enemy_first + e * N_ENEMY, lo, width, lines[pests + e])
    event = 0

    for day in range(days):
        # Midnight: what stands is written down, luck moves on, the day's bout is fixed.
        look(state, rows, width, out, day, lo)
        for r in range(state.shape[0]):
            for m in range(width):
                if abs(state[r, m]) < TINY:
                    state[r, m] = 0.0
        swing(state, values, rows, lo, width, draws, day)
        activity[:] = 0.0
        eggs[:] = 0.0
        if enemies > 0:
            for hour in range(24):
                read_hour(temperature, first_hour + day * 24 + hour, lo, width, now, cell, part)
                for e in range(enemies):
                    add_response(
                        shared.enemy_tables[e, ACTIVITY_TABLE], cell, part, width, 1.0 / 24.0, activity[e]
                    )
                    add_response(shared.enemy_tables[e, EGGS_TABLE], cell, part, width, 1.0 / 24.0, eggs[e])
            for e in range(enemies):
                for m in range(width):
                    eggs[e, m] *= values[enemy_first + e * N_ENEMY + EGGS, lo + m]
        for p in range(pests):
            heat[p] = 0.0
            for m in range(width):
                luck[p, m] = state[rows.luck[p] + 1, m]
                growth = math.exp(values[p * N_PEST + LOG_GROWTH, lo + m] + state[rows.luck[p], m])
                births_factor[p, m] = values[p * N_PEST + FECUNDITY, lo + m] * math.exp(
                    values[p * N_PEST + GROWTH_LEVERAGE, lo + m] * (growth - 1.0)
                )
        for z in range(zones):
            count_hosts(state, rows, z, width, hosts, stung_now)
            crowd(values, rows, shared, z, lo, width, hosts, stung_now, density, node, loss[z], crowded[z],
                  winged_wish[z])  # fmt: skip
            for e in range(enemies):
                for m in range(width):
                    gone = values[enemy_first + e * N_ENEMY + ADULT_LOSS, lo + m] - math.log(
                        1.0 - min(state[rows.residue[z], m], 0.999999)
                    )
                    searching[e, m] = (1.0 - math.exp(-gone)) / gone if gone > 1e-9 else 1.0
            sting(state, values, rows, shared, z, lo, width, hosts, stung_now, density, node, luck, searching,
                  activity, eggs, appeal, met, hazard[z])  # fmt: skip
            share_out(rows, dt, width, hazard[z], loss[z], stay[z], stay_stung[z], taken[z])
            for e in range(enemies):
                mummies_active[e, z] = anything_in(
                    state, rows.enemy[e, z, MUMMIES], rows.enemy_count[e, MUMMIES], width
                )
                carrier_active[e, z] = anything_in(
                    state, rows.enemy[e, z, CARRIER], rows.enemy_count[e, CARRIER], width
                )
            for j in range(pairs):
                stung_active[j, z] = anything_in(hazard[z, j], 0, HOST_STAGES, width) or anything_in(
                    state, rows.stung[j, z], N_SIZES * rows.stung_count[j], width
                )
                if stung_active[j, z]:
                    mummies_active[rows.pair[j, 1], z] = True

        for step in range(steps):
            while event < events.shape[0] and events[event, 0] == day and events[event, 1] == step:
                kind, e, z = events[event, 2], events[event, 3], events[event, 4]
                if kind == SPRAYED_ON:
                    spray(state, rows, z, amounts[event, 0], amounts[event, 1], lo, width, fresh, hazard, pest_book,
                          enemy_book)  # fmt: skip
                    lay_residue(state, rows, z, amounts[event, 2], amounts[event, 3], lo, width)
                    share_out(rows, dt, width, hazard[z], loss[z], stay[z], stay_stung[z], taken[z])
                else:
                    for m in range(width):
                        number = amounts[event, 0, lo + m]
                        enemy_book[e, z, RELEASED, m] += number
                        if kind == ADULTS:
                            fresh[e, z, m] += number
                        else:
                            state[rows.enemy[e, z, CARRIER], m] += number
                    if kind == IN_CARRIER:
                        carrier_active[e, z] = True
                event += 1

            # Rates of this step, from the hours it covers.
            rate[:] = 0.0
            survive[:] = 0.0
            ageing[:] = 0.0
            fecundity[:] = 0.0
            survive_stung[:] = 0.0
            survive_mummy[:] = 0.0
            hours = max(1, 24 // steps)
            for i in range(hours):
                hour = first_hour + day * 24 + (step * 24) // steps + i
                read_hour(temperature, hour, lo, width, now, cell, part)
                for p in range(pests):
                    add_development(lines[p], now, width, 1.0 / hours, rate[p])
                    tables = shared.pest_tables[p]
                    add_response(tables[MORTALITY_TABLE], cell, part, width, 1.0 / hours, survive[p])
                    add_response(tables[AGEING_TABLE], cell, part, width, 1.0 / hours, ageing[p])
                    add_response(tables[FECUNDITY_TABLE], cell, part, width, 1.0 / hours, fecundity[p])
                for e in range(enemies):
                    add_development(lines[pests + e], now, width, 1.0 / hours, rate[pests + e])
                    tables = shared.enemy_tables[e]
                    add_response(tables[STUNG_TABLE], cell, part, width, 1.0 / hours, survive_stung[e])
                    add_response(tables[MUMMY_TABLE], cell, part, width, 1.0 / hours, survive_mummy[e])
            for p in range(pests):
                for m in range(width):
                    heat[p, m] += rate[p, m] * dt
                    survive[p, m] = max(0.0, 1.0 - survive[p, m] * values[p * N_PEST + MORTALITY, lo + m])
                    ageing[p, m] /= values[p * N_PEST + LIFE, lo + m]
                    fecundity[p, m] *= births_factor[p, m]
            for e in range(enemies):
                for m in range(width):
                    dying = values[enemy_first + e * N_ENEMY + IMMATURE_DEATH, lo + m]
                    survive_stung[e, m] = max(0.0, 1.0 - survive_stung[e, m] * dying)
                    survive_mummy[e, m] = max(0.0, 1.0 - survive_mummy[e, m] * dying)

            for z in range(zones):
                to_mummy[:] = 0.0
                for p in range(pests):
                    first = p * N_PEST
                    births[:] = 0.0
                    for j in range(pairs):
                        if rows.pair[j, 0] == p:
                            to_stung[j] = 0.0
                    # Nymphs.
                    flow[:] = 0.0
                    for stage in range(4):
                        count = rows.pest_count[p, stage]
                        scale = 0.5 * dt * count / shared.instar_share[p, stage]
                        for m in range(width):
                            half[m] = scale * rate[p, m]
                            seen[m] = 0.0
                            passed[m] = 0.0
                        if stage == 0:
                            half_first[:] = half
                        split_step(half, stay[z, p, stage], width, keep, new, old_out, new_out)
                        sweep(state, rows.pest[p, z, stage], count, width, flow, keep, new, old_out, new_out,
                              survive[p], seen, passed)  # fmt: skip
                        for m in range(width):
                            pest_book[p, z, DIED_YOUNG, m] += passed[m] * (1.0 - survive[p, m])
                        take_removed(rows, p, z, stage, stage // 3, width, seen, stay[z], taken[z], to_stung,
                                     crowded[z], loss[z], pest_book)  # fmt: skip
                    # Wingless adults.
                    row = rows.pest[p, z, WINGED_SHARE]
                    count = rows.pest_count[p, YOUNG_ADULTS]
                    scale = 0.5 * dt * count
                    for m in range(width):
                        winged_flow[m] = flow[m] * state[row, m]
                        flow[m] -= winged_flow[m]
                        half[m] = scale * rate[p, m] / values[first + PRE_REPRODUCTIVE, lo + m]
                        seen[m] = 0.0
                        passed[m] = 0.0
                        borne[m] = 0.0
                    split_step(half, stay[z, p, 4], width, keep, new, old_out, new_out)
                    sweep(state, rows.pest[p, z, YOUNG_ADULTS], count, width, flow, keep, new, old_out, new_out,
                          ones, seen, passed)  # fmt: skip
                    count = rows.pest_count[p, WINGLESS]
                    for m in range(width):
                        half[m] = 0.5 * dt * count * ageing[p, m]
                    split_step(half, stay[z, p, 4], width, keep, new, old_out, new_out)
                    sweep_bearing(state, rows.pest[p, z, WINGLESS], count, width, flow, keep, new, old_out, new_out,
                                  shared.wingless_shape[p], seen, borne)  # fmt: skip
                    for m in range(width):
                        pest_book[p, z, DIED_OLD, m] += flow[m]
                        births[m] += borne[m] * fecundity[p, m]
                    take_removed(rows, p, z, 4, 2, width, seen, stay[z], taken[z], to_stung, crowded[z], loss[z],
                                 pest_book)  # fmt: skip
                    # Winged adults: they fly, leave or settle; others come in.
                    for m in range(width):
                        half[m] = 0.5 * dt / values[first + WINGED_FLIGHT, lo + m]
                        seen[m] = 0.0
                        passed[m] = 0.0
                        borne[m] = 0.0
                    split_step(half, stay[z, p, 5], width, keep, new, old_out, new_out)
                    sweep(state, rows.pest[p, z, FLYING], 1, width, winged_flow, keep, new, old_out, new_out, ones,
                          seen, passed)  # fmt: skip
                    count = rows.pest_count[p, WINGED]
                    for m in range(width):
                        left = winged_flow[m] * values[first + WINGED_LEAVING, lo + m]
                        came = (
                            dt * shared.zone[z, AREA] * values[first + IMMIGRATION, lo + m]
                            * math.exp(values[first + LOG_IMMIGRATION, lo + m])
                        )  # fmt: skip
                        pest_book[p, z, LEFT, m] += left
                        pest_book[p, z, ARRIVED, m] += came
                        winged_flow[m] += came - left
                        half[m] = 0.5 * dt * count * ageing[p, m]
                    split_step(half, stay[z, p, 5], width, keep, new, old_out, new_out)
                    sweep_bearing(state, rows.pest[p, z, WINGED], count, width, winged_flow, keep, new, old_out,
                                  new_out, shared.winged_shape[p], seen, borne)  # fmt: skip
                    for m in range(width):
                        pest_book[p, z, DIED_OLD, m] += winged_flow[m]
                        births[m] += borne[m] * fecundity[p, m] * values[first + WINGED_BIRTHS, lo + m]
                    take_removed(rows, p, z, 5, 2, width, seen, stay[z], taken[z], to_stung, crowded[z], loss[z],
                                 pest_book)  # fmt: skip
                    # Living stung aphids.
                    for j in range(pairs):
                        if rows.pair[j, 0] != p or not stung_active[j, z]:
                            continue
                        e = rows.pair[j, 1]
                        count = rows.stung_count[j]
                        bearing = max(1, count // 3)
                        for m in range(width):
                            half[m] = (
                                0.5 * dt * count * rate[pests + e, m]
                                / values[enemy_first + e * N_ENEMY + MUMMY_SHARE, lo + m]
                                / values[pair_first + j * N_PAIR + SLOWNESS, lo + m]
                            )  # fmt: skip
                            seen[m] = 0.0
                        split_step(half, stay_stung[z, p], width, keep, new, old_out, new_out)
                        for size in range(N_SIZES):
                            row = rows.stung[j, z] + size * count
                            passed[:] = 0.0
                            sweep(state, row, bearing, width, to_stung[j, size], keep, new, old_out, new_out,
                                  survive_stung[e], seen, passed)  # fmt: skip
                            each = shared.stung_births[j, size] / bearing
                            for m in range(width):
                                births[m] += each * passed[m]
                            sweep(state, row + bearing, count - bearing, width, to_stung[j, size], keep, new, old_out,
                                  new_out, survive_stung[e], seen, passed)  # fmt: skip
                            for m in range(width):
                                pest_book[p, z, DIED_STUNG, m] += passed[m] * (1.0 - survive_stung[e, m])
                                pest_book[p, z, MUMMIFIED, m] += to_stung[j, size, m]
                                to_mummy[e, m] += to_stung[j, size, m]
                        for m in range(width):
                            gone = seen[m] * (1.0 - stay_stung[z, p, m])
                            by_crowding = (
                                gone * crowded[z, p, m] / loss[z, p, m] if loss[z, p, m] > 0.0 else 0.0
                            )
                            pest_book[p, z, CROWDED, m] += by_crowding
                            pest_book[p, z, UNEXPLAINED, m] += gone - by_crowding
                    give_birth(state, rows.pest[p, z, 0], rows.pest_count[p, 0], width, births, half_first, survive[p],
                               pest_book, p, z)  # fmt: skip

                for e in range(enemies):
                    first = enemy_first + e * N_ENEMY
                    if mummies_active[e, z]:
                        count = rows.enemy_count[e, MUMMIES]
                        for m in range(width):
                            half[m] = (
                                0.5
                                * dt
                                * count
                                * rate[pests + e, m]
                                / (1.0 - values[first + MUMMY_SHARE, lo + m])
                            )
                            seen[m] = 0.0
                            passed[m] = 0.0
                            enemy_book[e, z, FORMED, m] += to_mummy[e, m]
                        split_step(half, ones, width, keep, new, old_out, new_out)
                        sweep(state, rows.enemy[e, z, MUMMIES], count, width, to_mummy[e], keep, new, old_out, new_out,
                              survive_mummy[e], seen, passed)  # fmt: skip
                        for m in range(width):
                            hatched = to_mummy[e, m]
                            dead = passed[m] * (1.0 - survive_mummy[e, m])
                            females = hatched * values[first + SHARE_FEMALE, lo + m]
                            state[rows.enemy[e, z, SHELLS], m] += hatched
                            state[rows.enemy[e, z, DEAD_MUMMIES], m] += dead
                            fresh[e, z, m] += females
                            enemy_book[e, z, HATCHED, m] += hatched
                            enemy_book[e, z, DIED_IN_MUMMY, m] += dead
                            enemy_book[e, z, EMERGED, m] += females
                            enemy_book[e, z, MALES, m] += hatched - females
                    if carrier_active[e, z]:
                        count = rows.enemy_count[e, CARRIER]
                        for m in range(width):
                            warmth = rate[pests + e, m] * values[first + CONSTANT, lo + m]
                            half[m] = 0.5 * dt * count * warmth / values[first + CARRIER_HEAT, lo + m]
                            seen[m] = 0.0
                            passed[m] = 0.0
                            flow[m] = 0.0
                        split_step(half, ones, width, keep, new, old_out, new_out)
                        sweep(state, rows.enemy[e, z, CARRIER], count, width, flow, keep, new, old_out, new_out, ones,
                              seen, passed)  # fmt: skip
                        for m in range(width):
                            fresh[e, z, m] += flow[m]

        # The day ends: adults grow older, the winged share follows crowding, zones mix.
        age_females(state, values, rows, lo, width, fresh, enemy_book)
        for p in range(pests):
            late = shared.instar_share[p, 2] + shared.instar_share[p, 3]
            for z in range(zones):
                row = rows.pest[p, z, WINGED_SHARE]
                for m in range(width):
                    follow = 1.0 - math.exp(-heat[p, m] / late)
                    state[row, m] += follow * (winged_wish[z, p, m] - state[row, m])
        if zones > 1:
            for p in range(pests):
                share[:] = values[p * N_PEST + PEST_EXCHANGE, lo : lo + width]
                mix_zones(state, 0, width, rows.pest[p, :, FLYING], share, weights, pest_book[p], MOVED)
            for e in range(enemies):
                share[:] = values[enemy_first + e * N_ENEMY + ENEMY_EXCHANGE, lo : lo + width]
                for age in range(rows.enemy_count[e, FEMALES]):
                    mix_zones(
                        state, age, width, rows.enemy[e, :, FEMALES], share, weights, enemy_book[e], WENT
                    )

    look(state, rows, width, out, days, lo)
    line = 0
    for p in range(pests):
        for z in range(zones):
            for cause in range(N_PEST_CAUSES):
                ledger[line, lo : lo + width] = pest_book[p, z, cause]
                line += 1
    for e in range(enemies):
        for z in range(zones):
            for cause in range(N_ENEMY_CAUSES):
                ledger[line, lo : lo + width] = enemy_book[e, z, cause]
                line += 1


def compile_advance(fingerprint):
    """Return the compiled loop. ``fingerprint`` makes the cache on disk follow all files the loop is made of."""

    @njit(nogil=True, cache=True)
    def advance(
        state, values, temperature, draws, events, amounts, rows, shared, out, ledger, lo, hi, block, first_hour,
        days, steps,
    ):  # fmt: skip
        made_of = fingerprint
        for start in range(lo, hi, block):
            width = min(block, hi - start)
            own = np.empty((state.shape[0], width))
            own[:] = state[:, start : start + width]
            advance_block(own, values, temperature, draws, events, amounts, rows, shared, out, ledger, start, width,
                          first_hour, days, steps)  # fmt: skip
            state[:, start : start + width] = own
        return made_of

    return advance
