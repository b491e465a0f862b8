"""How long a house takes to be refitted to its walks, and how that compares with running its members alone.

Run it on an idle machine: ``python -m benchmarks.refit``. The ratio says what weighing costs beside running, and
depends little on the machine.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial

from benchmarks import own_houses
from outpace.estimation.assimilation import refit
from outpace.estimation.starting import start_members
from outpace.simulation.parameters import draw
from outpace.simulation.run import run

MEMBERS, REPEATS, SEED = 1024, 5, 11


def best(job: Callable[[], object]) -> float:
    """Return the shortest of some times. [s]"""
    times = []
    for _ in range(REPEATS):
        begun = time.perf_counter()
        job()
        times.append(time.perf_counter() - begun)
    return min(times)


def main() -> None:
    """Print the table."""
    print("walks told as   walks  days  refit s  members alone s  ratio  a walk s")
    for design in own_houses.DESIGNS:
        seen = own_houses.walks(own_houses.drawn(design, SEED, 0), SEED)
        heat = design.temperature(design.today)
        parameters = draw(own_houses.FACTS, design.model, MEMBERS, SEED)
        state = start_members(design.model, parameters, design.first(), SEED, set_no=0)

        alone = partial(
            run,
            design.model,
            parameters,
            state,
            heat,
            first_day=0,
            days=design.today,
            releases=design.releases,
        )
        whole = partial(
            refit,
            design.model,
            own_houses.FACTS,
            heat,
            seen,
            design.releases,
            until_day=design.today,
            members=MEMBERS,
            seed=1,
            first=design.first(),
        )
        whole()
        fitted, ran = best(whole), best(alone)
        walks = len(design.walks)
        print(
            f"{design.name:14s}  {walks:5d}  {design.today:4d}  {fitted:7.2f}  {ran:15.2f}  {fitted / ran:5.1f}"
            f"  {fitted / walks:8.2f}"
        )


if __name__ == "__main__":
    main()
