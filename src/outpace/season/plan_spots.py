"""The worst plants alone, beside a plan: by hand or with a treatment, on the members that judged the plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from outpace.facts.table import Fact
from outpace.language import say, say_many
from outpace.planning.candidate_house import Candidate
from outpace.planning.house_outlook import outcome
from outpace.season.considered import NOTHING_TOLD, considered
from outpace.season.course_steps import Ground, deed_by_hand, spot_plants, treatment_of_spots
from outpace.season.farm_packs import Planned
from outpace.simulation.model import Spray

Answer = dict[str, Any]


def spots_told(item: Candidate, planned: Planned, used: list[Fact]) -> list[Answer]:
    """Return what comes of working on the worst plants alone in one house: by hand today, or treated this evening.

    Nothing is bought in either. What a treatment kills is not told here, so it is drawn over all it could be; its price
    is not known. Facts that it rests on are added to ``used``.
    """
    case = planned.found.case
    if not case.found:
        return []
    house = item.judge.house.laid
    ground = Ground(case=case, house=house, levels=(), risk=0.0, loss_per_unit_day=None)
    plants = spot_plants(case, None, ground.fact("spot_plants_share"))
    minutes = ground.fact("hand_minutes_per_plant").value * plants
    wage = case.farm.labour_per_h
    hours = minutes / 60
    treated = considered(case, NOTHING_TOLD, "spots", house.members).drawn
    rows = [
        _row(
            planned,
            "hand",
            say_many(
                "spot treatment by hand: squash and bag on the {n} worst plant today",
                "spot treatment by hand: squash and bag on the {n} worst plants today",
                plants,
            ),
            _fares(item, [deed_by_hand(ground, plants)]),
            money=None if wage is None else hours * wage,
            hours=hours,
        ),
        _row(
            planned,
            "spots",
            say_many(
                "spot treatment of that {n} plant alone, its label not told yet",
                "spot treatment of those {n} plants alone, its label not told yet",
                plants,
            ),
            _fares(item, [treatment_of_spots(ground, treated, plants)]),
            money=None,
            hours=None,
        ),
    ]
    used += ground.used
    return rows


def _fares(item: Candidate, deeds: Sequence[Spray]) -> tuple[float, float]:
    """Return chance and days above of a house in which this is done and nothing is bought, as the plan's are."""
    house, first_day = item.judge.house.laid, item.asked.first_day
    treated = replace(house, sprays=(*house.sprays, *deeds))
    peaks, days = [], []
    for first, part in item.judge.parts:  # the same parts as the plan's, so that both meet the same luck
        done = outcome(treated.between(first, first + part.members))
        peaks.append(done.times_limit[first_day:].max(axis=0))
        days.append(done.above[first_day:].sum(axis=0))
    return float((np.concatenate(peaks) > 1.0).mean()), float(np.concatenate(days).mean())


def _row(
    planned: Planned,
    key: str,
    what: str,
    fared: tuple[float, float],
    *,
    money: float | None,
    hours: float | None,
) -> Answer:
    return {
        "house": planned.name,
        "key": key,
        "what": what,
        "packs": say("buy nothing"),
        "cost": None if money is None else round(money, 2),
        "chance_ever_above": round(fared[0], 3),
        "days_above": round(fared[1], 1),
        "hours": None if hours is None else round(hours, 2),
    }
