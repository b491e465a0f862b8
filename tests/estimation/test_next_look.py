from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom
from tests.estimation.houses import FACTS, simulate, temperature, walk

from outpace.estimation.assimilation import refit
from outpace.estimation.forecast import look_ahead
from outpace.estimation.next_look import JAR, THOUGHT, Jar, Members, next_looks
from outpace.estimation.verdict import Level, judge
from outpace.simulation.model import Release


@pytest.fixture(scope="module")
def held():
    """A house in doubt: the level lies at the middle of what may be in three weeks."""
    releases = tuple(Release(1.8 + 7 * i, 0, 0, 3000.0) for i in range(3))
    truth = simulate(31, releases=releases, per_plant=6.0, days=14)
    walks = [walk(truth, day, 31) for day in (0, 7, 14)]
    posterior = refit(truth.model, FACTS, temperature(), walks, releases, until_day=14, members=1024, seed=3)
    ahead = look_ahead(posterior, truth.model, temperature(), releases, days=28)
    level = Level(0, "leaf", float(np.median(ahead.live(0, unit="leaf")[21])))
    return posterior, ahead, judge(ahead, level, horizon_d=21)


def test_the_value_of_a_jar_is_the_sum_over_all_its_findings():
    # Source: the definition, Σ over findings of P(finding) |P(well | finding) − P(well)|, by enumeration.
    rng = np.random.default_rng(1)
    emergence = np.concatenate([np.full(500, 0.3), np.full(500, 0.6)])
    ends = np.concatenate([np.zeros(500, dtype=bool), rng.random(500) < 0.8])
    findings = np.arange(JAR + 1)
    low, high = binom.pmf(findings, JAR, 0.3), binom.pmf(findings, JAR, 0.6)
    chance = 0.5 * (low + high)
    well = ends[500:].mean() * 0.5 * high / chance
    expected = float((chance * np.abs(well - ends.mean())).sum())
    members = Members((ends, ends), above_now=False, seed=2)
    found = members.rng.binomial(JAR, emergence[members.truths])
    log = found[:, None] * np.log(emergence) + (JAR - found)[:, None] * np.log1p(-emergence)
    moves, turns = members.value(log)
    assert moves == pytest.approx(expected, abs=3 * 0.15 / np.sqrt(THOUGHT))
    assert turns > 0


def test_a_look_that_cannot_tell_members_apart_is_worth_nothing():
    ends = np.arange(400) % 2 == 0
    moves, turns = Members((ends, ends), above_now=False, seed=1).value(np.zeros((THOUGHT, 400)))
    assert moves < 0.002
    assert turns == 0


def test_more_plants_move_a_doubtful_verdict_and_the_best_look_comes_first(held):
    posterior, ahead, verdict = held
    looks = next_looks(posterior, ahead, verdict, mummies_from=18, seed=1)
    assert [look.kind for look in looks] != []
    assert {look.kind for look in looks} == {"plants", "mummies"}
    assert looks[0].moves >= looks[1].moves > 0.01
    assert {look.kind: look.day for look in looks} == {"plants": 14, "mummies": 18}
    assert all(0 <= look.turns <= 1 for look in looks)


def test_a_jar_is_worth_more_where_the_parcel_decides_the_house(held):
    posterior, ahead, verdict = held
    live = ahead.live(0, unit="leaf")[21]
    decides = np.where(live <= np.median(live), 0.7, 0.2)
    chance = np.random.default_rng(3).permutation(decides)
    jars = [Jar("A", decides, 15), Jar("B", chance, 15)]
    worth = {look.what: look.moves for look in next_looks(posterior, ahead, verdict, jars=jars, seed=1)}
    of_a, of_b = (next(v for what, v in worth.items() if f"lot {name} " in what) for name in "AB")
    assert of_a > 0.1
    assert of_b < 0.05


def test_holes_are_worth_reading_where_what_is_taken_decides_the_house(held):
    posterior, ahead, verdict = held
    live = ahead.live(0, unit="leaf")[21]
    decides = np.where(live <= np.median(live), 0.05, 0.4)
    worth = []
    for taken in (decides, np.random.default_rng(3).permutation(decides)):
        looks = next_looks(posterior, ahead, verdict, taken=taken, seed=1)
        worth.append(next(look.moves for look in looks if look.kind == "holes"))
    assert worth[0] > 0.1
    assert worth[1] < 0.05
    # Where no ragged hole was read the members do not differ in it, and the look is not offered.
    assert "holes" not in {look.kind for look in next_looks(posterior, ahead, verdict, seed=1)}


def test_where_all_is_settled_no_look_moves_anything(held):
    posterior, ahead, _ = held
    settled = judge(ahead, Level(0, "leaf", 1e9), horizon_d=21)
    looks = next_looks(posterior, ahead, settled, seed=1)
    assert looks[0].moves == pytest.approx(0.0, abs=1e-12)
    assert looks[0].turns == 0.0
