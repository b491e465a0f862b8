"""Text for people: 80 columns, one sentence first, figures with units, nothing that fools a terminal."""

from __future__ import annotations

import copy
import json
import re
from pathlib import Path

import pytest

from outpace.surfaces.text import (
    ahead,
    arrival,
    audit,
    band_chart,
    facts,
    lag,
    no_finds,
    order,
    page,
    plan,
    review,
    trace,
    walk_plan,
    walk_round,
    week,
)

ANSWERS = Path(__file__).parents[1] / "answers"
RENDERERS = {
    "arrival": lambda answer: arrival.render(answer, whole=True, sources=True),
    "ahead": lambda answer: ahead.render(answer, sources=True),
    "audit": audit.render,
    "facts": facts.render,
    "lag": lambda answer: lag.render(answer, sources=True),
    "nofinds": no_finds.render,
    "order": order.render,
    "plan": lambda answer: plan.render(answer, others=True, sources=True),
    "review": lambda answer: review.render(answer, cases=True),
    "trace": lambda answer: trace.render(answer, whole=True),
    "walkplan": lambda answer: walk_plan.render(answer, whole=True),
    "walkround": walk_round.render,
    "week": week.render,
}
DECIDING = [name for name in RENDERERS if name != "facts"]


def example(name):
    return json.loads((ANSWERS / f"{name}.json").read_text(encoding="utf-8"))


def renamed(answer, old, new):
    return json.loads(json.dumps(answer).replace(json.dumps(old)[1:-1], json.dumps(new)[1:-1]))


@pytest.mark.parametrize("name", RENDERERS)
def test_no_line_is_longer_than_80_columns(name):
    too_long = [line for line in RENDERERS[name](example(name)).splitlines() if len(line) > 80]
    assert too_long == []


@pytest.mark.parametrize("name", DECIDING)
def test_long_names_do_not_break_the_page_either(name):
    answer = example(name)
    for short in ("south", "lettuce tunnel", "example cove", "Invented Supply Two"):
        answer = renamed(answer, short, short + " " + "unbroken" * 15)
    too_long = [line for line in RENDERERS[name](answer).splitlines() if len(line) > 80]
    assert too_long == []


@pytest.mark.parametrize("name", DECIDING)
def test_the_first_sentence_holds_one_day_and_a_number(name):
    text = RENDERERS[name](example(name))
    first = " ".join(text.split("\n\n")[0].split())
    assert re.search(r"(Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d+ [A-Z][a-z]{2}", first)
    without_day = re.sub(r"(Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d+ [A-Z][a-z]{2}|\d\d:\d\d", "", first)
    assert re.search(r"\d", without_day)
    assert first.endswith(".")


@pytest.mark.parametrize("name", RENDERERS)
def test_no_control_character_of_a_name_reaches_the_terminal(name):
    answer = renamed(example(name), "south", "so\u001b[2Juth\u202e")
    text = RENDERERS[name](answer)
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f\u202a-\u202e]", text)


@pytest.mark.parametrize("name", RENDERERS)
def test_words_that_promise_or_blame_too_much_are_absent(name):
    # Source: vocabulary of the trade, words to avoid (common practice).
    text = RENDERERS[name](example(name)).lower()
    for word in ("parasite ", "good bugs", "hatched", "eradicated", "aphid-free", "safe pesticide", "soon"):
        assert word not in text


def test_a_stale_house_shows_no_chance_but_its_task():
    text = week.render(example("week"))
    block = text.split("lettuce tunnel (lettuce")[1]
    assert "No verdict" in block
    assert "chance" not in block
    assert "Walk 10 plants" in block


def test_an_answer_without_verdict_says_so_in_words():
    answer = example("ahead")
    answer["verdict"] = {
        "word": None,
        "stays_below": None,
        "ends_well": None,
        "horizon_d": None,
        "reasons": [],
    }
    answer["stale"] = {"days": 12, "times_grown": 9.0, "message": "Last walked 12 days ago: no forecast."}
    answer["pests"] = []
    text = ahead.render(answer)
    assert "No verdict: Last walked 12 days ago: no forecast." in text
    assert "Chance" not in text


def test_each_verdict_reason_is_printed():
    answer = example("ahead")
    text = " ".join(ahead.render(answer).split())
    for reason in answer["verdict"]["reasons"]:
        assert reason in text


def test_days_beyond_the_scenario_date_carry_a_question_mark_and_the_others_none():
    answer = example("ahead")
    rows = band_chart.chart([], answer["pests"][0]["days"], 1.0, answer["scenario_from"])[1:]
    shown = answer["pests"][0]["days"][::2]
    for row, day in zip(rows, shown, strict=True):
        assert ("?" in row) == (day["date"] >= answer["scenario_from"])


def test_the_chart_puts_larger_medians_further_right_and_the_level_in_one_column():
    days = [
        {"date": f"2026-04-{n:02}", "aphids": {"q05": n, "q25": n, "q50": n, "q75": n, "q95": 4 * n}}
        for n in range(10, 30)
    ]
    rows = band_chart.chart([], days, 2.0, None)[1:]
    middles = [row.index("●") for row in rows]
    assert middles == sorted(middles)
    assert len(set(middles)) > 4
    assert len({row.index("¦") for row in rows}) == 1


@pytest.mark.parametrize("top", [0.02, 1.0, 37.0, 5e6])
def test_the_chart_scale_keeps_order_and_its_ends(top):
    scale = band_chart.Scale(top, top / 10)
    places = [scale.at(top * step / 100) for step in range(101)]
    assert places == sorted(places)
    assert (places[0], places[-1]) == (0, band_chart.ROOM - 1)
    assert len(scale.ruler()) <= page.WIDTH


def test_an_empty_week_says_do_nothing():
    answer = example("week")
    for house in answer["houses"]:
        house["tasks"] = []
    assert week.render(answer).startswith("Do nothing on Mon 20 Apr: 0 tasks are due.")


def test_a_plan_without_purchase_says_what_to_do_by_hand_first():
    answer = example("plan")
    answer["decisions"] = []
    assert plan.render(answer).startswith("Act by hand on Mon 20 Apr: no release plan holds lettuce tunnel")
    answer["infeasible"] = []
    assert plan.render(answer).startswith("Buy nothing on Mon 20 Apr: 0 packs are due")


def test_provisional_packs_are_called_provisional():
    text = " ".join(plan.render(example("plan")).split())
    assert text.count("provisional") == 1
    assert (
        text.index("Thu 23 Apr", text.index("Buy now")) < text.index("provisional") < text.index("Thu 30 Apr")
    )


def test_the_messages_of_an_order_are_only_the_firm_ones():
    answer = example("order")
    later = copy.deepcopy(answer["orders"][0])
    later |= {"provisional": True, "text": "later"}
    answer["orders"].append(later)
    assert order.messages(answer) == answer["orders"][0]["text"]


def test_a_wrong_lag_match_without_mummies_still_renders():
    answer = example("lag")
    for part in ("first_mummies", "absence_means_something", "first_look", "next_brood"):
        answer[part] = None
    for part in ("doublings_until_next_brood", "times_until_next_brood"):
        answer[part] = None
    answer["host_match"] = {"level": 0, "words": "does not accept this aphid", "source": "Doe2001, p. 12"}
    text = lag.render(answer)
    assert "does not accept this aphid" in text
    assert "first mummies" not in text
