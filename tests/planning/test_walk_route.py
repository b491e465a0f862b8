from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from outpace.planning.walk_route import EDGE, SAMPLE, blocks, passes


@given(
    plants=st.lists(st.integers(1, 400), min_size=1, max_size=6),
    rows=st.integers(1, 30),
    most=st.integers(1, 80),
    by_pass=st.integers(1, 20),
    edge=st.floats(1.0, 3.0),
    seed=st.integers(0, 10_000),
)
@settings(max_examples=60, deadline=None)
def test_every_plant_of_the_way_exists_and_none_is_sampled_twice(plants, rows, most, by_pass, edge, seed):
    house = blocks([(f"z{n}", number, n == 0) for n, number in enumerate(plants)], rows)
    found = passes(house, most=most, by_pass=by_pass, edge_looks=edge, seed=seed)
    sample = [look for looks in found for look in looks if look.kind == SAMPLE]
    assert len(sample) == min(most, sum(plants))
    assert [look.number for look in sample] == list(range(1, len(sample) + 1))
    assert len({(look.zone, look.row, look.plant) for look in sample}) == len(sample)
    where = {block.zone: block for block in house}
    for look in sample:
        block = where[look.zone]
        number = (look.row - block.first_row) * block.per_row + look.plant - 1
        assert 0 <= number < block.plants
        assert 1 <= look.plant <= block.per_row
    assert all(look.number == 0 for looks in found for look in looks if look.kind == EDGE)


def test_a_pass_goes_row_by_row_and_the_next_comes_back():
    found = passes(blocks([("north", 300, False), ("south", 300, False)], 12), most=40, by_pass=10, seed=3)
    rows = [[look.row for look in looks] for looks in found]
    assert rows[0] == sorted(rows[0])
    assert rows[1] == sorted(rows[1], reverse=True)
    for looks in found:
        assert {look.zone for look in looks} == {"north", "south"}
        for one, two in pairwise(looks):
            if one.row == two.row:
                forward = (one.row % 2 == 1) == (looks is found[0] or looks is found[2])
                assert (two.plant > one.plant) == forward


def test_zones_get_looks_in_proportion_to_their_plants():
    house = blocks([("small", 100, False), ("large", 300, False)], 8)
    found = passes(house, most=40, by_pass=10, seed=1)
    here = [look.zone for looks in found for look in looks]
    assert here.count("small") == 10


def test_every_plant_is_as_likely_to_be_looked_at():
    house = blocks([("a", 30, False), ("b", 20, False)], 5)
    times = dict.fromkeys(((b.zone, *b.place(n)) for b in house for n in range(b.plants)), 0)
    for seed in range(3000):
        for look in passes(house, most=5, by_pass=5, seed=seed)[0]:
            times[(look.zone, look.row, look.plant)] += 1
    share = np.array(list(times.values())) / 3000
    # five of fifty: .1 each, with a standard error of .0055
    assert share == pytest.approx(np.full(50, 0.1), abs=0.025)


def test_what_is_looked_at_more_at_the_door_comes_on_top_and_only_there():
    house = blocks([("door", 200, True), ("back", 200, False)], 8)
    found = passes(house, most=40, by_pass=10, edge_looks=2.0, seed=5)
    extra = [look for looks in found for look in looks if look.kind == EDGE]
    assert {look.zone for look in extra} == {"door"}
    assert len(extra) == 20
    assert [
        look for looks in passes(house, most=40, by_pass=10, seed=5) for look in looks if look.kind == EDGE
    ] == []


def test_the_same_number_gives_the_same_plants_and_another_others():
    house = blocks([("whole house", 500, False)], 10)
    first = passes(house, most=20, by_pass=10, seed=1)
    assert passes(house, most=20, by_pass=10, seed=1) == first
    assert passes(house, most=20, by_pass=10, seed=2) != first


def test_impossible_ways_are_refused():
    with pytest.raises(ValueError, match="zones"):
        blocks([], 4)
    with pytest.raises(ValueError, match="edge"):
        passes(blocks([("a", 10, False)], 2), most=5, by_pass=5, edge_looks=0.5)
