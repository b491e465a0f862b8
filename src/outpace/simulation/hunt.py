"""The predators' day, fixed at midnight: how much larvae will eat and where midges will lay.

A larva that never lacks prey eats its whole life's appetite in the time it grows, so its appetite of a day is as
much of it as the day's warmth lets it grow. How near it comes to that follows what it can find. As with stings, what is
eaten becomes a constant hazard through the day, and the result does not depend on the step.
"""

from __future__ import annotations

from outpace.simulation.bout import LEAF_AREA, WATCH_HOURS, daily_hazard, poison_of, share_of
from outpace.simulation.chains import (
    Array,
    anything_in,
    compiled,
    compiled_apart,
    development,
    place_of,
    sum_rows,
)
from outpace.simulation.layout import ADULTS, EGGS, HOST_STAGES, L1, MUMMIES, N_SIZES, PUPAE, Rows
from outpace.simulation.pack_functions import exp
from outpace.simulation.packs import Pack, add, any_of, get, least, put, rows_at, select, spread, whole_part
from outpace.simulation.parameter_rows import N_ENEMY, N_PAIR, N_PEST
from outpace.simulation.predator_rows import (
    CRITICAL_DAY,
    CRITICAL_DAY_NIGHT,
    DAY_SPREAD,
    EGG_HALF_PREY,
    LARVA_LOSS,
    LARVAE_AMONG_PREY,
    LEAF_SEARCHED,
    N_PREDATOR,
    PREDATOR_ADULT_LOSS,
    PREDATOR_EGGS,
    PREY_FOR_EGGS,
    PREY_PER_LARVA,
    PREY_REFUGE_K,
    STARVING_LOSS,
)
from outpace.simulation.responses import Shared, Tables
from outpace.simulation.room import Room

LARVAL_STAGES = 3
ADULT_STAGE = 4
"""The host stage of wingless adults, as which a mummy counts as food."""
NIGHT = 20.0
"""Temperature of the night at which critical day lengths are meant. [°C]"""


@compiled
def first_row(rows: Rows, d: int) -> int:
    """Return the first row of a predator in the parameter table."""
    before = rows.pest.shape[0] * N_PEST + rows.enemy.shape[0] * N_ENEMY + rows.pair.shape[0] * N_PAIR
    first: int = before + d * N_PREDATOR
    return first


@compiled
def stage_of_size(size: int) -> int:
    """Return the host stage that stands for a size of stung aphids."""
    return 1 if size == 0 else (3 if size == 1 else 4)


@compiled
def share_of_day(hazard: Pack) -> Pack:
    """Return the mean share of a day that is lived at a hazard."""
    some = hazard > 1e-9
    safe = select(some, hazard, spread(1.0))
    return select(some, (1.0 - exp(-1.0 * safe)) / safe, spread(1.0))


@compiled_apart
def warm_predators(rows: Rows, tables: Tables, daylight: float, room: Room) -> None:
    """Write what the day's warmth and length do to predators: appetite, searching, egg laying, rest."""
    den = room.den
    night = spread(0.0)
    dark_hours = 0.0
    for hour in range(24):
        if abs(hour + 0.5 - 12.0) > 0.5 * daylight:
            night += get(room.warmth, hour)
            dark_hours += 1.0
    whole = sum_rows(room.warmth, 0, 24)
    for d in range(rows.predator.shape[0]):
        first = first_row(rows, d)
        heat = spread(0.0)
        active = spread(0.0)
        for hour in range(24):
            heat += development(den.lines, d, get(room.warmth, hour))
        for watch in range(24 // WATCH_HOURS):
            now = sum_rows(room.warmth, watch * WATCH_HOURS, WATCH_HOURS)
            place = place_of(now * (1.0 / WATCH_HOURS))
            at = rows_at(tables.hunters[d], place)
            active += at[1] + (place - whole_part(place)) * at[5]
        active = active * (WATCH_HOURS / 24.0)
        place = place_of(whole * (1.0 / 24.0))
        at = rows_at(tables.hunters[d], place)
        eggs = at[2] + (place - whole_part(place)) * at[6]
        put(den.heat, d, heat * (1.0 / 24.0))
        put(den.active, d, active)
        put(den.laying, d, eggs * active * get(room.values, first + PREDATOR_EGGS))
        resting = spread(0.0)
        if rows.predator_count[d, PUPAE] > 0 and dark_hours > 0.0:
            cooler = NIGHT - night * (1.0 / dark_hours)
            critical = (
                get(room.values, first + CRITICAL_DAY) + get(room.values, first + CRITICAL_DAY_NIGHT) * cooler
            )
            longer = (daylight - critical) / get(room.values, first + DAY_SPREAD)
            resting = 1.0 / (1.0 + exp(longer))
        put(den.resting, d, resting)


@compiled
def lay_table(state: Array, rows: Rows, shared: Shared, d: int, zone: int, room: Room) -> Pack:
    """Write the food of a predator on the leaf by pest, and return that in mummies. [oldest nymphs m⁻²]"""
    hunters, area = shared.hunters, shared.zone[zone, LEAF_AREA]
    for p in range(rows.pest.shape[0]):
        food = spread(0.0)
        for stage in range(HOST_STAGES):
            food += hunters.preference[d, stage] * hunters.worth[d, stage] * get(room.hosts, p, stage)
        for j in range(rows.pair.shape[0]):
            if rows.pair[j, 0] == p:
                for size in range(N_SIZES):
                    stage = stage_of_size(size)
                    food += hunters.preference[d, stage] * hunters.worth[d, stage] * get(room.stung, j, size)
        put(room.den.meal, p, food * (hunters.accepted[d, p] / area))
    mummies = spread(0.0)
    for e in range(rows.enemy.shape[0]):
        mummies += sum_rows(state, rows.enemy[e, zone, MUMMIES], rows.enemy_count[e, MUMMIES])
        for h in range(rows.hyper.shape[0]):
            mummies += sum_rows(state, rows.hyper_young[h, e, zone], rows.hyper_count[h])
    return mummies * (hunters.mummy_taste[d] * hunters.worth[d, ADULT_STAGE] / area)


@compiled_apart
def hunt(state: Array, rows: Rows, shared: Shared, zone: int, room: Room) -> None:
    """Write the daily hazards of being eaten, the loss of larvae, and the eggs laid; all fixed for the day."""
    den = room.den
    for p in range(rows.pest.shape[0]):
        for stage in range(HOST_STAGES):
            put(den.eaten, zone, p, stage, spread(0.0))
    for e in range(rows.enemy.shape[0]):
        put(den.mummies_eaten, zone, e, spread(0.0))
    for d in range(rows.predator.shape[0]):
        den.here[d, zone] = False
        for block in range(EGGS, rows.predator.shape[2]):
            if anything_in(state, rows.predator[d, zone, block], rows.predator_count[d, block]):
                den.here[d, zone] = True
        if den.here[d, zone]:
            hunt_with(state, rows, shared, zone, d, room)


@compiled
def hunt_with(state: Array, rows: Rows, shared: Shared, zone: int, d: int, room: Room) -> None:
    """Add what one predator of a zone does."""
    den, hunters, values = room.den, shared.hunters, room.values
    pests, first = rows.pest.shape[0], first_row(rows, d)
    hungry = spread(0.0)
    hungriest = 0.0
    for s in range(LARVAL_STAGES):
        pace = hunters.prey_share[d, s] / hunters.stage_share[d, 1 + s]
        hungriest = max(hungriest, pace)
        hungry += pace * sum_rows(state, rows.predator[d, zone, L1 + s], rows.predator_count[d, L1 + s])
    appetite = get(values, first + PREY_PER_LARVA) * get(den.heat, d)
    in_mummies = lay_table(state, rows, shared, d, zone, room)
    food = in_mummies
    for p in range(pests):
        food += get(den.meal, p)
    fed = find_food(rows, shared, d, in_mummies, food, hungriest * appetite, room)
    residue = poison_of(get(state, rows.residue[zone]))
    loss = get(values, first + LARVA_LOSS) + residue
    loss += select(appetite > 0.0, get(values, first + STARVING_LOSS) * (1.0 - fed), spread(0.0))
    put(den.loss, d, zone, loss)
    put(den.poisoned, d, zone, share_of(residue, loss))
    put(den.laid, d, zone, lay_eggs(state, rows, shared, d, zone, residue, room))
    eaten = hungry * appetite * fed * share_of_day(loss)
    if not any_of(eaten > 0.0):
        return
    k = get(values, first + PREY_REFUGE_K)
    each = share_of(eaten, food * shared.zone[zone, LEAF_AREA])
    for p in range(pests):
        for stage in range(HOST_STAGES):
            attacks = each * (hunters.accepted[d, p] * hunters.preference[d, stage])
            add(den.eaten, zone, p, stage, daily_hazard(attacks, k))
    for e in range(rows.enemy.shape[0]):
        add(den.mummies_eaten, zone, e, daily_hazard(each * hunters.mummy_taste[d], k))


@compiled
def find_food(
    rows: Rows, shared: Shared, d: int, in_mummies: Pack, food: Pack, wanted: Pack, room: Room
) -> Pack:
    """Return the share of its appetite that a larva finds, over leaves with much and little food."""
    den = room.den
    first = first_row(rows, d)
    searched = get(room.values, first + LEAF_SEARCHED) * get(den.active, d)
    among = get(room.values, first + LARVAE_AMONG_PREY)
    some = food > 0.0
    per_food = select(some, among, spread(0.0)) / select(some, food, spread(1.0))
    hungry = wanted > 0.0
    searched = select(hungry, searched, spread(0.0)) / select(hungry, wanted, spread(1.0))
    nodes = shared.nodes.shape[1]
    fed = spread(0.0)
    for i in range(nodes):
        there = in_mummies
        for p in range(rows.pest.shape[0]):
            there += get(den.meal, p) * get(room.node, p, i)
        found = searched * there
        fed += (1.0 - among + per_food * there) * found / (1.0 + found)
    return least(fed * (1.0 / nodes), spread(1.0))


@compiled
def lay_eggs(state: Array, rows: Rows, shared: Shared, d: int, zone: int, residue: Pack, room: Room) -> Pack:
    """Return the eggs of the day: few where aphids sit singly, most in colonies. [d⁻¹]"""
    hunters, first = shared.hunters, first_row(rows, d)
    ripe = spread(0.0)
    for age in range(rows.predator_count[d, ADULTS]):
        ripe += get(state, rows.predator[d, zone, ADULTS] + age) * hunters.egg_shape[d, age]
    if not any_of(ripe > 0.0):
        return spread(0.0)
    mean = spread(0.0)
    for p in range(rows.pest.shape[0]):
        mean += hunters.accepted[d, p] * get(room.density, p)
    half = get(room.values, first + EGG_HALF_PREY)
    colony = get(room.values, first + PREY_FOR_EGGS)
    nodes = shared.nodes.shape[1]
    chosen = spread(0.0)
    for i in range(nodes):
        there = spread(0.0)
        for p in range(rows.pest.shape[0]):
            there += hunters.accepted[d, p] * get(room.density, p) * get(room.node, p, i)
        squared = there * there
        # Females sit where prey sits, settle where it is a colony, and lay as their young can be fed.
        chosen += there * (squared / (squared + colony * colony)) * (there / (there + half))
    gone = get(room.values, first + PREDATOR_ADULT_LOSS) + residue
    return ripe * get(room.den.laying, d) * share_of(chosen * (1.0 / nodes), mean) * share_of_day(gone)


@compiled_apart
def share_prey(rows: Rows, zone: int, days: float, room: Room) -> None:
    """Write the shares of stung aphids and of closed mummies that no predator eats in some time."""
    den = room.den
    for p in range(rows.pest.shape[0]):
        for size in range(N_SIZES):
            eaten = get(den.eaten, zone, p, stage_of_size(size))
            put(den.spared, zone, p, size, exp(eaten * -days))
    for e in range(rows.enemy.shape[0]):
        put(den.spared_mummies, zone, e, exp(get(den.mummies_eaten, zone, e) * -days))
