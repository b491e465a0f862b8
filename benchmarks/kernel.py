"""How fast the compiled kernel runs, how near that is to what the machine can do, and how right it is at that step.

``python -m benchmarks.kernel`` on an idle machine, some minutes. All figures of one table come from one run; what is
compared is measured in turn, and the shortest of the repeats counts, so that other work on the machine shows little.
"""

from __future__ import annotations

import inspect
import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from numba import njit
from scipy.integrate import solve_ivp

from outpace.facts.table import load
from outpace.simulation import packs
from outpace.simulation.life_cycle import SteadyGrowth
from outpace.simulation.model import HouseModel, Release, ZoneSpec
from outpace.simulation.packs import WIDTH, put, spread
from outpace.simulation.parameter_rows import N_PEST
from outpace.simulation.parameters import draw
from outpace.simulation.run import choose_steps, run, start

MEMBERS, DAYS, REPEATS = 1024, 120, 9
LEVEL_PER_LEAF, LEAVES = 1.5, 2500.0 * 60.0
"""A usual action level, to say what a small change of a forecast is."""
CHAINS = 20
"""Of products and sums that do not wait for each other, in the measure of the machine."""

Job = Callable[[], Any]


def house(zones: int = 1, enemies: tuple[str, ...] = ("aphidius_colemani",)) -> HouseModel:
    """Return an invented house of some bays."""
    bays = tuple(ZoneSpec(f"bay {i}", 1000.0 / zones, 2500.0 / zones) for i in range(zones))
    return HouseModel("sweet_pepper", bays, ("myzus_persicae",), enemies, 60.0, 0.6)


def house_run(
    members: int, days: int, *, zones: int = 1, wide: bool = True, threads: int = 1, **options: Any
) -> Job:
    """Return a run to be timed; ``wide`` gives each member a temperature of its own, as a forecast does."""
    model = house(zones)
    parameters = draw(load(), model, members, seed=1)
    state = start(model, parameters, 0.5, seed=1)
    heat = 20.0 + 6.0 * np.sin(2 * np.pi * (np.arange(24 * days) - 9) / 24)[:, None]
    if wide:
        heat = heat + np.random.default_rng(1).normal(0.0, 1.0, (1, members))
    releases = [Release(1.0 + 7 * week, 0, zone, 500.0 / zones) for week in range(8) for zone in range(zones)]

    def job() -> Any:
        return run(
            model, parameters, state, heat, first_day=0, days=days, releases=releases, seed=1,
            threads=threads, **options,
        )  # fmt: skip

    return job


def states_of(zones: int = 1) -> tuple[int, int]:
    """Return the rows of the state of a house and the usual steps per day."""
    model = house(zones)
    parameters = draw(load(), model, MEMBERS, seed=1)
    layout = parameters.layout(model)
    return layout.n_state, choose_steps(parameters, layout)


def shortest(*jobs: Job, repeats: int = REPEATS) -> tuple[list[float], list[float]]:
    """Return the least wall time and the least processor time of each job, done in turn. [s]"""
    times: list[list[tuple[float, float]]] = [[] for _ in jobs]
    for job in jobs:
        job()
    for _ in range(repeats):
        for job, found in zip(jobs, times, strict=True):
            wall, own = time.perf_counter(), time.process_time()
            job()
            found.append((time.perf_counter() - wall, time.process_time() - own))
    return [min(t[0] for t in found) for found in times], [min(t[1] for t in found) for found in times]


@njit(nogil=True)
def multiply_and_add(rounds: int, out: Any) -> None:
    """Do `CHAINS` products and sums of packs in each round, none waiting for another, and nothing else."""
    x, y = spread(0.999), spread(1e-3)
    a, b, c, d, e = spread(1.0), spread(1.1), spread(1.2), spread(1.3), spread(1.4)
    f, g, h, i, j = spread(1.5), spread(1.6), spread(1.7), spread(1.8), spread(1.9)
    for _ in range(rounds):
        a, b, c, d, e = a * x + y, b * x + y, c * x + y, d * x + y, e * x + y
        f, g, h, i, j = f * x + y, g * x + y, h * x + y, i * x + y, j * x + y
    put(out, 0, a + b + c + d + e + f + g + h + i + j)


def machine() -> tuple[Job, float, Job, float]:
    """Return jobs that show the most arithmetic and the most memory traffic of one thread, with their amounts."""
    rounds, out = 1_000_000, np.empty((1, WIDTH))
    source, target = np.ones(8_000_000), np.ones(8_000_000)
    return (
        lambda: multiply_and_add(rounds, out),
        rounds * 10 * 2.0 * WIDTH,
        lambda: np.copyto(target, source),
        2.0 * source.nbytes,
    )


def plainly(what: str, members: int, days: int) -> dict[str, Any]:
    """Return what the kernel's code says of itself when numpy runs it."""
    answer = subprocess.run(
        [sys.executable, "-m", "benchmarks.plain_packs", what, str(members), str(days)],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
        check=True,
        capture_output=True,
        text=True,
    )
    found: dict[str, Any] = json.loads(answer.stdout)
    return found


def integrated_day() -> float:
    """Return the time scipy needs for a member's day of the same chains, hazards and warmth held. [s]"""
    model = house()
    parameters = draw(load(), model, 1, seed=1, spread=False)
    counts = parameters.layout(model).rows.pest_count[0]
    growth = SteadyGrowth(parameters.values[:N_PEST], parameters.shared, 0, counts, 20.0)
    lengths = [*counts[:8], *[parameters.substages.enemies[0][1]] * 3, *parameters.substages.enemies[0][2:]]
    leave = [*(float(np.squeeze(rate)) for rate in growth.leave), 2.0, 2.0, 2.0, 1.0, 1.0]
    size = int(sum(lengths))
    move = np.zeros((size, size))
    row = 0
    for length, rate in zip(lengths, leave, strict=True):
        for i in range(row, row + int(length)):
            move[i, i] -= rate + 0.1
            if i + 1 < size:
                move[i + 1, i] += rate
            move[0, i] += 0.2 * rate if length == counts[5] else 0.0
        row += int(length)
    before = np.linspace(1.0, 2.0, size)

    def day() -> Any:
        return solve_ivp(lambda _, numbers: move @ numbers, (0.0, 1.0), before, rtol=1e-6, atol=1e-9)

    return shortest(day)[1][0]


def slope(sizes: list[int], jobs: list[Job]) -> float:
    """Return how the time of a run grows with a size: 1 where twice the size takes twice the time."""
    return float(np.polyfit(np.log(sizes), np.log(shortest(*jobs, repeats=7)[1]), 1)[0])


def growth_error(steps: int) -> float:
    """Return the relative error of the rate of increase at 25 °C against its closed form.

    The swing of growth that a house starts in is set to nil: it fades over weeks and is no error of the step.
    """
    model = house(enemies=())
    parameters = draw(load(), model, 1, seed=1, spread=False)
    for name, value in {"ceiling": 1e15, "unexplained_loss": 0.0, "winged_least": 0.0, "winged_more": 0.0,
                        "immigration": 0.0}.items():  # fmt: skip
        parameters = parameters.set(name, value, pest=0)
    counts = parameters.layout(model).rows.pest_count[0]
    expected = SteadyGrowth(parameters.values[:N_PEST], parameters.shared, 0, counts, 25.0).rate()[0]
    state = start(model, parameters, 1.0, seed=1, temperature=25.0)
    swings = parameters.layout(model).rows.luck[0]
    state[swings : swings + 2] = 0.0
    heat = np.full((24 * 60, 1), 25.0)
    result = run(model, parameters, state, heat, first_day=0, days=60, noise=False, steps_per_day=steps)
    logs = np.log(result.aphids[:, 0, 0, 0])
    return float((logs[60] - logs[40]) / 20 / expected - 1.0)


def quantile_change(steps: int, finer: int) -> float:
    """Return how far finer steps move a quantile of live aphids, over the larger of it and 1 % of the level."""
    both = []
    for each in (steps, finer):
        aphids = house_run(256, 42, steps_per_day=each)().aphids.sum(axis=(1, 2))
        both.append(np.quantile(aphids, [0.05, 0.25, 0.5, 0.75, 0.95], axis=1))
    size = np.maximum(both[1], 0.01 * LEVEL_PER_LEAF * LEAVES)
    return float(np.max(np.abs(both[0] - both[1]) / size))


def main() -> None:
    """Print the tables."""
    states, steps = states_of()
    work = MEMBERS * DAYS * states * steps
    arithmetic, flops, traffic, moved = machine()
    one, two = house_run(MEMBERS, DAYS), house_run(MEMBERS, DAYS, threads=2)
    shared_warmth = house_run(MEMBERS, DAYS, wide=False, threads=2)
    jobs = (arithmetic, traffic, one, two, shared_warmth)
    wall, own = shortest(*jobs, repeats=3 * REPEATS)
    counted = plainly("count", WIDTH, DAYS)["done"]
    each = sum(counted.values()) / (DAYS * states * steps)
    print(f"one aphid, one wasp, one zone: {states} states, {steps} steps a day, packs of {packs.WIDTH}")
    print(f"{MEMBERS} members x {DAYS} days; least of {3 * REPEATS} runs, all in turn")
    print(f"arithmetic: {each:.1f} flop per state and step, exponentials and divisions among them")
    for times, name in ((wall, "wall time"), (own, "processor time over threads")):
        roof = flops / times[0] / 1e9
        print(f"\nby {name}: products and sums {roof:.1f} Gflop/s, copying {moved / times[1] / 1e9:.1f} GB/s")
        for i, label, threads in ((2, "one thread", 1), (3, "two", 2), (4, "two, one warmth for all", 2)):
            seconds = times[i] if times is wall else times[i] / threads
            rate = work / seconds / 1e9
            share = rate * each / roof / threads
            days = MEMBERS * DAYS / seconds / 1e6
            print(
                f"{label:>24} {rate:5.2f} G state-steps/s {days:5.2f} M member-days/s {share:5.1%} of the roof"
            )
        print(f"two threads over one: {times[2] / (times[3] if times is wall else times[3] / 2):.2f}")
    t_one = own[2]

    print("\nshare of the arithmetic")
    for name, number in sorted(counted.items(), key=lambda item: -item[1]):
        print(f"  {name:>16} {number / sum(counted.values()):6.1%}")

    plain = plainly("time", MEMBERS, 8)["seconds"] / 8
    print(
        f"\nnumpy, same code, step, members and thread: {plain * DAYS / t_one:.0f} times the time of one thread"
    )
    print(
        f"solve_ivp, the same chains, a member's day: {integrated_day() / (t_one / MEMBERS / DAYS):.0f} times"
    )
    if "small_numbers" in inspect.signature(run).parameters:
        small = shortest(house_run(MEMBERS, DAYS, small_numbers=30.0), one)[1]
        print(f"small numbers over continuous: {small[1] / small[0]:.2f}")

    print("\ncost by size, log-log slope")
    sizes = [256, 512, 1024, 2048]
    print(f"  members {slope(sizes, [house_run(n, DAYS) for n in sizes]):.3f}")
    sizes = [30, 60, 120, 240]
    print(f"  days    {slope(sizes, [house_run(MEMBERS, n) for n in sizes]):.3f}")
    sizes = [1, 2, 4, 8, 16]
    print(f"  zones   {slope(sizes, [house_run(256, 60, zones=n) for n in sizes]):.3f}")

    print("\nsteps a day  error of r at 25 °C  most change of a quantile at a third of the step")
    for coarse in (4, 8, 24):
        print(f"{coarse:11d}  {growth_error(coarse):+18.4%}  {quantile_change(coarse, 3 * coarse):.3%}")


if __name__ == "__main__":
    main()
