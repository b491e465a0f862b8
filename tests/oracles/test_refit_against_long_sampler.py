"""The refit of a small house against a plain sampler with very many members and a likelihood of its own.

The reference never resamples, shakes or refreshes: it runs members from the prior, weighs each by all walks together
with distributions of another program, and reads off weighted means. Only the kernel that moves members is shared.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import nbinom
from tests.estimation.houses import FACTS, LEAVES, PLANTS, house, simulate, temperature, walk

from outpace.estimation.assimilation import refit
from outpace.estimation.beta_range import beta_of_range
from outpace.estimation.forecast import look_ahead
from outpace.estimation.judgements import judgements
from outpace.simulation.parameters import draw
from outpace.simulation.run import run, start

DAYS = (0, 7, 14)
FIRST = np.array([[[3.0, 1.0]]])
LONG = 40_000


def reference(model, walks, rng):
    """Return weights and, by member, log growth, log clumping, and log aphids per plant today and a week on."""
    parameters = draw(FACTS, model, LONG, 77)
    state = start(model, parameters, 3.0 * np.exp(rng.standard_normal(LONG)), 78)
    done = run(model, parameters, state, temperature(), first_day=0, days=21, seed=79)
    per_leaf = done.aphids[:, 0, 0] / PLANTS / LEAVES
    # What no equation has: a random walk of the log, week by week; few aphids grow in proportion: it multiplies.
    weeks = judgements().left_out_sd * rng.standard_normal((3, LONG))
    for number, day in enumerate((7, 14, 21), start=1):
        per_leaf[day] *= np.exp(weeks[:number].sum(axis=0))
    a, b, clumping = (parameters.get(name, pest=0) for name in ("taylor_a", "taylor_b", "log_clumping"))
    fact = FACTS.one("myzus_persicae", "detection")
    log = np.zeros(LONG)
    for seen, day in zip(walks, DAYS, strict=True):
        differs = judgements().walk_differs_sd
        seen_share = rng.beta(*beta_of_range(fact.value, fact.low, fact.high), LONG)
        seen_share *= np.exp(differs * rng.standard_normal(LONG) - differs**2 / 2)
        mean = seen_share * per_leaf[day]
        # Taylor: variance = a m^b, so k = m² / (a m^b − m); never below 0.02 nor above 200.
        k = np.clip(mean**2 / np.maximum(a * mean**b - mean, 1e-12) * np.exp(-clumping), 0.02, 200.0)
        for count, times in zip(*np.unique(seen.low[0], return_counts=True), strict=True):
            log += times * nbinom.logpmf(count, k, k / (k + mean))
    weights = np.exp(log - log.max())
    held = [
        parameters.get("log_growth", pest=0),
        clumping,
        np.log(per_leaf[14] * LEAVES),
        np.log(per_leaf[21] * LEAVES),
    ]
    return weights / weights.sum(), np.stack(held)


def test_the_refit_of_a_small_house_agrees_with_a_long_plain_sampler():
    model = house(enemies=())
    truth = simulate(51, model=model, per_plant=4.0, days=21)
    walks = [walk(truth, day, 51, plants=30, leaves=1) for day in DAYS]
    weights, held = reference(model, walks, np.random.default_rng(5))
    assert 1 / np.square(weights).sum() > 300  # the reference itself rests on enough members
    means = held @ weights
    spreads = np.sqrt(((held - means[:, None]) ** 2) @ weights)
    found_means, found_spreads = [], []
    for seed in range(4):
        posterior = refit(
            model, FACTS, temperature(), walks, until_day=14, members=1024, seed=seed, first=FIRST
        )
        ahead = look_ahead(posterior, model, temperature(), days=7).live(0)
        own = [
            posterior.parameters.get("log_growth", pest=0),
            posterior.parameters.get("log_clumping", pest=0),
            np.log(ahead[0]),
            np.log(ahead[7]),
        ]
        found_means.append([each.mean() for each in own])
        found_spreads.append([each.std() for each in own])
    # In units of the reference's own spread; four filters of 1,024 members leave about 0.1 to chance.
    assert (np.mean(found_means, axis=0) - means) / spreads == pytest.approx(0.0, abs=0.25)
    growth, clumping, now, later = np.mean(found_spreads, axis=0) / spreads
    assert [growth, now, later] == pytest.approx([1.0] * 3, abs=0.15)
    assert clumping == pytest.approx(
        1.0, abs=0.2
    )  # it drifts from walk to walk in the filter, not in the reference
