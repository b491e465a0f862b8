"""One ensemble through the days: the compiled loop.

Arrays in, arrays out: no dates, names, files or hidden randomness. Members are independent columns and are stepped
sixteen at a time through all days, so that their state stays next to the processor and their results do not depend on
how members were shared among threads. The number of members is a multiple of sixteen.
The order of a day is that of `outpace.simulation.step_order`.
"""

from __future__ import annotations

from typing import Any

import numba.core.event
import numpy as np
from numpy.typing import NDArray

from outpace.simulation.bout import count_hosts, crowd, read_luck, share_out, sting, warm_day
from outpace.simulation.chains import (
    Array,
    anything_in,
    compiled,
    compiled_and_kept,
    packs_of,
    place_of,
    varying,
)
from outpace.simulation.few import make_few
from outpace.simulation.first_run import tell_once
from outpace.simulation.ground import STRIPPED, move_zones, set_ground, strip, strip_few
from outpace.simulation.hunt import hunt, share_prey, warm_predators
from outpace.simulation.hyperparasitoids import (
    age_hypers,
    begin_hypers,
    hyper_rates,
    look_at_hypers,
    release_hypers,
    share_mummies,
    spray_hypers,
    step_hypers,
    sting_mummies,
    strip_hypers,
    warm_hypers,
    write_hyper_ledger,
)
from outpace.simulation.layout import CARRIER, HOST_STAGES, MUMMIES, N_SIZES, Integers, Rows
from outpace.simulation.ledger import N_ENEMY_CAUSES, N_PEST_CAUSES, N_PREDATOR_CAUSES, RELEASED
from outpace.simulation.midnight import (
    OUT_ENEMY,
    OUT_PEST,
    age_females,
    die_in_mummies,
    doom_mummies,
    drop_dust,
    follow_crowding,
    lay_residue,
    look,
    spray,
    swing,
)
from outpace.simulation.mummies import step_carrier, step_mummies
from outpace.simulation.packs import WIDTH, add, get, load, put, save, spread
from outpace.simulation.predators import (
    OUT_PREDATOR,
    age_predators,
    begin_predators,
    look_at_predators,
    predator_rates,
    release_predators,
    spray_predators,
    step_predator,
    write_predator_ledger,
)
from outpace.simulation.responses import Shared, Tables
from outpace.simulation.room import Room, make_room
from outpace.simulation.run_constants import begin_run
from outpace.simulation.stages import step_pest, step_rates
from outpace.simulation.whole_counts import (
    add_up,
    age_few,
    begin_few,
    put_back,
    round_off,
    spray_few,
    take_out,
)
from outpace.simulation.whole_days import live_on

event: Any = numba.core.event
Flags = NDArray[np.bool_]

ADULTS, IN_CARRIER, SPRAYED_ON = range(3)
"""Kinds of event; those of predators stand in `outpace.simulation.predators`."""


@compiled
def copy_in(whole: Array, lo: int, own: Array) -> None:
    """Copy one pack of members out of the whole."""
    for r in range(whole.shape[0]):
        put(own, r, load(whole, r, lo))


@compiled
def copy_out(own: Array, lo: int, whole: Array) -> None:
    """Copy one pack of members back."""
    for r in range(whole.shape[0]):
        save(whole, r, lo, get(own, r))


@compiled
def read_warmth(temperature: Array, first_hour: int, lo: int, room: Room) -> None:
    """Write the temperatures of the day's hours, and where in the tables they stand."""
    for hour in range(24):
        if temperature.shape[1] > 1:
            warmth = load(temperature, first_hour + hour, lo)
        else:
            warmth = spread(temperature[first_hour + hour, 0])
        put(room.warmth, hour, warmth)
        put(room.place, hour, place_of(warmth))


@compiled
def write_ledger(rows: Rows, lo: int, room: Room, ledger: Array) -> None:
    """Write the sums by cause."""
    line = 0
    for p in range(rows.pest.shape[0]):
        for z in range(rows.pest.shape[1]):
            for cause in range(N_PEST_CAUSES):
                save(ledger, line, lo, get(room.pest_book, p, z, cause))
                line += 1
    for e in range(rows.enemy.shape[0]):
        for z in range(rows.enemy.shape[1]):
            for cause in range(N_ENEMY_CAUSES):
                save(ledger, line, lo, get(room.enemy_book, e, z, cause))
                line += 1
    if rows.predator.shape[0] > 0:
        write_predator_ledger(rows, line, lo, room, ledger)
    if rows.hyper.shape[0] > 0:
        line += rows.predator.shape[0] * rows.predator.shape[1] * N_PREDATOR_CAUSES
        write_hyper_ledger(rows, line, lo, room, ledger)


@compiled
def begin_pack(values: Array, rows: Rows, shared: Shared, lo: int, dt: float, room: Room) -> None:
    """Write what holds for the whole run, and empty the books."""
    nothing = spread(0.0)
    copy_in(values, lo, room.values)
    begin_run(rows, shared, dt, room)
    begin_predators(rows, room)
    begin_hypers(rows, room)
    for p in range(rows.pest.shape[0]):
        for z in range(rows.pest.shape[1]):
            for cause in range(N_PEST_CAUSES):
                put(room.pest_book, p, z, cause, nothing)
    for z in range(rows.residue.shape[0]):
        put(room.doomed, z, nothing)
    for e in range(rows.enemy.shape[0]):
        for z in range(rows.enemy.shape[1]):
            put(room.fresh, e, z, nothing)
            for cause in range(N_ENEMY_CAUSES):
                put(room.enemy_book, e, z, cause, nothing)


@compiled
def release(
    state: Array, rows: Rows, kind: int, e: int, zone: int, numbers: Array, lo: int, room: Room
) -> None:
    """Let females go at once, or put those that will come out of it into the carrier."""
    number = load(numbers, lo)
    add(room.enemy_book, e, zone, RELEASED, number)
    if kind == ADULTS:
        add(room.fresh, e, zone, number)
    else:
        add(state, rows.enemy[e, zone, CARRIER], number)


@compiled
def find_stung(
    state: Array,
    rows: Rows,
    zone: int,
    room: Room,
    stung_here: Flags,
    mummies_here: Flags,
    carrier_here: Flags,
) -> None:
    """Note which chains of wasps hold anything today; the others need no step."""
    for e in range(rows.enemy.shape[0]):
        mummies_here[e, zone] = anything_in(state, rows.enemy[e, zone, MUMMIES], rows.enemy_count[e, MUMMIES])
        carrier_here[e, zone] = anything_in(state, rows.enemy[e, zone, CARRIER], rows.enemy_count[e, CARRIER])
    for j in range(rows.pair.shape[0]):
        stung_here[j, zone] = anything_in(room.hazard[zone, j], 0, HOST_STAGES) or anything_in(
            room.stung[j], 0, N_SIZES
        )
        if stung_here[j, zone]:
            mummies_here[rows.pair[j, 1], zone] = True


class Told(event.Listener):  # type: ignore[misc]
    """Tells who waits that something is being compiled; loading what was compiled before is none of it."""

    def on_start(self, _: Any) -> None:
        """Tell."""
        tell_once()

    def on_end(self, _: Any) -> None:
        """Say nothing more."""


def compile_advance(fingerprint: int) -> Any:
    """Return the compiled loop. ``fingerprint`` makes the cache on disk follow all files the loop is made of."""
    event.register("numba:compile", Told())

    @compiled_and_kept
    def advance(
        state: Array,
        values: Array,
        temperature: Array,
        draws: Array,
        daylight: Array,
        events: Integers,
        amounts: Array,
        rows: Rows,
        shared: Shared,
        ground: Array,
        tables: Tables,
        out: Array,
        ledger: Array,
        lo: int,
        hi: int,
        first_hour: int,
        days: int,
        steps: int,
        switch: float,
        seed: np.uint64,
    ) -> int:
        made_of = fingerprint
        pests, zones = rows.pest.shape[0], rows.pest.shape[1]
        enemies, pairs, predators = rows.enemy.shape[0], rows.pair.shape[0], rows.predator.shape[0]
        hypers = rows.hyper.shape[0]
        predator_lines = (OUT_PEST * pests + OUT_ENEMY * enemies) * zones
        hyper_lines = predator_lines + OUT_PREDATOR * predators * zones
        dt = 1.0 / steps
        hours = max(1, 24 // steps)
        room = make_room(pests, enemies, pairs, predators, hypers, zones, shared.nodes.shape[1])
        own = packs_of((state.shape[0],))
        by_ones = switch > 0.0
        few = make_few(pests, enemies, pairs, zones, state.shape[0])
        stung_here = np.empty((pairs, zones), dtype=np.bool_)
        mummies_here = np.empty((enemies, zones), dtype=np.bool_)
        carrier_here = np.empty((enemies, zones), dtype=np.bool_)
        for start in range(lo, hi, WIDTH):
            copy_in(state, start, own)
            begin_pack(values, rows, shared, start, dt, room)
            event = 0
            for day in range(days):
                look(own, rows, out, day, start)
                if predators > 0:
                    look_at_predators(own, rows, predator_lines, out, day, start)
                if hypers > 0:
                    look_at_hypers(own, rows, hyper_lines, out, day, start)
                set_ground(ground, day, shared)
                drop_dust(own)
                if by_ones:
                    begin_few(rows, seed, first_hour // 24 + day, start, few)
                    round_off(own, rows, switch, room, few)
                part, lived = varying(0), 0.0
                swing(own, rows, start, draws, day, room)
                read_warmth(temperature, first_hour + 24 * day, start, room)
                warm_day(rows, tables, daylight[day], room)
                if predators > 0:
                    warm_predators(rows, tables, daylight[day], room)
                if hypers > 0:
                    warm_hypers(rows, room)
                read_luck(own, rows, room)
                for p in range(pests):
                    put(room.heat, p, spread(0.0))
                for z in range(zones):
                    count_hosts(own, rows, z, room)
                    crowd(rows, shared, tables, z, room)
                    sting(own, rows, shared, z, room)
                    if predators > 0:
                        hunt(own, rows, shared, z, room)
                        share_prey(rows, z, 0.5 * dt, room)
                    if hypers > 0:
                        sting_mummies(own, rows, shared, z, room)
                        share_mummies(rows, z, 0.5 * dt, room)
                    if by_ones:
                        take_out(own, rows, z, room, few)
                    share_out(rows, z, 0.5 * dt, room)
                    find_stung(own, rows, z, room, stung_here, mummies_here, carrier_here)
                for step in range(steps):
                    while event < len(events) and events[event, 0] == day and events[event, 1] == step:
                        kind, e, z = events[event, 2], events[event, 3], events[event, 4]
                        if kind == SPRAYED_ON:
                            if by_ones:
                                live_on(own, rows, shared, part, step * dt - lived, room, few)
                                part, lived = part + 1, step * dt
                                spray_few(
                                    rows, z, part, amounts[event, 0], amounts[event, 1], start, room, few
                                )
                            spray(own, rows, z, amounts[event, 0], amounts[event, 1], start, room)
                            lay_residue(own, rows, z, amounts[event, 2], amounts[event, 3], start)
                            doom_mummies(z, amounts[event, 4], start, room)
                            if predators > 0:
                                spray_predators(own, rows, z, amounts[event, 1], start, room)
                                share_prey(rows, z, 0.5 * dt, room)
                            if hypers > 0:
                                spray_hypers(own, rows, z, amounts[event, 1], start, room)
                                share_mummies(rows, z, 0.5 * dt, room)
                            share_out(rows, z, 0.5 * dt, room)
                        elif kind == STRIPPED:
                            if by_ones:
                                live_on(own, rows, shared, part, step * dt - lived, room, few)
                                part, lived = part + 1, step * dt
                                strip_few(
                                    rows, z, part, amounts[event, 0], amounts[event, 1], start, room, few
                                )
                            strip(own, rows, z, amounts[event, 0], amounts[event, 1], start, room)
                            if hypers > 0:
                                strip_hypers(own, rows, z, amounts[event, 0], amounts[event, 1], start, room)
                        elif e >= enemies + predators:
                            release_hypers(rows, e - enemies - predators, z, amounts[event, 0], start, room)
                        elif e >= enemies:
                            release_predators(own, rows, kind, e - enemies, z, amounts[event, 0], start, room)
                        else:
                            release(own, rows, kind, e, z, amounts[event, 0], start, room)
                            carrier_here[e, z] = carrier_here[e, z] or kind == IN_CARRIER
                        event += 1
                    step_rates(rows, tables, (24 * step) // steps, hours, dt, room)
                    if by_ones:
                        add_up(rows, dt, room, few)
                    if predators > 0:
                        predator_rates(rows, tables, (24 * step) // steps, hours, dt, room)
                    if hypers > 0:
                        hyper_rates(rows, (24 * step) // steps, hours, room)
                    for z in range(zones):
                        for e in range(enemies):
                            put(room.to_mummy, e, spread(0.0))
                        for p in range(pests):
                            if not (by_ones and few.all_few[p, z]):
                                step_pest(own, rows, shared, p, z, dt, room, stung_here)
                        for e in range(enemies):
                            if mummies_here[e, z]:
                                step_mummies(own, rows, e, z, room)
                            if carrier_here[e, z]:
                                step_carrier(own, rows, e, z, room)
                            if hypers > 0 and room.brood.here[e, z]:
                                step_hypers(own, rows, e, z, dt, room)
                        for d in range(predators):
                            if room.den.here[d, z]:
                                step_predator(own, rows, shared, d, z, dt, room)
                if by_ones:
                    live_on(own, rows, shared, part, 1.0 - lived, room, few)
                    age_few(own, rows, room, few)
                if predators > 0:
                    age_predators(own, rows, shared, room)
                if hypers > 0:
                    age_hypers(own, rows, shared, room)
                age_females(own, rows, room)
                if by_ones:
                    put_back(own, rows, room, few)
                follow_crowding(own, rows, shared, room)
                move_zones(own, rows, shared, room)
                die_in_mummies(own, rows, room)
            look(own, rows, out, days, start)
            if predators > 0:
                look_at_predators(own, rows, predator_lines, out, days, start)
            if hypers > 0:
                look_at_hypers(own, rows, hyper_lines, out, days, start)
            write_ledger(rows, start, room, ledger)
            copy_out(own, start, state)
        return made_of

    return advance
