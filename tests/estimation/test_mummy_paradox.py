"""Same attack, other growth: mummies are few in a colony that grows and many in one that falls."""

from __future__ import annotations

import numpy as np
import pytest
from tests.estimation.houses import FACTS, PLANTS, Truth, house, temperature, walk

from outpace.estimation.parasitism import mummies_at_constant_attack
from outpace.estimation.reasons import Case, judged
from outpace.estimation.verdict import HOLDING, LOSING, Level
from outpace.simulation.model import Release
from outpace.simulation.parameters import draw
from outpace.simulation.run import run, start

LEVEL = 30.0  # live aphids per plant
TODAY, AHEAD = 21, 21


@pytest.mark.parametrize(
    ("doubling_d", "share"), [(4.6, 0.08), (np.inf, 0.25), (-6.9, 0.45)], ids=["doubles", "flat", "halves"]
)
def test_one_attack_rate_leaves_few_or_many_mummies_by_growth_alone(doubling_d, share):
    # Source: computed for attack 10 %/d, 8 d alive after the attack, 6 d as a closed mummy: 8, 25 and 45 %.
    found = mummies_at_constant_attack(0.10, days_before=8, days_mummy=6, growth=np.log(2) / doubling_d)
    assert found == pytest.approx(share, abs=0.03)


def truth_of(log_growth, seed):
    """A house whose wasps are let go alike and attack alike; only the aphid's growth differs."""
    model = house()
    parameters = draw(FACTS, model, 32, 90_000 + seed).set("log_growth", log_growth, pest=0)
    parameters = parameters.set("log_attack", 0.0, pest=0)
    releases = tuple(Release(0.5 + 7 * i, 0, 0, 2500.0) for i in range(3))
    state = start(model, parameters, 6.0, 91_000 + seed)
    done = run(
        model,
        parameters,
        state,
        temperature(20.0),
        first_day=0,
        days=TODAY + AHEAD,
        releases=releases,
        seed=92_000 + seed,
    )
    return Truth(model, parameters, done, seed), releases


@pytest.fixture(scope="module")
def colonies():
    """Falling, in between and growing; seen by four walks of thirty plants."""
    told = {}
    for name, log_growth in (("falling", -0.8), ("between", -0.2), ("growing", 0.35)):
        truth, releases = truth_of(log_growth, seed=3)
        walks = tuple(walk(truth, day, 33, plants=30) for day in (0, 7, 14, TODAY))
        case = Case(truth.model, FACTS, temperature(20.0), walks, releases, (), 0, TODAY, seed=1, members=512)
        found = judged(case, Level(0, "plant", LEVEL), with_reasons=False)
        aphids = truth.run.aphids[:, 0, 0, truth.member] / PLANTS
        share = truth.closed(TODAY) / (truth.closed(TODAY) + aphids[TODAY])
        told[name] = (share, bool((aphids[-8:] <= LEVEL).all() and aphids[-1] <= aphids[-8]), found.verdict)
    return told


def test_the_growing_colony_shows_the_smaller_share_of_mummies(colonies):
    shares = [colonies[name][0] for name in ("growing", "between", "falling")]
    assert shares == sorted(shares)
    assert shares[2] > 2 * shares[0]


def test_the_verdict_reads_the_trend_and_not_the_share(colonies):
    for name, (share, well, verdict) in colonies.items():
        assert verdict.word != (LOSING if well else HOLDING), (name, share, verdict)
    chances = [colonies[name][2].ends_well for name in ("growing", "between", "falling")]
    assert chances[0] < 0.2 < 0.5 < min(chances[1:])
