"""The fewest animals that still hold a house."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.planning.houses import a_house, a_pack, offers_of

from outpace.planning.house_outlook import outcome
from outpace.planning.least_numbers import STEPS_PER_PACK, chance_of, least_numbers
from outpace.planning.release_plan import plan_house, releases_of

RISK = 0.15


@pytest.fixture(scope="module")
def planned():
    house = a_house()
    plan = plan_house(house, offers_of(house, [a_pack(size=2000)], days=(2,)), risk=RISK)
    assert plan.feasible
    assert sum(plan.counts) >= 1
    return plan


def test_less_than_a_pack_is_found_by_trying_every_twentieth(planned):
    # All steps up to the whole packs, each tried on the same members: no search involved.
    steps = range(1, planned.counts[0] * STEPS_PER_PACK + 1)
    enough = [
        step / STEPS_PER_PACK
        for step in steps
        if outcome(
            planned.house, releases_of(planned.house, planned.offers, [step / STEPS_PER_PACK])
        ).chance_from(planned.first_day)
        <= RISK
    ]
    assert least_numbers(planned, RISK) == (min(enough),)
    assert min(enough) < planned.counts[0]


def test_what_is_found_holds_the_house_on_all_members(planned):
    assert chance_of(planned, least_numbers(planned, RISK)) <= RISK


def test_no_number_is_below_the_least_units_of_an_offer(planned):
    (offer,) = planned.offers
    floor = replace(planned, offers=(replace(offer, least_units=0.9 * offer.units),))
    assert least_numbers(floor, RISK)[0] == pytest.approx(max(0.9, least_numbers(planned, RISK)[0]))


def test_where_the_whole_packs_do_not_hold_they_are_kept(planned):
    assert least_numbers(planned, 0.0) == planned.counts
