"""Do the stop rules of a walk keep their word in virtual houses? ``python -m benchmarks.skill.stopping``.

In each house and on each day the action level is laid so that the true mean stands once at the level and once at the
quarter of it that needs nothing: the two places where a rule's error is stated. The rule knows the prior of clumping,
and the counts of the house's walks before. The scout sees all that sits on a unit: what is scored is the rule alone.
Results go to a file of JSON lines, one a house; a run that was cut off goes on where it stopped.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from benchmarks.skill.play import FOLDER
from benchmarks.skill.seeds import SETS, seasons_of
from benchmarks.virtual_house.house import LetGo, VirtualHouse
from benchmarks.virtual_house.truth import draw_truth

from outpace.estimation.clumping import Sample
from outpace.estimation.staleness import WARN_TIMES
from outpace.estimation.stop_table import HIGH, LOW, where_it_stands
from outpace.estimation.stopping import StopRule
from outpace.facts.table import Facts, load
from outpace.season.sampled import clumping_on
from outpace.season.walk_rules import rules_of_means

WALKS = (12, 19, 26, 33)
ORDERS = 40  # walks through each house and day, each with the plants in another order
LEAST_MEAN, MOST_MEAN = 0.05, 25.0
"""Means per unit between which rules are scored. Above them ten units decide, and exact chances take minutes."""
LEAF_SHAPE = 0.6
"""Of the shares of a plant's leaves, as `benchmarks.virtual_house.scout` has them."""

Row = dict[str, Any]


def rows_of(seed: int, wrongs: frozenset[str], facts: Facts) -> Iterator[Row]:
    """Yield for each rule, day and place how often it was wrong, what it states, and how long it looked."""
    truth = draw_truth(seed, wrongs)
    house = VirtualHouse(truth, max(WALKS) + 1)
    rng = np.random.default_rng([seed, 301])
    leaves = max(1, round(truth.leaves))
    samples: dict[str, list[Sample]] = {"plant": [], "leaf": []}
    while house.day <= max(WALKS):
        if house.day in WALKS:
            plants = house.by_plant.astype(int)
            for unit, mean in (("plant", plants.mean()), ("leaf", plants.mean() / leaves)):

                def looks(unit: str = unit, plants: np.ndarray = plants) -> np.ndarray:
                    order = rng.permutation(plants)
                    return order if unit == "plant" else _one_leaf_each(order, leaves, rng)

                if LEAST_MEAN < mean < MOST_MEAN:
                    yield from _of_day(facts, samples[unit], unit, float(mean), len(plants), looks)
                seen = looks()[:20].astype(float)
                samples[unit].append(Sample(seen, seen))
        house.step([LetGo(house.day, truth.area_m2, 0.75)] if house.day in (18, 25) else [])


def _one_leaf_each(plants: np.ndarray, leaves: int, rng: np.random.Generator) -> np.ndarray:
    shares = rng.gamma(LEAF_SHAPE, 1.0, (len(plants), leaves)) + 1e-6
    return np.asarray(rng.binomial(plants, shares[:, 0] / shares.sum(axis=1)))


def _of_day(
    facts: Facts, samples: Sequence[Sample], unit: str, mean: float, plants: int, looks: Any
) -> Iterator[Row]:
    """Yield the rows of the rules of `outpace.season.walk_rules`, without their whole characteristic."""
    error = facts.one("", "stop_error").value
    limits: dict[str, float | int] = {
        "least": min(int(facts.one("", "walk_plants").value), plants),
        "most": min(int(facts.one("", "walk_plants", stage="at most").value), plants),
        "error": error,
    }
    clumping = clumping_on(facts, samples)
    for right, level in ((LOW, WARN_TIMES * mean), (HIGH, mean)):
        for rule in rules_of_means(facts, clumping, level / WARN_TIMES, level, (), limits):
            ends = [_walked(rule, looks()) for _ in range(ORDERS)]
            yield {
                "rule": "counts" if rule.table.tally is None else "tally",
                "unit": unit,
                "known": len(samples),
                "mean": round(mean, 3),
                "right": right,
                "wrong": float(np.mean([end != right for end, _ in ends])),
                "stated": max(error, rule.wrong),
                "looks": float(np.mean([looked for _, looked in ends])),
                "most": rule.table.most,
            }


def _walked(rule: StopRule, units: np.ndarray) -> tuple[str, int]:
    found = where_it_stands(rule.table, units[: rule.table.most].tolist())
    return found.end, found.looked_at


def main() -> None:
    """Walk what is not walked yet, and print the errors by rule, unit and what was known."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("which", choices=sorted(SETS), nargs="?", default="stopping")
    parser.add_argument("houses", type=int, nargs="?", default=60)
    asked = parser.parse_args()
    path = FOLDER / f"stopping-{asked.which}.jsonl"
    path.parent.mkdir(parents=True, exist_ok=True)
    lines = [json.loads(line) for line in path.read_text().splitlines()] if path.exists() else []
    done = {line["seed"] for line in lines}
    facts = load()
    for number, (seed, wrongs) in enumerate(seasons_of(asked.which, asked.houses), start=1):
        if seed in done:
            continue
        lines.append({"seed": seed, "rows": list(rows_of(seed, wrongs, facts))})
        with path.open("a") as file:
            file.write(json.dumps(lines[-1]) + "\n")
        print(f"{number} of {asked.houses} houses", file=sys.stderr, flush=True)
    rows = [row for line in lines for row in line["rows"]]
    print(
        "| unit | rule | own walks known | walks | low called high | high called low | stated | looks of the most |"
    )
    print("|---|---|---|---|---|---|---|---|")
    for unit in ("leaf", "plant"):
        for kind in ("counts", "tally"):
            for name, least, most in (("none", 0, 0), ("1 to 3", 1, 3), ("any", 0, 99)):
                here = [
                    row
                    for row in rows
                    if row["rule"] == kind and row["unit"] == unit and least <= row["known"] <= most
                ]
                if here:
                    print(_line(unit, kind, name, here))


def _line(unit: str, kind: str, name: str, here: Sequence[Row]) -> str:
    low, high = (
        100 * float(np.mean([row["wrong"] for row in here if row["right"] == end])) for end in (LOW, HIGH)
    )
    stated = 100 * float(np.mean([row["stated"] for row in here]))
    looks = f"{np.mean([row['looks'] for row in here]):.0f} of {np.mean([row['most'] for row in here]):.0f}"
    walks = len(here) * ORDERS
    return f"| {unit} | {kind} | {name} | {walks:,} | {low:.0f} % | {high:.0f} % | {stated:.0f} % | {looks} |"


if __name__ == "__main__":
    main()
