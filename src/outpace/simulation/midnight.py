"""What happens to a block of members at midnight, and when a house is sprayed."""

from __future__ import annotations

from outpace.simulation.bout import PLANTS, poison_of, share_of
from outpace.simulation.chains import Array, compiled, sum_rows
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
    WINGLESS,
    YOUNG_ADULTS,
    Integers,
    Rows,
)
from outpace.simulation.ledger import AGED, DIED_IN_MUMMY, FALLEN, HYPER_DIED, LOST, POISONED, SPRAYED
from outpace.simulation.pack_functions import exp
from outpace.simulation.packs import Pack, add, any_of, get, load, most, put, save, select, spread
from outpace.simulation.responses import Shared
from outpace.simulation.room import Room
from outpace.simulation.run_constants import FALLING, GROWTH_FRESH, SWING_KEPT

OUT_PEST = 4  # live, winged, nymphs, living stung
OUT_ENEMY = 3  # closed mummies, shells, females
DUST = 1e-60


@compiled
def look(state: Array, rows: Rows, out: Array, day: int, lo: int) -> None:
    """Write what stands in the house at midnight."""
    pests, enemies, zones = rows.pest.shape[0], rows.enemy.shape[0], rows.pest.shape[1]
    kinds = pests * zones
    for p in range(pests):
        for z in range(zones):
            line = p * zones + z
            nymphs = spread(0.0)
            winged = spread(0.0)
            wingless = spread(0.0)
            stung = spread(0.0)
            for stage in range(4):
                nymphs += sum_rows(state, rows.pest[p, z, stage], rows.pest_count[p, stage])
            for block in (YOUNG_ADULTS, WINGLESS):
                wingless += sum_rows(state, rows.pest[p, z, block], rows.pest_count[p, block])
            for block in (FLYING, WINGED):
                winged += sum_rows(state, rows.pest[p, z, block], rows.pest_count[p, block])
            for j in range(rows.pair.shape[0]):
                if rows.pair[j, 0] == p:
                    stung += sum_rows(state, rows.stung[j, z], N_SIZES * rows.stung_count[j])
            save(out, day, line, lo, nymphs + wingless + winged + stung)
            save(out, day, line + kinds, lo, winged)
            save(out, day, line + 2 * kinds, lo, nymphs)
            save(out, day, line + 3 * kinds, lo, stung)
    first = OUT_PEST * kinds
    kinds = enemies * zones
    for e in range(enemies):
        for z in range(zones):
            line = first + e * zones + z
            closed = sum_rows(state, rows.enemy[e, z, MUMMIES], rows.enemy_count[e, MUMMIES])
            females = sum_rows(state, rows.enemy[e, z, FEMALES], rows.enemy_count[e, FEMALES])
            shells = get(state, rows.enemy[e, z, SHELLS])
            if rows.hyper.shape[0] > 0:
                shells += get(state, rows.ragged[e, z])
                for h in range(rows.hyper.shape[0]):
                    closed += sum_rows(state, rows.hyper_young[h, e, z], rows.hyper_count[h])
            save(out, day, line, lo, closed + get(state, rows.enemy[e, z, DEAD_MUMMIES]))
            save(out, day, line + kinds, lo, shells)
            save(out, day, line + 2 * kinds, lo, females)


@compiled
def swing(state: Array, rows: Rows, lo: int, draws: Array, day: int, room: Room) -> None:
    """Move the swings of log growth and log attack by a day: an Ornstein-Uhlenbeck process, stepped exactly."""
    for p in range(rows.pest.shape[0]):
        kept = get(room.of_pest, p, SWING_KEPT)
        for kind in range(2):
            fresh = get(room.of_pest, p, GROWTH_FRESH + kind)
            drawn = (
                load(draws, day, 2 * p + kind, lo)
                if draws.shape[2] > 1
                else spread(draws[day, 2 * p + kind, 0])
            )
            row = rows.luck[p] + kind
            put(state, row, kept * get(state, row) + fresh * drawn)


@compiled
def mix_row(
    state: Array, blocks: Integers, block: int, row: int, share: Pack, shared: Shared, book: Array, cause: int
) -> None:
    """Mix one row."""
    pool = spread(0.0)
    plants = 0.0
    for z in range(blocks.shape[0]):
        pool += share * get(state, blocks[z, block] + row)
        plants += shared.zone[z, PLANTS]
    for z in range(blocks.shape[0]):
        came = pool * (shared.zone[z, PLANTS] / plants) - share * get(state, blocks[z, block] + row)
        add(state, blocks[z, block] + row, came)
        add(book, z, cause, came)


@compiled
def spray(
    state: Array, rows: Rows, zone: int, kill_pest: Array, kill_enemy: Array, lo: int, room: Room
) -> None:
    """Kill aphids, stung ones too, and adult enemies at once; the day's attack falls with the enemies."""
    aphids, wasps = load(kill_pest, lo), load(kill_enemy, lo)
    for p in range(rows.pest.shape[0]):
        for block in range(WINGED + 1):
            dead = kill(state, rows.pest[p, zone, block], rows.pest_count[p, block], aphids)
            add(room.pest_book, p, zone, SPRAYED, dead)
    for j in range(rows.pair.shape[0]):
        dead = kill(state, rows.stung[j, zone], N_SIZES * rows.stung_count[j], aphids)
        add(room.pest_book, rows.pair[j, 0], zone, SPRAYED, dead)
        for stage in range(HOST_STAGES):
            put(room.hazard, zone, j, stage, get(room.hazard, zone, j, stage) * (1.0 - wasps))
    for e in range(rows.enemy.shape[0]):
        dead = kill(state, rows.enemy[e, zone, FEMALES], rows.enemy_count[e, FEMALES], wasps)
        fresh = get(room.fresh, e, zone) * wasps
        add(room.fresh, e, zone, -1.0 * fresh)
        add(room.enemy_book, e, zone, POISONED, dead + fresh)


@compiled
def kill(state: Array, first: int, count: int, share: Pack) -> Pack:
    """Take a share out of some rows; return how many that were."""
    killed = spread(0.0)
    for r in range(first, first + count):
        dead = get(state, r) * share
        put(state, r, get(state, r) - dead)
        killed += dead
    return killed


@compiled
def age_females(state: Array, rows: Rows, room: Room) -> None:
    """End the day of the adult enemies: losses, a day older, and today's newcomers join; shells fall; residues fade."""
    for z in range(rows.enemy.shape[1]):
        residue = rows.residue[z]
        poison = poison_of(get(state, residue))
        for e in range(rows.enemy.shape[0]):
            first = rows.enemy[e, z, FEMALES]
            last = first + rows.enemy_count[e, FEMALES] - 1
            usual = get(room.lost, z, e)
            half_alive = exp(-0.5 * (usual + poison))
            alive = half_alive * half_alive
            newcomers = get(room.fresh, e, z)
            stood = spread(0.0)
            younger = newcomers * half_alive
            for r in range(first, last + 1):
                females = get(state, r)
                put(state, r, younger)
                stood += females
                younger = females * alive
            put(room.fresh, e, z, spread(0.0))
            dead = stood * (1.0 - alive) + newcomers * (1.0 - half_alive)
            by_poison = dead * share_of(poison, usual + poison)
            add(room.enemy_book, e, z, POISONED, by_poison)
            add(room.enemy_book, e, z, LOST, dead - by_poison)
            add(room.enemy_book, e, z, AGED, younger)
            for block in (SHELLS, DEAD_MUMMIES):
                fallen = get(state, rows.enemy[e, z, block]) * get(room.of_enemy, e, FALLING)
                add(state, rows.enemy[e, z, block], -1.0 * fallen)
                add(room.enemy_book, e, z, FALLEN, fallen)
        put(state, residue, most(get(state, residue) - get(state, residue + 1), spread(0.0)))


@compiled
def lay_residue(state: Array, rows: Rows, zone: int, level: Array, days: Array, lo: int) -> None:
    """Let a new residue stand where it kills more than what is left of the old one."""
    row = rows.residue[zone]
    new, old = load(level, lo), get(state, row)
    fall = new / most(load(days, lo), spread(1.0))
    put(state, row + 1, select(new > old, fall, get(state, row + 1)))
    put(state, row, most(new, old))


@compiled
def doom_mummies(zone: int, share: Array, lo: int, room: Room) -> None:
    """Note the share of closed mummies of a zone that a spray kills inside, as seen at the next midnight."""
    put(room.doomed, zone, 1.0 - (1.0 - get(room.doomed, zone)) * (1.0 - load(share, lo)))


@compiled
def die_in_mummies(state: Array, rows: Rows, room: Room) -> None:
    """Let what a spray doomed die inside its mummy.

    It is the best protected of all, and slow: that it dies up to a day late moves nothing a scout could see. The dead
    stay as closed mummies until they fall.
    """
    for z in range(rows.enemy.shape[1]):
        doomed = get(room.doomed, z)
        if not any_of(doomed > 0.0):
            continue
        for e in range(rows.enemy.shape[0]):
            dead = kill(state, rows.enemy[e, z, MUMMIES], rows.enemy_count[e, MUMMIES], doomed)
            add(room.enemy_book, e, z, DIED_IN_MUMMY, dead)
            for h in range(rows.hyper.shape[0]):
                young = kill(state, rows.hyper_young[h, e, z], rows.hyper_count[h], doomed)
                add(room.enemy_book, e, z, HYPER_DIED, young)
                dead += young
            add(state, rows.enemy[e, z, DEAD_MUMMIES], dead)
        put(room.doomed, z, spread(0.0))


@compiled
def drop_dust(state: Array) -> None:
    """Set numbers of no weight to zero: subnormal ones would slow the machine a hundred-fold."""
    nothing = spread(0.0)
    for r in range(state.shape[0]):
        number = get(state, r)
        put(state, r, select(number < DUST, select(number > -DUST, nothing, number), number))


@compiled
def follow_crowding(state: Array, rows: Rows, shared: Shared, room: Room) -> None:
    """Let the winged share of coming moults follow the day's crowding as fast as nymphs pass the last two instars."""
    for p in range(rows.pest.shape[0]):
        late = shared.instar_share[p, 2] + shared.instar_share[p, 3]
        follow = 1.0 - exp(get(room.heat, p) * (-1.0 / late))
        for z in range(rows.pest.shape[1]):
            row = rows.pest[p, z, WINGED_SHARE]
            wish = get(room.winged_wish, z, p)
            add(state, row, follow * (wish - get(state, row)))
