"""How often the stop rules of a walk decide wrongly in virtual houses: ``python -m benchmarks.skill.stopping``.

In each house and on each day the action level is laid so that the true mean stands once at the level and once at the
quarter of it that needs nothing: the two places where a rule's error is stated. The rule knows the prior of clumping,
and the counts of the house's walks before. The scout sees all that sits on a plant: what is scored is the rule alone.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence

import numpy as np
from benchmarks.skill.seeds import SETS, seasons_of
from benchmarks.virtual_house.house import LetGo, VirtualHouse
from benchmarks.virtual_house.truth import draw_truth

from outpace.estimation.clumping import Sample
from outpace.estimation.staleness import WARN_TIMES
from outpace.estimation.stopping import HIGH, LOW, StopRule, where_it_stands
from outpace.facts.table import Facts, load
from outpace.season.levels import Level
from outpace.season.sampled import clumping_on
from outpace.season.walk_rules import rules_for

WALKS = (12, 19, 26, 33)
ORDERS = 40  # walks through each house and day, each with the plants in another order
LEAST_MEAN, MOST_MEAN = 0.2, 400.0
ALLOWED = 0.05

Row = tuple[str, int, str, bool, float, int, int]


def rows_of(seed: int, wrongs: frozenset[str], facts: Facts) -> Iterator[Row]:
    """Yield (rule, walks known, end that is right, wrong, stated error, looks, most looks) of one house."""
    truth = draw_truth(seed, wrongs)
    house = VirtualHouse(truth, max(WALKS) + 1)
    rng = np.random.default_rng([seed, 301])
    samples: list[Sample] = []
    while house.day <= max(WALKS):
        counts = house.by_plant.astype(int)
        if house.day in WALKS and LEAST_MEAN < counts.mean() < MOST_MEAN:
            for right, level in ((LOW, WARN_TIMES * counts.mean()), (HIGH, counts.mean())):
                made = rules_for(
                    facts, Level(level, "plant", True), truth.plants, clumping_on(facts, samples), samples
                )
                for rule in made.rules:
                    yield from _walks(rule, counts, right, len(samples), made.error, rng)
            seen = rng.choice(counts, 20, replace=False).astype(float)
            samples.append(Sample(seen, seen))
        house.step([LetGo(house.day, truth.area_m2, 0.75)] if house.day in (18, 25) else [])


def _walks(
    rule: StopRule, counts: np.ndarray, right: str, known: int, error: float, rng: np.random.Generator
) -> Iterator[Row]:
    kind = "counts" if rule.table.tally is None else "tally"
    most = rule.table.most
    for _ in range(ORDERS):
        found = where_it_stands(rule.table, rng.permutation(counts)[:most].tolist())
        yield kind, known, right, found.end != right, max(error, rule.wrong), found.looked_at, most


def main() -> None:
    """Print the errors by rule and by what was known."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("which", choices=sorted(SETS), nargs="?", default="held-back")
    parser.add_argument("houses", type=int, nargs="?", default=60)
    asked = parser.parse_args()
    facts = load()
    rows = [
        row for seed, wrongs in seasons_of(asked.which, asked.houses) for row in rows_of(seed, wrongs, facts)
    ]
    print(
        "| rule | own walks known | walks | wrong: low called high | high called low | stated | looks of the most |"
    )
    print("|---|---|---|---|---|---|---|")
    for kind in ("counts", "tally"):
        for name, least, most in (("none", 0, 0), ("1 and 2", 1, 2), ("3 and more", 3, 99)):
            here = [row for row in rows if row[0] == kind and least <= row[1] <= most]
            if here:
                print(_line(kind, name, here))


def _line(kind: str, name: str, here: Sequence[Row]) -> str:
    low, high = (100 * float(np.mean([row[3] for row in here if row[2] == end])) for end in (LOW, HIGH))
    stated = 100 * float(np.mean([row[4] for row in here]))
    looks = f"{np.mean([row[5] for row in here]):.0f} of {np.mean([row[6] for row in here]):.0f}"
    return f"| {kind} | {name} | {len(here):,} | {low:.0f} % | {high:.0f} % | {stated:.0f} % | {looks} |"


if __name__ == "__main__":
    main()
