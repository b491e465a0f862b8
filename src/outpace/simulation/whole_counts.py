"""Whole individuals at midnight: what is few is rounded to whole numbers, taken out for a day, and put back."""

from __future__ import annotations

import math

import numpy as np

from outpace.simulation.bout import MOST_RESIDUE
from outpace.simulation.chains import Array, compiled, compiled_apart
from outpace.simulation.counter_luck import binomial, next_key, upper
from outpace.simulation.few import AGEING, ALIVE_ON, BEARING, HEAT, HOT, STUNG_ON, Few
from outpace.simulation.layout import FEMALES, HOST_STAGES, MUMMIES, N_SIZES, WINGED, Rows
from outpace.simulation.ledger import (
    AGED,
    FEMALES_ROUNDED,
    LOST,
    MUMMIES_ROUNDED,
    N_PEST_CAUSES,
    POISONED,
    ROUNDED,
    SPRAYED,
)
from outpace.simulation.packs import WIDTH, add, get, least, put, spread, whole_part
from outpace.simulation.room import Room

OF_PEST, OF_MUMMIES, OF_FEMALES = 1, 1001, 2001
"""First numbers of the keys of each kind of species."""
MOST_NEAR = 1e6
"""Larger numbers are never few: whether they are whole does not matter."""
TO_ROUND, TO_SPRAY, TO_AGE, TO_STRIP = 1, 2, 3, 4
"""What a key of a species is for; larger numbers are individuals."""


@compiled_apart
def empty_sums(few: Few) -> None:
    """Begin the sums of a part of a day; heat has spared all so far."""
    for i in range(few.sums.shape[0]):
        for kind in range(few.sums.shape[1]):
            for m in range(WIDTH):
                few.sums[i, kind, m] = 1.0 if kind == HOT else 0.0


@compiled_apart
def begin_few(rows: Rows, seed: np.uint64, day: int, lo: int, few: Few) -> None:
    """Write the keys of this day, by zone and member, and empty the sums."""
    empty_sums(few)
    today = next_key(seed, day)
    for z in range(rows.residue.shape[0]):
        here = next_key(today, z)
        for m in range(WIDTH):
            few.key[z, m] = next_key(here, lo + m)


@compiled
def weigh(state: Array, row: int, count: int, few: Few) -> None:
    """Add rows to the total, and how far they are from whole numbers."""
    for r in range(row, row + count):
        number = get(state, r)
        add(few.total, 0, number)
        near = least(number, spread(MOST_NEAR))
        part = near - whole_part(near)
        add(few.broken, 0, least(part, 1.0 - part))


@compiled_apart
def round_rows(state: Array, row: int, count: int, m: int, carry: float) -> float:
    """Round rows so that each keeps its mean: a row gives as many as whole numbers are passed on the way through it.

    ``carry`` begins as a uniform number and is handed on from block to block.
    """
    for r in range(row, row + count):
        reached = carry + state[r, m]
        whole = math.floor(reached)
        state[r, m] = whole
        carry = reached - whole
    return carry


@compiled_apart
def round_off(state: Array, rows: Rows, switch: float, room: Room, few: Few) -> None:
    """Note what is few, and make whole what is not; means stay, and the books tell the difference."""
    for z in range(rows.residue.shape[0]):
        for p in range(rows.pest.shape[0]):
            put(few.total, 0, spread(0.0))
            put(few.broken, 0, spread(0.0))
            for block in range(WINGED + 1):
                weigh(state, rows.pest[p, z, block], rows.pest_count[p, block], few)
            for j in range(rows.pair.shape[0]):
                if rows.pair[j, 0] == p:
                    weigh(state, rows.stung[j, z], N_SIZES * rows.stung_count[j], few)
            few.all_few[p, z] = True
            for m in range(WIDTH):
                few.pest[p, z, m] = few.total[0, m] < switch
                few.number[p, z, m] = few.total[0, m]
                if not few.pest[p, z, m]:
                    few.all_few[p, z] = False
                elif few.broken[0, m] > 0.0:
                    luck = upper(next_key(next_key(few.key[z, m], OF_PEST + p), TO_ROUND))
                    carry = luck
                    for block in range(WINGED + 1):
                        carry = round_rows(state, rows.pest[p, z, block], rows.pest_count[p, block], m, carry)
                    for j in range(rows.pair.shape[0]):
                        if rows.pair[j, 0] == p:
                            carry = round_rows(
                                state, rows.stung[j, z], N_SIZES * rows.stung_count[j], m, carry
                            )
                    room.pest_book[p, z, ROUNDED, m] += luck - carry
        for e in range(rows.enemy.shape[0]):
            for kind in range(2):
                block = MUMMIES if kind == 0 else FEMALES
                row, count = rows.enemy[e, z, block], rows.enemy_count[e, block]
                put(few.total, 0, spread(0.0))
                put(few.broken, 0, spread(0.0))
                weigh(state, row, count, few)
                for m in range(WIDTH):
                    is_few = 0.0 < few.total[0, m] < switch
                    if kind == 0:
                        few.mummies[e, z, m] = is_few
                    else:
                        few.females[e, z, m] = is_few
                    if is_few and few.broken[0, m] > 0.0:
                        of = (OF_MUMMIES if kind == 0 else OF_FEMALES) + e
                        luck = upper(next_key(next_key(few.key[z, m], of), TO_ROUND))
                        carry = round_rows(state, row, count, m, luck)
                        cause = MUMMIES_ROUNDED if kind == 0 else FEMALES_ROUNDED
                        room.enemy_book[e, z, cause, m] += luck - carry


@compiled_apart
def move_out(state: Array, row: int, count: int, is_few: Array, few: Few) -> None:
    """Take what is few out of some rows."""
    for r in range(row, row + count):
        for m in range(WIDTH):
            if is_few[m] and state[r, m] > 0.0:
                few.whole[m, r] = int(state[r, m])
                state[r, m] = 0.0


@compiled_apart
def take_out(state: Array, rows: Rows, zone: int, room: Room, few: Few) -> None:
    """Take what is few out of the state of a zone for this day, with the attack that is fixed for it."""
    for p in range(rows.pest.shape[0]):
        is_few = few.pest[p, zone]
        for block in range(WINGED + 1):
            move_out(state, rows.pest[p, zone, block], rows.pest_count[p, block], is_few, few)
        for j in range(rows.pair.shape[0]):
            if rows.pair[j, 0] == p:
                move_out(state, rows.stung[j, zone], N_SIZES * rows.stung_count[j], is_few, few)
                for stage in range(HOST_STAGES):
                    for m in range(WIDTH):
                        few.hazard[zone, j, stage, m] = room.hazard[zone, j, stage, m]
                        if is_few[m]:
                            room.hazard[zone, j, stage, m] = 0.0
        for cause in range(N_PEST_CAUSES):
            for m in range(WIDTH):
                few.book[p, zone, cause, m] = room.pest_book[p, zone, cause, m]
    for e in range(rows.enemy.shape[0]):
        move_out(
            state, rows.enemy[e, zone, MUMMIES], rows.enemy_count[e, MUMMIES], few.mummies[e, zone], few
        )  # fmt: skip
        move_out(
            state, rows.enemy[e, zone, FEMALES], rows.enemy_count[e, FEMALES], few.females[e, zone], few
        )  # fmt: skip


@compiled_apart
def add_up(rows: Rows, dt: float, room: Room, few: Few) -> None:
    """Add the rates of one step to the sums that individuals live by."""
    pests = rows.pest.shape[0]
    for p in range(pests):
        sums = few.sums[p]
        for m in range(WIDTH):
            warmth = room.rate[p, m] * dt
            sums[HEAT, m] += warmth
            sums[ALIVE_ON, m] += warmth * room.survive[p, m]
            sums[AGEING, m] += room.ageing[p, m] * dt
            sums[BEARING, m] += room.ageing[p, m] * dt * room.fecundity[p, m]
            sums[HOT, m] *= room.cool[p, m] ** 2
    for e in range(rows.enemy.shape[0]):
        sums = few.sums[pests + e]
        for m in range(WIDTH):
            warmth = room.rate[pests + e, m] * dt
            sums[HEAT, m] += warmth
            sums[ALIVE_ON, m] += warmth * room.survive_mummy[e, m]
            sums[STUNG_ON, m] += warmth * room.survive_stung[e, m]
            sums[HOT, m] *= room.cool[pests + e, m] ** 2


@compiled_apart
def spray_few(
    rows: Rows,
    zone: int,
    part: int,
    kill_pest: Array,
    kill_enemy: Array,
    lo: int,
    room: Room,
    few: Few,
) -> None:
    """Kill whole aphids, stung ones too, and whole females at once; the day's attack falls with the females."""
    for j in range(rows.pair.shape[0]):
        for stage in range(HOST_STAGES):
            for m in range(WIDTH):
                few.hazard[zone, j, stage, m] *= 1.0 - kill_enemy[lo + m]
    for m in range(WIDTH):
        for p in range(rows.pest.shape[0]):
            if few.pest[p, zone, m]:
                key = next_key(next_key(few.key[zone, m], OF_PEST + p), TO_SPRAY + 16 * part)
                dead = kill_rows(
                    few, m, rows.pest[p, zone, 0], rows.pest[p, zone, WINGED] + rows.pest_count[p, WINGED],
                    kill_pest[lo + m], key,
                )  # fmt: skip
                for j in range(rows.pair.shape[0]):
                    if rows.pair[j, 0] == p:
                        first = rows.stung[j, zone]
                        dead += kill_rows(
                            few, m, first, first + N_SIZES * rows.stung_count[j], kill_pest[lo + m],
                            next_key(key, 1 + j),
                        )  # fmt: skip
                few.book[p, zone, SPRAYED, m] += dead
        for e in range(rows.enemy.shape[0]):
            if few.females[e, zone, m]:
                key = next_key(next_key(few.key[zone, m], OF_FEMALES + e), TO_SPRAY + 16 * part)
                first = rows.enemy[e, zone, FEMALES]
                last = first + rows.enemy_count[e, FEMALES]
                dead = kill_rows(few, m, first, last, kill_enemy[lo + m], key)
                room.enemy_book[e, zone, POISONED, m] += dead


@compiled_apart
def kill_rows(few: Few, m: int, first: int, last: int, share: float, key: np.uint64) -> int:
    """Kill whole individuals of some rows; return how many."""
    dead = 0
    for r in range(first, last):
        number = few.whole[m, r]
        if number > 0:
            gone = binomial(number, share, upper(next_key(key, 100 + r - first)))
            few.whole[m, r] -= gone
            dead += gone
    return dead


@compiled_apart
def age_few(state: Array, rows: Rows, room: Room, few: Few) -> None:
    """End the day of whole females: each is lost or a day older."""
    for z in range(rows.residue.shape[0]):
        for e in range(rows.enemy.shape[0]):
            first = rows.enemy[e, z, FEMALES]
            last = first + rows.enemy_count[e, FEMALES] - 1
            for m in range(WIDTH):
                if not few.females[e, z, m]:
                    continue
                usual = room.lost[z, e, m]
                poison = -math.log(1.0 - min(state[rows.residue[z], m], MOST_RESIDUE))
                alive = math.exp(-usual - poison)
                key = next_key(next_key(few.key[z, m], OF_FEMALES + e), TO_AGE)
                dead = 0
                for r in range(last, first - 1, -1):
                    number = few.whole[m, r]
                    if number > 0:
                        stay = binomial(number, alive, upper(next_key(key, r - first)))
                        few.whole[m, r] = 0
                        dead += number - stay
                        if r < last:
                            few.whole[m, r + 1] = stay
                        else:
                            room.enemy_book[e, z, AGED, m] += stay
                by_poison = dead * poison / (usual + poison) if dead > 0 else 0.0
                room.enemy_book[e, z, POISONED, m] += by_poison
                room.enemy_book[e, z, LOST, m] += dead - by_poison


@compiled_apart
def move_in(state: Array, row: int, count: int, m: int, keep: float, few: Few) -> None:
    """Put whole individuals of one member back beside the share that is kept of what stands there."""
    for r in range(row, row + count):
        state[r, m] = keep * state[r, m] + few.whole[m, r]
        few.whole[m, r] = 0


@compiled_apart
def put_back(state: Array, rows: Rows, room: Room, few: Few) -> None:
    """Put whole individuals back.

    Of a few pest nothing but them stands: what the continuous step made of arrivals is dropped with its books, because
    arrivals came as whole individuals.
    """
    for z in range(rows.residue.shape[0]):
        for m in range(WIDTH):
            for p in range(rows.pest.shape[0]):
                if few.pest[p, z, m]:
                    for block in range(WINGED + 1):
                        move_in(state, rows.pest[p, z, block], rows.pest_count[p, block], m, 0.0, few)
                    for j in range(rows.pair.shape[0]):
                        if rows.pair[j, 0] == p:
                            move_in(state, rows.stung[j, z], N_SIZES * rows.stung_count[j], m, 0.0, few)
                    for cause in range(N_PEST_CAUSES):
                        room.pest_book[p, z, cause, m] = few.book[p, z, cause, m]
            for e in range(rows.enemy.shape[0]):
                row = rows.enemy[e, z, MUMMIES]
                for r in range(row, row + rows.enemy_count[e, MUMMIES]):
                    if few.whole[m, r] > 0:
                        state[r, m] += few.whole[m, r]
                        few.whole[m, r] = 0
                if few.females[e, z, m]:
                    move_in(state, rows.enemy[e, z, FEMALES], rows.enemy_count[e, FEMALES], m, 1.0, few)
