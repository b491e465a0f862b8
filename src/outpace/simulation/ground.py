"""What people and the crop do to zones: leaves grow or are taken off, crops end, animals move from zone to zone."""

from __future__ import annotations

from outpace.simulation.bout import LEAVES, PLANTS
from outpace.simulation.chains import Array, compiled, compiled_apart, sum_rows
from outpace.simulation.counter_luck import next_key
from outpace.simulation.few import Few
from outpace.simulation.layout import (
    CARRIER,
    DEAD_MUMMIES,
    FEMALES,
    FLYING,
    MUMMIES,
    N_SIZES,
    SHELLS,
    WINGED,
    WINGLESS,
    YOUNG_ADULTS,
    Rows,
)
from outpace.simulation.ledger import FALLEN, MOVED, MUMMIES_REMOVED, REMOVED, TAKEN_OUT, WENT
from outpace.simulation.midnight import kill
from outpace.simulation.packs import WIDTH, add, get, load, put, spread
from outpace.simulation.parameter_rows import (
    ATTRACTION,
    ENEMY_EXCHANGE,
    N_ENEMY,
    N_PEST,
    PEST_EXCHANGE,
    WALKING,
    WALKING_HALF,
)
from outpace.simulation.responses import Shared
from outpace.simulation.room import Room
from outpace.simulation.whole_counts import OF_FEMALES, OF_MUMMIES, OF_PEST, TO_STRIP, kill_rows

STRIPPED = 20
"""Kind of the event in which leaves, or the whole crop, are carried out."""


@compiled
def set_ground(ground: Array, day: int, shared: Shared) -> None:
    """Let plants, leaves and leaf area of each zone be those of this day."""
    for z in range(shared.zone.shape[0]):
        for kind in range(shared.zone.shape[1]):
            shared.zone[z, kind] = ground[day, z, kind]


@compiled
def strip(state: Array, rows: Rows, zone: int, leaves: Array, flyers: Array, lo: int, room: Room) -> None:
    """Carry out what sits on the leaves that go: aphids, mummies, shells; with the whole crop, flyers too."""
    gone, flown = load(leaves, lo), load(flyers, lo)
    for p in range(rows.pest.shape[0]):
        for block in range(WINGED + 1):
            share = flown if block == FLYING else gone
            dead = kill(state, rows.pest[p, zone, block], rows.pest_count[p, block], share)
            add(room.pest_book, p, zone, REMOVED, dead)
    for j in range(rows.pair.shape[0]):
        dead = kill(state, rows.stung[j, zone], N_SIZES * rows.stung_count[j], gone)
        add(room.pest_book, rows.pair[j, 0], zone, REMOVED, dead)
    for e in range(rows.enemy.shape[0]):
        dead = kill(state, rows.enemy[e, zone, MUMMIES], rows.enemy_count[e, MUMMIES], gone)
        add(room.enemy_book, e, zone, MUMMIES_REMOVED, dead)
        for block in (DEAD_MUMMIES, SHELLS):
            dead = kill(state, rows.enemy[e, zone, block], 1, gone)
            add(room.enemy_book, e, zone, FALLEN, dead)
        dead = kill(state, rows.enemy[e, zone, FEMALES], rows.enemy_count[e, FEMALES], flown)
        dead += kill(state, rows.enemy[e, zone, CARRIER], rows.enemy_count[e, CARRIER], flown)
        fresh = get(room.fresh, e, zone) * flown
        add(room.fresh, e, zone, -1.0 * fresh)
        add(room.enemy_book, e, zone, TAKEN_OUT, dead + fresh)


@compiled_apart
def strip_few(
    rows: Rows, zone: int, part: int, leaves: Array, flyers: Array, lo: int, room: Room, few: Few
) -> None:
    """Carry out whole individuals by luck."""
    purpose = TO_STRIP + 16 * part
    for m in range(WIDTH):
        gone, flown = leaves[lo + m], flyers[lo + m]
        for p in range(rows.pest.shape[0]):
            if few.pest[p, zone, m]:
                key = next_key(next_key(few.key[zone, m], OF_PEST + p), purpose)
                dead = 0
                for block in range(WINGED + 1):
                    row = rows.pest[p, zone, block]
                    share = flown if block == FLYING else gone
                    dead += kill_rows(
                        few, m, row, row + rows.pest_count[p, block], share, next_key(key, block)
                    )
                for j in range(rows.pair.shape[0]):
                    if rows.pair[j, 0] == p:
                        row = rows.stung[j, zone]
                        last = row + N_SIZES * rows.stung_count[j]
                        dead += kill_rows(few, m, row, last, gone, next_key(key, 50 + j))
                few.book[p, zone, REMOVED, m] += dead
        for e in range(rows.enemy.shape[0]):
            if few.mummies[e, zone, m]:
                key = next_key(next_key(few.key[zone, m], OF_MUMMIES + e), purpose)
                row = rows.enemy[e, zone, MUMMIES]
                dead = kill_rows(few, m, row, row + rows.enemy_count[e, MUMMIES], gone, key)
                room.enemy_book[e, zone, MUMMIES_REMOVED, m] += dead
            if few.females[e, zone, m]:
                key = next_key(next_key(few.key[zone, m], OF_FEMALES + e), purpose)
                row = rows.enemy[e, zone, FEMALES]
                dead = kill_rows(few, m, row, row + rows.enemy_count[e, FEMALES], flown, key)
                room.enemy_book[e, zone, TAKEN_OUT, m] += dead


@compiled
def move_zones(state: Array, rows: Rows, shared: Shared, room: Room) -> None:
    """Let a share of the flying aphids and of the females go to other zones, near ones first; sums over zones stay.

    Aphids go by the plants there; females more to zones that have more hosts to a leaf than the house. Wingless aphids
    walk off crowded plants, and some of them to the zone beside.
    """
    zones = rows.residue.shape[0]
    if zones < 2:
        return
    for p in range(rows.pest.shape[0]):
        for z in range(zones):
            put(room.pull, z, spread(shared.zone[z, PLANTS]))
        share = get(room.values, p * N_PEST + PEST_EXCHANGE)
        for z in range(zones):
            put(room.leaving, z, share * get(state, rows.pest[p, z, FLYING]))
        settle_zones(shared, zones, room)
        for z in range(zones):
            came = get(room.coming, z) - get(room.leaving, z)
            add(state, rows.pest[p, z, FLYING], came)
            add(room.pest_book, p, z, MOVED, came)
        walk_zones(state, rows, shared, p, zones, room)
    for e in range(rows.enemy.shape[0]):
        first = rows.pest.shape[0] * N_PEST + e * N_ENEMY
        pull_hosts(state, rows, shared, e, get(room.values, first + ATTRACTION), room)
        share = get(room.values, first + ENEMY_EXCHANGE)
        for age in range(rows.enemy_count[e, FEMALES]):
            for z in range(zones):
                put(room.leaving, z, share * get(state, rows.enemy[e, z, FEMALES] + age))
            settle_zones(shared, zones, room)
            for z in range(zones):
                came = get(room.coming, z) - get(room.leaving, z)
                add(state, rows.enemy[e, z, FEMALES] + age, came)
                add(room.enemy_book, e, z, WENT, came)


@compiled_apart
def walk_zones(state: Array, rows: Rows, shared: Shared, p: int, zones: int, room: Room) -> None:
    """Let oldest nymphs and wingless adults of crowded plants walk to the zones beside."""
    first = p * N_PEST
    half = get(room.values, first + WALKING_HALF)
    for z in range(zones):
        here = spread(0.0)
        for block in range(WINGED + 1):
            here += sum_rows(state, rows.pest[p, z, block], rows.pest_count[p, block])
        on_plant = here * (1.0 / shared.zone[z, PLANTS])
        squared = on_plant * on_plant
        put(room.pull, z, get(room.values, first + WALKING) * squared / (squared + half * half))
    for block in (3, YOUNG_ADULTS, WINGLESS):
        for r in range(rows.pest_count[p, block]):
            for z in range(zones):
                put(room.leaving, z, get(room.pull, z) * get(state, rows.pest[p, z, block] + r))
                put(room.coming, z, spread(0.0))
            for z in range(zones):
                for other in range(zones):
                    if shared.beside[z, other] > 0.0:
                        went = get(room.leaving, z) * shared.beside[z, other]
                        add(room.coming, other, went)
                        add(room.coming, z, -1.0 * went)
            for z in range(zones):
                add(state, rows.pest[p, z, block] + r, get(room.coming, z))
                add(room.pest_book, p, z, MOVED, get(room.coming, z))


@compiled
def pull_hosts(state: Array, rows: Rows, shared: Shared, e: int, attraction: Array, room: Room) -> None:
    """Write how much each zone draws the females of one enemy: its plants, times more where hosts are denser."""
    zones = rows.residue.shape[0]
    hosts = spread(0.0)
    leaves = 0.0
    for z in range(zones):
        here = spread(0.0)
        for j in range(rows.pair.shape[0]):
            if rows.pair[j, 1] == e:
                p = rows.pair[j, 0]
                for block in range(WINGED + 1):
                    here += sum_rows(state, rows.pest[p, z, block], rows.pest_count[p, block])
        put(room.pull, z, here)
        hosts += here
        leaves += shared.zone[z, LEAVES]
    mean = (hosts + 1e-30) * (1.0 / leaves)
    for z in range(zones):
        relative = get(room.pull, z) * (1.0 / shared.zone[z, LEAVES]) / mean
        put(room.pull, z, shared.zone[z, PLANTS] * (1.0 + attraction * relative))


@compiled
def settle_zones(shared: Shared, zones: int, room: Room) -> None:
    """Share out those that leave each zone over the others, by nearness and pull."""
    for z in range(zones):
        put(room.coming, z, spread(0.0))
    for z in range(zones):
        total = spread(0.0)
        for other in range(zones):
            total += shared.near[z, other] * get(room.pull, other)
        each = get(room.leaving, z) / total
        for other in range(zones):
            add(room.coming, other, shared.near[z, other] * get(room.pull, other) * each)
