from __future__ import annotations

import numpy as np
import pytest
from tests.estimation.houses import FACTS, temperature

from outpace.estimation.assimilation import refit
from outpace.estimation.bands import HOUSE, bands_of
from outpace.estimation.blocks import Blocks
from outpace.estimation.observations import WHOLE_HOUSE, WalkBuilder
from outpace.estimation.standing import ties_of
from outpace.simulation.model import HouseModel, ZoneSpec
from outpace.simulation.parameters import draw
from outpace.simulation.run import run, start

ZONES = 4
PER_PLANT = (0.5, 2.0, 8.0, 30.0)


def house(zones=ZONES, pests=("myzus_persicae", "macrosiphum_euphorbiae")):
    return HouseModel(
        "sweet_pepper",
        tuple(ZoneSpec(f"bay {i}", 300.0 / zones, 800.0 / zones) for i in range(zones)),
        pests,
        ("aphidius_colemani", "aphidius_ervi"),
        30.0,
        1.0,
    )


def test_every_row_of_the_state_belongs_to_one_part_or_to_the_whole_house():
    model = house()
    parameters = draw(FACTS, model, 8, 1)
    layout = parameters.layout(model)
    blocks = Blocks(model, layout, ties_of(model, parameters), parameters.substages.pairs)
    rows = [row for part in (*blocks.rows.values(), *blocks.luck) for row in part]
    assert sorted(rows) == list(range(layout.n_state))
    assert len(blocks.keys) == 8


def test_parts_put_together_keep_their_own_marginals_and_the_ranks_of_the_whole():
    model = house(zones=2, pests=("myzus_persicae",))
    parameters = draw(FACTS, model, 2000, 1)
    rng = np.random.default_rng(2)
    common = rng.standard_normal((1, 1, 2000))
    density = np.exp(0.8 * common + 0.6 * rng.standard_normal((1, 2, 2000)))
    state = start(model, parameters, density, 1)
    here = bands_of(
        model, parameters, run(model, parameters, state, temperature(), first_day=0, days=0), first_day=0
    )
    blocks = Blocks(model, parameters.layout(model), ties_of(model, parameters), parameters.substages.pairs)
    logs = {
        (0, z): -0.5 * ((np.log(here.aphids[-1, 0, z]) - goal) / 0.3) ** 2
        for z, goal in enumerate((0.4, -0.2))
    }
    chosen = blocks.choose(logs, dict.fromkeys(blocks.keys, 1.0), here, 2000, rng)
    after = blocks.bands(here, chosen)
    for z, goal in enumerate((0.4, -0.2)):
        # Source: the closed form of a normal prior (0, 1) and a normal likelihood of s.d. 0.3.
        found = np.log(after.aphids[-1, 0, z])
        assert found.mean() == pytest.approx(goal / (1 + 0.09), abs=0.05)
        assert found.std() == pytest.approx((1 / (1 + 1 / 0.09)) ** 0.5, rel=0.15)
    pair = np.corrcoef(np.log(after.aphids[-1, 0, 0]), np.log(after.aphids[-1, 0, 1]))[0, 1]
    assert pair > 0.05
    layout = parameters.layout(model)
    moved = blocks.state(state, chosen)
    for z in range(2):
        rows = [b.rows for b in layout.blocks if b.zone == z and b.pest == 0 and b.name != "winged_share"]
        total = sum(moved[each].sum(axis=0) for each in rows)
        assert total == pytest.approx(after.aphids[-1, 0, z] * 400.0)


def test_zones_and_pests_are_each_found_at_their_own_density():
    model = house()
    rng = np.random.default_rng(3)
    walks = []
    for day in (0, 7):
        told = WalkBuilder(day + 0.4, "plant", "random", 2, ())
        for plant in range(40):
            zone = plant % ZONES
            counts = {}
            for pest, factor in ((0, 1.0), (1, 0.2)):
                seen = float(rng.poisson(PER_PLANT[zone] * factor * rng.gamma(1.0, 1.0)))
                counts[pest] = (seen, seen)
            told.add(counts, zone=zone)
        walks.append(told.seen())
    posterior = refit(model, FACTS, temperature(mean=10.0), walks, until_day=7, members=256, seed=4)
    assert posterior.rescued == ()
    middle = np.array([[posterior.past.quantiles(p, z)[-1, 2] for z in range(ZONES)] for p in range(2)])
    for pest in range(2):
        assert np.all(np.diff(middle[pest]) > 0)
    assert np.all(middle[0] > middle[1])
    house_mean = posterior.past.live(0, HOUSE)
    zones = np.stack([posterior.past.live(0, z) for z in range(ZONES)]).mean(axis=0)
    assert house_mean == pytest.approx(zones)


def test_a_walk_that_did_not_write_down_zones_still_moves_all_of_them():
    model = house(zones=2, pests=("myzus_persicae",))
    told = WalkBuilder(7.4, "plant", "random", 1, ())
    for _ in range(30):
        told.add({0: (60.0, 60.0)}, zone=WHOLE_HOUSE)
    first = WalkBuilder(0.4, "plant", "random", 1, ())
    for plant in range(30):
        first.add({0: (2.0, 2.0)}, zone=plant % 2)
    posterior = refit(
        model, FACTS, temperature(mean=12.0), [first.seen(), told.seen()], until_day=7, members=256, seed=5
    )
    before = refit(model, FACTS, temperature(mean=12.0), [first.seen()], until_day=7, members=256, seed=5)
    for zone in (0, 1, HOUSE):
        assert posterior.past.quantiles(0, zone)[-1, 2] > 2 * before.past.quantiles(0, zone)[-1, 2]
