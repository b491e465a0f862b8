"""A day of whole individuals, each by itself: the same hazards and rates as the continuous step, met by luck.

An individual waits an exponential time for the next thing that happens to it: a passage to the next substage, a sting,
a death. Its time runs in the sums of a part of a day (a whole day, unless a spray divides it), so the mean is that of
the continuous step. Every number drawn is keyed by the individual: see `outpace.simulation.counter_luck`.
"""

from __future__ import annotations

import math

from outpace.simulation.bout import AREA
from outpace.simulation.chains import Array, compiled_apart, varying
from outpace.simulation.counter_luck import lower, next_key, poisson, upper
from outpace.simulation.few import (
    AGEING,
    ALIVE_ON,
    BEARING,
    HEAT,
    HOT,
    MOST_WAITING,
    OF_PAIR,
    ONCE,
    PACE,
    RISK,
    STUNG_ON,
    TEETH,
    WINGED_YOUNG,
    WINGLESS_YOUNG,
    Few,
)
from outpace.simulation.layout import (
    DEAD_MUMMIES,
    FLYING,
    HOST_STAGES,
    MUMMIES,
    N_SIZES,
    SHELLS,
    WINGED,
    WINGED_SHARE,
    WINGLESS,
    YOUNG_ADULTS,
    Rows,
)
from outpace.simulation.ledger import (
    ARRIVED,
    CROWDED,
    FORMED,
    HYPERPARASITISED,
    N_PEST_CAUSES,
    RESTING,
    UNEXPLAINED,
)
from outpace.simulation.packs import WIDTH
from outpace.simulation.parameter_rows import (
    IMMIGRATION,
    LOG_IMMIGRATION,
    MUMMY_SHARE,
    N_ENEMY,
    N_PAIR,
    N_PEST,
    PRE_REPRODUCTIVE,
    SHARE_FEMALE,
    SLOWNESS,
    WINGED_BIRTHS,
    WINGED_FLIGHT,
    WINGED_LEAVING,
)
from outpace.simulation.responses import Shared
from outpace.simulation.room import Room
from outpace.simulation.whole_counts import OF_MUMMIES, OF_PEST, empty_sums
from outpace.simulation.whole_lives import (
    ARRIVALS,
    BY_HEAT,
    GOING,
    LASTS,
    LEAST,
    LOSS,
    OF_PART,
    OF_STUNG,
    PLACES,
    SCORCHED,
    STINGS_OF_MUMMIES,
    SURVIVE,
    TEETH_OF_MUMMIES,
    TO_REST,
    WILL_FLY,
    WILL_LEAVE,
    YOUNG,
    live_aphid,
    live_mummy,
    live_stung,
    settle,
    wait,
)


@compiled_apart
def live_on(
    state: Array,
    rows: Rows,
    shared: Shared,
    part: int,
    span: float,
    room: Room,
    few: Few,
) -> None:
    """Let whole individuals of all zones live through a part of a day of length ``span``; empty the sums. [d]"""
    if span <= 0.0:
        return
    for m in range(WIDTH):
        set_wasps(rows, m, room, few)
        for z in range(rows.residue.shape[0]):
            few.waits[1] = 0
            for p in range(rows.pest.shape[0]):
                if few.pest[p, z, m]:
                    live_pest(state, rows, shared, p, z, m, part, span, room, few)
            live_mummies(state, rows, z, m, part, span, room, few)
    empty_sums(few)


@compiled_apart
def set_wasps(rows: Rows, m: int, room: Room, few: Few) -> None:
    """Write how wasps of one member live inside their hosts."""
    pests, enemies, pairs = rows.pest.shape[0], rows.enemy.shape[0], rows.pair.shape[0]
    for e in range(enemies):
        sums, life = few.sums[pests + e], few.desk[OF_PAIR + 2 * pairs + e]
        first = pests * N_PEST + e * N_ENEMY
        heat = sums[HEAT, m]
        life[GOING] = rows.enemy_count[e, MUMMIES] * heat / (1.0 - room.values[first + MUMMY_SHARE, m])
        life[BY_HEAT] = -math.log(max(sums[HOT, m], LEAST))
        life[LASTS] = sums[ALIVE_ON, m] / heat if heat > 0.0 else 1.0
        life[YOUNG] = room.values[first + SHARE_FEMALE, m]
    for j in range(pairs):
        e = rows.pair[j, 1]
        sums, life = few.sums[pests + e], few.desk[OF_PAIR + pairs + j]
        heat = sums[HEAT, m]
        share = room.values[pests * N_PEST + e * N_ENEMY + MUMMY_SHARE, m]
        slowness = room.values[pests * N_PEST + enemies * N_ENEMY + j * N_PAIR + SLOWNESS, m]
        life[GOING] = rows.stung_count[j] * heat / (share * slowness)
        life[BY_HEAT] = -math.log(max(sums[HOT, m], LEAST))
        life[LASTS] = sums[STUNG_ON, m] / heat if heat > 0.0 else 1.0


@compiled_apart
def set_pest(
    state: Array,
    rows: Rows,
    shared: Shared,
    p: int,
    zone: int,
    m: int,
    span: float,
    room: Room,
    few: Few,
) -> None:
    """Write how aphids of one member and zone live: rates, hazards, young."""
    sums, desk = few.sums[p], few.desk
    first = p * N_PEST
    heat, ageing = sums[HEAT, m], sums[AGEING, m]
    pace, risk, once = desk[PACE], desk[RISK], desk[ONCE]
    for block in range(4):
        pace[block] = rows.pest_count[p, block] * heat / shared.instar_share[p, block]
    pace[YOUNG_ADULTS] = rows.pest_count[p, YOUNG_ADULTS] * heat / room.values[first + PRE_REPRODUCTIVE, m]
    pace[WINGLESS] = rows.pest_count[p, WINGLESS] * ageing
    pace[FLYING] = span / room.values[first + WINGED_FLIGHT, m]
    pace[WINGED] = rows.pest_count[p, WINGED] * ageing
    once[SURVIVE] = sums[ALIVE_ON, m] / heat if heat > 0.0 else 1.0
    once[SCORCHED] = -math.log(max(sums[HOT, m], LEAST))
    once[WILL_FLY] = state[rows.pest[p, zone, WINGED_SHARE], m]
    once[WILL_LEAVE] = room.values[first + WINGED_LEAVING, m]
    once[LOSS] = room.loss[zone, p, m] * span
    births = shared.births[zone, p] * sums[BEARING, m] / ageing if ageing > 0.0 else 0.0
    for age in range(rows.pest_count[p, WINGLESS]):
        desk[WINGLESS_YOUNG, age] = births * shared.wingless_shape[p, age]
    for age in range(rows.pest_count[p, WINGED]):
        desk[WINGED_YOUNG, age] = births * shared.winged_shape[p, age] * room.values[first + WINGED_BIRTHS, m]
    for stage in range(HOST_STAGES):
        desk[TEETH, stage] = room.den.eaten[zone, p, stage, m] * span if rows.predator.shape[0] > 0 else 0.0
        risk[stage] = once[LOSS] + desk[TEETH, stage] + (once[SCORCHED] if stage < 4 else 0.0)
    pairs = rows.pair.shape[0]
    for j in range(pairs):
        mine = rows.pair[j, 0] == p
        for stage in range(HOST_STAGES):
            stinging = few.hazard[zone, j, stage, m] * span if mine else 0.0
            desk[OF_PAIR + j, stage] = stinging
            risk[stage] += stinging
        bearing = max(1, rows.stung_count[j] // 3)
        for size in range(N_SIZES):
            desk[OF_PAIR + pairs + j, YOUNG + size] = shared.stung_births[j, size] / bearing


@compiled_apart
def live_pest(
    state: Array,
    rows: Rows,
    shared: Shared,
    p: int,
    zone: int,
    m: int,
    part: int,
    span: float,
    room: Room,
    few: Few,
) -> None:
    """Let the aphids of one zone and member live: those that stand there, those that arrive, those that are born."""
    key = next_key(next_key(few.key[zone, m], OF_PEST + p), OF_PART + part)
    born, born_key, waits = few.born, few.born_key, few.waits
    first = p * N_PEST
    waits[0] = 0
    comes = span * shared.zone[zone, AREA] * room.values[first + IMMIGRATION, m]
    came = 0
    if comes > 0.0:
        of_arrivals = next_key(key, ARRIVALS)
        comes *= math.exp(room.values[first + LOG_IMMIGRATION, m])
        came = min(poisson(comes, upper(of_arrivals)), MOST_WAITING // 2)
        for k in range(came):
            word = next_key(of_arrivals, 1 + k)
            wait(WINGED * PLACES, lower(word), word, few.place, born, born_key, waits)
    few.number[p, zone, m] += came
    if few.number[p, zone, m] == 0.0:
        return
    set_pest(state, rows, shared, p, zone, m, span, room, few)
    desk, lived, tally = few.desk, few.lived, few.tally
    tally[ARRIVED] += came
    formed, formed_key, formed_of = few.formed, few.formed_key, few.formed_of
    begins, counts = rows.pest[p, zone], rows.pest_count[p]
    whole = few.whole[m]
    for block in range(WINGED + 1):
        for index in range(counts[block]):
            row = begins[block] + index
            for k in range(whole[row]):
                word = next_key(key, OF_PART * (1 + row - begins[0]) + k)
                wait(block * PLACES + index, 0.0, word, few.place, born, born_key, waits)
    for j in range(rows.pair.shape[0]):
        if rows.pair[j, 0] == p:
            of_pair = next_key(key, OF_STUNG + j)
            for size in range(N_SIZES):
                for index in range(rows.stung_count[j]):
                    place = size * rows.stung_count[j] + index
                    for k in range(whole[rows.stung[j, zone] + place]):
                        word = next_key(of_pair, OF_PART * (1 + place) + k)
                        live_stung(
                            desk, j, rows.pair.shape[0], size, index, rows.stung[j, zone],
                            rows.stung_count[j], begins[0], 0.0, word,
                            lived, tally, few.place, born, born_key, formed, formed_key, formed_of, waits,
                        )  # fmt: skip
    while waits[0] > 0:
        waits[0] -= 1
        place = few.place[waits[0]]
        live_aphid(
            desk, begins, counts, place // PLACES, place % PLACES, born[waits[0]], born_key[waits[0]],
            rows.stung[:, zone], rows.stung_count, lived, tally, few.place, born, born_key, formed, formed_key,
            formed_of, waits,
        )  # fmt: skip
    for block in range(WINGED + 1):
        settle(begins[block], counts[block], whole, lived)
    for j in range(rows.pair.shape[0]):
        if rows.pair[j, 0] == p:
            settle(rows.stung[j, zone], N_SIZES * rows.stung_count[j], whole, lived)
    crowded = room.crowded[zone, p, m]
    tally[CROWDED] = crowded * tally[UNEXPLAINED]
    tally[UNEXPLAINED] -= tally[CROWDED]
    for cause in range(N_PEST_CAUSES):
        few.book[p, zone, cause, m] += tally[cause]
        tally[cause] = 0.0


@compiled_apart
def live_mummies(
    state: Array, rows: Rows, zone: int, m: int, part: int, span: float, room: Room, few: Few
) -> None:
    """Let the few mummies of one zone and member live through a part of a day, and those that formed in it."""
    lived, whole = few.lived, few.whole[m]
    pairs = rows.pair.shape[0]
    for e in range(rows.enemy.shape[0]):
        row, count = rows.enemy[e, zone, MUMMIES], rows.enemy_count[e, MUMMIES]
        life, book = few.desk[OF_PAIR + 2 * pairs + e], room.enemy_book[e, zone, :, m]
        life[TEETH_OF_MUMMIES] = (
            room.den.mummies_eaten[zone, e, m] * span if rows.predator.shape[0] > 0 else 0.0
        )
        stinging = 0.0
        for h in range(rows.hyper.shape[0]):
            stinging += room.brood.hazard[h, zone, m] * span
        life[STINGS_OF_MUMMIES] = stinging
        stung = book[HYPERPARASITISED]
        shells, dead = rows.enemy[e, zone, SHELLS], rows.enemy[e, zone, DEAD_MUMMIES]
        fresh, column = room.fresh[e, zone], state[:, m]
        if few.mummies[e, zone, m]:
            key = next_key(next_key(few.key[zone, m], OF_MUMMIES + e), OF_PART + part)
            for index in range(count):
                for k in range(whole[row + index]):
                    word = next_key(key, OF_PART * (1 + index) + k)
                    fresh[m] += live_mummy(
                        life, row, index, count, 0.0, word, shells, dead, column, lived, book
                    )
            settle(row, count, whole, lived)
        for i in range(few.waits[1]):
            if rows.pair[few.formed_of[i], 1] == e:
                book[FORMED] += 1.0
                if upper(next_key(few.formed_key[i], TO_REST)) <= room.resting[e, m]:
                    book[RESTING] += 1.0
                    column[dead] += 1.0
                    continue
                fresh[m] += live_mummy(
                    life,
                    row,
                    varying(0),
                    count,
                    few.formed[i],
                    few.formed_key[i],
                    shells,
                    dead,
                    column,
                    whole,
                    book,
                )
        stung = book[HYPERPARASITISED] - stung
        for h in range(rows.hyper.shape[0] if stung > 0.0 else 0):
            column[rows.hyper_young[h, e, zone]] += stung * room.brood.hazard[h, zone, m] * span / stinging
