"""Seasons that were played, kept as lines of a CSV file, one for each season, policy and level of spend."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from benchmarks.loop.market import Bought, Prices
from benchmarks.loop.playing import Played

FOLDER = Path("out/loop")
HEAD = ("seed", "wrongs", "policy", "level", "failed_d", "insects_per_m2", "parcels", "walks", "decisions",
        "decision_mean_s", "decision_most_s")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Line:
    """One season under one policy at one level of spend."""

    seed: int
    wrongs: frozenset[str]
    policy: str
    level: str
    failed_d: int | None
    bought: Bought
    walks: int
    decisions: int
    decision_mean_s: float
    decision_most_s: float

    @property
    def failed(self) -> bool:
        """Return whether the true mean was above the action level on any day."""
        return self.failed_d is not None

    def cost(self, prices: Prices) -> float:
        """Return the cost per m², its walks paid for if the policy needs them. [money m⁻²]"""
        return self.bought.cost(prices, self.walks)


def line_of(played: Played, wrongs: frozenset[str], policy: str, level: str) -> Line:
    """Return a season as it is kept."""
    seconds = played.seconds
    return Line(
        played.seed, wrongs, policy, level, played.failed_d, played.bought, played.walks, len(seconds),
        sum(seconds) / max(1, len(seconds)), max(seconds, default=0.0),
    )  # fmt: skip


def append(path: Path, line: Line) -> None:
    """Write one line to the end of a file, with a head if the file is new."""
    path.parent.mkdir(parents=True, exist_ok=True)
    new = not path.exists()
    with path.open("a", newline="") as file:
        writer = csv.writer(file)
        if new:
            writer.writerow(HEAD)
        failed_d = "" if line.failed_d is None else line.failed_d
        told = (line.seed, " ".join(sorted(line.wrongs)), line.policy, line.level, failed_d)
        spent = (f"{line.bought.insects_per_m2:.4f}", line.bought.parcels, line.walks, line.decisions)
        writer.writerow([*told, *spent, f"{line.decision_mean_s:.3f}", f"{line.decision_most_s:.3f}"])


def read(paths: Iterable[Path]) -> list[Line]:
    """Return the lines of some files; a line that was cut off is passed over."""
    found = []
    for path in paths:
        if not path.exists():
            continue
        with path.open(newline="") as file:
            for row in csv.DictReader(file):
                if None in row or None in row.values():
                    continue
                found.append(_line(row))
    return found


def _line(row: dict[str, str]) -> Line:
    return Line(
        int(row["seed"]),
        frozenset(row["wrongs"].split()),
        row["policy"],
        row["level"],
        int(row["failed_d"]) if row["failed_d"] else None,
        Bought(float(row["insects_per_m2"]), int(row["parcels"])),
        int(row["walks"]),
        int(row["decisions"]),
        float(row["decision_mean_s"]),
        float(row["decision_most_s"]),
    )
