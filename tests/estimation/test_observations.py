from __future__ import annotations

import numpy as np
import pytest

from outpace.estimation.observations import (
    LineSeen,
    WalkBuilder,
    WalkSeen,
    interval_of,
    middle_of,
    of_enemies_by_colour,
)
from outpace.terms.scouting import COUNT_CLASSES


@pytest.mark.parametrize("written", [*COUNT_CLASSES, "0", "12"])
def test_every_way_to_write_a_count_is_an_interval(written):
    low, high = interval_of(written)
    assert 0 <= low <= high


def test_a_negative_count_is_refused():
    with pytest.raises(ValueError, match="below 0"):
        interval_of("-3")


def test_the_middle_of_an_interval_lies_in_it():
    low, high = np.array([0.0, 4.0, 101.0, 7.0]), np.array([0.0, 10.0, np.inf, 7.0])
    middle = middle_of(low, high)
    assert np.all((middle >= low) & (middle <= high))


def test_what_was_not_told_stays_not_looked_at_and_is_no_zero():
    told = WalkBuilder(3.4, "leaf", "random", 2, ((0,), (1,)))
    told.add({0: (2.0, 2.0)}, zone=0, plant=5, mummies={0: (1.0, np.nan)})
    told.add({0: (0.0, 0.0)}, zone=0)
    seen = told.seen()
    assert (seen.looked_at(0), seen.looked_at(1), seen.found(0)) == (2, 0, 1)
    assert len(seen.mummies) == 1
    assert np.isnan(seen.mummies[0].closed[1])
    assert seen.plant[0] != seen.plant[1]


def test_mummies_of_one_colour_stand_for_all_enemies_that_leave_it():
    assert of_enemies_by_colour(["tan", "black", "tan", ""]) == {"tan": (0, 2), "black": (1,)}


def test_numbers_that_cannot_be_are_refused():
    with pytest.raises(ValueError, match="cannot be"):
        LineSeen(0.0, 0, looked_at=5, infested=6)
    zone = np.zeros(1, dtype=np.int64)
    with pytest.raises(ValueError, match="upper end"):
        WalkSeen(0.0, "leaf", "random", zone, zone, np.array([[5.0]]), np.array([[4.0]]))
    with pytest.raises(ValueError, match="none of"):
        WalkSeen(0.0, "bush", "random", zone, zone, np.array([[5.0]]), np.array([[5.0]]))
