"""What happens to a block of members at midnight, and when a house is sprayed."""

from __future__ import annotations

import math

from outpace.simulation.bout import MOST_RESIDUE, PLANTS
from outpace.simulation.chains import Array, add_rows, compiled, fill
from outpace.simulation.layout import (
    DEAD_MUMMIES,
    FEMALES,
    FLYING,
    HOST_STAGES,
    MUMMIES,
    N_SIZES,
    SHELLS,
    WINGED,
    WINGED_SHARE,
    Integers,
    Rows,
)
from outpace.simulation.ledger import AGED, FALLEN, LOST, MOVED, POISONED, SPRAYED, WENT
from outpace.simulation.parameter_rows import (
    ADULT_LOSS,
    ATTACK_SWING,
    ENEMY_EXCHANGE,
    GROWTH_SWING,
    MUMMY_FALL,
    N_ENEMY,
    N_PEST,
    PEST_EXCHANGE,
    SWING_TIME,
)
from outpace.simulation.responses import Shared
from outpace.simulation.room import Room

OUT_PEST = 4  # live, winged, nymphs, living stung
OUT_ENEMY = 3  # closed mummies, shells, females
DUST = 1e-60


@compiled
def look(state: Array, rows: Rows, width: int, out: Array, day: int, lo: int, room: Room) -> None:
    """Write what stands in the house at midnight."""
    pests, zones = rows.pest.shape[0], rows.pest.shape[1]
    total = room.lane[0]
    line = 0
    for kind in range(OUT_PEST):
        for p in range(pests):
            for z in range(zones):
                fill(total, width)
                for block in range(WINGED + 1):
                    winged = block in (FLYING, WINGED)
                    if kind == 0 or (kind == 1 and winged) or (kind == 2 and block < 4):
                        add_rows(state, rows.pest[p, z, block], rows.pest_count[p, block], width, total)
                if kind == 0 or kind == 3:
                    for j in range(rows.pair.shape[0]):
                        if rows.pair[j, 0] == p:
                            add_rows(state, rows.stung[j, z], N_SIZES * rows.stung_count[j], width, total)
                for m in range(width):
                    out[day, line, lo + m] = total[m]
                line += 1
    for kind in range(OUT_ENEMY):
        for e in range(rows.enemy.shape[0]):
            for z in range(zones):
                fill(total, width)
                if kind == 0:
                    add_rows(state, rows.enemy[e, z, MUMMIES], rows.enemy_count[e, MUMMIES], width, total)
                    add_rows(state, rows.enemy[e, z, DEAD_MUMMIES], 1, width, total)
                elif kind == 1:
                    add_rows(state, rows.enemy[e, z, SHELLS], 1, width, total)
                else:
                    add_rows(state, rows.enemy[e, z, FEMALES], rows.enemy_count[e, FEMALES], width, total)
                for m in range(width):
                    out[day, line, lo + m] = total[m]
                line += 1


@compiled
def swing(state: Array, values: Array, rows: Rows, lo: int, width: int, draws: Array, day: int) -> None:
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


@compiled
def mix_zones(
    state: Array, values: Array, rows: Rows, shared: Shared, lo: int, width: int, room: Room
) -> None:
    """Spread a share of the flying aphids and of the females over the zones by plants; sums over zones stay."""
    if rows.residue.shape[0] < 2:
        return
    for p in range(rows.pest.shape[0]):
        for m in range(width):
            share = values[p * N_PEST + PEST_EXCHANGE, lo + m]
            mix_row(state, rows.pest[p], FLYING, 0, m, share, shared, room.pest_book[p], MOVED)
    for e in range(rows.enemy.shape[0]):
        for m in range(width):
            share = values[rows.pest.shape[0] * N_PEST + e * N_ENEMY + ENEMY_EXCHANGE, lo + m]
            for age in range(rows.enemy_count[e, FEMALES]):
                mix_row(state, rows.enemy[e], FEMALES, age, m, share, shared, room.enemy_book[e], WENT)


@compiled
def mix_row(
    state: Array,
    blocks: Integers,
    block: int,
    row: int,
    m: int,
    share: float,
    shared: Shared,
    book: Array,
    cause: int,
) -> None:
    """Mix one row of one member."""
    pool = 0.0
    plants = 0.0
    for z in range(blocks.shape[0]):
        pool += share * state[blocks[z, block] + row, m]
        plants += shared.zone[z, PLANTS]
    for z in range(blocks.shape[0]):
        before = state[blocks[z, block] + row, m]
        after = before * (1.0 - share) + pool * shared.zone[z, PLANTS] / plants
        state[blocks[z, block] + row, m] = after
        book[z, cause, m] += after - before


@compiled
def spray(
    state: Array, rows: Rows, zone: int, kill_pest: Array, kill_enemy: Array, lo: int, width: int, room: Room
) -> None:
    """Kill aphids, stung ones too, and adult enemies at once; the day's attack falls with the enemies."""
    for p in range(rows.pest.shape[0]):
        for block in range(WINGED + 1):
            for r in range(rows.pest[p, zone, block], rows.pest[p, zone, block] + rows.pest_count[p, block]):
                for m in range(width):
                    dead = state[r, m] * kill_pest[lo + m]
                    state[r, m] -= dead
                    room.pest_book[p, zone, SPRAYED, m] += dead
    for j in range(rows.pair.shape[0]):
        for r in range(rows.stung[j, zone], rows.stung[j, zone] + N_SIZES * rows.stung_count[j]):
            for m in range(width):
                dead = state[r, m] * kill_pest[lo + m]
                state[r, m] -= dead
                room.pest_book[rows.pair[j, 0], zone, SPRAYED, m] += dead
        for stage in range(HOST_STAGES):
            for m in range(width):
                room.hazard[zone, j, stage, m] *= 1.0 - kill_enemy[lo + m]
    for e in range(rows.enemy.shape[0]):
        first = rows.enemy[e, zone, FEMALES]
        for m in range(width):
            dead = 0.0
            for r in range(first, first + rows.enemy_count[e, FEMALES]):
                dead += state[r, m] * kill_enemy[lo + m]
                state[r, m] *= 1.0 - kill_enemy[lo + m]
            dead += room.fresh[e, zone, m] * kill_enemy[lo + m]
            room.fresh[e, zone, m] *= 1.0 - kill_enemy[lo + m]
            room.enemy_book[e, zone, POISONED, m] += dead


@compiled
def age_females(state: Array, values: Array, rows: Rows, lo: int, width: int, room: Room) -> None:
    """End the day of the adult enemies: losses, a day older, and today's newcomers join; shells fall; residues fade."""
    for z in range(rows.enemy.shape[1]):
        residue = rows.residue[z]
        for e in range(rows.enemy.shape[0]):
            values_row = rows.pest.shape[0] * N_PEST + e * N_ENEMY
            first = rows.enemy[e, z, FEMALES]
            last = first + rows.enemy_count[e, FEMALES] - 1
            for m in range(width):
                usual = values[values_row + ADULT_LOSS, lo + m]
                poison = -math.log(1.0 - min(state[residue, m], MOST_RESIDUE))
                alive = math.exp(-usual - poison)
                dead = 0.0
                aged = state[last, m] * alive
                for r in range(last, first - 1, -1):
                    dead += state[r, m] * (1.0 - alive)
                    if r > first:
                        state[r, m] = state[r - 1, m] * alive
                half_alive = math.exp(-0.5 * (usual + poison))
                dead += room.fresh[e, z, m] * (1.0 - half_alive)
                state[first, m] = room.fresh[e, z, m] * half_alive
                room.fresh[e, z, m] = 0.0
                by_poison = dead * poison / (usual + poison) if usual + poison > 0.0 else 0.0
                room.enemy_book[e, z, POISONED, m] += by_poison
                room.enemy_book[e, z, LOST, m] += dead - by_poison
                room.enemy_book[e, z, AGED, m] += aged
                gone = 1.0 - math.exp(-values[values_row + MUMMY_FALL, lo + m])
                for block in (SHELLS, DEAD_MUMMIES):
                    row = rows.enemy[e, z, block]
                    room.enemy_book[e, z, FALLEN, m] += state[row, m] * gone
                    state[row, m] *= 1.0 - gone
        for m in range(width):
            state[residue, m] = max(0.0, state[residue, m] - state[residue + 1, m])


@compiled
def lay_residue(state: Array, rows: Rows, zone: int, level: Array, days: Array, lo: int, width: int) -> None:
    """Let a new residue stand where it kills more than what is left of the old one."""
    row = rows.residue[zone]
    for m in range(width):
        if level[lo + m] > state[row, m]:
            state[row, m] = level[lo + m]
            state[row + 1, m] = level[lo + m] / max(days[lo + m], 1.0)


@compiled
def drop_dust(state: Array, width: int) -> None:
    """Set numbers of no weight to zero: subnormal ones would slow the machine a hundred-fold."""
    for r in range(state.shape[0]):
        for m in range(width):
            if abs(state[r, m]) < DUST:
                state[r, m] = 0.0


@compiled
def follow_crowding(state: Array, rows: Rows, shared: Shared, width: int, room: Room) -> None:
    """Let the winged share of coming moults follow the day's crowding as fast as nymphs pass the last two instars."""
    for p in range(rows.pest.shape[0]):
        late = shared.instar_share[p, 2] + shared.instar_share[p, 3]
        for z in range(rows.pest.shape[1]):
            row = rows.pest[p, z, WINGED_SHARE]
            for m in range(width):
                follow = 1.0 - math.exp(-room.heat[p, m] / late)
                state[row, m] += follow * (room.winged_wish[z, p, m] - state[row, m])
