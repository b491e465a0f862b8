"""Failures against spend, policy beside policy at equal spend: ``python -m benchmarks.loop.curves closed-loop``.

Policies meet the same seasons with the same luck; ranges come from drawing whole seasons anew, for all at once.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from benchmarks.loop.market import MIDDLE, PRICES, Prices
from benchmarks.loop.results import FOLDER, Line, read
from numpy.typing import NDArray

Array = NDArray[np.float64]

DRAWN = 2_000
TRADE = ("trade, preventive", "trade, curative", "trade, both")
TUNED, OWN, CONSTANT, THRESHOLD, NOTHING = (
    "front-loaded", "outpace", "constant weekly", "threshold", "nothing",
)  # fmt: skip
AT = 5  # spends between the cheapest and the dearest that both have, at which policies are compared


@dataclass(frozen=True)
class Table:
    """Seasons by levels of one policy: whether each failed and what it cost; ``seeds`` name the rows."""

    policy: str
    levels: tuple[str, ...]
    seeds: NDArray[np.int64]
    failed: NDArray[np.bool_]
    cost: Array


def tables_of(lines: Sequence[Line], prices: Prices = MIDDLE) -> dict[str, Table]:
    """Return policy → its table, of the seasons that every policy and level has been played in."""
    places = {(line.policy, line.level): 0 for line in lines}
    by_seed: dict[int, dict[tuple[str, str], Line]] = {}
    for line in lines:
        by_seed.setdefault(line.seed, {})[line.policy, line.level] = line
    seeds = sorted(seed for seed, there in by_seed.items() if len(there) == len(places))
    found = {}
    for policy in dict.fromkeys(policy for policy, _ in places):
        levels = tuple(level for name, level in places if name == policy)
        walked = any(policy.startswith(name) for name in (OWN, THRESHOLD, "trade, curative", "trade, both"))
        paid = prices if walked else Prices(prices.name, prices.insect, prices.parcel, prices.release)
        rows = [[by_seed[seed][policy, level] for level in levels] for seed in seeds]
        found[policy] = Table(
            policy,
            levels,
            np.array(seeds),
            np.array([[line.failed for line in row] for row in rows]).reshape(len(seeds), len(levels)),
            np.array([[line.cost(paid) for line in row] for row in rows]).reshape(len(seeds), len(levels)),
        )
    return found


def frontier(cost: Array, failed: Array) -> tuple[Array, Array]:
    """Return the lower hull of failures against cost: what a mix of the levels can reach, cheapest first.

    Whoever has two levels can give one to some houses and the other to the rest, and so stands anywhere between.

    Examples
    --------
    >>> frontier(np.array([0.0, 1.0, 2.0, 3.0]), np.array([1.0, 0.9, 0.4, 0.4]))
    (array([0., 2.]), array([1. , 0.4]))
    """
    order = np.lexsort((failed, cost))
    hull: list[tuple[float, float]] = []
    for x, y in zip(cost[order], failed[order], strict=True):
        if hull and y >= hull[-1][1]:
            continue
        while len(hull) > 1 and _turns_up(hull[-2], hull[-1], (x, y)):
            hull.pop()
        hull.append((float(x), float(y)))
    return np.array([x for x, _ in hull]), np.array([y for _, y in hull])


def _turns_up(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) <= 0


def at_spend(tables: Sequence[Table], spend: Array, rows: NDArray[np.intp] | None = None) -> Array:
    """Return the failures of a policy, or of the best of several, at some spends; with nothing bought to begin with.

    ``rows`` are the seasons that are counted, all of them when not given.
    """
    cost = np.concatenate([_mean(table.cost, rows) for table in tables])
    failed = np.concatenate([_mean(table.failed.astype(float), rows) for table in tables])
    x, y = frontier(cost, failed)
    return np.interp(spend, x, y)


def _mean(values: Array, rows: NDArray[np.intp] | None) -> Array:
    return np.asarray((values if rows is None else values[rows]).mean(axis=0))


@dataclass(frozen=True)
class Compared:
    """Failures of two policies at one spend, and their ratio with its 90 % range."""

    spend: float
    own: float
    other: float
    ratio: float
    low: float
    high: float


def compare(
    own: Sequence[Table],
    other: Sequence[Table],
    spends: Array,
    *,
    only: NDArray[np.bool_] | None = None,
    seed: int = 1,
) -> list[Compared]:
    """Return how two policies fare at equal spend, by a bootstrap of whole seasons in pairs.

    Parameters
    ----------
    only : array of bool, shape (seasons,), optional
        Seasons whose failures count; what is spent in the others counts all the same.
    """
    rng = np.random.default_rng(seed)
    count = len(own[0].seeds)
    own, other = ([_only(table, only) for table in each] for each in (own, other))
    drawn = [rng.integers(0, count, count) for _ in range(DRAWN)]
    ratios = np.array([_ratio(at_spend(own, spends, rows), at_spend(other, spends, rows)) for rows in drawn])
    ours, theirs = at_spend(own, spends), at_spend(other, spends)
    never = np.isnan(ratios).all(axis=0)
    low, high = np.nanquantile(np.where(never, 1.0, ratios), [0.05, 0.95], axis=0)
    whole = _ratio(ours, theirs)
    return [
        Compared(*(float(each[i]) for each in (spends, ours, theirs, whole, low, high)))
        for i in range(len(spends))
    ]


def _only(table: Table, only: NDArray[np.bool_] | None) -> Table:
    if only is None:
        return table
    return Table(table.policy, table.levels, table.seeds, table.failed & only[:, None], table.cost)


def _ratio(ours: Array, theirs: Array) -> Array:
    return np.divide(ours, theirs, out=np.full_like(ours, np.nan), where=theirs > 0)


def spends_between(own: Sequence[Table], other: Sequence[Table]) -> Array:
    """Return spends at which both policies have levels on either side, the dearest of the two left out."""
    least = max(
        min(table.cost.mean(axis=0).min() for table in each if table.policy != NOTHING)
        for each in (own, other)
    )
    most = min(max(table.cost.mean(axis=0).max() for table in each) for each in (own, other))
    return np.geomspace(max(least, 1e-6), max(most, least * 1.01), AT)


def can_be_held(tables: Mapping[str, Table]) -> NDArray[np.bool_]:
    """Return the seasons that some policy held at some level."""
    return ~np.concatenate([table.failed for table in tables.values()], axis=1).all(axis=1)


def in_hindsight(tables: Mapping[str, Table], spend: Array) -> Array:
    """Return the failures of who knew of every season beforehand the cheapest level of all policies that holds it.

    No choice among what was played can fail less at that spend, so no ratio can be below this one's.
    """
    cost = np.concatenate([np.where(t.failed, np.inf, t.cost) for t in tables.values()], axis=1).min(axis=1)
    held = np.sort(cost[np.isfinite(cost)])
    paid = np.concatenate([[0.0], np.cumsum(held) / len(cost)])
    return np.interp(spend, paid, 1.0 - np.arange(len(paid)) / len(cost))


def main() -> None:
    """Print the tables of docs/skill.md."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("which")
    parser.add_argument("--files", type=Path, nargs="*", default=None)
    parser.add_argument("--tuned", nargs="*", default=None, help="front-loaded calendars that are compared")
    asked = parser.parse_args()
    lines = read(asked.files or sorted(FOLDER.glob(f"{asked.which}-*.csv")))
    if asked.tuned:
        lines = [line for line in lines if line.policy != TUNED or line.level in asked.tuned]
    tables = tables_of(lines)
    held = can_be_held(tables)
    print(f"{len(held)} seasons, {held.sum()} of them held by some policy at some level\n")
    print(levels_table(tables, held))
    print("\n" + compared_table(tables, held))
    print("\n" + prices_table(lines))
    slowest = [line.decision_most_s for line in lines if line.policy == OWN]
    means = [line.decision_mean_s for line in lines if line.policy == OWN]
    over = _percent(float(np.mean([each > 0.5 for each in slowest])))
    print(
        f"\ndecision: mean {np.mean(means):.2f} s, {max(slowest):.2f} s at most, over 0.5 s in {over} of plays"
    )


def levels_table(tables: Mapping[str, Table], held: NDArray[np.bool_]) -> str:
    """Return every policy and level with its spend and its failures."""
    rows = [
        "| policy | level | spend per m² | failed | failed of those that can be held |",
        "|---|---|---|---|---|",
    ]
    for table in tables.values():
        for i, level in enumerate(table.levels):
            failed = table.failed[:, i]
            rows.append(
                f"| {table.policy} | {level} | {table.cost[:, i].mean():.3f} | {_percent(failed.mean())} |"
                f" {_percent(failed[held].mean())} |"
            )
    return "\n".join(rows)


def others_of(tables: Mapping[str, Table]) -> dict[str, list[Table]]:
    """Return what the product is compared with; of several calendars of the trade the best at each spend."""
    none = tables[NOTHING]
    return {
        "the trade's calendars": [none, *(tables[name] for name in TRADE)],
        "front-loaded, tuned": [none, tables[TUNED]],
        "constant weekly": [none, tables[CONSTANT]],
        "threshold": [none, tables[THRESHOLD]],
    }


def compared_table(tables: Mapping[str, Table], held: NDArray[np.bool_]) -> str:
    """Return the ratios of failures at equal spend, of all seasons and of those that can be held."""
    rows = [
        "| against | spend per m² | outpace fails | the other | ratio (90 %) | ratio where it can be held (90 %) |"
        " in hindsight | least ratio there could be |",
        "|---|---|---|---|---|---|---|---|",
    ]
    own = [tables[NOTHING], tables[OWN]]
    for name, other in others_of(tables).items():
        spends = spends_between(own, other)
        whole, able = compare(own, other, spends), compare(own, other, spends, only=held)
        best = in_hindsight(tables, spends)
        for a, b, least in zip(whole, able, best, strict=True):
            rows.append(
                f"| {name} | {a.spend:.2f} | {_percent(a.own)} | {_percent(a.other)} | {_told(a)} | {_told(b)} |"
                f" {_percent(float(least))} | {least / a.other:.2f} |"
            )
    return "\n".join(rows)


def prices_table(lines: Sequence[Line]) -> str:
    """Return the ratio at each price, at a lower and a higher spend that both can reach."""
    rows = [
        "| prices | against | spend per m² | outpace fails | the other | ratio (90 %) |",
        "|---|---|---|---|---|---|",
    ]
    for prices in PRICES:
        tables = tables_of(lines, prices)
        own = [tables[NOTHING], tables[OWN]]
        for name in ("the trade's calendars", "front-loaded, tuned"):
            other = others_of(tables)[name]
            for each in compare(own, other, spends_between(own, other)[1:4:2]):
                rows.append(
                    f"| {prices.name} | {name} | {each.spend:.2f} | {_percent(each.own)} | {_percent(each.other)} |"
                    f" {_told(each)} |"
                )
    return "\n".join(rows)


def _told(each: Compared) -> str:
    if not np.isfinite(each.ratio):
        return "neither fails"
    return f"{each.ratio:.2f} ({each.low:.2f} to {each.high:.2f})"


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


if __name__ == "__main__":
    main()
