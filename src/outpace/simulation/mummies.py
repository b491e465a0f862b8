"""One step of what becomes wasps: closed mummies on the leaves, and bought animals in their carrier."""

from __future__ import annotations

from outpace.simulation.chains import Array, chain_factors, compiled, exposed, passages, sweep
from outpace.simulation.layout import CARRIER, DEAD_MUMMIES, MUMMIES, SHELLS, Rows
from outpace.simulation.ledger import (
    DIED_IN_CARRIER,
    DIED_IN_MUMMY,
    EMERGED,
    FORMED,
    HATCHED,
    HYPERPARASITISED,
    MALES,
    MUMMIES_EATEN,
    RESTING,
)
from outpace.simulation.packs import add, get, put, spread
from outpace.simulation.room import Room
from outpace.simulation.run_constants import CARRIER_HALF, FEMALE_SHARE, MUMMY_HALF


@compiled
def step_mummies(state: Array, rows: Rows, e: int, zone: int, room: Room) -> None:
    """Step closed mummies: adults and shells out; the dead, and those at rest until spring, stay closed."""
    i = rows.pest.shape[0] + e
    formed, survive, cool = get(room.to_mummy, e), get(room.survive_mummy, e), get(room.cool, i)
    half = get(room.rate, i) * get(room.of_enemy, e, MUMMY_HALF)
    stay = cool
    if rows.predator.shape[0] > 0:
        stay = cool * get(room.den.spared_mummies, zone, e)
    if rows.hyper.shape[0] > 0:
        stay = stay * get(room.brood.unstung, zone)
    factors = chain_factors(half, stay, survive)
    rested = formed * get(room.resting, e)
    first, count = rows.enemy[e, zone, MUMMIES], rows.enemy_count[e, MUMMIES]
    hatched, stood, entered = sweep(state, first, count, factors, formed - rested)
    found = exposed(half, stay, factors, stood, entered)
    dead = passages(half, stay, factors, stood, entered) * (1.0 - survive) + found * (1.0 - cool)
    females = hatched * get(room.of_enemy, e, FEMALE_SHARE)
    add(state, rows.enemy[e, zone, SHELLS], hatched)
    add(state, rows.enemy[e, zone, DEAD_MUMMIES], dead + rested)
    add(room.fresh, e, zone, females)
    taken = found * (cool - stay)
    if rows.hyper.shape[0] > 0:
        stung = taken * get(room.brood.part, zone, e)
        put(room.brood.stung, e, stung)
        add(room.enemy_book, e, zone, HYPERPARASITISED, stung)
        taken = taken - stung
    add(room.enemy_book, e, zone, MUMMIES_EATEN, taken)
    add(room.enemy_book, e, zone, FORMED, formed)
    add(room.enemy_book, e, zone, RESTING, rested)
    add(room.enemy_book, e, zone, HATCHED, hatched)
    add(room.enemy_book, e, zone, DIED_IN_MUMMY, dead)
    add(room.enemy_book, e, zone, EMERGED, females)
    add(room.enemy_book, e, zone, MALES, hatched - females)


@compiled
def step_carrier(state: Array, rows: Rows, e: int, zone: int, room: Room) -> None:
    """Let released animals come out of the carrier by heat."""
    i = rows.pest.shape[0] + e
    cool = get(room.cool, i)
    half = get(room.rate, i) * get(room.of_enemy, e, CARRIER_HALF)
    factors = chain_factors(half, cool, spread(1.0))
    first, count = rows.enemy[e, zone, CARRIER], rows.enemy_count[e, CARRIER]
    out, stood, entered = sweep(state, first, count, factors, spread(0.0))
    add(room.fresh, e, zone, out)
    add(
        room.enemy_book, e, zone, DIED_IN_CARRIER, exposed(half, cool, factors, stood, entered) * (1.0 - cool)
    )
