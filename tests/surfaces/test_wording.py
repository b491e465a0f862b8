"""What the pages and the sheet say beside the answer's own words."""

from __future__ import annotations

import copy
import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from outpace.surfaces import wording

AHEAD: dict[str, Any] = json.loads((Path(__file__).parent / "answers" / "ahead.json").read_text())


@pytest.mark.parametrize("offset", range(7))
def test_the_friday_spoken_of_lies_ahead_within_a_week(offset):
    day = date(2026, 4, 20) + timedelta(days=offset)
    friday = wording.coming_friday(day)
    assert friday.isoweekday() == 5
    assert 1 <= (friday - day).days <= 7


def test_what_would_be_news_by_friday_is_the_upper_end_of_the_band_of_that_day():
    band = next(d for d in AHEAD["pests"][0]["days"] if d["date"] == "2026-04-24")["aphids"]
    seen, then = wording.look_out(AHEAD)[0]
    assert seen == f"more than {band['q95']:.1f} live aphids per leaf by Fri 24 Apr (Macrosiphum euphorbiae)"
    assert "squash" in then


def test_before_mummies_can_show_their_absence_is_said_to_mean_nothing():
    answer = copy.deepcopy(AHEAD)
    answer["mummies_from"] = {"earliest": "2026-04-28", "latest": "2026-05-09"}
    pairs = dict(wording.look_out(answer))
    assert "proves nothing" in pairs["no mummies before Tue 28 Apr"]
    assert "lens" in pairs["no mummies by Sat 9 May"]


def test_a_date_that_has_passed_is_not_spoken_of():
    answer = copy.deepcopy(AHEAD)
    answer["mummies_from"] = {"earliest": "2026-04-01", "latest": "2026-04-10"}
    assert not any("mummies" in seen for seen, _ in wording.look_out(answer))


def test_the_binding_pest_is_the_one_of_the_verdict():
    answer = copy.deepcopy(AHEAD)
    other = {**answer["pests"][0], "pest": "myzus_persicae"}
    answer["pests"] = [other, answer["pests"][0]]
    bound = wording.binding_pest(answer)
    assert bound is not None
    assert bound["pest"] == "macrosiphum_euphorbiae"


def test_care_is_said_where_a_task_or_the_heat_asks_for_it_and_nowhere_else():
    quiet = {
        **AHEAD,
        "tasks": [{"day": "2026-04-21", "kind": "walk", "what": "Walk 20 plants"}],
        "heat_days": [],
    }
    assert wording.care(quiet) == []
    # Heat work from 27 °C in the crop: the project's own rule of care, common practice.
    hot = {**quiet, "heat_days": [{"date": "2026-04-22", "max": 27.0}]}
    assert any("early hours" in line for line in wording.care(hot))
    late = {**quiet, "heat_days": [{"date": "2026-05-02", "max": 35.0}]}
    assert wording.care(late) == []
    assert any("dust mask" in line for line in wording.care(AHEAD))


def test_no_chance_is_called_certain():
    assert "certain" not in {wording.likely(p / 100) for p in range(101)}
    assert wording.likely(1.0) == "almost surely"
