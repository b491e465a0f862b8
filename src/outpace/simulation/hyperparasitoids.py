"""Hyperparasitoids: females that sting closed mummies, their young inside, the ragged shells they leave.

What they will sting in a day is fixed at midnight as a constant hazard, as with wasps. A stung mummy stays closed, for
longer than one that holds a wasp, since these grow more slowly. Searching and laying follow warmth as growth does.
"""

from __future__ import annotations

from outpace.simulation.bout import LEAF_AREA, daily_hazard, poison_of, share_of
from outpace.simulation.chains import (
    Array,
    chain_factors,
    compiled,
    compiled_apart,
    development,
    development_lines,
    exposed,
    passages,
    sum_rows,
    sweep,
)
from outpace.simulation.hunt import share_of_day
from outpace.simulation.hyper_rows import (
    HYPER_EGGS,
    HYPER_EXCHANGE,
    HYPER_FEMALE,
    HYPER_HANDLING,
    HYPER_LOSS,
    HYPER_PACE,
    HYPER_REFUGE_K,
    HYPER_SEARCH,
    HYPER_SURVIVE,
    N_HYPER,
)
from outpace.simulation.layout import DEAD_MUMMIES, MUMMIES, Rows
from outpace.simulation.ledger import (
    FALLEN,
    HYPER_CAME,
    HYPER_DIED,
    HYPER_EATEN,
    HYPER_EMERGED,
    HYPER_HATCHED,
    HYPER_LOST,
    HYPER_MALES,
    HYPER_MOVED,
    HYPER_POISONED,
    HYPER_REMOVED,
    HYPER_TAKEN_OUT,
    N_HYPER_CAUSES,
)
from outpace.simulation.midnight import kill, mix_row
from outpace.simulation.pack_functions import exp
from outpace.simulation.packs import add, any_of, get, least, load, put, save, spread
from outpace.simulation.parameter_rows import N_ENEMY, N_PAIR, N_PEST
from outpace.simulation.predator_rows import N_PREDATOR
from outpace.simulation.responses import Shared
from outpace.simulation.room import Room
from outpace.simulation.run_constants import FALLING


@compiled
def row_of_hyper(rows: Rows, h: int) -> int:
    """Return the first row of a hyperparasitoid in the parameter table."""
    before = rows.pest.shape[0] * N_PEST + rows.enemy.shape[0] * N_ENEMY + rows.pair.shape[0] * N_PAIR
    first: int = before + rows.predator.shape[0] * N_PREDATOR + h * N_HYPER
    return first


@compiled_apart
def begin_hypers(rows: Rows, room: Room) -> None:
    """Write what holds for the whole run, and empty the books."""
    for h in range(rows.hyper.shape[0]):
        development_lines(room.values, row_of_hyper(rows, h), room.brood.lines, h)
        for z in range(rows.hyper.shape[1]):
            put(room.brood.fresh, h, z, spread(0.0))
            for cause in range(N_HYPER_CAUSES):
                put(room.brood.book, h, z, cause, spread(0.0))


@compiled_apart
def look_at_hypers(state: Array, rows: Rows, line: int, out: Array, day: int, lo: int) -> None:
    """Write ragged shells and hyperparasitoid females at midnight, from a line of the output on."""
    for e in range(rows.enemy.shape[0]):
        for z in range(rows.enemy.shape[1]):
            save(out, day, line, lo, get(state, rows.ragged[e, z]))
            line += 1
    for h in range(rows.hyper.shape[0]):
        for z in range(rows.hyper.shape[1]):
            save(out, day, line, lo, get(state, rows.hyper[h, z, 0]))
            line += 1


@compiled_apart
def write_hyper_ledger(rows: Rows, line: int, lo: int, room: Room, ledger: Array) -> None:
    """Write the sums by cause from a line of the ledger on."""
    for h in range(rows.hyper.shape[0]):
        for z in range(rows.hyper.shape[1]):
            for cause in range(N_HYPER_CAUSES):
                save(ledger, line, lo, get(room.brood.book, h, z, cause))
                line += 1


@compiled_apart
def release_hypers(rows: Rows, h: int, zone: int, numbers: Array, lo: int, room: Room) -> None:
    """Let females come in, from banker plants or through the vents."""
    number = load(numbers, lo)
    add(room.brood.book, h, zone, HYPER_CAME, number)
    add(room.brood.fresh, h, zone, number)


@compiled_apart
def warm_hypers(rows: Rows, room: Room) -> None:
    """Write what the day's warmth does to searching and laying."""
    for h in range(rows.hyper.shape[0]):
        heat = spread(0.0)
        for hour in range(24):
            heat += development(room.brood.lines, h, get(room.warmth, hour))
        pace = get(room.values, row_of_hyper(rows, h) + HYPER_PACE)
        put(room.brood.warm, h, heat * (1.0 / 24.0) / pace)


@compiled_apart
def sting_mummies(state: Array, rows: Rows, shared: Shared, zone: int, room: Room) -> None:
    """Write the hazards of closed mummies of a zone, fixed for the day. [d⁻¹]"""
    brood, values = room.brood, room.values
    area = shared.zone[zone, LEAF_AREA]
    closed = spread(0.0)
    for e in range(rows.enemy.shape[0]):
        closed += sum_rows(state, rows.enemy[e, zone, MUMMIES], rows.enemy_count[e, MUMMIES])
        brood.here[e, zone] = False
        for h in range(rows.hyper.shape[0]):
            young = sum_rows(state, rows.hyper_young[h, e, zone], rows.hyper_count[h])
            closed += young
            if any_of(young > 0.0):
                brood.here[e, zone] = True
    for h in range(rows.hyper.shape[0]):
        put(brood.hazard, h, zone, spread(0.0))
        females = get(state, rows.hyper[h, zone, 0])
        if not any_of(females > 0.0):
            continue
        first, warm = row_of_hyper(rows, h), get(brood.warm, h)
        found = get(values, first + HYPER_SEARCH) * warm * closed * (1.0 / area)
        demand = found / (1.0 + get(values, first + HYPER_HANDLING) * found)
        gone = get(values, first + HYPER_LOSS) + poison_of(get(state, rows.residue[zone]))
        laid = females * least(demand, get(values, first + HYPER_EGGS) * warm) * share_of_day(gone)
        # Stung mummies are stung again as often as others: the eggs laid there are lost.
        put(brood.hazard, h, zone, daily_hazard(share_of(laid, closed), get(values, first + HYPER_REFUGE_K)))
        for e in range(rows.enemy.shape[0]):
            brood.here[e, zone] = True


@compiled_apart
def share_mummies(rows: Rows, zone: int, days: float, room: Room) -> None:
    """Write the share of closed mummies that no hyperparasitoid stings in some time, and who takes the others."""
    brood = room.brood
    total = spread(0.0)
    for h in range(rows.hyper.shape[0]):
        total += get(brood.hazard, h, zone)
    put(brood.unstung, zone, exp(total * -days))
    for e in range(rows.enemy.shape[0]):
        eaten = spread(0.0)
        if rows.predator.shape[0] > 0:
            eaten = get(room.den.mummies_eaten, zone, e)
        put(brood.part, zone, e, share_of(total, total + eaten))


@compiled_apart
def spray_hypers(state: Array, rows: Rows, zone: int, kill_enemy: Array, lo: int, room: Room) -> None:
    """Kill females at once; what they would have stung today is spared with them."""
    brood, share = room.brood, load(kill_enemy, lo)
    for h in range(rows.hyper.shape[0]):
        dead = kill(state, rows.hyper[h, zone, 0], 1, share)
        fresh = get(brood.fresh, h, zone) * share
        add(brood.fresh, h, zone, -1.0 * fresh)
        add(brood.book, h, zone, HYPER_POISONED, dead + fresh)
        put(brood.hazard, h, zone, get(brood.hazard, h, zone) * (1.0 - share))


@compiled_apart
def strip_hypers(
    state: Array, rows: Rows, zone: int, leaves: Array, flyers: Array, lo: int, room: Room
) -> None:
    """Carry out young and shells with the leaves, females with the whole crop."""
    brood, gone, flown = room.brood, load(leaves, lo), load(flyers, lo)
    for e in range(rows.enemy.shape[0]):
        for h in range(rows.hyper.shape[0]):
            dead = kill(state, rows.hyper_young[h, e, zone], rows.hyper_count[h], gone)
            add(room.enemy_book, e, zone, HYPER_REMOVED, dead)
        add(room.enemy_book, e, zone, FALLEN, kill(state, rows.ragged[e, zone], 1, gone))
    for h in range(rows.hyper.shape[0]):
        dead = kill(state, rows.hyper[h, zone, 0], 1, flown)
        fresh = get(brood.fresh, h, zone) * flown
        add(brood.fresh, h, zone, -1.0 * fresh)
        add(brood.book, h, zone, HYPER_TAKEN_OUT, dead + fresh)


@compiled_apart
def hyper_rates(rows: Rows, first_hour: int, hours: int, room: Room) -> None:
    """Write the rates of one step: each the mean over its hours."""
    for h in range(rows.hyper.shape[0]):
        rate = spread(0.0)
        for hour in range(first_hour, first_hour + hours):
            rate += development(room.brood.lines, h, get(room.warmth, hour))
        put(room.brood.rate, h, rate * (1.0 / hours))


@compiled_apart
def step_hypers(state: Array, rows: Rows, e: int, zone: int, dt: float, room: Room) -> None:
    """Step the young in the mummies of one wasp: adults and ragged shells out, the dead stay closed."""
    brood = room.brood
    total = spread(0.0)
    for h in range(rows.hyper.shape[0]):
        total += get(brood.hazard, h, zone)
    cool = get(room.cool, rows.pest.shape[0] + e)
    stay = cool
    if rows.predator.shape[0] > 0:
        stay = cool * get(room.den.spared_mummies, zone, e)
    for h in range(rows.hyper.shape[0]):
        first, count = row_of_hyper(rows, h), rows.hyper_count[h]
        entering = get(brood.stung, e) * share_of(get(brood.hazard, h, zone), total)
        half = (0.5 * dt * count) * get(brood.rate, h)
        survive = get(room.values, first + HYPER_SURVIVE)
        factors = chain_factors(half, stay, survive)
        out, stood, entered = sweep(state, rows.hyper_young[h, e, zone], count, factors, entering)
        found = exposed(half, stay, factors, stood, entered)
        dead = passages(half, stay, factors, stood, entered) * (1.0 - survive) + found * (1.0 - cool)
        females = out * get(room.values, first + HYPER_FEMALE)
        add(state, rows.ragged[e, zone], out)
        add(state, rows.enemy[e, zone, DEAD_MUMMIES], dead)
        add(brood.fresh, h, zone, females)
        add(room.enemy_book, e, zone, HYPER_HATCHED, out)
        add(room.enemy_book, e, zone, HYPER_DIED, dead)
        add(room.enemy_book, e, zone, HYPER_EATEN, found * (cool - stay))
        add(brood.book, h, zone, HYPER_EMERGED, females)
        add(brood.book, h, zone, HYPER_MALES, out - females)
    put(brood.stung, e, spread(0.0))


@compiled_apart
def age_hypers(state: Array, rows: Rows, shared: Shared, room: Room) -> None:
    """End the day of the females: losses, newcomers join, some fly to other zones; ragged shells fall."""
    brood = room.brood
    for h in range(rows.hyper.shape[0]):
        first = row_of_hyper(rows, h)
        for z in range(rows.hyper.shape[1]):
            poison = poison_of(get(state, rows.residue[z]))
            gone = get(room.values, first + HYPER_LOSS) + poison
            half_alive = exp(-0.5 * gone)
            stood, newcomers = get(state, rows.hyper[h, z, 0]), get(brood.fresh, h, z)
            after = stood * half_alive * half_alive + newcomers * half_alive
            dead = stood + newcomers - after
            by_poison = dead * share_of(poison, gone)
            put(state, rows.hyper[h, z, 0], after)
            put(brood.fresh, h, z, spread(0.0))
            add(brood.book, h, z, HYPER_POISONED, by_poison)
            add(brood.book, h, z, HYPER_LOST, dead - by_poison)
        if rows.hyper.shape[1] > 1:
            share = get(room.values, first + HYPER_EXCHANGE)
            mix_row(state, rows.hyper[h], 0, 0, share, shared, brood.book[h], HYPER_MOVED)
    for e in range(rows.enemy.shape[0]):
        for z in range(rows.enemy.shape[1]):
            fallen = get(state, rows.ragged[e, z]) * get(room.of_enemy, e, FALLING)
            add(state, rows.ragged[e, z], -1.0 * fallen)
            add(room.enemy_book, e, z, FALLEN, fallen)
