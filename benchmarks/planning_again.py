"""What a plan of a whole farm costs anew, and again after one walk in one house, with what the first one kept.

``python -m benchmarks.planning_again FILE [--as-of DATE] [--level 0.6] [--houses 20]``: FILE is a book as
`benchmarks/book.py` makes it, which is not changed. Plans are kept in a folder of their own; processor time counts.
"""

from __future__ import annotations

import argparse
import json
import os
import tempfile
import time
from dataclasses import replace

from outpace.planning import trials
from outpace.season.names import houses_of, pick_farm
from outpace.season.open_book import open_book, snapshot
from outpace.season.plan import plan
from outpace.simulation.run import ready
from outpace.terms.scouting import Count, Mummies, Walk
from outpace.terms.tables import TABLE_OF, Snapshot

runs: list[str] = []


def walked_again(book: Snapshot, house: str) -> Snapshot:
    """Return the book with one more walk in a house today, which found what its last one did."""
    walks, counts, mummies = TABLE_OF[Walk], TABLE_OF[Count], TABLE_OF[Mummies]
    last = max((row for row in book.rows[walks] if row.house == house), key=lambda row: row.time)
    today = book.as_of.replace(hour=8, minute=0, second=0, microsecond=0)
    rows = {**book.rows, walks: (*book.rows[walks], replace(last, walk="again", time=today))}
    for name in (counts, mummies):
        rows[name] += tuple(replace(row, walk="again") for row in rows[name] if row.walk == last.walk)
    return replace(book, head="walked again", rows=rows)


def planned(what: str, book: Snapshot, houses: list[str]) -> str:
    """Plan, print what it took, and return the plan."""
    runs.clear()
    used, begun = time.process_time(), time.perf_counter()
    found = plan(book, houses=houses, others=False)
    used, begun = time.process_time() - used, time.perf_counter() - begun
    cost = sum(found["cost"][name] for name in ("packs", "freight", "labour"))
    print(
        f"{what} | {used:.1f} | {begun:.1f} | {len(runs)} | {len(set(runs))} | {found['search']['tried']} | {cost:.0f}",
        flush=True,
    )
    return json.dumps(found, sort_keys=True)


def main() -> None:
    """Print a row a plan, and whether the second is the one worked out without the first."""
    parser = argparse.ArgumentParser()
    parser.add_argument("file")
    parser.add_argument("--as-of")
    parser.add_argument("--level", type=float, help="action level of every house, in the place of the book's")
    parser.add_argument("--houses", type=int)
    options = parser.parse_args()
    outcome = trials.outcome

    def counted(house, releases=()):  # type: ignore[no-untyped-def]
        runs.append(house.name)
        return outcome(house, releases)

    trials.outcome = counted
    ready()
    with open_book(options.file) as book:
        known = snapshot(book, options.as_of)
    if options.level is not None:
        lower = tuple(replace(row, action_level=options.level) for row in known.rows["houses"])
        known = replace(known, rows={**known.rows, "houses": lower})
    names = [house.house for house in houses_of(known, pick_farm(known, None))][: options.houses]
    print("plan | processor s | wall s | runs | houses run | schedules tried | cost")
    with tempfile.TemporaryDirectory() as kept, tempfile.TemporaryDirectory() as other:
        os.environ["OUTPACE_CACHE"] = kept
        planned("anew", known, names)
        again = planned("after a walk in one house", walked_again(known, names[1]), names)
        size = sum(os.path.getsize(os.path.join(kept, name)) for name in os.listdir(kept))
        os.environ["OUTPACE_CACHE"] = other
        alike = planned("the same, nothing kept", replace(walked_again(known, names[1]), head="anew"), names)
    print(f"kept {size / 1e3:.0f} kB; plans {'alike' if again == alike else 'DIFFER'}")


if __name__ == "__main__":
    main()
