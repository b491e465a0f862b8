from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import nbinom
from tests.estimation.houses import FACTS, house, temperature

from outpace.estimation.assimilation import refit
from outpace.estimation.cards import CardSeen, cards_log_likelihood, draw_catch, landings
from outpace.simulation.parameters import draw
from outpace.simulation.run import run, start

MODEL = house(enemies=())
CLEAN = np.array([[[0.02, 0.5]]])  # aphids per plant at the start, hardly any


def held(cards, *, until=21, members=512, seed=1):
    return refit(
        MODEL, FACTS, temperature(), [], until_day=until, members=members, seed=seed, first=CLEAN, cards=cards
    )


def weekly(*winged):
    return [CardSeen(7.0 * (week + 1), 7.0, number) for week, number in enumerate(winged)]


def immigration(posterior):
    return float(posterior.parameters.get("log_immigration", pest=0).mean())


def test_cards_that_catch_many_say_that_more_flies_in_and_clean_cards_that_less_does():
    many, none, untold = (held(cards) for cards in (weekly(20, 20, 20), weekly(0, 0, 0), []))
    assert immigration(many) > immigration(untold) + 0.2
    assert immigration(none) < immigration(untold)
    aphids = [float(np.median(p.past.live(0)[-1])) for p in (many, untold)]
    assert aphids[0] > aphids[1]


def test_one_catch_says_less_than_three_and_no_cards_say_nothing():
    one, three = held([CardSeen(7.0, 7.0, 20)]), held(weekly(20, 20, 20))
    assert 0 < immigration(one) < immigration(three)
    assert np.array_equal(held([]).state, held(()).state)


def test_a_catch_is_weighed_as_a_plain_sampler_weighs_it():
    # Source: importance weights of members from the prior, with the law of another program.
    members = 20_000
    parameters = draw(FACTS, MODEL, members, 71)
    rng = np.random.default_rng(72)
    state = start(
        MODEL, parameters, CLEAN[0, 0, 0] * np.exp(CLEAN[0, 0, 1] * rng.standard_normal(members)), 73
    )
    done = run(MODEL, parameters, state, temperature(), first_day=0, days=7, seed=74)
    layout = parameters.layout(MODEL)
    flying = done.state[layout.find("flying", pest=0, zone=0).rows].sum(axis=0)
    log_immigration = parameters.get("log_immigration", pest=0)
    came = parameters.get("immigration", pest=0) * np.exp(log_immigration)
    landing = came + flying / parameters.get("winged_flight", pest=0) / MODEL.area_m2
    fact = FACTS.one("", "card_catch")
    catch = np.exp(np.log(fact.value) + np.log(fact.high / fact.low) / 3.29 * rng.standard_normal(members))
    k = FACTS.one("", "card_clumping").value
    mean = catch * landing * 7.0
    weights = nbinom.pmf(3, k, k / (k + mean))
    weights /= weights.sum()
    expected = float(weights @ log_immigration)
    found = np.mean(
        [immigration(held([CardSeen(7.0, 7.0, 3)], until=7, members=1024, seed=s)) for s in range(4)]
    )
    assert found == pytest.approx(expected, abs=0.12)
    assert expected > 0.2


def test_winged_that_come_down_are_those_from_outside_and_those_that_end_a_flight():
    parameters = draw(FACTS, MODEL, 8, 1)
    state = start(MODEL, parameters, 0.0, 1)
    outside = parameters.get("immigration", pest=0) * np.exp(parameters.get("log_immigration", pest=0))
    assert landings(MODEL, parameters, state)[0] == pytest.approx(outside)
    row = parameters.layout(MODEL).find("flying", pest=0, zone=0).rows
    state[row] = 300.0
    flight = parameters.get("winged_flight", pest=0)
    number = len(range(*row.indices(len(state)))) if isinstance(row, slice) else len(row)
    expected = outside + number * 300.0 / flight / MODEL.area_m2
    assert landings(MODEL, parameters, state)[-1] == pytest.approx(expected)


def test_a_longer_time_on_the_hook_makes_the_same_catch_mean_less():
    catch = draw_catch(FACTS, 2000, 1)
    landing = np.full((2, 2000), 0.01)
    short, long = (
        cards_log_likelihood(FACTS, [CardSeen(9.0, days, 9)], landing, catch)[(None, -1)]
        for days in (1.0, 9.0)
    )
    means = [np.average(catch, weights=np.exp(each)) for each in (short, long)]
    assert means[0] > means[1]


def test_a_card_that_cannot_be_is_refused():
    with pytest.raises(ValueError, match="hangs for a time"):
        CardSeen(3.0, 0.0, 1)
    with pytest.raises(ValueError, match="zone that the house has not"):
        held([CardSeen(7.0, 7.0, 1, zone=4)])
