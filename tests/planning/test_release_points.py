"""Where to let go: both views of reach, points that are worth hanging, and a carrier that is not even."""

from __future__ import annotations

from dataclasses import replace
from math import comb, hypot

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from outpace.facts.table import load
from outpace.planning.release_points import (
    DOOR,
    HOT_SPOT,
    VENT,
    Mark,
    Plot,
    lay_out,
    reaches,
    rules_of,
    split,
    spread_of,
    usual_points,
)

WASP = "aphidius_colemani"
FAR, NEAR = reaches(load(), WASP)
RULES = rules_of(load(), WASP)
TUNNEL = Plot("all", 40.0, 8.0)


def test_both_published_views_are_shown_each_with_its_source():
    # Source: Langhof et al. 2005, abstract: at least 16 m in 24 h (read); an extension note of 2009: 3.2 to 6.5 ft.
    assert (FAR.view, FAR.metres, FAR.fact.source, FAR.fact.evidence) == ("far", 16.0, "Langhof2005", "read")
    assert (NEAR.fact.low, NEAR.fact.high) == (1.0, 2.0)
    assert (NEAR.view, NEAR.fact.source) == ("near", "DelawareExtension2009")
    assert NEAR.fact.low == pytest.approx(3.2 * 0.3048, abs=0.03)
    assert NEAR.fact.high == pytest.approx(6.5 * 0.3048, abs=0.03)


def test_the_far_view_needs_few_points_and_reaches_all_of_a_tunnel():
    # By hand: two points at 10 and 30 m of 40; a corner is hypot(10, 4) = 10.8 m away, within 16; one point would
    # leave the corners hypot(20, 4) = 20.4 m away.
    layout = lay_out([TUNNEL], [], 1000, FAR, RULES)
    assert [(point.along_m, point.across_m, point.number) for point in layout.points] == [
        (10.0, 4.0, 500),
        (30.0, 4.0, 500),
    ]
    assert layout.wanted == 2
    assert layout.covered == 1.0
    assert layout.walk_m == pytest.approx(20.0)


def test_the_near_view_hangs_as_many_points_as_the_insects_allow_and_says_what_is_left():
    layout = lay_out([TUNNEL], [], 1000, NEAR, RULES)
    # 1000 insects at no fewer than 20 a point (practice) are 50 points at most.
    assert 40 <= len(layout.points) <= 50
    assert min(point.number for point in layout.points) >= 20
    # By hand: circles of 1.5 m that do not overlap cover 7.07 m² each, of 320 m².
    assert layout.covered <= 50 * 3.1416 * 1.5**2 / 320 + 0.01
    assert layout.covered > 0.7
    # Squares in such circles have sides of 2.12 m: 19 along, 4 across.
    assert layout.wanted <= 19 * 4


def test_what_all_in_reach_asks_for_is_reached_when_the_insects_are_there():
    layout = lay_out([TUNNEL], [], 100_000, NEAR, RULES)
    assert len(layout.points) == layout.wanted
    assert layout.covered == 1.0


def test_doors_vents_and_hot_spots_get_a_point_of_their_own_and_more_at_it():
    marks = [Mark("all", DOOR, 0.0, 4.0), Mark("all", VENT, 20.0, 8.0), Mark("all", HOT_SPOT, 33.0, 2.0)]
    layout = lay_out([TUNNEL], marks, 1100, FAR, RULES)
    number = {(point.kind, point.along_m): point.number for point in layout.points}
    # By hand: 2 plain points and 3 marks at 3 times (practice, 2 to 5) are 11 parts of 100.
    assert number == {
        ("door", 0.0): 300,
        ("vent", 20.0): 300,
        ("hot spot", 33.0): 300,
        ("plain", 10.0): 100,
        ("plain", 30.0): 100,
    }
    assert layout.left_out == ()


def test_with_few_insects_the_hot_spot_keeps_its_point_and_the_rest_is_told():
    marks = [Mark("all", VENT, 20.0, 8.0), Mark("all", HOT_SPOT, 33.0, 2.0)]
    layout = lay_out([TUNNEL], marks, 80, FAR, RULES)
    assert [(point.kind, point.number) for point in layout.points] == [("plain", 20), ("hot spot", 60)]
    assert layout.left_out == (marks[0],)
    assert not layout.too_few


def test_fewer_insects_than_one_point_should_get_are_let_go_at_one_point_and_said():
    layout = lay_out([TUNNEL], [Mark("all", DOOR, 0.0, 4.0)], 15, NEAR, RULES)
    assert [(point.number, point.along_m, point.across_m) for point in layout.points] == [(15, 20.0, 4.0)]
    assert layout.too_few


def test_the_walk_goes_up_one_lane_and_down_the_next():
    layout = lay_out([Plot("all", 60.0, 60.0)], [], 10_000, FAR, RULES)
    lanes = sorted({point.across_m for point in layout.points})
    assert len(lanes) > 1
    for number, across in enumerate(lanes):
        lane = [point.along_m for point in layout.points if point.across_m == across]
        assert lane == sorted(lane, reverse=number % 2 == 1)
    assert [point.no for point in layout.points] == list(range(1, len(layout.points) + 1))
    # Never longer than walking every lane and once across.
    assert layout.walk_m <= len(lanes) * 60.0 + 60.0


def test_zones_share_by_area_and_every_zone_has_a_point():
    plots = [Plot("east", 30.0, 8.0), Plot("west", 10.0, 8.0)]
    layout = lay_out(plots, [], 400, FAR, RULES)
    got = {zone: sum(p.number for p in layout.points if p.zone == zone) for zone in ("east", "west")}
    assert got == {"east": 300, "west": 100}


def test_the_trade_comes_to_between_one_point_a_hundred_and_a_point_every_ten_metres():
    # Source: common practice: every 10 to 20 m, or one for 50 to 100 m². By hand for 40 x 8 m:
    # 320 / 100 = 3 to 320 / 50 = 6 by area; 2 x 1 to 4 x 1 by distance.
    assert usual_points(TUNNEL, RULES) == (2, 6)
    with pytest.raises(ValueError, match="no range"):
        usual_points(TUNNEL, replace(RULES, area=replace(RULES.area, low=None, high=None)))


def test_what_lies_in_a_part_of_the_carrier_is_a_binomial_count():
    number, meant = 60, 12
    low, high = spread_of(number, meant)
    # The binomial chances themselves, summed term by term; shares no code with the quantiles under test.
    share = meant / number
    chance = [comb(number, k) * share**k * (1 - share) ** (number - k) for k in range(number + 1)]
    assert sum(chance[:low]) < 0.025 <= sum(chance[: low + 1])
    assert sum(chance[:high]) < 0.975 <= sum(chance[: high + 1])


def test_the_carrier_is_parted_as_the_insects_are():
    layout = lay_out([TUNNEL], [], 1000, FAR, RULES, carrier=250.0)
    assert [point.carrier for point in layout.points] == [125.0, 125.0]
    (first, _) = layout.points
    # Half of 1000: standard deviation of the binomial is the square root of 250, 15.8; 1.96 of them are 31.
    assert (first.low, first.high) == (469, 531)
    assert lay_out([TUNNEL], [], 1000, FAR, RULES).points[0].carrier is None


def test_a_mark_outside_its_zone_or_a_house_without_insects_is_refused():
    with pytest.raises(ValueError, match="outside"):
        lay_out([TUNNEL], [Mark("all", DOOR, 41.0, 4.0)], 500, FAR, RULES)
    with pytest.raises(ValueError, match="kinds"):
        lay_out([TUNNEL], [Mark("other", DOOR, 1.0, 4.0)], 500, FAR, RULES)
    with pytest.raises(ValueError, match="above zero"):
        lay_out([TUNNEL], [], 0, FAR, RULES)


def test_a_zone_whose_sides_were_not_told_is_taken_as_a_square():
    assert Plot.of_area("all", 400.0) == Plot("all", 20.0, 20.0)


@settings(max_examples=60, deadline=None)
@given(
    number=st.integers(1, 6000),
    length=st.floats(3, 120),
    width=st.floats(3, 60),
    marks=st.lists(
        st.tuples(st.sampled_from((DOOR, VENT, HOT_SPOT)), st.floats(0, 1), st.floats(0, 1)), max_size=4
    ),
    view=st.sampled_from((FAR, NEAR)),
)
def test_numbers_add_up_and_no_point_has_fewer_than_the_least(number, length, width, marks, view):
    placed = [Mark("all", kind, along * length, across * width) for kind, along, across in marks]
    layout = lay_out([Plot("all", length, width)], placed, number, view, RULES, carrier=1.0)
    assert sum(point.number for point in layout.points) == number
    assert layout.too_few == any(point.number < 20 for point in layout.points)
    assert layout.too_few == (number < 20)
    assert sum(point.carrier for point in layout.points) == pytest.approx(1.0)
    assert sum(point.kind != "plain" for point in layout.points) + len(layout.left_out) == len(placed)
    plain = [point.number for point in layout.points if point.kind == "plain"]
    more = [point.number for point in layout.points if point.kind != "plain"]
    assert plain
    assert not more or min(more) >= max(plain)
    assert all(0 <= p.along_m <= length and 0 <= p.across_m <= width for p in layout.points)
    assert all(p.low <= p.number <= p.high for p in layout.points)
    if len(plain) >= layout.wanted:
        spots = [(p.along_m, p.across_m) for p in layout.points]
        for corner in ((0.0, 0.0), (length, 0.0), (0.0, width), (length, width)):
            nearest = min(hypot(x - corner[0], y - corner[1]) for x, y in spots)
            assert nearest <= view.metres * (1 + 1e-9)


@given(st.integers(0, 10_000), st.lists(st.floats(0.1, 50), min_size=1, max_size=12))
def test_parts_add_up_and_lie_within_one_of_their_share(number, weights):
    parts = split(number, weights)
    assert sum(parts) == number
    for part, weight in zip(parts, weights, strict=True):
        assert abs(part - number * weight / sum(weights)) < 1 + 1e-6
