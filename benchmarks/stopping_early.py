"""What stopping early saves, and at what error: exact figures of the rules that `outpace walk plan` prints.

For action levels and clumping over the range of the prior: looks expected over the stated prior of densities,
against the fixed maximum and against the fixed sample that is wrong as seldom; the density that takes longest; and
20,000 walks drawn by chance beside the exact figures.

    python benchmarks/stopping_early.py
"""

from __future__ import annotations

import numpy as np

from outpace.estimation.stopping import (
    StopRule,
    StopTable,
    Taylor,
    best_tally,
    count_chances,
    count_rule,
    exact,
    prior_weights,
)
from outpace.facts.table import load

LEVELS = (0.2, 1.0, 3.0, 10.0)
TIMES = np.geomspace(0.01, 10.0, 31)
WALKS = 20_000


def fixed_number(rule: StopRule, law: Taylor, most: int = 400) -> int | None:
    """Return the least fixed number of units that is wrong as seldom as the rule, decided at the best total."""
    for n in range(1, most + 1):
        top = int(n * rule.needs_acting * 2) + 5
        ends = []
        for mean in (rule.needs_nothing, rule.needs_acting):
            one = count_chances(mean, law.k(mean), top)
            whole = np.ones(1)
            for _ in range(n):
                whole = np.convolve(whole, one[:-1])[: top + 1]
            ends.append(np.cumsum(whole))
        wrong = np.maximum(1 - ends[0], ends[1])
        if wrong.min() <= rule.wrong:
            return n
    return None


def drawn(table: StopTable, mean: float, k: float, rng: np.random.Generator) -> tuple[float, float]:
    """Return the share of walks called low and their mean looks, from counts drawn by chance."""
    counts = rng.negative_binomial(k, k / (k + mean), size=(WALKS, table.most))
    if table.tally is not None:
        counts = (counts > table.tally).astype(int)
    totals = counts.cumsum(axis=1)[:, table.least - 1 :]
    under, over = totals <= np.array(table.low), totals >= np.array(table.high)
    first = (under | over).argmax(axis=1)
    return float(under[np.arange(WALKS), first].mean()), float((first + table.least).mean())


def main() -> None:
    """Print the tables."""
    facts = load()
    a, b = facts.one("", "taylor_a"), facts.one("", "taylor_b")
    prior = facts.one("", "density_before_walk")
    limits = {
        "least": int(facts.one("", "walk_plants").value),
        "most": int(facts.one("", "walk_plants", stage="at most").value),
        "error": facts.one("", "stop_error").value,
    }
    weights = prior_weights(TIMES, prior.value, prior.low or prior.value, prior.high or prior.value)
    rng = np.random.default_rng(1)
    print("| level per leaf | clumping a | rule | plants on average | saved against 60 | fixed, as seldom wrong "
          "| saved against that | longest at | plants there | wrong at most | if twice as varied |")  # fmt: skip
    print("|---|---|---|---|---|---|---|---|---|---|---|")
    saved, gaps = [], []
    for level in LEVELS:
        for factor in (a.low or a.value, a.value, a.high or a.value):
            law = Taylor(factor, b.value)
            places = TIMES * level
            rules = [count_rule(level / 4, level, law, places, **limits)]
            tally = best_tally(level / 4, level, law, places, **limits)
            rules += [tally] if tally is not None and factor == a.value else []
            for rule in rules:
                looks = rule.mean_looks(weights)
                worst = int(np.argmax([found.mean_looks for found in rule.exact]))
                counts = rule.table.tally is None
                fixed = fixed_number(rule, law) if counts else None
                denser = law.more_clumped(2.0)
                top = max(rule.table.high)
                off = (
                    max(
                        exact(
                            rule.table, count_chances(rule.needs_nothing, denser.k(rule.needs_nothing), top)
                        ).high,
                        exact(
                            rule.table, count_chances(rule.needs_acting, denser.k(rule.needs_acting), top)
                        ).low,
                    )
                    if counts
                    else float("nan")
                )
                saved.append(1 - looks / rule.table.most)
                for at in (6, worst, 24):
                    low, mean_looks = drawn(rule.table, places[at], law.k(places[at]), rng)
                    gaps.append((abs(low - rule.exact[at].low), abs(mean_looks - rule.exact[at].mean_looks)))
                print(
                    f"| {level:g} | {factor:g} | {'counts' if counts else f'more than {rule.table.tally}'} "
                    f"| {looks:.1f} | {saved[-1]:.0%} | {fixed or '–'} "
                    f"| {f'{1 - looks / fixed:.0%}' if fixed else '–'} | {TIMES[worst]:.2f} x level "
                    f"| {rule.exact[worst].mean_looks:.1f} | {rule.wrong:.1%} "
                    f"| {'–' if np.isnan(off) else f'{off:.0%}'} |"
                )
    gap = np.array(gaps).max(axis=0)
    print(f"\nsaved on average {np.mean(saved):.0%}, least {np.min(saved):.0%}")
    print(
        f"against {WALKS:,} walks drawn: chance called low off by at most {gap[0]:.4f}, mean looks by {gap[1]:.2f}"
    )


if __name__ == "__main__":
    main()
