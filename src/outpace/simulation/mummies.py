"""One step of what becomes wasps: closed mummies on the leaves, and bought animals in their carrier."""

from __future__ import annotations

from outpace.simulation.chains import Array, compiled, fill
from outpace.simulation.layout import CARRIER, DEAD_MUMMIES, MUMMIES, SHELLS, Rows
from outpace.simulation.ledger import DIED_IN_CARRIER, DIED_IN_MUMMY, EMERGED, FORMED, HATCHED, MALES
from outpace.simulation.parameter_rows import (
    CARRIER_HEAT,
    CONSTANT,
    MUMMY_SHARE,
    N_ENEMY,
    N_PEST,
    SHARE_FEMALE,
)
from outpace.simulation.room import Room
from outpace.simulation.stages import FLOW, HALF, ONES, PASSED, SEEN, pass_chain


@compiled
def step_mummies(
    state: Array, values: Array, rows: Rows, e: int, zone: int, lo: int, width: int, dt: float, room: Room
) -> None:
    """Step closed mummies: adults and shells out, the dead stay closed."""
    lane = room.lane
    half, passed, survive = lane[HALF], lane[PASSED], room.survive_mummy[e]
    pests = rows.pest.shape[0]
    first = pests * N_PEST + e * N_ENEMY
    count = rows.enemy_count[e, MUMMIES]
    book, flow = room.enemy_book[e, zone], room.to_mummy[e]
    fill(passed, width)
    for m in range(width):
        half[m] = 0.5 * dt * count * room.rate[pests + e, m] / (1.0 - values[first + MUMMY_SHARE, lo + m])
        book[FORMED, m] += flow[m]
    cool = room.cool[pests + e]
    pass_chain(state, rows.enemy[e, zone, MUMMIES], count, width, cool, survive, room, flow)
    for m in range(width):
        dead = passed[m] * (1.0 - survive[m]) + lane[SEEN, m] * (1.0 - cool[m])
        females = flow[m] * values[first + SHARE_FEMALE, lo + m]
        state[rows.enemy[e, zone, SHELLS], m] += flow[m]
        state[rows.enemy[e, zone, DEAD_MUMMIES], m] += dead
        room.fresh[e, zone, m] += females
        book[HATCHED, m] += flow[m]
        book[DIED_IN_MUMMY, m] += dead
        book[EMERGED, m] += females
        book[MALES, m] += flow[m] - females
    fill(lane[SEEN], width)


@compiled
def step_carrier(
    state: Array, values: Array, rows: Rows, e: int, zone: int, lo: int, width: int, dt: float, room: Room
) -> None:
    """Let released animals come out of the carrier by heat."""
    lane = room.lane
    half, flow = lane[HALF], lane[FLOW]
    pests = rows.pest.shape[0]
    first = pests * N_PEST + e * N_ENEMY
    count = rows.enemy_count[e, CARRIER]
    for m in range(width):
        warmth = room.rate[pests + e, m] * values[first + CONSTANT, lo + m]
        half[m] = 0.5 * dt * count * warmth / values[first + CARRIER_HEAT, lo + m]
    fill(flow, width)
    pass_chain(
        state, rows.enemy[e, zone, CARRIER], count, width, room.cool[pests + e], lane[ONES], room, flow
    )
    for m in range(width):
        room.fresh[e, zone, m] += flow[m]
        room.enemy_book[e, zone, DIED_IN_CARRIER, m] += lane[SEEN, m] * (1.0 - room.cool[pests + e, m])
    fill(lane[SEEN], width)
