"""What stopping early saves, and at what error: exact figures of the rules that `outpace walk plan` prints.

For action levels over their judged range a farm without walks gets one rule, drawn for strong clumping. It is then
followed where clumping is even, as expected and strong: looks expected over the stated prior of densities, against the
fixed maximum and against the fixed sample that is wrong as seldom; the density that takes longest; and 20,000 walks
drawn by chance beside the exact figures.

    python -m benchmarks.stopping_early
"""

from __future__ import annotations

import numpy as np

from outpace.estimation.stop_table import NEVER, StopTable, exact
from outpace.estimation.stopping import (
    Taylor,
    count_chances,
    prior_weights,
    wrong_under,
)
from outpace.facts.table import load
from outpace.season.sampled import clumping_on
from outpace.season.walk_rules import rules_of_means

LEVELS = (0.2, 1.0, 3.0, 10.0)
TIMES = np.geomspace(0.01, 10.0, 31)
WALKS = 20_000


def fixed_number(low: float, high: float, wrong: float, law: Taylor, most: int = 400) -> int | None:
    """Return the least fixed number of units that is wrong as seldom, decided at the best total."""
    for n in range(1, most + 1):
        top = int(n * high * 2) + 5
        ends = []
        for mean in (low, high):
            one = count_chances(mean, law.k(mean), top)
            whole = np.ones(1)
            for _ in range(n):
                whole = np.convolve(whole, one[:-1])[: top + 1]
            ends.append(np.cumsum(whole))
        if np.maximum(1 - ends[0], ends[1]).min() <= wrong:
            return n
    return None


def drawn(table: StopTable, mean: float, k: float, rng: np.random.Generator) -> tuple[float, float]:
    """Return the share of walks called low and their mean looks, from counts drawn by chance."""
    counts = rng.negative_binomial(k, k / (k + mean), size=(WALKS, table.most))
    totals = counts.cumsum(axis=1)[:, table.least - 1 :]
    under, over = totals <= np.array(table.low), totals >= np.array(table.high)
    first = (under | over).argmax(axis=1)
    return float(under[np.arange(WALKS), first].mean()), float((first + table.least).mean())


def main() -> None:
    """Print the table."""
    facts = load()
    a, prior = facts.one("", "taylor_a"), facts.one("", "density_before_walk")
    limits: dict[str, float | int] = {
        "least": int(facts.one("", "walk_plants").value),
        "most": int(facts.one("", "walk_plants", stage="at most").value),
        "error": facts.one("", "stop_error").value,
    }
    clumping = clumping_on(facts, [])
    weights = prior_weights(TIMES, prior.value, prior.low or prior.value, prior.high or prior.value)
    rng = np.random.default_rng(1)
    print(
        "| level per leaf | error stated | first stop low after | clumping a | plants on average | saved against 60 "
        "| wrong at most | fixed, as seldom wrong | saved against that | longest at | plants there |"
    )
    print("|---|---|---|---|---|---|---|---|---|---|---|")
    saved: dict[float, list[float]] = {}
    gaps = []
    for level in LEVELS:
        rule, *_ = rules_of_means(facts, clumping, level / 4, level, (), limits)
        table = rule.table
        clean = next(n for n, low in enumerate(table.low, table.least) if low > NEVER)
        for factor in (a.low or a.value, a.value, a.high or a.value):
            law = Taylor(factor, clumping.used.b)
            found = [
                exact(table, count_chances(mean, law.k(mean), max(table.high))) for mean in TIMES * level
            ]
            looks = np.array([each.mean_looks for each in found])
            average, worst = float(np.average(looks, weights=weights)), int(np.argmax(looks))
            wrong = wrong_under(rule, law)
            fixed = fixed_number(level / 4, level, wrong, law)
            saved.setdefault(factor, []).append(1 - average / table.most)
            for at in (6, worst, 24):
                low, mean_looks = drawn(table, TIMES[at] * level, law.k(TIMES[at] * level), rng)
                gaps.append((abs(low - found[at].low), abs(mean_looks - found[at].mean_looks)))
            print(
                f"| {level:g} | {rule.wrong:.0%} | {clean} clean | {factor:g} | {average:.1f} "
                f"| {saved[factor][-1]:.0%} | {wrong:.1%} | {fixed or '–'} "
                f"| {f'{1 - average / fixed:.0%}' if fixed else '–'} | {TIMES[worst]:.2f} x level "
                f"| {looks[worst]:.1f} |"
            )
    gap = np.array(gaps).max(axis=0)
    print(f"\nsaved on average {np.mean(list(saved.values())):.0%}, least {np.min(list(saved.values())):.0%}")
    for factor, shares in saved.items():
        print(f"  where a is {factor:g}: {np.mean(shares):.0%}")
    print(
        f"against {WALKS:,} walks drawn: chance called low off by at most {gap[0]:.4f}, mean looks by {gap[1]:.2f}"
    )


if __name__ == "__main__":
    main()
