from __future__ import annotations

import numpy as np
import pytest
from tests.estimation.houses import FACTS, PLANTS, house, simulate, temperature, walk

from outpace.estimation.assimilation import refit
from outpace.estimation.forecast import look_ahead
from outpace.estimation.reasons import Case, judged, reasons
from outpace.estimation.verdict import HOLDING, LOSING, Level, chances
from outpace.simulation.model import Release

MEMBERS = 256


def case(truth, walks, releases, until, heat=None):
    return Case(
        truth.model,
        FACTS,
        temperature() if heat is None else heat,
        tuple(walks),
        tuple(releases),
        (),
        0,
        until,
        seed=1,
        members=MEMBERS,
    )


def test_each_reason_moves_the_chance_when_it_is_taken_away():
    releases = tuple(Release(1.8 + 7 * i, 0, 0, 4000.0) for i in range(3))
    truth = simulate(21, releases=releases, per_plant=8.0, days=45)
    whole = case(truth, [walk(truth, day, 21) for day in (0, 7, 14, 21)], releases, 21)
    posterior = whole.refit()
    bands = whole.ahead(posterior, 21)
    worst = bands.live(0).max(axis=0)
    level = Level(0, "plant", float(np.median(worst)))  # a chance of one half to stay below
    found = judged(whole, level)
    assert 1 <= len(found.reasons) <= 3
    for reason in found.reasons:
        changed = (found.verdict.ends_well - reason.ends_well, found.verdict.stays_below - reason.stays_below)
        assert reason.moves == pytest.approx(max(changed, key=abs))
        assert abs(reason.moves) >= 0.005
    sizes = [abs(reason.moves) for reason in found.reasons]
    assert sizes == sorted(sizes, reverse=True)


def test_taking_the_enemies_away_makes_a_held_house_worse():
    releases = tuple(Release(1.8 + 7 * i, 0, 0, 20_000.0) for i in range(3))
    truth = simulate(24, releases=releases, per_plant=8.0, days=45)
    whole = case(truth, [walk(truth, day, 24) for day in (0, 7, 14, 21)], releases, 21)
    posterior = whole.refit()
    level = Level(0, "plant", 20.0)
    bands = whole.ahead(posterior, 21)
    told = {
        r.kind: r for r in reasons(whole, posterior, bands, judged(whole, level, with_reasons=False).verdict)
    }
    assert "enemies" in told
    assert told["enemies"].moves > 0
    assert told["enemies"].times < 1
    assert "Aphidius colemani" in told["enemies"].text


def test_where_nothing_moves_the_chances_the_size_of_the_pest_is_told():
    truth = simulate(23, model=house(enemies=()), per_plant=60.0, days=14)
    whole = case(truth, [walk(truth, day, 23) for day in (0, 7, 14)], (), 14)
    found = judged(whole, Level(0, "plant", 0.01))
    assert found.verdict.word == LOSING
    assert all(reason.moves == 0.0 and reason.times != 1.0 for reason in found.reasons)


@pytest.mark.parametrize("looked", [14, 21])
def test_in_a_cold_spring_zero_mummies_do_not_lower_the_chance_to_end_well(looked):
    # Sting to first mummy takes about 17 days at 12 °C, after emergence from the parcel (practice).
    heat = temperature(mean=12.0, swing=3.0, days=120)
    releases = (Release(0.5, 0, 0, 8000.0),)
    truth = simulate(24, heat=heat, releases=releases, per_plant=5.0, days=60)
    walks = [walk(truth, day, 24) for day in range(0, looked + 1, 7)]
    for each in walks:
        each.mummies[0].closed[:] = 0.0
    ends = []
    for seen in (walks, [w.without_mummies() for w in walks]):
        posterior = refit(truth.model, FACTS, heat, seen, releases, until_day=looked, members=512, seed=2)
        bands = look_ahead(posterior, truth.model, heat, releases, days=35)
        ends.append(chances(bands.live(0), 30.0)[1])
    # Two ensembles of 512 differ by chance alone: two standard errors of their difference.
    slack = 2 * np.sqrt(0.5 / 512)
    assert ends[0] >= ends[1] - slack


def test_few_mummies_in_a_growing_colony_and_many_in_a_falling_one_do_not_fool_the_verdict():
    """Same attack, other growth: the share of mummies alone would call the growing one badly attacked."""
    releases = tuple(Release(0.5 + 7 * i, 0, 0, 12_000.0) for i in range(3))
    words = {}
    for name, mean, level in (("falling", 21.0, 60.0), ("growing", 21.0, 60.0)):
        some = (
            releases if name == "falling" else tuple(Release(r.day, r.enemy, r.zone, 200.0) for r in releases)
        )
        heat = temperature(mean=mean)
        truth = simulate(25, heat=heat, releases=some, per_plant=10.0, days=50)
        walks = [walk(truth, day, 25, plants=30) for day in (0, 7, 14, 21)]
        found = judged(case(truth, walks, some, 21, heat), Level(0, "plant", level), with_reasons=False)
        truly = float(truth.run.aphids[42, 0, 0, truth.member] / PLANTS)
        words[name] = (found.verdict.word, truly <= level, found.verdict.ends_well)
    for word, well, _ in words.values():
        assert word != (LOSING if well else HOLDING)
    assert words["falling"][2] > words["growing"][2]


def test_the_days_ahead_are_a_reason_when_they_differ_from_the_last_week():
    heat = temperature(days=60)
    heat[14 * 24 :] -= 5.0
    truth = simulate(26, model=house(enemies=()), per_plant=1.0, heat=heat, days=14)
    whole = case(truth, [walk(truth, day, 26) for day in (0, 7, 14)], (), 14, heat)
    posterior = whole.refit()
    middle = float(np.median(whole.ahead(posterior, 21).live(0)[-1]))
    found = judged(whole, Level(0, "plant", middle))
    kinds = {reason.kind: reason for reason in found.reasons}
    assert "temperature_ahead" in kinds
    assert "cooler" in kinds["temperature_ahead"].text
    assert kinds["temperature_ahead"].moves > 0
