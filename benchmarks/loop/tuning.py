"""Front-loaded calendars tuned on 300 development seasons: ``python -m benchmarks.loop.tuning``.

It is a race: all candidates meet the first 16 seasons; those that none beats there by more than luck the first 60; the
two best within each budget all 300. For each budget the calendar that fails least within it is kept.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from benchmarks.loop.calendars import Front, front_loaded
from benchmarks.loop.market import MIDDLE
from benchmarks.loop.playing import play
from benchmarks.loop.results import FOLDER, Line, append, line_of, read
from benchmarks.skill.seeds import seasons_of

LOOKS = (16, 60, 300)
BUDGETS = (0.10, 0.20, 0.35, 0.60, 1.00, 1.70)
"""Mean cost of a season at the middle prices. [money m⁻²]"""
LUCK = 0.35  # s.d. of the difference of two calendars in one season, about
FINALISTS = 2  # of each budget
ALL_SEASON = 17


def candidates() -> dict[str, Front]:
    """Return the calendars that are tried, by name."""
    shapes = [
        Front(first, fade, releases, every, floor)
        for first, fade, releases, every, floor in (
            (4, 1.0, 4, 14, 0), (6, 0.7, 3, 7, 0), (10, 0.5, 3, 7, 0), (10, 0.5, 9, 14, 2), (20, 0.0, 1, 7, 0),
            (20, 0.5, 3, 7, 0), (20, 0.5, 9, 14, 3), (20, 0.5, ALL_SEASON, 7, 2), (20, 0.7, 9, 14, 5),
            (40, 0.0, 1, 7, 0), (40, 0.5, 4, 7, 0), (40, 0.5, 9, 14, 2), (40, 0.5, 9, 14, 5),
            (40, 0.5, ALL_SEASON, 7, 5), (40, 0.7, ALL_SEASON, 7, 10), (40, 0.5, 9, 14, 10), (80, 0.0, 1, 7, 0),
            (80, 0.5, 4, 7, 0), (80, 0.5, 9, 14, 5), (80, 0.5, 9, 14, 10), (80, 0.5, ALL_SEASON, 7, 5),
            (80, 0.5, ALL_SEASON, 7, 10), (80, 0.7, ALL_SEASON, 7, 20), (80, 0.5, 9, 14, 20),
            (160, 0.5, ALL_SEASON, 7, 10), (160, 0.5, ALL_SEASON, 7, 20),
        )
    ]  # fmt: skip
    shapes.append(Front(40, 0.5, 9, 14, 5, on_find=True))
    shapes.append(Front(80, 0.5, 9, 14, 5, on_find=True))
    return {name_of(front): front for front in shapes}


def name_of(front: Front) -> str:
    """Return how a calendar is called in results.

    Examples
    --------
    >>> name_of(Front(40, 0.5, 4))
    '40 x0.5 4 every 7 d, least 0'
    """
    on_find = ", on find" if front.on_find else ""
    return (
        f"{front.first} x{front.fade:g} {front.releases} every {front.every} d, least {front.floor}{on_find}"
    )


def standing(lines: Sequence[Line]) -> dict[str, tuple[float, float, int]]:
    """Return (share failed, mean cost, seasons) of each calendar."""
    found = {}
    for name in dict.fromkeys(line.level for line in lines):
        mine = [line for line in lines if line.level == name]
        found[name] = (
            float(np.mean([line.failed for line in mine])),
            float(np.mean([line.cost(MIDDLE) for line in mine])),
            len(mine),
        )
    return found


def going_on(stood: dict[str, tuple[float, float, int]]) -> list[str]:
    """Return the calendars that none beats by more than luck at no higher cost."""
    left = []
    for name, (failed, cost, seasons) in stood.items():
        slack = LUCK / np.sqrt(seasons)
        if not any(other[0] < failed - slack and other[1] <= cost for other in stood.values()):
            left.append(name)
    return left


def best_within(stood: dict[str, tuple[float, float, int]], most: int) -> dict[float, list[str]]:
    """Return for each budget the calendars that fail least within it, the cheaper of two alike first."""
    return {
        budget: [
            name
            for _, _, name in sorted(
                (failed, cost, name) for name, (failed, cost, _) in stood.items() if cost <= budget
            )[:most]
        ]
        for budget in BUDGETS
    }


def _play_all(path: Path, names: Sequence[str], seasons: int) -> None:
    known = {(line.seed, line.level) for line in read([path])}
    shapes = candidates()
    for done, (seed, wrongs) in enumerate(seasons_of("development", seasons), start=1):
        for name in names:
            if (seed, name) not in known:
                played = play(seed, wrongs, front_loaded(shapes[name]))
                append(path, line_of(played, wrongs, "front-loaded", name))
        if not done % 10:
            print(f"{done} of {seasons} seasons, {len(names)} calendars", file=sys.stderr, flush=True)


def main() -> None:
    """Tune, and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--file", type=Path, default=FOLDER / "tuning.csv")
    asked = parser.parse_args()
    left = list(candidates())
    stood = {}
    for seasons in LOOKS:
        _play_all(asked.file, left, seasons)
        first = [line for line in read([asked.file]) if line.seed < 1_000 + seasons and line.level in left]
        stood = standing(first)
        if seasons < LOOKS[-1]:
            finals = {name for best in best_within(stood, FINALISTS).values() for name in best}
            left = going_on(stood) if seasons == LOOKS[0] else sorted(finals)
            print(f"after {seasons} seasons {len(left)} calendars go on: {left}", file=sys.stderr, flush=True)
    for name, (failed, cost, seasons) in sorted(stood.items(), key=lambda each: each[1][1]):
        print(f"{cost:.3f}  failed {failed:.3f}  {name}  ({seasons} seasons)")
    for budget, names in best_within(stood, 1).items():
        print(f"within {budget:.2f}: {', '.join(names)}")


if __name__ == "__main__":
    main()
