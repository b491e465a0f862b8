"""What earlier plans found is used again where all it rests on is the same, and changes no plan."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta

import pytest
from tests.season.tunnels import NOW, a_farm, a_pack

from outpace.planning import trials
from outpace.season import plan_asked
from outpace.season.plan import plan


@pytest.fixture
def runs(monkeypatch, tmp_path):
    """Names of the houses that are run, in a cache of their own."""
    monkeypatch.setattr(plan_asked, "JUDGES", 256)
    monkeypatch.setenv("OUTPACE_CACHE", str(tmp_path / "kept"))
    names, outcome = [], trials.outcome

    def counted(house, releases=()):
        names.append(house.name)
        return outcome(house, releases)

    monkeypatch.setattr(trials, "outcome", counted)
    return names


def a_book():
    """Return two tunnels of which each is held by some packs."""
    book = a_farm(2, level=22.0, infested=2)
    return replace(book, rows={**book.rows, "farm": (replace(book.rows["farm"][0], risk=0.5),)})


def planned(book, monkeypatch, folder=None):
    if folder is not None:
        monkeypatch.setenv("OUTPACE_CACHE", str(folder))
    return json.dumps(plan(book, others=False), sort_keys=True)


def walked_today(book, tunnel):
    """Return the book after one more walk in one tunnel, with a few more aphids."""
    last = next(walk for walk in book.rows["walks"] if walk.house == tunnel)
    line = next(line for line in book.rows["walk_lines"] if line.walk == last.walk)
    rows = {
        **book.rows,
        "walks": (*book.rows["walks"], replace(last, walk="today", time=NOW - timedelta(hours=1))),
        "walk_lines": (*book.rows["walk_lines"], replace(line, walk="today", infested=3, aphids_about=5)),
    }
    return replace(book, head="walked today", rows=rows)


def test_after_a_walk_in_one_house_the_others_run_little_and_the_plan_is_the_one_worked_out_anew(
    runs, monkeypatch, tmp_path
):
    book = a_book()
    first = planned(book, monkeypatch)
    assert json.loads(first)["decisions"]
    assert set(runs) == {"tunnel 1", "tunnel 2"}
    before = runs.count("tunnel 2")
    runs.clear()
    after = planned(walked_today(book, "tunnel 1"), monkeypatch)
    assert after != first
    assert runs.count("tunnel 1") > before / 4
    assert runs.count("tunnel 2") < before / 4
    assert after == planned(walked_today(book, "tunnel 1"), monkeypatch, tmp_path / "anew")


def test_another_price_runs_less_and_gives_the_plan_worked_out_anew(runs, monkeypatch, tmp_path):
    book = a_book()
    assert json.loads(planned(book, monkeypatch))["decisions"]
    before = len(runs)
    dearer = replace(book, head="dearer", rows={**book.rows, "packs": (a_pack(price=75.0),)})
    runs.clear()
    with_kept = planned(dearer, monkeypatch)
    assert len(runs) < before / 4
    assert with_kept == planned(dearer, monkeypatch, tmp_path / "anew")
