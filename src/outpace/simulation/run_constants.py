"""What holds for one pack of members through a whole run, worked out once from the table of parameters."""

from __future__ import annotations

from outpace.simulation.chains import compiled, development_lines
from outpace.simulation.layout import CARRIER, MUMMIES, YOUNG_ADULTS, Rows
from outpace.simulation.pack_functions import exp
from outpace.simulation.packs import get, put, root
from outpace.simulation.parameter_rows import (
    ATTACK_SWING,
    CARRIER_HEAT,
    CONSTANT,
    GROWTH_SWING,
    IMMATURE_DEATH,
    IMMIGRATION,
    LIFE,
    LOG_CLUMPING,
    LOG_IMMIGRATION,
    MORTALITY,
    MUMMY_FALL,
    MUMMY_SHARE,
    N_ENEMY,
    N_PAIR,
    N_PEST,
    PRE_REPRODUCTIVE,
    SHARE_FEMALE,
    SLOWNESS,
    SWING_TIME,
    WINGED_BIRTHS,
    WINGED_FLIGHT,
    WINGED_LEAVING,
)
from outpace.simulation.responses import Shared
from outpace.simulation.room import Room

# Rows of `Room.of_pest` and `Room.of_enemy`.
(
    MORTALITY_OF,
    LIFE_RATE,
    YOUNG_HALF,
    FLYING_HALF,
    LEAVING,
    CAME,
    WINGED_FACTOR,
    LESS_CLUMPED,
    SWING_KEPT,
    GROWTH_FRESH,
    ATTACK_FRESH,
) = range(11)
DEATH_OF, FEMALE_SHARE, MUMMY_HALF, CARRIER_HALF, FALLING = range(5)


@compiled
def begin_run(rows: Rows, shared: Shared, dt: float, room: Room) -> None:
    """Write them. Those with HALF in their name make a/2 of a chain out of a rate."""
    values = room.values
    pests = rows.pest.shape[0]
    for p in range(pests):
        first, young = p * N_PEST, 0.5 * dt * rows.pest_count[p, YOUNG_ADULTS]
        development_lines(values, first, room.lines, p)
        for stage in range(4):
            room.of_instar[p, stage] = 0.5 * dt * rows.pest_count[p, stage] / shared.instar_share[p, stage]
        put(room.of_pest, p, MORTALITY_OF, get(values, first + MORTALITY))
        put(room.of_pest, p, LIFE_RATE, 1.0 / get(values, first + LIFE))
        put(room.of_pest, p, YOUNG_HALF, young / get(values, first + PRE_REPRODUCTIVE))
        put(room.of_pest, p, FLYING_HALF, 0.5 * dt / get(values, first + WINGED_FLIGHT))
        put(room.of_pest, p, LEAVING, get(values, first + WINGED_LEAVING))
        coming = exp(get(values, first + LOG_IMMIGRATION))
        put(room.of_pest, p, CAME, dt * get(values, first + IMMIGRATION) * coming)
        put(room.of_pest, p, WINGED_FACTOR, get(values, first + WINGED_BIRTHS))
        put(room.of_pest, p, LESS_CLUMPED, exp(-1.0 * get(values, first + LOG_CLUMPING)))
        kept = exp(-1.0 / get(values, first + SWING_TIME))
        fresh = root(1.0 - kept * kept)
        put(room.of_pest, p, SWING_KEPT, kept)
        put(room.of_pest, p, GROWTH_FRESH, fresh * get(values, first + GROWTH_SWING))
        put(room.of_pest, p, ATTACK_FRESH, fresh * get(values, first + ATTACK_SWING))
    for e in range(rows.enemy.shape[0]):
        first = pests * N_PEST + e * N_ENEMY
        development_lines(values, first, room.lines, pests + e)
        put(room.of_enemy, e, DEATH_OF, get(values, first + IMMATURE_DEATH))
        put(room.of_enemy, e, FEMALE_SHARE, get(values, first + SHARE_FEMALE))
        mummies = 0.5 * dt * rows.enemy_count[e, MUMMIES]
        put(room.of_enemy, e, MUMMY_HALF, mummies / (1.0 - get(values, first + MUMMY_SHARE)))
        carrier = 0.5 * dt * rows.enemy_count[e, CARRIER]
        heat = get(values, first + CARRIER_HEAT)
        put(room.of_enemy, e, CARRIER_HALF, carrier * get(values, first + CONSTANT) / heat)
        put(room.of_enemy, e, FALLING, 1.0 - exp(-1.0 * get(values, first + MUMMY_FALL)))
    first = pests * N_PEST + rows.enemy.shape[0] * N_ENEMY
    for j in range(rows.pair.shape[0]):
        share = get(values, pests * N_PEST + rows.pair[j, 1] * N_ENEMY + MUMMY_SHARE)
        time = share * get(values, first + j * N_PAIR + SLOWNESS)
        put(room.of_pair, j, 0.5 * dt * rows.stung_count[j] / time)
