"""Charts, read back as XML and measured."""

from __future__ import annotations

import copy
import itertools
import json
import re
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from outpace.surfaces import chart_series, charts
from outpace.surfaces.marks import level_strip
from outpace.surfaces.svg import Scale

AHEAD: dict[str, Any] = json.loads((Path(__file__).parent / "answers" / "ahead.json").read_text())
SVG = "{http://www.w3.org/2000/svg}"


def drawn(answer: dict[str, Any], kind: chart_series.Kind = "aphids", size: charts.Size = charts.WIDE) -> str:
    return charts.outlook(answer, answer["pests"][0], kind=kind, size=size, ident="t")


def parts(svg: str, name: str, css: str) -> list[ElementTree.Element]:
    root = ElementTree.fromstring(svg)
    return [e for e in root.iter(f"{SVG}{name}") if css in (e.get("class") or "").split()]


def points(element: ElementTree.Element) -> list[tuple[float, float]]:
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", element.get("points") or "")]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def test_a_walk_that_found_the_level_stands_on_the_line_of_the_level():
    answer = copy.deepcopy(AHEAD)
    answer["walks"] = [{**answer["walks"][-1], "mean": 1.0, "low": 0.5, "high": 2.0}]
    svg = drawn(answer)
    (dot,), (level,) = parts(svg, "circle", "walk"), parts(svg, "line", "level")
    assert float(dot.get("cy", "nan")) == pytest.approx(float(level.get("y1", "inf")), abs=0.11)


def test_the_middle_runs_inside_the_narrow_band_and_that_inside_the_wide_one():
    svg = drawn(AHEAD)
    middle = points(parts(svg, "polyline", "middle")[-1])
    half = points(parts(svg, "polygon", "band-50")[-1])
    most = points(parts(svg, "polygon", "band-90")[-1])
    days = len(AHEAD["pests"][0]["days"])
    assert len(middle) == days
    for n in range(days):
        # Heights count downwards: the upper edge has the smaller number.
        heights = (most[n][1], half[n][1], middle[n][1], half[-1 - n][1], most[-1 - n][1])
        assert list(heights) == sorted(heights)


def test_days_stand_at_equal_steps_and_today_between_past_and_forecast():
    svg = drawn(AHEAD)
    across = [x for x, _ in points(parts(svg, "polyline", "middle")[-1])]
    steps = [b - a for a, b in itertools.pairwise(across)]
    assert steps == pytest.approx([steps[0]] * len(steps), abs=0.11)
    (today,) = parts(svg, "line", "today")
    assert float(today.get("x1", "nan")) == pytest.approx(across[0], abs=0.11)


def test_hot_days_the_scenario_and_releases_are_marked():
    svg = drawn(AHEAD)
    assert len(parts(svg, "rect", "heat")) == len(AHEAD["heat_days"])
    assert len(parts(svg, "rect", "scenario")) == 1
    assert len(parts(svg, "polygon", "release")) == len(AHEAD["releases"])


@pytest.mark.parametrize("size", [charts.PRINT, charts.NARROW, charts.WIDE])
@pytest.mark.parametrize("days", [-1, 0, 1])
def test_today_and_a_release_of_about_today_do_not_lie_over_each_other(days, size):
    day = date.fromisoformat(AHEAD["as_of"][:10]) + timedelta(days=days)
    answer = {**AHEAD, "releases": [{**AHEAD["releases"][0], "date": day.isoformat()}]}
    svg = drawn(answer, size=size)
    small = {e.text: float(e.get("y", "nan")) for e in parts(svg, "text", "small")}
    # Letters of the small size are no larger than the text: their capitals rise by 0.7 of it, tails fall by 0.2.
    assert small["today"] + 0.2 * 0.85 * size.text <= small["R1"] - 0.6 * 0.85 * size.text
    assert small["today"] - 0.8 * 0.85 * size.text >= 0
    (far,) = parts(drawn({**AHEAD, "releases": []}, size=size), "line", "today")
    assert float(far.get("y1", "nan")) > small["today"]


def test_a_release_to_come_is_drawn_hollow():
    answer = copy.deepcopy(AHEAD)
    answer["releases"].append({**answer["releases"][0], "date": "2026-04-23"})
    assert len(parts(drawn(answer), "polygon", "planned")) == 1


def test_hunted_walks_look_unlike_counted_ones():
    answer = copy.deepcopy(AHEAD)
    answer["walks"][-1]["hunted"] = True
    svg = drawn(answer)
    assert len(parts(svg, "path", "hunted")) == 1
    assert len(parts(svg, "circle", "walk")) == len(answer["walks"]) - 1


def test_the_drawing_tells_its_content_in_words():
    root = ElementTree.fromstring(drawn(AHEAD))
    told = {e.get("id"): e.text for e in root if e.tag in (f"{SVG}title", f"{SVG}desc")}
    title, described = (told[name] for name in (root.get("aria-labelledby") or "").split())
    assert root.get("role") == "img"
    assert title == "Live aphids per leaf, Macrosiphum euphorbiae"
    assert "Mon 20 Apr: 2.1, nine in ten between 1.4 and 3.2." in str(described)
    assert "Your level is 1." in str(described)


@pytest.mark.parametrize("kind", ["aphids", "mummies"])
@pytest.mark.parametrize("size", [charts.WIDE, charts.NARROW, charts.PRINT])
def test_no_letter_leaves_the_drawing_and_no_style_or_script_is_in_it(kind, size):
    svg = drawn(AHEAD, kind, size)
    assert "style=" not in svg
    assert "<script" not in svg
    for text in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        assert 0 <= float(text.get("x", "nan")) <= size.width
        assert 0 < float(text.get("y", "nan")) <= size.height


def test_names_that_people_wrote_cannot_open_a_tag():
    answer = copy.deepcopy(AHEAD)
    answer["pests"][0]["pest"] = '<script>alert("1")</script>'
    svg = drawn(answer)
    assert "<script" not in svg
    ElementTree.fromstring(svg)


def test_a_house_without_forecast_still_shows_its_walks():
    answer = copy.deepcopy(AHEAD)
    answer["pests"][0]["days"], answer["past"] = [], []
    svg = drawn(answer)
    assert len(parts(svg, "circle", "walk")) == 3
    assert parts(svg, "polygon", "band-90") == []


def test_nothing_to_show_draws_nothing():
    answer = {**copy.deepcopy(AHEAD), "walks": [], "past": [], "releases": []}
    answer["pests"][0]["days"] = []
    assert drawn(answer) == ""


def test_a_forecast_of_nothing_but_zeros_can_be_drawn():
    answer = copy.deepcopy(AHEAD)
    zero = {"q05": 0.0, "q25": 0.0, "q50": 0.0, "q75": 0.0, "q95": 0.0}
    for day in answer["pests"][0]["days"]:
        day["aphids"], day["mummies_closed"] = zero, zero
    answer["walks"], answer["past"] = [], []
    answer["pests"][0]["action_level"] = None
    ElementTree.fromstring(drawn(answer))
    assert drawn(answer, "mummies") == ""


def test_without_a_forecast_nothing_runs_on_after_the_last_walk():
    answer = {**copy.deepcopy(AHEAD), "pests": []}
    (counted,) = chart_series.pests_of(answer)
    svg = charts.outlook(answer, counted, kind="aphids", size=charts.WIDE, ident="t")
    last_dot = max(float(dot.get("cx", "nan")) for dot in parts(svg, "circle", "walk"))
    right_edge = max(x for band in parts(svg, "polygon", "past") for x, _ in points(band))
    assert right_edge == pytest.approx(last_dot, abs=0.11)
    assert len(parts(svg, "line", "today")) == 0 or right_edge < float(
        parts(svg, "line", "today")[0].get("x1", 0)
    )


def test_aphids_and_mummies_stand_on_one_time_axis():
    where = [
        [
            (float(text.get("x", "nan")), text.text)
            for text in ElementTree.fromstring(drawn(AHEAD, kind)).iter(f"{SVG}text")
            if str(text.text).endswith((" Apr", " May"))
        ]
        for kind in ("aphids", "mummies")
    ]
    assert where[0] == where[1]
    assert len(where[0]) >= 5


def test_a_zone_without_its_own_past_shows_that_of_its_house_and_says_so():
    answer = copy.deepcopy(AHEAD)
    answer["pests"][0]["zone"] = "north bay"
    assert chart_series.tells_of_house(answer, answer["pests"][0])
    assert len(parts(drawn(answer), "polygon", "past")) == 2
    assert not chart_series.tells_of_house(AHEAD, AHEAD["pests"][0])


@given(
    top=st.floats(1e-3, 1e6),
    bend=st.floats(1e-3, 1e4),
    low=st.floats(0, 1),
    high=st.floats(0, 1),
)
def test_a_larger_value_never_stands_lower(top, bend, low, high):
    scale = Scale(top, bend)
    small, large = sorted((low * top, high * top))
    assert 0.0 <= scale.share(small) <= scale.share(large) <= 1.0 + 1e-12


@given(top=st.floats(1e-3, 1e6), bend=st.floats(1e-3, 1e4))
def test_lines_of_the_scale_keep_their_distance_and_stay_inside(top, bend):
    scale = Scale(top, bend)
    marks = scale.marks(0.12)
    shares = [scale.share(mark) for mark in marks]
    assert marks[0] == 0.0
    assert marks[-1] <= top * (1 + 1e-9)
    assert all(b - a >= 0.12 - 1e-9 for a, b in itertools.pairwise(shares))
    assert len(marks) <= 10


def test_the_small_line_puts_the_level_where_the_count_would_be_at_the_level():
    svg = level_strip({"mean": 1.0, "low": 0.5, "high": 2.0}, 1.0, ident="s")
    (dot,), (level,) = parts(svg, "circle", "walk"), parts(svg, "line", "level")
    assert float(dot.get("cx", "nan")) == pytest.approx(float(level.get("x1", "inf")), abs=0.11)
