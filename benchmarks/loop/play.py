"""Play the closed loop: ``python -m benchmarks.loop.play closed-loop 600``.

Each season is played under every policy and level before the next is begun, so that what is done so far can be compared
at any time. Results go to a CSV file under ``out/``; a run that was cut off goes on where it stopped.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

from benchmarks.loop.deciding import enemy_for
from benchmarks.loop.playing import play
from benchmarks.loop.policies import CHOOSE, policies
from benchmarks.loop.results import FOLDER, append, line_of, read
from benchmarks.skill.seeds import SETS, seasons_of
from benchmarks.virtual_house.truth import draw_truth

from outpace.facts.table import load


def main() -> None:
    """Play what is not played yet."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("which", choices=sorted(SETS))
    parser.add_argument("seasons", type=int)
    parser.add_argument("--policies", nargs="*", default=None, help="only these")
    parser.add_argument("--begin", type=int, default=0, help="index of the first season")
    parser.add_argument("--step", type=int, default=1, help="play every so many, to share work out")
    parser.add_argument("--file", type=Path, default=None)
    asked = parser.parse_args()
    path = asked.file or FOLDER / f"{asked.which}-{asked.begin}-{asked.step}.csv"
    known = {(line.seed, line.policy, line.level) for line in read([path])}
    facts = load()
    chosen = {
        name: levels for name, levels in policies().items() if not asked.policies or name in asked.policies
    }
    todo = seasons_of(asked.which, asked.seasons)[asked.begin :: asked.step]
    begun = time.perf_counter()
    for done, (seed, wrongs) in enumerate(todo, start=1):
        best = enemy_for(draw_truth(seed, wrongs), facts)
        for policy, levels in chosen.items():
            enemy = best if policy in CHOOSE else None
            for level, make in levels.items():
                if (seed, policy, level) not in known:
                    append(path, line_of(play(seed, wrongs, make(facts), enemy), wrongs, policy, level))
        each = (time.perf_counter() - begun) / done
        left = each * (len(todo) - done) / 60
        print(
            f"{done} of {len(todo)} seasons, {each:.1f} s each, {left:.0f} min left",
            file=sys.stderr,
            flush=True,
        )


if __name__ == "__main__":
    main()
