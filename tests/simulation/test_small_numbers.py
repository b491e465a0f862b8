"""Whole individuals: they die out as often as a branching process says, keep all means, and share their luck."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from tests.simulation.houses import UNBOUNDED, beginning, house, plain, steady, swinging

from outpace.simulation.life_cycle import SteadyGrowth
from outpace.simulation.model import Release, Spray
from outpace.simulation.parameter_rows import N_PEST
from outpace.simulation.run import SMALL_NUMBERS, run

ALONE = house(enemies=())
LOSS = 0.03
MEMBERS = 1600


def far(first, second, errors):
    """How far two means are apart, in standard errors."""
    return abs(first - second) / errors


def chance_to_die_out(parameters, degc):
    """One newborn's line: the least root of its own generating function, passage by passage."""
    shared = parameters.shared
    counts = parameters.layout(ALONE).rows.pest_count[0]
    life = SteadyGrowth(parameters.values[:N_PEST, :1], shared, 0, counts, degc)
    survive, heat, births = float(life.survive[0]), float(life.heat), float(life.births[0])
    leave = [float(rate[0]) for rate in life.leave[:6]]

    def young(s):
        last = 1.0
        for share in shared.wingless_shape[0][::-1]:
            goes = leave[5] / (leave[5] + LOSS)
            last = 1 - goes + goes * np.exp(-births * share * (1 - s)) * last
        for stage, count in ((4, counts[4]), *((i, counts[i]) for i in (3, 2, 1, 0))):
            dies = LOSS + (heat if stage < 4 else 0.0)
            goes = leave[stage] / (leave[stage] + dies) * (survive if stage < 4 else 1.0)
            for _ in range(count):
                last = 1 - goes + goes * last
        return last

    # Source: Harris 1963, The theory of branching processes, I.6: the least root of f(s) = s; evidence recalled.
    return brentq(lambda s: young(s) - s, 0.0, 1 - 1e-6)


def newborn(parameters, founders):
    """A house in which so many newborn are all there is."""
    state = beginning(ALONE, parameters, 0.0)
    state[parameters.layout(ALONE).find("N1", pest=0, zone=0).first] = founders
    return state


@pytest.mark.parametrize(("degc", "born", "days"), [(14.0, 4.5, 130), (20.0, 4.5, 70), (28.0, 12.0, 60)])
def test_founders_die_out_as_often_as_a_branching_process_says(degc, born, days):
    parameters = plain(ALONE, MEMBERS, **UNBOUNDED | {"unexplained_loss": LOSS})
    table = np.interp(degc, np.arange(-20.0, 60.1, 0.25), parameters.shared.pest_tables[0, 2])
    parameters = parameters.set("fecundity", born / table, pest=0)
    expected = chance_to_die_out(parameters, degc)
    assert 0.2 < expected < 0.8
    seen = []
    for switch in (SMALL_NUMBERS, 2 * SMALL_NUMBERS):
        result = run(
            ALONE, parameters, newborn(parameters, 2), steady(degc, days), first_day=0, days=days, noise=False,
            small_numbers=switch, seed=7,
        )  # fmt: skip
        seen.append((result.aphids[-1, 0, 0] == 0).mean())
    error = np.sqrt(expected**2 * (1 - expected**2) / MEMBERS)
    assert far(seen[0], expected**2, error) < 3.5
    assert far(seen[1], expected**2, error) < 3.5
    assert far(seen[0], seen[1], error) < 1.5  # one luck for both


def test_whole_individuals_grow_as_expectations_do():
    parameters = plain(ALONE, MEMBERS, **UNBOUNDED)
    state = beginning(ALONE, parameters, 10.4 / 1000)
    heat = swinging(20, 14)
    few, many = (
        run(ALONE, parameters, state, heat, first_day=0, days=14, noise=False, small_numbers=s, seed=3)
        for s in (64.0, 0.0)
    )
    for day in (1, 4, 8, 14):
        numbers = few.aphids[day, 0, 0]
        assert far(numbers.mean(), many.aphids[day, 0, 0, 0], numbers.std() / np.sqrt(MEMBERS)) < 3.5
    assert few.aphids[8, 0, 0].std() > 5
    rounded = few.pest_ledger["rounded"][0, 0]
    assert 0 < np.abs(rounded).max() < 1
    assert far(rounded.mean(), 0.0, rounded.std() / np.sqrt(MEMBERS)) < 3.5


def test_whole_stung_aphids_become_wasps_as_expectations_do():
    model = house()
    parameters = plain(model, MEMBERS, **UNBOUNDED)
    layout = parameters.layout(model)
    state = beginning(model, parameters, 0.0)
    for size, number in (("N1_to_N3", 5), ("N4", 4), ("adult", 3)):
        state[layout.find(f"stung_{size}", pest=0, enemy=0, zone=0).first] = number
    few, many = (
        run(model, parameters, state, swinging(22, 16), first_day=0, days=16, noise=False, small_numbers=s)
        for s in (64.0, 0.0)
    )
    for cause in ("hatched", "emerged", "died_in_mummy"):
        numbers = few.enemy_ledger[cause][0, 0]
        expected = many.enemy_ledger[cause][0, 0, 0]
        assert far(numbers.mean(), expected, numbers.std() / np.sqrt(MEMBERS)) < 3.5, cause
    born = few.pest_ledger["born"][0, 0]
    assert born.mean() > 5


def test_wasps_sting_as_many_whole_aphids_in_a_day_as_expected():
    model = house()
    parameters = plain(model, MEMBERS, **UNBOUNDED)
    state = beginning(model, parameters, 12 / 1000)
    females = parameters.layout(model).find("females", enemy=0, zone=0)
    state[females.rows] = 4000.0
    few, many = (
        run(model, parameters, state, steady(22, 1), first_day=0, days=1, noise=False, small_numbers=s)
        for s in (16.0, 0.0)
    )
    stung = few.stung[1, 0, 0]
    expected = many.stung[1, 0, 0, 0]
    assert expected > 1
    assert far(stung.mean(), expected, stung.std() / np.sqrt(MEMBERS)) < 4.5


def test_dying_out_is_for_good_until_somebody_comes():
    parameters = plain(ALONE, 200, **UNBOUNDED | {"unexplained_loss": 3.0})
    state = beginning(ALONE, parameters, 10 / 1000)
    heat = steady(20, 40)
    gone = run(ALONE, parameters, state, heat, first_day=0, days=10, small_numbers=16)
    assert (gone.aphids[-1] == 0).all()
    parameters = parameters.set("unexplained_loss", 0.0, pest=0).set("immigration", 0.02 / 400, pest=0)
    back = run(ALONE, parameters, gone.state, heat, first_day=10, days=30, small_numbers=16, seed=2)
    came = back.pest_ledger["arrived"][0, 0]
    assert ((back.aphids[-1, 0, 0] > 0) <= (came > 0)).all()
    assert far(came[back.aphids[-1, 0, 0] < 16].max(), 1.0, 1.0) < 4
    # Source: nobody comes in 30 days with chance exp(−0.02 · 30); evidence derived.
    assert far((came == 0).mean(), np.exp(-0.6), np.sqrt(0.25 / 200)) < 3.5


def with_all(**how):
    model = house(
        ("myzus_persicae", "aphis_gossypii"),
        ("aphidius_colemani", "aphidius_ervi"),
        zones=((30.0, 70.0), (10.0, 25.0)),
    )
    parameters = plain(model, 40, seed=5, spread=True)
    state = beginning(model, parameters, 0.1, calm=False)
    how = {
        "days": 24, "first_day": 0, "seed": 9, "small_numbers": 16.0,
        "releases": [Release(1.3, 0, 0, 60), Release(2.0, 1, 1, 20, "adults")],
        "sprays": [Spray(9.4, None, 0.5, 0.5, 0.2, 5.0)],
    } | how  # fmt: skip
    state = how.pop("state", state)
    return run(model, parameters, state, swinging(21, 24), **how)


def test_luck_depends_on_no_block_thread_or_break():
    whole = with_all()
    for threads, block in ((1, 7), (2, 16), (3, 1)):
        assert np.array_equal(whole.state, with_all(threads=threads, block=block).state)
    first = with_all(days=11)
    second = with_all(days=13, first_day=11, state=first.state)
    assert np.array_equal(whole.state, second.state)
    assert not np.array_equal(whole.state, with_all(seed=10).state)


def test_two_plans_share_their_luck():
    bare, planned = with_all(), with_all(releases=[*with_all_releases(), Release(12.0, 0, 1, 500, "adults")])
    assert np.array_equal(bare.aphids[:13], planned.aphids[:13])
    other = with_all(seed=10)
    alike = np.corrcoef(np.log1p(bare.aphids[16, :, 0].ravel()), np.log1p(planned.aphids[16, :, 0].ravel()))
    apart = np.corrcoef(np.log1p(bare.aphids[16, :, 0].ravel()), np.log1p(other.aphids[16, :, 0].ravel()))
    assert alike[0, 1] > apart[0, 1]


def with_all_releases():
    return [Release(1.3, 0, 0, 60), Release(2.0, 1, 1, 20, "adults")]


def test_a_switch_count_that_has_no_room_is_refused():
    with pytest.raises(ValueError, match="small_numbers"):
        with_all(small_numbers=1e6)


def test_few_aphids_and_mummies_are_eaten_and_stung_as_often_as_many():
    members = 4096
    model = house(
        ("aphis_gossypii",),
        predators=("chrysoperla_carnea",),
        hyperparasitoids=("dendrocerus",),
        zones=((2.0, 5.0),),
    )
    parameters = plain(model, members)
    state = np.repeat(beginning(model, plain(model), 2.4), members, axis=1)
    layout = parameters.layout(model)
    state[layout.find("mummies", enemy=0, zone=0).first + 2] = 12.0
    state[layout.find("L3", enemy=1, zone=0).first] = 0.5
    state[layout.find("hyper_females", enemy=2, zone=0).first] = 3.0
    few, many = (
        run(
            model, parameters, state, steady(20, 1), first_day=0, days=1, noise=False, small_numbers=switch
        )
        for switch in (16.0, 0.0)
    )  # fmt: skip
    # Derived: whole individuals meet the hazards of the continuous step, so the means agree within Monte-Carlo error.
    books = {
        "eaten": (few.pest_ledger, many.pest_ledger),
        "mummies_eaten": (few.enemy_ledger, many.enemy_ledger),
        "hyperparasitised": (few.enemy_ledger, many.enemy_ledger),
    }
    for cause, (lived, expected) in books.items():
        numbers, mean = lived[cause][0, 0], float(expected[cause][0, 0, 0])
        assert mean > 0.02
        error = numbers.std() / np.sqrt(members)
        assert abs(numbers.mean() - mean) < 4 * error + 0.01 * mean
    young = few.state[layout.find("hyper_young_0", enemy=0, zone=0).rows].sum(axis=0)
    assert np.array_equal(young, np.round(young))
