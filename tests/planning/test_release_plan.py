"""The cheapest schedule of whole packs that holds a house."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from tests.planning.houses import a_house, a_pack, offers_of

from outpace.planning.effort import FAST, THOROUGH
from outpace.planning.house_outlook import outcome
from outpace.planning.release_plan import cost_of, plan_house, releases_of


def test_a_house_that_holds_by_itself_needs_no_pack():
    house = a_house(per_plant=0.001, limit_per_plant=200.0)
    plan = plan_house(house, offers_of(house, [a_pack()]), risk=0.2)
    assert plan.feasible
    assert not any(plan.counts)
    assert plan.cost.total == 0


def test_a_house_far_above_its_level_is_not_promised():
    house = a_house(per_plant=500.0, limit_per_plant=5.0)
    plan = plan_house(house, offers_of(house, [a_pack()]), risk=0.2)
    assert not plan.feasible
    assert plan.chance_above > 0.2
    assert plan.not_preventable == pytest.approx(1.0)


def test_the_plan_of_a_small_case_costs_what_brute_force_finds():
    house = a_house(members=64)
    offers = offers_of(house, [a_pack()], days=(2, 9))
    plan = plan_house(house, offers, risk=0.15, effort=replace(THOROUGH, complete=400))
    ordered = plan.offers
    brute = []
    # every schedule of 0 to 12 packs on two deliveries, evaluated on the same members: no search involved
    for counts in itertools.product(range(13), repeat=2):
        chance = outcome(house, releases_of(house, ordered, counts)).chance_from(plan.first_day)
        if chance <= 0.15:
            brute.append(cost_of(ordered, counts).total)
    assert plan.feasible
    assert any(plan.counts)
    assert plan.cost.total == pytest.approx(min(brute))


def test_early_packs_are_preferred_where_they_cost_the_same():
    house = a_house(members=64)
    plan = plan_house(house, offers_of(house, [a_pack()]), risk=0.15)
    assert plan.counts[0] >= max(plan.counts[1:])


def test_the_same_seed_gives_the_same_plan():
    first, second = (
        plan_house(house, offers_of(house, [a_pack()]), risk=0.15) for house in (a_house() for _ in range(2))
    )
    assert first.counts == second.counts
    assert first.chance_above == second.chance_above


def test_a_budget_is_kept_and_a_plan_that_it_forbids_is_not_promised():
    house = a_house()
    plan = plan_house(house, offers_of(house, [a_pack()]), risk=0.15, budget=10.0)
    assert plan.cost.total <= 10.0
    assert not plan.feasible


def test_no_release_goes_below_the_least_number_of_packs():
    house = a_house()
    plan = plan_house(house, offers_of(house, [a_pack(size=50, price=9.0)], least_packs=3), risk=0.15)
    assert all(count == 0 or count >= 3 for count in plan.counts)


def test_freight_is_paid_once_a_parcel_and_a_minimum_order_is_filled_up():
    house = a_house()
    offers = offers_of(house, [a_pack(packs_per_parcel=4, minimum_order_money=100.0)], days=(2,))
    # by hand: 2 packs of 40 are raised to 100, one parcel 15, one release 4; 5 packs 200, two parcels 30
    assert cost_of(offers, (2,)).total == pytest.approx(100 + 15 + 4)
    assert cost_of(offers, (5,)).total == pytest.approx(200 + 30 + 4)


def test_the_frontier_falls_in_chance_as_it_rises_in_cost():
    house = a_house()
    plan = plan_house(house, offers_of(house, [a_pack()]), risk=0.15)
    costs = [point[0] for point in plan.frontier]
    chances = [point[1] for point in plan.frontier]
    assert costs == sorted(costs)
    assert chances == sorted(chances, reverse=True)
    assert len(plan.frontier) >= 2


def test_waiting_a_week_does_not_lower_the_chance():
    house = a_house()
    plan = plan_house(house, offers_of(house, [a_pack()]), risk=0.15)
    assert plan.later_chance is not None
    assert plan.later_chance >= plan.chance_above - 0.02


def test_no_release_goes_beyond_the_most_that_is_tried():
    house = a_house(per_plant=3.0, limit_per_plant=5.0)
    packs = [a_pack(size=100, price=20.0), a_pack(size=250)]
    plan = plan_house(house, offers_of(house, packs, most_per_m2=2.0), risk=0.01)
    for day in {offer.day for offer in plan.offers}:
        units = sum(o.units * n for o, n in zip(plan.offers, plan.counts, strict=True) if o.day == day)
        # two per m² of 300 m², and at most one pack more for rounding up
        assert units <= 600 + 250


def test_a_fast_plan_tries_few_schedules_on_few_members():
    house = a_house()
    plan = plan_house(house, offers_of(house, [a_pack()]), risk=0.15, effort=FAST)
    assert plan.feasible
    assert plan.tried <= FAST.tried
    assert plan.judged == 0
