"""What happens to a block of members at midnight, and when a house is sprayed."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from outpace.simulation.bout import HOST_STAGES
from outpace.simulation.chains import add_rows
from outpace.simulation.layout import (
    DEAD_MUMMIES,
    FEMALES,
    FLYING,
    MUMMIES,
    N_SIZES,
    SHELLS,
    WINGED,
)
from outpace.simulation.ledger import AGED, FALLEN, LOST, POISONED, SPRAYED
from outpace.simulation.parameter_rows import (
    ADULT_LOSS,
    ATTACK_SWING,
    GROWTH_SWING,
    MUMMY_FALL,
    N_ENEMY,
    N_PEST,
    SWING_TIME,
)

OUT_PEST = 4  # live, winged, nymphs, living stung
OUT_ENEMY = 3  # closed mummies, shells, females


@njit(nogil=True)
def look(state, rows, width, out, day, lo):
    """Write what stands in the house at midnight."""
    pests, zones = rows.pest.shape[0], rows.pest.shape[1]
    total = np.empty(width)
    line = 0
    for kind in range(OUT_PEST):
        for p in range(pests):
            for z in range(zones):
                total[:] = 0.0
                for block in range(WINGED + 1):
                    winged = block in (FLYING, WINGED)
                    if kind == 0 or (kind == 1 and winged) or (kind == 2 and block < 4):
                        add_rows(state, rows.pest[p, z, block], rows.pest_count[p, block], width, total)
                if kind == 0 or kind == 3:
                    for j in range(rows.pair.shape[0]):
                        if rows.pair[j, 0] == p:
                            add_rows(state, rows.stung[j, z], N_SIZES * rows.stung_count[j], width, total)
                out[day, line, lo : lo + width] = total
                line += 1
    for kind in range(OUT_ENEMY):
        for e in range(rows.enemy.shape[0]):
            for z in range(zones):
                total[:] = 0.0
                if kind == 0:
                    add_rows(state, rows.enemy[e, z, MUMMIES], rows.enemy_count[e, MUMMIES], width, total)
                    add_rows(state, rows.enemy[e, z, DEAD_MUMMIES], 1, width, total)
                elif kind == 1:
                    add_rows(state, rows.enemy[e, z, SHELLS], 1, width, total)
                else:
                    add_rows(state, rows.enemy[e, z, FEMALES], rows.enemy_count[e, FEMALES], width, total)
                out[day, line, lo : lo + width] = total
                line += 1


@njit(nogil=True)
def swing(state, values, rows, lo, width, draws, day):
    """Move the swings of log growth and log attack by a day: an Ornstein-Uhlenbeck process, stepped exactly."""
    pests = rows.pest.shape[0]
    wide = draws.shape[2] > 1
    for p in range(pests):
        for m in range(width):
            column = lo + m if wide else 0
            kept = math.exp(-1.0 / values[p * N_PEST + SWING_TIME, lo + m])
            fresh = math.sqrt(1.0 - kept * kept)
            for kind, spread in ((0, GROWTH_SWING), (1, ATTACK_SWING)):
                row = rows.luck[p] + kind
                state[row, m] = (
                    kept * state[row, m]
                    + fresh * values[p * N_PEST + spread, lo + m] * draws[day, 2 * p + kind, column]
                )


@njit(nogil=True)
def mix_zones(state, row, width, rows_of_zones, share, weights, book, cause):
    """Spread a share of one row over the zones by weight; the sum over zones stays."""
    zones = rows_of_zones.shape[0]
    for m in range(width):
        pool = 0.0
        for z in range(zones):
            pool += share[m] * state[rows_of_zones[z] + row, m]
        for z in range(zones):
            before = state[rows_of_zones[z] + row, m]
            after = before * (1.0 - share[m]) + pool * weights[z]
            state[rows_of_zones[z] + row, m] = after
            book[z, cause, m] += after - before


@njit(nogil=True)
def spray(state, rows, zone, kill_pest, kill_enemy, lo, width, fresh, hazard, pest_book, enemy_book):
    """Kill aphids, stung ones too, and adult enemies at once; the day's attack falls with the enemies."""
    for p in range(rows.pest.shape[0]):
        for block in range(WINGED + 1):
            for r in range(rows.pest[p, zone, block], rows.pest[p, zone, block] + rows.pest_count[p, block]):
                for m in range(width):
                    dead = state[r, m] * kill_pest[lo + m]
                    state[r, m] -= dead
                    pest_book[p, zone, SPRAYED, m] += dead
    for j in range(rows.pair.shape[0]):
        for r in range(rows.stung[j, zone], rows.stung[j, zone] + N_SIZES * rows.stung_count[j]):
            for m in range(width):
                dead = state[r, m] * kill_pest[lo + m]
                state[r, m] -= dead
                pest_book[rows.pair[j, 0], zone, SPRAYED, m] += dead
        for stage in range(HOST_STAGES):
            for m in range(width):
                hazard[zone, j, stage, m] *= 1.0 - kill_enemy[lo + m]
    for e in range(rows.enemy.shape[0]):
        first = rows.enemy[e, zone, FEMALES]
        for m in range(width):
            dead = 0.0
            for r in range(first, first + rows.enemy_count[e, FEMALES]):
                dead += state[r, m] * kill_enemy[lo + m]
                state[r, m] *= 1.0 - kill_enemy[lo + m]
            dead += fresh[e, zone, m] * kill_enemy[lo + m]
            fresh[e, zone, m] *= 1.0 - kill_enemy[lo + m]
            enemy_book[e, zone, POISONED, m] += dead


@njit(nogil=True)
def age_females(state, values, rows, lo, width, fresh, enemy_book):
    """End the day of the adult enemies: losses, a day older, and today's newcomers join; shells fall; residues fade."""
    for z in range(rows.enemy.shape[1]):
        residue = rows.residue[z]
        for e in range(rows.enemy.shape[0]):
            values_row = rows.pest.shape[0] * N_PEST + e * N_ENEMY
            first = rows.enemy[e, z, FEMALES]
            last = first + rows.enemy_count[e, FEMALES] - 1
            for m in range(width):
                usual = values[values_row + ADULT_LOSS, lo + m]
                poison = -math.log(1.0 - min(state[residue, m], 0.999999))
                alive = math.exp(-usual - poison)
                dead = 0.0
                aged = state[last, m] * alive
                for r in range(last, first - 1, -1):
                    dead += state[r, m] * (1.0 - alive)
                    if r > first:
                        state[r, m] = state[r - 1, m] * alive
                half_alive = math.exp(-0.5 * (usual + poison))
                dead += fresh[e, z, m] * (1.0 - half_alive)
                state[first, m] = fresh[e, z, m] * half_alive
                fresh[e, z, m] = 0.0
                by_poison = dead * poison / (usual + poison) if usual + poison > 0.0 else 0.0
                enemy_book[e, z, POISONED, m] += by_poison
                enemy_book[e, z, LOST, m] += dead - by_poison
                enemy_book[e, z, AGED, m] += aged
                gone = 1.0 - math.exp(-values[values_row + MUMMY_FALL, lo + m])
                for block in (SHELLS, DEAD_MUMMIES):
                    row = rows.enemy[e, z, block]
                    enemy_book[e, z, FALLEN, m] += state[row, m] * gone
                    state[row, m] *= 1.0 - gone
        for m in range(width):
            state[residue, m] = max(0.0, state[residue, m] - state[residue + 1, m])


@njit(nogil=True)
def lay_residue(state, rows, zone, level, days, lo, width):
    """Let a new residue stand where it kills more than what is left of the old one."""
    row = rows.residue[zone]
    for m in range(width):
        if level[lo + m] > state[row, m]:
            state[row, m] = level[lo + m]
            state[row + 1, m] = level[lo + m] / max(days[lo + m], 1.0)
