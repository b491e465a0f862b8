"""One step and one day's end of the predators, and what they take from aphids and mummies."""

from __future__ import annotations

from outpace.simulation.bout import poison_of, share_of
from outpace.simulation.chains import (
    Array,
    chain_factors,
    compiled,
    compiled_apart,
    development,
    development_lines,
    exposed,
    outlive_heat,
    passages,
    responses_at,
    sum_rows,
    sweep,
)
from outpace.simulation.hunt import LARVAL_STAGES, first_row, stage_of_size
from outpace.simulation.layout import ADULTS, EGGS, HOST_STAGES, L1, L3, PREDATOR_CARRIER, PUPAE, Rows
from outpace.simulation.ledger import (
    DIED_STUNG,
    EATEN,
    FELL,
    FLOWN,
    GREW_OLD,
    GROWN,
    KILLED,
    LAID,
    LET_GO,
    MALE,
    N_PREDATOR_CAUSES,
    PREDATORS_DIED,
    RESTED,
    SPOILT,
    STRAYED,
)
from outpace.simulation.midnight import kill, mix_row
from outpace.simulation.pack_functions import exp
from outpace.simulation.packs import Pack, add, get, load, most, put, save, spread
from outpace.simulation.parameter_rows import CONSTANT
from outpace.simulation.predator_rows import (
    FEMALE_SHARE,
    FLOOR_SURVIVAL,
    PREDATOR_ADULT_LOSS,
    PREDATOR_CARRIER_HEAT,
    PREDATOR_EXCHANGE,
    YOUNG_DEATH,
)
from outpace.simulation.responses import Shared, Tables
from outpace.simulation.room import Room

AS_ADULTS, AS_PUPAE, AS_LARVAE, AS_EGGS = 0, 1, 3, 4
"""Kinds of event: the first two as for wasps; 2 is a spray."""
OUT_PREDATOR = 4  # eggs, larvae, pupae, adult females


@compiled_apart
def begin_predators(rows: Rows, room: Room) -> None:
    """Write what holds for the whole run, and empty the books."""
    for d in range(rows.predator.shape[0]):
        development_lines(room.values, first_row(rows, d), room.den.lines, d)
        for z in range(rows.predator.shape[1]):
            put(room.den.fresh, d, z, spread(0.0))
            for cause in range(N_PREDATOR_CAUSES):
                put(room.den.book, d, z, cause, spread(0.0))


@compiled_apart
def look_at_predators(state: Array, rows: Rows, line: int, out: Array, day: int, lo: int) -> None:
    """Write the predators that stand in the house at midnight, from a line of the output on."""
    kinds = rows.predator.shape[0] * rows.predator.shape[1]
    for d in range(rows.predator.shape[0]):
        for z in range(rows.predator.shape[1]):
            larvae = spread(0.0)
            for block in range(L1, L3 + 1):
                larvae += sum_rows(state, rows.predator[d, z, block], rows.predator_count[d, block])
            eggs = sum_rows(state, rows.predator[d, z, EGGS], rows.predator_count[d, EGGS])
            pupae = sum_rows(state, rows.predator[d, z, PUPAE], rows.predator_count[d, PUPAE])
            adults = sum_rows(state, rows.predator[d, z, ADULTS], rows.predator_count[d, ADULTS])
            save(out, day, line, lo, eggs)
            save(out, day, line + kinds, lo, larvae)
            save(out, day, line + 2 * kinds, lo, pupae)
            save(out, day, line + 3 * kinds, lo, adults)
            line += 1


@compiled_apart
def write_predator_ledger(rows: Rows, line: int, lo: int, room: Room, ledger: Array) -> None:
    """Write the sums by cause from a line of the ledger on."""
    for d in range(rows.predator.shape[0]):
        for z in range(rows.predator.shape[1]):
            for cause in range(N_PREDATOR_CAUSES):
                save(ledger, line, lo, get(room.den.book, d, z, cause))
                line += 1


@compiled_apart
def release_predators(
    state: Array, rows: Rows, kind: int, d: int, zone: int, numbers: Array, lo: int, room: Room
) -> None:
    """Let adults go, put pupae into the carrier, larvae and eggs on the leaves; what would not stay does nothing."""
    den = room.den
    block = L1 if kind == AS_LARVAE else (EGGS if kind == AS_EGGS else PREDATOR_CARRIER)
    if kind == AS_ADULTS:
        block = ADULTS
    if rows.predator_count[d, block] == 0:
        return
    number = load(numbers, lo)
    add(den.book, d, zone, LET_GO, number)
    if not den.here[d, zone]:
        den.here[d, zone] = True
        put(den.loss, d, zone, spread(0.0))
        put(den.poisoned, d, zone, spread(0.0))
        put(den.laid, d, zone, spread(0.0))
    if kind == AS_ADULTS:
        add(den.fresh, d, zone, number)
    else:
        add(state, rows.predator[d, zone, block], number)


@compiled_apart
def spray_predators(state: Array, rows: Rows, zone: int, kill_enemy: Array, lo: int, room: Room) -> None:
    """Kill larvae and adults at once; what they would have eaten today is spared with them."""
    den, share = room.den, load(kill_enemy, lo)
    left = 1.0 - share
    for d in range(rows.predator.shape[0]):
        dead = get(den.fresh, d, zone) * share
        add(den.fresh, d, zone, -1.0 * dead)
        for block in range(L1, ADULTS + 1):
            if block != PUPAE:
                dead += kill(state, rows.predator[d, zone, block], rows.predator_count[d, block], share)
        add(den.book, d, zone, KILLED, dead)
        if den.here[d, zone]:
            put(den.laid, d, zone, get(den.laid, d, zone) * left)
    for p in range(rows.pest.shape[0]):
        for stage in range(HOST_STAGES):
            put(den.eaten, zone, p, stage, get(den.eaten, zone, p, stage) * left)
    for e in range(rows.enemy.shape[0]):
        put(den.mummies_eaten, zone, e, get(den.mummies_eaten, zone, e) * left)


@compiled_apart
def predator_rates(rows: Rows, tables: Tables, first_hour: int, hours: int, dt: float, room: Room) -> None:
    """Write the rates of one step: each the mean over its hours."""
    den = room.den
    for d in range(rows.predator.shape[0]):
        rate = spread(0.0)
        for hour in range(first_hour, first_hour + hours):
            rate += development(den.lines, d, get(room.warmth, hour))
        dying_at, _, _, hot = responses_at(tables.hunters[d], room.place, first_hour, hours)
        dying = get(room.values, first_row(rows, d) + YOUNG_DEATH)
        put(den.rate, d, rate * (1.0 / hours))
        put(den.survive, d, most(1.0 - dying_at * dying, spread(0.0)))
        put(den.cool, d, outlive_heat(hot, dt))


@compiled_apart
def step_predator(state: Array, rows: Rows, shared: Shared, d: int, zone: int, dt: float, room: Room) -> None:
    """Step eggs, larvae, pupae in the floor and pupae in the carrier of one predator."""
    den, first = room.den, first_row(rows, d)
    rate, survive, cool = get(den.rate, d), get(den.survive, d), get(den.cool, d)
    flow = get(den.laid, d, zone) * dt
    add(den.book, d, zone, LAID, flow)
    on_leaf = exp(get(den.loss, d, zone) * (-0.5 * dt))
    poisoned = get(den.poisoned, d, zone)
    for block in range(1 + LARVAL_STAGES):
        count = rows.predator_count[d, block]
        half = (0.5 * dt * count / shared.hunters.stage_share[d, block]) * rate
        stay = cool if block == EGGS else cool * on_leaf
        row = rows.predator[d, zone, block]
        factors = chain_factors(half, stay, survive)
        flow, stood, entered = sweep(state, row, count, factors, flow)
        found = exposed(half, stay, factors, stood, entered)
        dead = passages(half, stay, factors, stood, entered) * (1.0 - survive) + found * (1.0 - cool)
        strayed = found * (cool - stay)
        add(den.book, d, zone, PREDATORS_DIED, dead)
        add(den.book, d, zone, KILLED, strayed * poisoned)
        add(den.book, d, zone, STRAYED, strayed * (1.0 - poisoned))
    count = rows.predator_count[d, PUPAE]
    if count == 0:
        add(den.book, d, zone, GROWN, flow)
        return
    rested = flow * get(den.resting, d)
    fallen = flow - rested
    flow = fallen * get(room.values, first + FLOOR_SURVIVAL)
    add(den.book, d, zone, RESTED, rested)
    add(den.book, d, zone, FELL, fallen - flow)
    half = (0.5 * dt * count / shared.hunters.stage_share[d, PUPAE]) * rate
    row = rows.predator[d, zone, PUPAE]
    factors = chain_factors(half, cool, survive)
    out, stood, entered = sweep(state, row, count, factors, flow)
    dead = passages(half, cool, factors, stood, entered) * (1.0 - survive)
    dead += exposed(half, cool, factors, stood, entered) * (1.0 - cool)
    females = out * get(room.values, first + FEMALE_SHARE)
    add(den.book, d, zone, PREDATORS_DIED, dead)
    add(den.book, d, zone, MALE, out - females)
    add(den.fresh, d, zone, females)
    count = rows.predator_count[d, PREDATOR_CARRIER]
    warmth = rate * get(room.values, first + CONSTANT)
    half = (0.5 * dt * count) * warmth / get(room.values, first + PREDATOR_CARRIER_HEAT)
    row = rows.predator[d, zone, PREDATOR_CARRIER]
    factors = chain_factors(half, cool, spread(1.0))
    out, stood, entered = sweep(state, row, count, factors, spread(0.0))
    add(den.fresh, d, zone, out)
    add(den.book, d, zone, SPOILT, exposed(half, cool, factors, stood, entered) * (1.0 - cool))


@compiled_apart
def age_predators(state: Array, rows: Rows, shared: Shared, room: Room) -> None:
    """End the day of adult predators: losses, a day older, today's newcomers join, some fly to other zones."""
    den = room.den
    for d in range(rows.predator.shape[0]):
        first, ages = first_row(rows, d), rows.predator_count[d, ADULTS]
        if ages == 0:
            continue
        for z in range(rows.predator.shape[1]):
            poison = poison_of(get(state, rows.residue[z]))
            gone = get(room.values, first + PREDATOR_ADULT_LOSS) + poison
            half_alive = exp(-0.5 * gone)
            alive = half_alive * half_alive
            newcomers = get(den.fresh, d, z)
            stood = spread(0.0)
            younger = newcomers * half_alive
            for r in range(rows.predator[d, z, ADULTS], rows.predator[d, z, ADULTS] + ages):
                females = get(state, r)
                put(state, r, younger)
                stood += females
                younger = females * alive
            put(den.fresh, d, z, spread(0.0))
            dead = stood * (1.0 - alive) + newcomers * (1.0 - half_alive)
            by_poison = dead * share_of(poison, gone)
            add(den.book, d, z, KILLED, by_poison)
            add(den.book, d, z, STRAYED, dead - by_poison)
            add(den.book, d, z, GREW_OLD, younger)
        if rows.residue.shape[0] > 1:
            share = get(room.values, first + PREDATOR_EXCHANGE)
            for age in range(ages):
                mix_row(state, rows.predator[d], ADULTS, age, share, shared, den.book[d], FLOWN)


@compiled
def eat_stung(p: int, zone: int, size: int, cool: Pack, found: Pack, room: Room) -> Pack:
    """Book the stung aphids of one size that are eaten in a step; return those lost otherwise."""
    loss, teeth = get(room.loss, zone, p), get(room.den.eaten, zone, p, stage_of_size(size))
    taken = found * cool * (1.0 - get(room.stay_stung, zone, p) * get(room.den.spared, zone, p, size))
    eaten = taken * share_of(teeth, loss + teeth)
    add(room.pest_book, p, zone, EATEN, eaten)
    add(room.pest_book, p, zone, DIED_STUNG, found * (1.0 - cool))
    return taken - eaten
