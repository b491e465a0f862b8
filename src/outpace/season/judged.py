"""A house's forecast and its verdict, read from what is held of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

import numpy as np

from outpace.estimation.bands import HOUSE, Bands
from outpace.estimation.forecast import look_ahead
from outpace.estimation.observations import WalkSeen
from outpace.estimation.reasons import Case, Reason, reasons
from outpace.estimation.staleness import Staleness, days_until_grown, staleness
from outpace.estimation.verdict import HotSpot, Level, Verdict, binding, horizon, judge
from outpace.season.case import LAID_OUT_D, HouseCase
from outpace.season.outlook import Outlook, populated

SPOT_KEPT_D = 10


@dataclass(frozen=True)
class Judged:
    """What a house's forecast says, and what it was read from."""

    ahead: Bands
    verdicts: tuple[Verdict, ...]
    bound: Verdict
    reasons: tuple[Reason, ...]
    stale: Staleness | None
    four_fold_d: int


def house_verdicts(found: Outlook) -> tuple[Bands, list[Verdict]]:
    """Return the forecast of a house and its verdicts by aphid and zone, without reasons, which take longest."""
    case, posterior = found.case, found.posterior
    heat = case.temperature.hours
    levels = [
        Level(pest, level.unit, level.value, zone)
        for pest, level in enumerate(case.levels)
        for zone in (range(len(case.model.zones)) if len(case.model.zones) > 1 else (HOUSE,))
    ]
    ahead_ = look_ahead(posterior, case.model, heat, case.let_go.releases, case.sprays, LAID_OUT_D)
    days = [
        horizon(
            case.model,
            posterior.parameters,
            heat,
            today=case.today,
            pest=level.pest,
            releases=case.let_go.releases,
        )
        for level in levels
    ]
    return ahead_, verdicts_over(case, ahead_, levels, days)


def verdicts_over(
    case: HouseCase, ahead_: Bands, levels: Sequence[Level], days: Sequence[int]
) -> list[Verdict]:
    """Return the verdict of a forecast by level, each over its own days."""
    spots = _hot_spots(case)
    return [
        judge(
            ahead_,
            level,
            hot_spots=[spot for spot in spots if spot.pest == level.pest],
            virus_sensitive=bool(case.house.virus_sensitive),
            horizon_d=horizon_d,
        )
        for level, horizon_d in zip(levels, days, strict=True)
    ]


def judge_house(found: Outlook) -> Judged:
    """Return the forecast of a house, its verdicts by aphid and zone, and the reasons of the one that binds."""
    case, posterior = found.case, found.posterior
    heat = case.temperature.hours
    ahead_, verdicts = house_verdicts(found)
    bound = binding(verdicts)
    last = case.rows.last
    pest = bound.level.pest
    stale = None
    if last is not None:
        stale = staleness(
            case.model,
            posterior.parameters,
            heat,
            # Whole days of the calendar, as people count them: yesterday evening is a day ago.
            last_walk=float(floor(case.day_of(last.time))),
            today=float(case.today),
            pest=pest,
            seed=case.seed,
        )
    whole = Case(
        model=case.model,
        facts=case.facts,
        temperature=heat,
        walks=case.walks,
        releases=case.let_go.releases,
        sprays=case.sprays,
        first_day=0,
        until_day=case.today,
        seed=case.seed,
        members=posterior.members,
        beliefs=found.beliefs,
        cards=case.cards,
        populate=lambda posterior: populated(case, posterior),
    )
    told: tuple[Reason, ...] = ()
    if not found.stale:
        shown = look_ahead(posterior, case.model, heat, case.let_go.releases, case.sprays, bound.horizon_d)
        told = reasons(whole, posterior, shown, bound)
    return Judged(
        ahead=ahead_,
        verdicts=tuple(verdicts),
        bound=bound,
        reasons=told,
        stale=stale,
        four_fold_d=days_until_grown(
            case.model, posterior.parameters, heat, from_day=case.today, pest=pest, seed=case.seed
        ),
    )


def _hot_spots(case: HouseCase) -> list[HotSpot]:
    """Return the places of the latest hunted walk at which the aphids were counted above nothing."""
    hunted = [
        walk
        for walk in case.walks
        if isinstance(walk, WalkSeen) and walk.hunted and walk.day >= case.today - SPOT_KEPT_D
    ]
    if not hunted:
        return []
    walk = hunted[-1]
    found = []
    for pest, level in enumerate(case.levels):
        if level.unit != walk.unit:
            continue
        for unit in np.flatnonzero(walk.low[pest] > 0):
            zone = int(walk.zone[unit])
            found.append(HotSpot(pest, zone, float(walk.low[pest, unit]), walk.day))
    return found
