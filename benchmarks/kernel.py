"""How fast the compiled kernel runs, and how right it is at that step.

Run it on an idle machine: ``python benchmarks/kernel.py``. Prints member-days and state-steps per second for one pest,
one wasp and one zone, by steps per day and threads, the cost of several zones, and the error of the rate of increase.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from outpace.facts.table import load
from outpace.simulation.life_cycle import SteadyGrowth
from outpace.simulation.model import HouseModel, Release, ZoneSpec
from outpace.simulation.parameter_rows import N_PEST
from outpace.simulation.parameters import draw
from outpace.simulation.run import run, start

MEMBERS, DAYS, REPEATS = 1024, 120, 5


def house(zones: int = 1, enemies: tuple[str, ...] = ("aphidius_colemani",)) -> HouseModel:
    """Return an invented house of some bays."""
    bays = tuple(ZoneSpec(f"bay {i}", 1000.0 / zones, 2500.0 / zones) for i in range(zones))
    return HouseModel("sweet_pepper", bays, ("myzus_persicae",), enemies, 60.0, 0.6)


def best(job: Callable[[], object]) -> float:
    """Return the shortest of some times. [s]"""
    times = []
    for _ in range(REPEATS):
        begun = time.perf_counter()
        job()
        times.append(time.perf_counter() - begun)
    return min(times)


def time_runs(zones: int, steps: int, threads: int) -> tuple[float, int]:
    """Return the time of one run [s] and its number of states."""
    model = house(zones)
    parameters = draw(load(), model, MEMBERS, seed=1)
    state = start(model, parameters, 0.5, seed=1)
    heat = 20.0 + 6.0 * np.sin(2 * np.pi * (np.arange(24 * DAYS) - 9) / 24)[:, None]
    releases = [Release(1.0 + 7 * week, 0, 0, 500.0) for week in range(8)]

    def once() -> object:
        return run(
            model, parameters, state, heat, first_day=0, days=DAYS, releases=releases, seed=1,
            steps_per_day=steps, threads=threads,
        )  # fmt: skip

    once()
    return best(once), len(state)


def growth_error(steps: int) -> float:
    """Return the relative error of the rate of increase at 25 °C against its closed form."""
    model = house(enemies=())
    parameters = draw(load(), model, 1, seed=1, spread=False)
    for name, value in {"ceiling": 1e15, "unexplained_loss": 0.0, "winged_least": 0.0, "winged_more": 0.0,
                        "immigration": 0.0}.items():  # fmt: skip
        parameters = parameters.set(name, value, pest=0)
    counts = parameters.layout(model).rows.pest_count[0]
    expected = SteadyGrowth(parameters.values[:N_PEST], parameters.shared, 0, counts, 25.0).rate()[0]
    state = start(model, parameters, 1.0, seed=1, temperature=25.0)
    heat = np.full((24 * 60, 1), 25.0)
    result = run(model, parameters, state, heat, first_day=0, days=60, noise=False, steps_per_day=steps)
    logs = np.log(result.aphids[:, 0, 0, 0])
    return float((logs[60] - logs[40]) / 20 / expected - 1.0)


def main() -> None:
    """Print the table."""
    print("zones  steps/d  threads  M member-d/s  G state-steps/s  error of r at 25 °C")
    for zones, steps, threads in ((1, 8, 1), (1, 8, 2), (1, 24, 1), (1, 24, 2), (4, 8, 2)):
        seconds, states = time_runs(zones, steps, threads)
        work = MEMBERS * DAYS / seconds
        print(
            f"{zones:5d}  {steps:7d}  {threads:7d}  {work / 1e6:12.2f}  {work * states * steps / 1e9:15.2f}"
            f"  {growth_error(steps):+.5%}"
        )


if __name__ == "__main__":
    main()
