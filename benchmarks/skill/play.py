"""Play virtual seasons and score the product in them: ``python -m benchmarks.skill.play development 40``.

Results go to a file of JSON lines, one a season, under ``out/``; a run that was cut off goes on where it stopped.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

from benchmarks.skill.forecasting import forecasts_of
from benchmarks.skill.seeds import SETS, seasons_of
from benchmarks.virtual_house.season import season

from outpace.facts.table import load

FOLDER = Path("out/skill")


def main() -> None:
    """Play what is not played yet."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("which", choices=sorted(SETS))
    parser.add_argument("seasons", type=int)
    parser.add_argument(
        "--members", type=int, default=512, help="0: only what the naive forecasts learn from"
    )
    parser.add_argument("--forecasts", type=int, default=8, help="at most so many a season")
    parser.add_argument("--begin", type=int, default=0, help="index of the first season")
    parser.add_argument("--step", type=int, default=1, help="play every so many, to share work out")
    parser.add_argument("--file", type=Path, default=None)
    asked = parser.parse_args()
    path = asked.file or FOLDER / f"{asked.which}-{asked.members}.jsonl"
    path.parent.mkdir(parents=True, exist_ok=True)
    done = {json.loads(line)["seed"] for line in path.read_text().splitlines()} if path.exists() else set()
    facts = load()
    todo = [
        each
        for each in seasons_of(asked.which, asked.seasons)[asked.begin :: asked.step]
        if each[0] not in done
    ]
    begun = time.perf_counter()
    for index, (seed, wrongs) in enumerate(todo, start=1):
        played = season(seed, wrongs)
        rows = forecasts_of(played, facts, asked.members, asked.forecasts)
        place = played.truth
        line = {
            "seed": seed,
            "wrongs": sorted(wrongs),
            "members": asked.members,
            "crop": place.scene.crop,
            "aphid": place.aphid,
            "named": place.named,
            "enemy": place.enemy,
            "accepted": place.accepts > 0.5,
            "released": bool(played.known and played.known[-1].parcels),
            "forecasts": rows,
        }
        with path.open("a") as file:
            file.write(json.dumps(line) + "\n")
        spent = time.perf_counter() - begun
        each = spent / index
        left = each * (len(todo) - index) / 60
        print(
            f"{index} of {len(todo)} seasons, {each:.1f} s each, {left:.0f} min left",
            file=sys.stderr,
            flush=True,
        )


if __name__ == "__main__":
    main()
