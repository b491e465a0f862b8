"""Which parameters move the peak of the aphids most: Morris screening, then Sobol indices over the same members.

``nice -n 15 python benchmarks/sensitivity.py`` writes `docs/sensitivity.svg` and prints the table that stands in
`docs/model.md`. Finished blocks of members are kept in the folder told by ``--kept``, so a run that was stopped goes on
from there. Everything that the model draws over the ranges of the facts varies; the swings of growth and attack and
the weather do not, so what is ranked is what one does not know of the species, the lot and the counts.
"""

from __future__ import annotations

import argparse
import hashlib
import json
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from SALib.analyze import morris as morris_analyze
from SALib.analyze import sobol as sobol_analyze
from SALib.sample import morris as morris_sample
from SALib.sample import sobol as sobol_sample
from scipy.stats import norm

from outpace.facts.table import load
from outpace.simulation.bridge import Bridge
from outpace.simulation.draws import Luck
from outpace.simulation.model import HouseModel, Release, ZoneSpec
from outpace.simulation.parameters import Parameters
from outpace.simulation.run import run, start

Array = NDArray[np.float64]

MODEL = HouseModel(
    "sweet_pepper",
    (ZoneSpec("bay 1", 400.0, 1000.0),),
    ("myzus_persicae",),
    ("aphidius_colemani",),
    60.0,
    0.6,
)
DAYS, FIRST_PER_PLANT = 84, 0.5
MEAN_DEGC, SWING_DEGC = 20.0, 5.0
RELEASE_DAYS, PER_M2 = (7.25, 14.25, 21.25, 28.25), 1.0
SEED, TRAJECTORIES, BASE, BLOCK = 20261125, 60, 1024, 4096
SHOWN = 10
TAIL = 0.005
"""Quantiles of each range that are reached: the ends of a normal have no last value."""


class Prescribed(Luck):
    """Numbers that are told instead of drawn; asked for one that is not told, it notes the name."""

    def __init__(self, told: dict[str, Array], members: int) -> None:
        super().__init__(SEED, members)
        self.told = told
        self.asked: list[str] = []

    def normal(self, name: str) -> Array:
        if name not in self.asked:
            self.asked.append(name)
        return self.told.get(name, np.zeros(self.members))


def parameters(told: dict[str, Array], members: int) -> tuple[Parameters, list[str]]:
    """Return members whose normal numbers are told by name, and the names that were asked for."""
    bridge = Bridge(load(), MODEL, members, SEED, True)
    luck = Prescribed(told, members)
    bridge.luck = luck
    values, names, substages, shared = bridge.table()
    table = Parameters(values, names, tuple(bridge.used.values()), substages, shared, ())
    return table, luck.asked


def peaks(unit: Array, names: list[str], released: bool) -> Array:
    """Return the highest daily mean per leaf of each member, as a logarithm, shape (members,)."""
    told = {name: norm.ppf(TAIL + (1 - 2 * TAIL) * unit[:, i]) for i, name in enumerate(names)}
    table, _ = parameters(told, len(unit))
    calm = np.sin(2 * np.pi * (np.arange(24 * DAYS) - 9) / 24)[:, None]
    releases = [
        Release(day, 0, 0, PER_M2 * MODEL.area_m2, emergence=table.get("lot_emergence", enemy=0),
                share_female=table.get("lot_share_female", enemy=0))
        for day in (RELEASE_DAYS if released else ())
    ]  # fmt: skip
    state = start(MODEL, table, FIRST_PER_PLANT, SEED)
    for row in table.layout(MODEL).rows.luck:
        state[row : row + 2] = 0.0
    seen = run(
        MODEL, table, state, MEAN_DEGC + SWING_DEGC * calm, first_day=0, days=DAYS, releases=releases,
        seed=SEED, noise=False,
    )  # fmt: skip
    leaves = MODEL.plants.sum() * MODEL.leaves_per_plant
    return np.log(np.maximum(seen.aphids[:, 0].sum(axis=1).max(axis=0) / leaves, 1e-6))


def in_blocks(unit: Array, names: list[str], released: bool, kept: Path, label: str) -> Array:
    """Return the peaks of all rows, block by block; blocks that are kept are not run again."""
    kept.mkdir(parents=True, exist_ok=True)
    found = []
    for first in range(0, len(unit), BLOCK):
        part = np.ascontiguousarray(unit[first : first + BLOCK])
        told = [
            json.dumps([names, released, MODEL.enemies, DAYS, MEAN_DEGC, SWING_DEGC, RELEASE_DAYS, PER_M2])
        ]
        told += [fact.key + repr(fact.value) + repr((fact.low, fact.high)) for fact in load().rows()]
        mark = hashlib.sha256("".join(told).encode() + part.tobytes()).hexdigest()[:20]
        path = kept / f"{label}-{mark}.npy"
        if not path.exists():
            np.save(path, peaks(part, names, released))
        found.append(np.load(path))
        print(f"{label}: {min(first + BLOCK, len(unit))} of {len(unit)} members", flush=True)
    return np.concatenate(found)


WORDS = {
    "log_growth": "growth in this house against the facts",
    "log_attack": "attack in this house against the facts",
    "log_immigration": "arrivals in this house against the facts",
    "log_clumping": "clumping in this house against the facts",
    "taylor_a": "Taylor's a, clumping",
    "taylor_b": "Taylor's b, clumping",
}


def plain(name: str) -> str:
    """Return the name of a parameter as it is read."""
    *species, quantity = name.split(".")
    whose = load().species[species[0]].latin if species and species[0] in load().species else "any wasp"
    return f"{whose}: {WORDS.get(quantity, quantity.replace('_', ' '))}"


def draw_picture(rows: list[tuple[str, float, float, float, float]], path: Path) -> None:
    """Write the shares of the variance as bars with their intervals."""
    import matplotlib

    matplotlib.use("svg")
    matplotlib.rcParams.update(
        {"svg.hashsalt": "outpace", "svg.fonttype": "none", "font.family": "sans-serif"}
    )
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8.0, 0.42 * len(rows) + 1.3), layout="constrained")
    axes = figure.add_subplot()
    places = np.arange(len(rows))[::-1]
    axes.barh(places, [row[1] for row in rows], xerr=[row[2] for row in rows], height=0.62, color="#d9d9d9",
              edgecolor="#333333", ecolor="#333333", label="with all it acts through (total)")  # fmt: skip
    axes.barh(places, [row[3] for row in rows], height=0.26, color="#333333", label="alone (first order)")
    axes.set_yticks(places, [row[0] for row in rows])
    axes.set_xlim(0.0)
    axes.set_xlabel("share of the variance of the log of the peak")
    axes.legend(frameon=False, loc="lower right")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    figure.savefig(path, metadata={"Date": None, "Creator": None})


def main() -> None:
    """Rank the parameters with releases and without, print both tables and write the picture."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument(
        "--kept", type=Path, default=Path(".sensitivity"), help="where finished blocks are kept"
    )
    asked.add_argument("--picture", type=Path, default=Path("docs/sensitivity.svg"))
    asked.add_argument("--base", type=int, default=BASE, help="Sobol's base, a power of two")
    told = asked.parse_args()
    _, names = parameters({}, 2)
    problem = {"num_vars": len(names), "names": names, "bounds": [[0.0, 1.0]] * len(names)}
    screen = morris_sample.sample(problem, TRAJECTORIES, num_levels=6, seed=SEED)
    values = in_blocks(screen, names, True, told.kept, "morris")
    screened = morris_analyze.analyze(problem, screen, values, num_levels=6, seed=SEED)
    steps = dict(zip(names, screened["mu_star"], strict=True))
    table: dict[bool, list[tuple[str, float, float, float, float]]] = {}
    unit = sobol_sample.sample(problem, told.base, calc_second_order=False, seed=SEED)
    for released in (True, False):
        label = "sobol-released" if released else "sobol-alone"
        values = in_blocks(unit, names, released, told.kept, label)
        found = sobol_analyze.analyze(
            problem,
            (values - values.mean()) / values.std(),
            calc_second_order=False,
            num_resamples=200,
            seed=SEED,
        )
        order = np.argsort(-found["ST"])[:SHOWN]
        table[released] = [
            (plain(names[i]), found["ST"][i], found["ST_conf"][i], found["S1"][i], found["S1_conf"][i])
            for i in order
        ]
        spread = np.exp(np.quantile(values, (0.05, 0.5, 0.95)))
        print(f"\n{len(names)} parameters, {len(unit)} members, "
              f"{'four releases' if released else 'no release'}: highest mean per leaf {spread[1]:.3g} "
              f"(nine in ten {spread[0]:.3g} to {spread[2]:.3g})\n")  # fmt: skip
        print("| parameter | total | alone | Morris, mean step |\n|---|---|---|---|")
        for i, (name, total, total_conf, first, first_conf) in zip(order, table[released], strict=True):
            print(
                f"| {name} | {total:.2f} ± {total_conf:.2f} | {first:.2f} ± {first_conf:.2f} | {steps[names[i]]:.2f} |"
            )
    draw_picture(table[True], told.picture)


if __name__ == "__main__":
    main()
