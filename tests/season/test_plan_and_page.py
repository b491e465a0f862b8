"""The plan and the page that looks ahead speak of one house: what nothing more would lead to has one chance on both."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from tests.season.test_plan_and_sprays import FARM, HOUSE, NOW, snapshot

from outpace.estimation.forecast import look_ahead
from outpace.planning.house_outlook import outcome
from outpace.season.outlook import for_planning, outlook
from outpace.terms.place import ActionLevel

DAYS = 28


def a_book():
    """Return a book of a house with a level, walked yesterday."""
    known = snapshot()
    level = ActionLevel(
        farm=FARM.farm,
        house=HOUSE.house,
        pest="myzus_persicae",
        level=1.0,
        unit="leaf",
        since=(NOW - timedelta(days=9)).date(),
    )
    return replace(known, rows={**known.rows, "action_levels": (level,)})


def test_the_planner_gives_nothing_more_the_chance_of_the_page_that_looks_ahead():
    found = outlook(a_book(), FARM, HOUSE, members=256)
    case = found.case
    bands = look_ahead(
        found.posterior, case.model, case.temperature.hours, case.let_go.releases, case.sprays, DAYS
    )
    done = outcome(for_planning(found, DAYS))
    (level,) = case.levels
    for first in (0, 2, 9):
        on_page = bands.chance_ever_above(
            level.value, 0, unit=level.unit, from_day=case.today + first, to_day=case.today + DAYS
        )
        assert 0 < on_page < 1
        assert done.chance_from(first) == pytest.approx(on_page, abs=1 / 256)


def test_what_no_equation_has_widens_what_the_planner_sees():
    house = for_planning(outlook(a_book(), FARM, HOUSE, members=256), DAYS)
    moved, alone = outcome(house).times_limit, outcome(replace(house, ways=None)).times_limit
    assert (moved[0] == alone[0]).all()
    weeks = DAYS / 7
    # Random walk of 0.3 per square root of a week, the fact's value: after four weeks its logs spread by 0.6.
    spread = (moved[-1] / alone[-1])[alone[-1] > 0]
    assert np.log(spread).std() == pytest.approx(0.3 * weeks**0.5, rel=0.15)
