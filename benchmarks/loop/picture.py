"""The picture of docs/skill.md: ``python -m benchmarks.loop.picture closed-loop docs/closed_loop.svg``."""

from __future__ import annotations

import argparse
from pathlib import Path

import matplotlib
import numpy as np
from benchmarks.loop.curves import (
    CONSTANT,
    NOTHING,
    OWN,
    THRESHOLD,
    TRADE,
    TUNED,
    Table,
    at_spend,
    can_be_held,
    in_hindsight,
    tables_of,
)
from benchmarks.loop.results import FOLDER, read
from matplotlib import pyplot

STYLES = {
    OWN: ("outpace", "black", "-", "o"),
    TUNED: ("front-loaded, tuned", "#0072b2", "--", "s"),
    "trade": ("the trade's calendars, the best of them", "#d55e00", "-.", "^"),
    CONSTANT: ("constant weekly", "#009e73", ":", "d"),
    THRESHOLD: ("threshold", "#777777", (0, (1, 2)), "x"),
}
DRAWN = 400


def main() -> None:
    """Draw failures against spend, two of the policies with their 90 % ranges."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("which")
    parser.add_argument("to", type=Path)
    parser.add_argument("--files", type=Path, nargs="*", default=None)
    parser.add_argument("--tuned", nargs="*", default=None)
    asked = parser.parse_args()
    matplotlib.rcParams.update({"svg.hashsalt": "closed loop", "svg.fonttype": "none"})
    lines = read(asked.files or sorted(FOLDER.glob(f"{asked.which}-*.csv")))
    if asked.tuned:
        lines = [line for line in lines if line.policy != TUNED or line.level in asked.tuned]
    tables = tables_of(lines)
    none = tables[NOTHING]
    groups = {name: [tables[name]] for name in (OWN, TUNED, CONSTANT, THRESHOLD)}
    groups["trade"] = [tables[name] for name in TRADE]
    figure, axes = pyplot.subplots(figsize=(7.5, 4.6))
    for name, (label, colour, line, marker) in STYLES.items():
        _draw(axes, groups[name], none, label, colour, line, marker, band=name in (OWN, TUNED))
    spends = np.linspace(0, 1.6, 200)
    axes.plot(
        spends,
        100 * in_hindsight(tables, spends),
        color="black",
        linewidth=0.8,
        linestyle=":",
        label="hindsight",
    )
    floor = 100 * (1 - can_be_held(tables).mean())
    axes.axhline(floor, color="black", linewidth=0.8)
    axes.text(
        0.99, floor - 1, "no policy held these", transform=axes.get_yaxis_transform(), ha="right", va="top"
    )
    axes.set_xlabel("mean spend of a season, money per m² at the middle prices")
    axes.set_ylabel("seasons above the action level, %")
    axes.set_xlim(0, 1.6)
    axes.set_ylim(0, 100)
    axes.grid(alpha=0.3)
    axes.legend(frameon=False)
    axes.set_title(f"{len(none.seeds)} held-back virtual seasons, the same for all", fontsize=10)
    figure.tight_layout()
    figure.savefig(asked.to, metadata={"Date": None, "Creator": None})


def _draw(
    axes: pyplot.Axes,
    tables: list[Table],
    none: Table,
    label: str,
    colour: str,
    line: object,
    marker: str,
    *,
    band: bool,
) -> None:
    every = [none, *tables]
    most = max(table.cost.mean(axis=0).max() for table in tables)
    spends = np.linspace(0, most, 120)
    if band:
        rng, count = np.random.default_rng(1), len(none.seeds)
        drawn = [at_spend(every, spends, rng.integers(0, count, count)) for _ in range(DRAWN)]
        low, high = 100 * np.quantile(drawn, [0.05, 0.95], axis=0)
        axes.fill_between(spends, low, high, color=colour, alpha=0.12, linewidth=0)
    axes.plot(spends, 100 * at_spend(every, spends), color=colour, linestyle=line, label=label)
    for table in tables:
        failed = 100 * table.failed.mean(axis=0)
        axes.plot(table.cost.mean(axis=0), failed, marker, color=colour, markersize=4)


if __name__ == "__main__":
    main()
