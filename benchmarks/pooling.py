"""What a house gains from the walks of its neighbours: ``python -m benchmarks.pooling 24``.

Farms of four pepper houses are drawn from the law that pooling assumes: growth and attack of a house are the sum of a
part of the farm, one of the crop and one of its own. Three houses have been walked for four weeks, the fourth twice in
one. It is refitted from the books alone and from what its neighbours say, and both are held against its truth. Also
drawn: farms whose houses have nothing in common, where pooling must do little harm.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from benchmarks import own_houses
from outpace.estimation.assimilation import Posterior, refit
from outpace.estimation.forecast import look_ahead
from outpace.estimation.pooling import Belief, Beliefs, Taught, books_of, of_farm_and_crop, pooled
from outpace.estimation.scoring import crps_ensemble

PEST, CROP = "myzus_persicae", "sweet_pepper"
LEARNED = ("growth", "attack")
LONG, SHORT = own_houses.DESIGNS[0], replace(own_houses.DESIGNS[0], walks=(0, 7))
AHEAD_D = 14
MEMBERS = 512
ALIKE = 0.6  # of the variance: the middles of the parts of farm and crop together

Row = dict[str, float]


def farm(seed: int, alike: float) -> Row:
    """Return the scores of the fourth house from the books and from its neighbours."""
    rng = np.random.default_rng([seed, 5])
    widths = {name: books_of(own_houses.FACTS, PEST, name).sd for name in LEARNED}
    shared = {name: np.sqrt(alike) * widths[name] * rng.standard_normal() for name in LEARNED}
    own = [
        {name: shared[name] + np.sqrt(1 - alike) * widths[name] * rng.standard_normal() for name in LEARNED}
        for _ in range(4)
    ]
    taught: dict[str, list[Taught]] = {name: [] for name in LEARNED}
    for number, values in enumerate(own[:3]):
        held = _held(LONG, own_houses.drawn(LONG, 10 * seed + number, 0, values), 10 * seed + number)
        for name in LEARNED:
            found = held.parameters.get(f"log_{name}", pest=0)
            books = books_of(own_houses.FACTS, PEST, name)
            taught[name].append(Taught(CROP, books, Belief(float(found.mean()), float(found.std()))))
    parts = of_farm_and_crop(own_houses.FACTS)
    beliefs = {
        (PEST, name): pooled(books_of(own_houses.FACTS, PEST, name), CROP, taught[name], *parts)
        for name in LEARNED
    }
    truth = own_houses.drawn(SHORT, 10 * seed + 3, AHEAD_D, own[3])
    row: Row = {}
    for told, believed in (("books", None), ("pooled", beliefs)):
        held = _held(SHORT, truth, 10 * seed + 3, believed)
        for name in LEARNED:
            row[f"{told} {name}"] = float(
                crps_ensemble(held.parameters.get(f"log_{name}", pest=0), own[3][name])
            )
        heat = SHORT.temperature(SHORT.today + AHEAD_D)
        ahead = look_ahead(held, SHORT.model, heat, SHORT.releases, days=AHEAD_D).live(0)[-1]
        true = truth.aphids(SHORT.today + AHEAD_D)
        row[f"{told} ahead"] = float(crps_ensemble(np.log1p(ahead), np.log1p(true)))
        low, high = np.quantile(ahead, [0.05, 0.95])
        row[f"{told} inside"] = float(low <= true <= high)
        row[f"{told} width"] = float(np.log1p(high) - np.log1p(low))
    return row


def _held(
    design: own_houses.Design, truth: own_houses.Truth, seed: int, beliefs: Beliefs | None = None
) -> Posterior:
    return refit(
        design.model,
        own_houses.FACTS,
        design.temperature(design.today + AHEAD_D),
        own_houses.walks(truth, seed),
        design.releases,
        until_day=design.today,
        members=MEMBERS,
        seed=seed + 1,
        first=design.first(),
        beliefs=beliefs,
    )


def table(rows: list[Row], name: str) -> Iterator[str]:
    """Yield the lines of a table."""
    for what, key in (("log growth", "growth"), ("log attack", "attack"), (f"{AHEAD_D} days ahead", "ahead")):
        books, with_others = (
            np.array([row[f"{told} {key}"] for row in rows]) for told in ("books", "pooled")
        )
        gain = 1 - with_others.mean() / books.mean()
        rng = np.random.default_rng(1)
        drawn = rng.integers(0, len(rows), (1000, len(rows)))
        low, high = np.quantile(1 - with_others[drawn].mean(axis=1) / books[drawn].mean(axis=1), [0.05, 0.95])
        yield (
            f"| {name} | {what} | {books.mean():.3f} | {with_others.mean():.3f} "
            f"| {100 * gain:.0f} % ({100 * low:.0f} to {100 * high:.0f}) |"
        )


def main() -> None:
    """Draw, refit, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("farms", type=int, nargs="?", default=24)
    asked = parser.parse_args()
    print(
        "| houses | of the fourth | CRPS from the books | with its neighbours | gain |\n|---|---|---|---|---|"
    )
    for name, alike in (("alike as assumed", ALIKE), ("nothing in common", 0.0)):
        rows = [farm(seed, alike) for seed in range(asked.farms)]
        print("\n".join(table(rows, name)))
        inside, width = (
            [np.mean([row[f"{told} {key}"] for row in rows]) for told in ("books", "pooled")]
            for key in ("inside", "width")
        )
        print(
            f"| {name} | in the 90 % band; its width | {100 * inside[0]:.0f} %; {np.exp(width[0]):.1f}-fold "
            f"| {100 * inside[1]:.0f} %; {np.exp(width[1]):.1f}-fold | |",
            flush=True,
        )


if __name__ == "__main__":
    main()
