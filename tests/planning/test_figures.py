"""A plan with the figures of an earlier one is the plan worked out anew, and runs nothing that was run before."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from tests.planning.houses import a_house, a_pack, offers_of

from outpace.planning import trials
from outpace.planning.candidate_house import Asked
from outpace.planning.effort import Effort
from outpace.planning.farm_plan import plan_farm
from outpace.planning.figures import MOST_KEPT, Figures
from outpace.planning.release_plan import house_plans

SHORT = Effort((32, 32), 40, 0, (0.8, 1.2), 1, 6)
PACKS = (a_pack(size=500), a_pack(size=2000, price=90.0))
HOUSES = ((0.05, 30.0), (0.3, 40.0), (0.1, 12.0))


class Farm:
    """Three houses whose figures are kept from plan to plan, as a file would keep them."""

    def __init__(self, monkeypatch):
        self.kept = {}
        self.runs = []
        outcome = trials.outcome

        def counted(house, releases=()):
            self.runs.append(house.name)
            return outcome(house, releases)

        monkeypatch.setattr(trials, "outcome", counted)

    def plan(self, *, kept=True, packs=PACKS, risk=0.25, more_in_last=1.0, budget=None):
        """Return all that a plan tells, and the houses that were run for it."""
        asked, figures = [], {}
        for number, (per_plant, limit) in enumerate(HOUSES):
            times = more_in_last if number == len(HOUSES) - 1 else 1.0
            house, judge = (
                replace(
                    a_house(per_plant=times * per_plant, limit_per_plant=limit, members=members, degc=20.0, seed=seed),
                    name=f"bay {number}",
                )
                for members, seed in ((64, 3), (256, 90 + number))
            )  # fmt: skip
            offers, others = (tuple(offers_of(one, packs, days=(2, 9))) for one in (house, judge))
            name = f"bay {number} {times}"
            figures[name] = Figures(json.loads(json.dumps(self.kept.get(name, {})))) if kept else Figures()
            asked.append(
                Asked(
                    house,
                    offers,
                    risk,
                    lambda j=judge, o=others: (j, o),
                    judges=256,
                    figures=lambda places, f=figures[name]: f,
                )
            )
        self.runs.clear()
        found = plan_farm(asked, effort=SHORT, budget=budget)
        told = [figures_of(plan) for plan in house_plans(found)]
        if kept:
            self.kept |= {name: each.kept() for name, each in figures.items()}
        tried = [(list(item.trials.seen), list(item.judge.seen)) for item in found.candidates]
        return found.schedules, found.pooled, found.total, found.holds, tried, told


def figures_of(plan):
    told = {name: value for name, value in vars(plan).items() if name not in ("candidate", "offers", "seen")}
    return told | {"chance": plan.seen.chance, "days": plan.seen.days_above}


@pytest.fixture
def farm(monkeypatch):
    return Farm(monkeypatch)


def test_the_same_farm_is_planned_again_without_a_run(farm):
    first = farm.plan()
    assert any(map(any, first[0]))
    assert set(farm.runs) == {"bay 0", "bay 1", "bay 2"}
    assert farm.plan() == first
    assert farm.runs == []


@pytest.mark.parametrize(
    "change",
    [
        {"packs": (a_pack(size=500, price=25.0), a_pack(size=2000, price=150.0, freight=40.0))},
        {"risk": 0.1},
        {"budget": 60.0},
        {"more_in_last": 2.0},
    ],
    ids=["price", "risk", "budget", "a house"],
)
def test_what_is_known_of_an_earlier_plan_changes_no_later_one(farm, change):
    farm.plan()
    with_kept = farm.plan(**change)
    few = len(farm.runs)
    assert with_kept == farm.plan(kept=False, **change)
    assert few < len(farm.runs)


def test_a_change_in_one_house_runs_in_another_only_what_was_never_tried(farm):
    farm.plan()
    changed = farm.plan(more_in_last=2.0)
    there = farm.runs.count("bay 0") + farm.runs.count("bay 1")
    here = farm.runs.count("bay 2")
    assert changed == farm.plan(kept=False, more_in_last=2.0)
    assert here == farm.runs.count("bay 2")
    assert there < (farm.runs.count("bay 0") + farm.runs.count("bay 1")) / 4


def test_figures_of_another_house_are_found_out(farm):
    """The law can fail: taken from the wrong house, figures give another plan."""
    first = farm.plan()
    farm.kept["bay 0 1.0"], farm.kept["bay 2 1.0"] = farm.kept["bay 2 1.0"], farm.kept["bay 0 1.0"]
    assert farm.plan() != first


def test_where_too_many_figures_are_known_those_of_the_last_plan_are_kept():
    figures = Figures({str(number): [0.0] for number in range(MOST_KEPT + 1)})
    assert figures.of("7", lambda: (1.0,)) == (0.0,)
    assert set(figures.kept()) == {"7"}
