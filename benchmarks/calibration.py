"""Is the refit as sure as it may be? Simulation-based calibration on houses of the model's own.

``nice python -m benchmarks.calibration 500 --out ranks.jsonl`` draws so many truths, refits each to its walks, writes
one line a truth and goes on where it stopped. ``--table`` tells what the lines say, and the same of a filter made
a fifth too narrow, which must be found out. ``--picture file.svg`` draws the ECDFs in their envelope.
"""

from __future__ import annotations

import argparse
import json
from collections import defaultdict
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from benchmarks import own_houses, ranks
from outpace.estimation.assimilation import refit
from outpace.estimation.forecast import look_ahead

Array = NDArray[np.float64]

AHEAD = (7, 14, 21)
NEXT_TO_NONE = 1e-9
QUANTITIES = (
    "log growth",
    "log attack",
    "log immigration",
    "log clumping",
    "aphids, first walk",
    "aphids, last walk",
    "aphids, 7 days on",
    "aphids, 14 days on",
    "aphids, 21 days on",
    "closed mummies, last walk",
)


def one(seed: int, members: int = 1024) -> dict[str, Any]:
    """Return the ranks of one truth among the draws of its refit."""
    design = own_houses.DESIGNS[seed % len(own_houses.DESIGNS)]
    truth = own_houses.drawn(design, seed, AHEAD[-1])
    seen = own_houses.walks(truth, seed)
    today = design.today
    heat = design.temperature(today + AHEAD[-1])
    posterior = refit(
        design.model,
        own_houses.FACTS,
        heat,
        seen,
        design.releases,
        until_day=today,
        members=members,
        seed=seed + 1,
        first=design.first(),
    )
    ahead = look_ahead(posterior, design.model, heat, design.releases, days=AHEAD[-1])
    of_pest = [
        posterior.parameters.get(f"log_{name}", pest=0)
        for name in ("growth", "attack", "immigration", "clumping")
    ]
    held = [
        *of_pest,
        np.log(posterior.past.live(0)[0]),
        *(np.log(ahead.live(0)[d] + NEXT_TO_NONE) for d in (0, *AHEAD)),
        np.log(ahead.mummies()[0] + NEXT_TO_NONE),
    ]
    true = [
        *(truth.learnable(name) for name in ("growth", "attack", "immigration", "clumping")),
        np.log(truth.aphids(0)),
        *(np.log(truth.aphids(today + d) + NEXT_TO_NONE) for d in (0, *AHEAD)),
        np.log(truth.closed(today) + NEXT_TO_NONE),
    ]
    rng = np.random.default_rng([seed, 3])
    draws = [ranks.thinned(members_, rng) for members_ in held]
    return {
        "seed": seed,
        "design": design.name,
        "ranks": [ranks.rank_of(t, d, rng) for t, d in zip(true, draws, strict=True)],
        "narrow": [ranks.rank_of(t, ranks.narrowed(d), rng) for t, d in zip(true, draws, strict=True)],
        "z": [round(float((t - m.mean()) / m.std()), 3) for t, m in zip(true, held, strict=True)],
        "size": round(posterior.effective_size),
        "rescued": len(posterior.rescued),
        "learned": {name: round(v, 2) for name, v in posterior.learned_of(design.model.pests[0]).items()},
    }


def table(lines: list[dict[str, Any]]) -> str:
    """Return what the ranks say, as text."""
    told = np.array([line["ranks"] for line in lines])
    narrow = np.array([line["narrow"] for line in lines])
    ends = ranks.envelope(len(lines))
    chances = [ranks.chance_if_uniform(told[:, q]) for q in range(told.shape[1])]
    chances_narrow = [ranks.chance_if_uniform(narrow[:, q]) for q in range(told.shape[1])]
    falls, falls_narrow = ranks.holm(chances), ranks.holm(chances_narrow)
    out = [
        f"{len(lines)} truths, {ranks.DRAWS} draws each, {ranks.BINS} bins; Holm at {ranks.LEVEL:.0%}",
        "",
        "| quantity | p | falls | in the envelope | 50 % cover | 90 % cover | p, a fifth too narrow | falls |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for q, name in enumerate(QUANTITIES):
        place = told[:, q]
        out.append(
            f"| {name} | {chances[q]:.3f} | {'yes' if falls[q] else 'no'} | "
            f"{'yes' if ranks.stays_inside(place, ends) else 'no'} | "
            f"{((place >= 25) & (place < 75)).mean():.2f} | {((place >= 5) & (place < 95)).mean():.2f} | "
            f"{chances_narrow[q]:.1e} | {'yes' if falls_narrow[q] else 'no'} |"
        )
    out.append("")
    by_design: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for line in lines:
        by_design[line["design"]].append(line)
    out += [
        "| walks told as | truths | 90 % bands cover, all ten | least effective size, median | taken in steps |",
        "|---|---|---|---|---|",
    ]
    for name, mine in by_design.items():
        place = np.array([line["ranks"] for line in mine])
        out.append(
            f"| {name} | {len(mine)} | {((place >= 5) & (place < 95)).mean():.2f} | "
            f"{np.median([line['size'] for line in mine]):.0f} | {sum(line['rescued'] > 0 for line in mine)} |"
        )
    return "\n".join(out)


def picture(lines: list[dict[str, Any]], path: Path) -> None:
    """Draw each ECDF less the uniform one, in the envelope; the narrow filter's beside it."""
    import matplotlib

    matplotlib.use("svg")
    from matplotlib import pyplot

    low, high = ranks.envelope(len(lines))
    grid = np.arange(1, ranks.DRAWS + 2) / (ranks.DRAWS + 1)
    figure, (left, right) = pyplot.subplots(1, 2, figsize=(8, 3), sharey=True, layout="constrained")
    for axis, key, title in ((left, "ranks", "the refit"), (right, "narrow", "made a fifth too narrow")):
        axis.fill_between(grid, low - grid, high - grid, color="0.85", linewidth=0)
        for q in range(len(QUANTITIES)):
            axis.plot(
                grid, ranks.ecdf(np.array([line[key][q] for line in lines])) - grid, linewidth=0.8, color="k"
            )
        axis.set_title(title, fontsize=9)
        axis.set_xlabel("rank of the truth")
    left.set_ylabel("ECDF less uniform")
    figure.savefig(path, metadata={"Date": None, "Creator": None})


def main() -> None:
    """Draw, refit, write; or read and tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("truths", type=int, nargs="?", default=0)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--members", type=int, default=1024)
    parser.add_argument("--out", type=Path, default=Path("calibration.jsonl"))
    parser.add_argument("--table", action="store_true")
    parser.add_argument("--picture", type=Path)
    asked = parser.parse_args()
    lines = [json.loads(line) for line in asked.out.read_text().splitlines()] if asked.out.exists() else []
    done = {line["seed"] for line in lines}
    with asked.out.open("a") as file:
        for seed in range(asked.first, asked.first + asked.truths):
            if seed not in done:
                lines.append(one(seed, asked.members))
                file.write(json.dumps(lines[-1]) + "\n")
                file.flush()
                print(f"\r{len(lines)} truths", end="", flush=True)
    if asked.table:
        print("\n" + table(lines))
    if asked.picture:
        picture(lines, asked.picture)


if __name__ == "__main__":
    main()
