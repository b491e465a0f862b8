from __future__ import annotations

import numpy as np
import pytest
from tests.estimation.houses import FACTS, house, simulate, temperature, walk

from outpace.estimation.assimilation import NOT_LEARNED, refit
from outpace.estimation.bands import bands_of
from outpace.estimation.forecast import look_ahead, wandering
from outpace.estimation.judgements import judgements
from outpace.estimation.members import Refresh, Shake, effective_size, systematic, tempering, weights_of
from outpace.estimation.observations import LineSeen, WalkBuilder
from outpace.simulation.model import Release
from outpace.simulation.run import run

MEMBERS = 256


def held(truth, walks, releases=(), *, until, seed=1, heat=None, members=MEMBERS):
    return refit(
        truth.model,
        FACTS,
        temperature() if heat is None else heat,
        walks,
        releases,
        until_day=until,
        members=members,
        seed=seed,
    )


def test_bands_cover_a_truth_made_by_the_same_model():
    inside, ahead = [], []
    for seed in range(12):
        releases = tuple(Release(3.8 + 7 * i, 0, 0, 1500.0) for i in range(3))
        truth = simulate(seed, releases=releases, days=35)
        walks = [walk(truth, day, seed) for day in (0, 7, 14, 21)]
        posterior = held(truth, walks, releases, until=21, seed=seed)
        low, *_, high = posterior.past.quantiles(0)[-1]
        inside.append(low <= truth.aphids(21) <= high)
        bands = look_ahead(posterior, truth.model, temperature(), releases, days=14)
        low, *_, high = bands.quantiles(0)[-1]
        ahead.append(low <= truth.aphids(35) <= high)
    # Of 12 bands of 90 %, 8 or fewer would hold the truth once in 250 times.
    assert sum(inside) >= 9
    assert sum(ahead) >= 9


def test_walks_narrow_what_is_held_and_move_it_to_what_was_seen():
    truth = simulate(3, per_plant=6.0, days=14)
    blind = held(truth, [walk(truth, 0, 3)], until=14)
    seen = held(truth, [walk(truth, day, 3) for day in (0, 7, 14)], until=14)
    width = [np.ptp(np.log(p.past.quantiles(0)[-1, [0, -1]])) for p in (blind, seen)]
    assert width[1] < 0.6 * width[0]
    miss = [abs(np.log(p.past.quantiles(0)[-1, 2] / truth.aphids(14))) for p in (blind, seen)]
    assert miss[1] < 0.7


def test_the_same_seed_gives_the_same_members_and_another_seed_others():
    truth = simulate(4, days=7)
    walks = [walk(truth, 0, 4), walk(truth, 7, 4)]
    one, two, other = (held(truth, walks, until=7, seed=seed) for seed in (5, 5, 6))
    assert np.array_equal(one.state, two.state)
    assert np.array_equal(one.parameters.values, two.parameters.values)
    assert not np.array_equal(one.state, other.state)


def test_three_walks_of_twenty_leaves_do_not_claim_to_have_learned_attack():
    learned = []
    for seed in range(6):
        releases = (Release(1.8, 0, 0, 1000.0), Release(8.8, 0, 0, 1000.0))
        truth = simulate(seed, releases=releases, days=14)
        walks = [walk(truth, day, seed, plants=20, leaves=1) for day in (0, 7, 14)]
        learned.append(
            held(truth, walks, releases, until=14, seed=seed).learned_of("myzus_persicae")["attack"]
        )
    assert min(learned) > NOT_LEARNED


def test_growth_is_learned_when_it_differs_from_the_books():
    model = house(enemies=())
    truth = simulate(9, model=model, per_plant=2.0, days=21)
    walks = [walk(truth, day, 9, plants=60) for day in (0, 7, 14, 21)]
    posterior = held(truth, walks, until=21)
    assert posterior.learned_of("myzus_persicae")["growth"] < 0.9
    untold = held(truth, [], until=21)
    assert untold.learned_of("myzus_persicae")["growth"] == pytest.approx(1.0)
    assert untold.walks == 0


def test_densities_go_on_moving_by_what_no_equation_has():
    truth = simulate(14, days=7)
    posterior = held(truth, [walk(truth, 0, 14)], until=7)
    still = bands_of(
        truth.model,
        posterior.parameters,
        run(truth.model, posterior.parameters, posterior.state, temperature(), first_day=7, days=28, seed=1),
        7,
    )
    ways = np.log(wandering(still, 5).aphids[:, 0, 0] / still.aphids[:, 0, 0])
    # Source: the variance of a random walk grows with time; its mean stays where it began.
    sd = judgements().left_out_sd
    assert np.all(ways[0] == 0)
    assert ways[[7, 28]].std(axis=1) == pytest.approx([sd, 2 * sd], rel=0.15)
    assert ways[28].mean() == pytest.approx(0.0, abs=4 * 2 * sd / np.sqrt(MEMBERS))


def test_a_wrong_enemy_makes_no_mummies_and_holds_nothing():
    model = house("macrosiphum_euphorbiae")
    releases = (Release(1.5, 0, 0, 5000.0),)
    truth = simulate(2, model=model, releases=releases, days=21)
    walks = [walk(truth, day, 2) for day in (0, 7, 14, 21)]
    with_it = held(truth, walks, releases, until=21)
    without = held(truth, walks, until=21)
    assert np.all(with_it.past.mummies() == 0.0)
    assert np.array_equal(with_it.past.aphids, without.past.aphids)


def test_zero_mummies_before_they_can_exist_change_nothing():
    heat = temperature(mean=12.0)
    releases = (Release(0.5, 0, 0, 2000.0),)
    truth = simulate(6, heat=heat, releases=releases, days=14)
    walks = [walk(truth, day, 6) for day in (0, 7)]
    told = held(truth, walks, releases, until=7, heat=heat)
    untold = held(truth, [w.without_mummies() for w in walks], releases, until=7, heat=heat)
    assert np.allclose(told.past.quantiles(0)[-1], untold.past.quantiles(0)[-1], rtol=0.05)
    assert truth.closed(7) < 5e-3  # per plant: the quickest of the quickest


def test_zero_mummies_long_after_they_should_show_count_against_the_enemy():
    releases = tuple(Release(0.5 + 3 * i, 0, 0, 3000.0) for i in range(3))
    dead = simulate(7, per_plant=3.0, days=21)  # the parcels were dead: nothing was released in truth
    walks = [walk(dead, day, 7) for day in (0, 7, 14, 21)]
    told = held(dead, walks, releases, until=21)
    untold = held(dead, [w.without_mummies() for w in walks], releases, until=21)
    females = [
        np.median(p.state[p.parameters.layout(p.model).holding("females")].sum(axis=0))
        for p in (told, untold)
    ]
    attack = [p.parameters.get("log_attack", pest=0).mean() for p in (told, untold)]
    assert females[0] * np.exp(attack[0]) < females[1] * np.exp(attack[1])


def test_a_walk_told_in_one_line_moves_the_bands_less_than_the_walk_itself():
    truth = simulate(8, per_plant=6.0, days=14)
    full = walk(truth, 14, 8, plants=60)
    found = full.low[0]
    line = LineSeen(14.4, 0, full.units, int((found > 0).sum()), float(found.sum()), unit="leaf")
    first = walk(truth, 0, 8)
    widths = [
        np.ptp(np.log(held(truth, walks, until=14).past.quantiles(0)[-1, [0, -1]]))
        for walks in ([first], [first, line], [first, full])
    ]
    assert widths[0] > widths[1]
    assert widths[0] > widths[2]


def test_hunted_plants_cannot_pull_the_mean_up_to_the_worst_place():
    truth = simulate(10, per_plant=1.0, days=7)
    told = WalkBuilder(7.4, "plant", "hunted", 1)
    told.add({0: (40.0, 40.0)}, zone=0)
    told.add({0: (60.0, 60.0)}, zone=0)
    first = walk(truth, 0, 10)
    plain = held(truth, [first], until=7).past.quantiles(0)[-1, 2]
    hunted = held(truth, [first, told.seen()], until=7).past.quantiles(0)[-1, 2]
    assert plain * 0.5 < hunted < 20.0


def test_a_walk_far_from_all_that_was_held_is_taken_in_steps_and_announced():
    truth = simulate(11, per_plant=0.5, days=7)
    told = WalkBuilder(7.4, "plant", "random", 1)
    for plant in range(20):
        told.add({0: (900.0, 900.0)}, zone=0, plant=plant)
    posterior = held(truth, [walk(truth, 0, 11, plants=60), told.seen()], until=7)
    assert posterior.rescued
    assert "day 7" in posterior.rescued[0]
    assert posterior.past.quantiles(0)[-1, 2] > 20 * truth.aphids(7)
    assert np.isfinite(posterior.state).all()


def test_what_is_known_of_a_parcel_stays_with_its_member():
    truth = simulate(12, days=14)
    emergence = np.linspace(0.0, 0.9, MEMBERS)
    releases = (Release(0.5, 0, 0, 3000.0, emergence=emergence, share_female=0.6),)
    walks = [walk(truth, day, 12) for day in (0, 7)]
    posterior = held(truth, walks, releases, until=10)
    assert posterior.members == MEMBERS
    assert np.isfinite(posterior.state).all()
    assert posterior.past.days == 10


def test_members_with_temperatures_of_their_own_run_through_them():
    truth = simulate(13, days=14)
    rng = np.random.default_rng(1)
    heat = temperature() + rng.normal(0, 2, (1, MEMBERS))
    posterior = held(truth, [walk(truth, day, 13) for day in (0, 7, 14)], until=14, heat=heat)
    assert np.isfinite(posterior.past.aphids).all()
    with pytest.raises(ValueError, match="must be"):
        held(truth, [], until=7, heat=heat[:, :5])


def test_a_day_before_the_first_is_refused():
    with pytest.raises(ValueError, match="lies before"):
        refit(house(), FACTS, temperature(), [], first_day=5, until_day=3, seed=1)


def test_walks_that_speak_of_what_the_house_has_not_are_refused():
    truth = simulate(14, days=1)
    with pytest.raises(ValueError, match="pest or zone"):
        held(truth, [LineSeen(0.4, 1, 10, 2)], until=1)
    with pytest.raises(ValueError, match="pest or zone"):
        held(truth, [LineSeen(0.4, 0, 10, 2, zone=3)], until=1)
    told = WalkBuilder(0.4, "leaf", "random", 1, ((0, 4),))
    told.add({0: (1.0, 1.0)}, mummies={0: (1.0, 0.0)})
    with pytest.raises(ValueError, match="mummies of an enemy"):
        held(truth, [told.seen()], until=1)


def test_systematic_resampling_takes_each_member_as_often_as_its_weight_says():
    weights = weights_of(np.log(np.array([0.5, 0.3, 0.15, 0.05])))
    times = np.bincount(systematic(weights, 1000, 0.37), minlength=4)
    assert np.abs(times - 1000 * weights).max() <= 1
    assert effective_size(np.full(8, 1 / 8)) == pytest.approx(8)


def test_tempering_keeps_the_effective_size_it_was_asked_for():
    log_likelihood = -np.linspace(0, 400, 500)
    step = tempering(log_likelihood, 1.0, 100.0)
    assert effective_size(weights_of(step * log_likelihood)) == pytest.approx(100.0, rel=0.01)
    assert tempering(np.zeros(10), 0.4, 5.0) == 0.4


def test_nothing_that_agrees_with_a_walk_leaves_even_weights_rather_than_none():
    assert weights_of(np.full(4, -np.inf)) == pytest.approx(0.25)


def test_the_shake_keeps_mean_spread_and_correlation():
    rng = np.random.default_rng(2)
    values = np.exp(rng.multivariate_normal([0.0, 1.0], [[0.04, 0.03], [0.03, 0.09]], 20_000).T)
    shaken = Shake(values)(values, rng, 0.35)
    for before, after in ((values, shaken),):
        assert np.log(after).mean(axis=1) == pytest.approx(np.log(before).mean(axis=1), abs=0.01)
        assert np.cov(np.log(after)) == pytest.approx(np.cov(np.log(before)), rel=0.05, abs=0.001)
    assert not np.array_equal(values, shaken)


def test_a_value_beyond_the_range_of_the_prior_is_brought_back_into_it():
    prior = np.array([[0.5, 1.0, 2.0]])
    stray = np.array([[-1.0, 1.5, 9.0]])
    brought = Shake(prior).from_line(Shake(prior).to_line(stray))
    assert brought == pytest.approx(np.array([[0.5, 1.5, 2.0]]))


def test_a_refresh_is_the_normal_posterior_where_all_is_normal():
    # Source: the closed form of the normal law: θ ~ N(0, 1), state s = θ + N(0, 1), seen y = s + N(0, 0.5²) at 1.5.
    rng = np.random.default_rng(3)
    theta = rng.standard_normal(40_000)
    state = theta + rng.standard_normal(40_000)
    weights = weights_of(-0.5 * ((1.5 - state) / 0.5) ** 2)
    chosen = systematic(weights, 40_000, 0.5)
    nothing = np.zeros(1, dtype=bool)
    refresh = Refresh(
        Shake(theta[None]),
        theta[None],
        state[None],
        nothing,
        after_values=theta[None, chosen],
        after_traits=state[None, chosen],
        own=chosen,
    )
    fresh = refresh(rng, 0.15)[0]
    gain = 1 / (2 + 0.25)
    assert fresh.mean() == pytest.approx(1.5 * gain, abs=0.02)
    assert fresh.var() == pytest.approx(1 - gain, abs=0.02)


def test_a_member_keeps_its_own_temperature_after_walks_as_before():
    truth = simulate(13, days=14)
    heat = temperature() + np.linspace(-3.0, 3.0, MEMBERS)
    posterior = held(truth, [walk(truth, day, 13) for day in (0, 7, 14)], until=14, heat=heat)
    assert not np.array_equal(posterior.lineage, np.arange(MEMBERS))
    bands = look_ahead(posterior, truth.model, heat, days=14)
    alone = run(
        truth.model,
        posterior.parameters,
        posterior.state,
        heat[:, posterior.lineage],
        first_day=14,
        days=14,
        seed=posterior.seed,
    )
    told = wandering(bands_of(truth.model, posterior.parameters, alone, 14), posterior.seed)
    assert np.array_equal(bands.aphids, told.aphids)
