"""What a spray did to the aphids, from the walks before and after it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from outpace.estimation.efficacy import (
    abbott,
    efficacy_range,
    henderson_tilton,
    schneider_orelli,
    sun_shepard,
)
from outpace.estimation.observations import interval_of, middle_of
from outpace.facts.table import Fact, Facts
from outpace.language import say
from outpace.season.observed import HouseWalks
from outpace.season.sprayed import Sprayed
from outpace.season.words import percent, weekday
from outpace.terms.scouting import Walk

Answer = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Counted:
    """The mean of live aphids per unit in one walk, and on how many units."""

    mean: float
    looked_at: int


def efficacy_of(
    spray: Sprayed, walks: HouseWalks, facts: Facts, later: Sequence[Sprayed] = ()
) -> tuple[list[Answer], tuple[Fact, ...]]:
    """Return for each aphid how its numbers changed over a spray, and the efficacy where a part was left unsprayed.

    Without an unsprayed part in the same walks no efficacy is told: wasps, weather and growth are in the change too.
    Walks that hunted for aphids are left out, and so is a walk that came after another spray.

    Parameters
    ----------
    later : sequence of Sprayed
        All sprays of the house.
    """
    pair = _around(spray, walks, later)
    if pair is None:
        return [], ()
    before, after = pair
    found: list[Answer] = []
    used = (facts.one("", "taylor_a"), facts.one("", "taylor_b"))
    pests = dict.fromkeys(
        row.pest
        for walk in (before, after)
        for row in (*walks.counts.get(walk.walk, ()), *_lines(walks, walk))
    )
    named = [pest for pest in pests if pest != "any"] or list(pests)
    for pest in named:
        first, last = (_counted(walks, walk, pest, spray.row.zone, inside=True) for walk in pair)
        beside = [_counted(walks, walk, pest, spray.row.zone, inside=False) for walk in pair]
        if first is None or last is None:
            continue
        found.append(_told(pest, before, after, (first, last), beside, (used[0].value, used[1].value), spray))
    return found, used if any(item["efficacy"] is not None for item in found) else ()


def _told(
    pest: str,
    before: Walk,
    after: Walk,
    inside: tuple[Counted, Counted],
    beside: Sequence[Counted | None],
    taylor: tuple[float, float],
    spray: Sprayed,
) -> Answer:
    zone = spray.zone
    days = (before.time.astimezone(zone).date(), after.time.astimezone(zone).date())
    first, last = inside
    change = say(
        "from {mean:.3g} to {mean2:.3g} live aphids per {unit} between {days} and {days2}",
        mean=first.mean,
        mean2=last.mean,
        unit=before.unit,
        days=weekday(days[0]),
        days2=weekday(days[1]),
    )
    answer: Answer = {
        "pest": pest,
        "unit": before.unit,
        "before": {"date": str(days[0]), "mean": first.mean, "looked_at": first.looked_at},
        "after": {"date": str(days[1]), "mean": last.mean, "looked_at": last.looked_at},
        "untreated": None,
        "efficacy": None,
        "words": say(
            "{change}; no part was left unsprayed and counted, so how much of it the spray did is not known",
            change=change,
        ),
    }
    unsprayed, grown = beside
    if unsprayed is None or grown is None:
        return answer
    answer["untreated"] = {
        "before": {"mean": unsprayed.mean, "looked_at": unsprayed.looked_at},
        "after": {"mean": grown.mean, "looked_at": grown.looked_at},
    }
    means = {
        "treated_before": first.mean,
        "treated_after": last.mean,
        "control_before": unsprayed.mean,
        "control_after": grown.mean,
    }
    if min(first.mean, unsprayed.mean, grown.mean) <= 0:
        answer["words"] = say(
            "{change}; where it was not sprayed too few were found to compare with", change=change
        )
        return answer
    value = henderson_tilton(**means)
    looks = (first.looked_at, last.looked_at, unsprayed.looked_at, grown.looked_at)
    low, high = efficacy_range(**means, looked_at=looks, taylor_a=taylor[0], taylor_b=taylor[1])
    answer["efficacy"] = {
        "value": value,
        "low": min(low, value),
        "high": max(high, value),
        "method": "Henderson-Tilton",
        "beside": _beside(**means),
    }
    others = "; ".join(
        say("{method} {value}, {of}", method=each["method"], value=_signed(each["value"]), of=each["of"])
        for each in answer["efficacy"]["beside"]
    )
    if value < 0:
        answer["words"] = say(
            "{change}; no efficacy shows against the unsprayed part: there they fell more or grew less (9 in 10: "
            "{span}, Henderson-Tilton; beside it {others})",
            change=change,
            span=_signed(high) if high < 0 else say("at most {high}", high=percent(high)),
            others=others,
        )
        return answer
    answer["words"] = say(
        "{change}; against the unsprayed part that is an efficacy of {value} (9 in 10: {low} to {high}, "
        "Henderson-Tilton; beside it {others})",
        change=change,
        value=percent(value),
        low=_signed(low),
        high=_signed(high),
        others=others,
    )
    return answer


def efficacy_lacks(
    spray: Sprayed, walks: HouseWalks, found: Sequence[Answer], later: Sequence[Sprayed], now: datetime
) -> str | None:
    """Return which walk is missing for a figure of efficacy, in one sentence; nothing where none is.

    Where the whole house was sprayed there is nothing to compare with, so no walk would help.

    Every formula needs counts of the sprayed and of an unsprayed part after the spray, Henderson-Tilton and Sun-Shepard
    also before it; Abbott and Schneider-Orelli take for granted that both parts began alike, which only a walk
    before the spray shows.

    Parameters
    ----------
    found : sequence of dict
        What `efficacy_of` returned.
    later : sequence of Sprayed
        All sprays of the house.
    """
    told = any(item["efficacy"] is not None for item in found)
    if told or spray.row.zone is None or (spray.row.end or spray.row.start) > now:
        return None
    before, after = _nearest(spray, walks)
    if before is None and after is None:
        return say("For an efficacy the walks before and after the spray are missing.")
    if before is None:
        return say(
            "For an efficacy the walk before the spray is missing: counts made only after it do not show whether the "
            "sprayed and the unsprayed part began alike (Abbott, Schneider-Orelli)."
        )
    if after is None:
        return say("For an efficacy the walk after the spray is missing.")
    if before.unit != after.unit:
        return say(
            "For an efficacy a walk by {unit} after the spray is missing: the one before it was by {unit}.",
            unit=say(before.unit),
        )
    if _around(spray, walks, later) is None:
        return say("For an efficacy a walk between this spray and the other one beside it is missing.")
    if all(item["untreated"] is None for item in found):
        return say(
            "For an efficacy both walks must count the sprayed zone and one that was left unsprayed, each plant "
            "with its zone."
        )
    return None


def _beside(
    *, treated_before: float, treated_after: float, control_before: float, control_after: float
) -> list[Answer]:
    """Return the efficacy by the other usual formulas, each with what it takes for granted.

    Schneider-Orelli takes shares that died; where the unsprayed part grew none of it is known to have died.
    """
    fall, grown = 1 - treated_after / treated_before, control_after / control_before - 1
    told = [
        (say("the same by how both parts changed"), "Sun-Shepard", sun_shepard(fall, grown)),
        (say("as if both parts had begun alike"), "Abbott", abbott(treated_after, control_after)),
    ]
    if fall >= 0 and grown <= 0:
        of = say("as if all that is missing had died")
        told.append((of, "Schneider-Orelli", schneider_orelli(fall, -grown)))
    return [{"method": method, "value": value, "of": of} for of, method, value in told]


def _signed(share: float) -> str:
    if share < 0:
        return say("below 0 %")
    return percent(share)


def _around(spray: Sprayed, walks: HouseWalks, sprays: Sequence[Sprayed]) -> tuple[Walk, Walk] | None:
    """Return the last walk before a spray and the first after it, both of one unit and not hunted."""
    others = [item.row.start for item in sprays if item.row.spray != spray.row.spray]
    before, after = _nearest(spray, walks)
    if before is None or after is None or before.unit != after.unit:
        return None
    if any(before.time <= other <= after.time for other in others):
        return None
    return before, after


def _nearest(spray: Sprayed, walks: HouseWalks) -> tuple[Walk | None, Walk | None]:
    """Return the last walk before a spray and the first after it, of those that counted and did not hunt."""
    told = [
        walk
        for walk in walks.walks
        if walk.chosen != "hunted" and (walks.counts.get(walk.walk) or walks.lines.get(walk.walk))
    ]
    start, end = spray.row.start, spray.row.end or spray.row.start
    before = [walk for walk in told if walk.time < start]
    return before[-1] if before else None, next((walk for walk in told if walk.time > end), None)


def _lines(walks: HouseWalks, walk: Walk) -> tuple[Any, ...]:
    return walks.lines.get(walk.walk, ())


def _counted(walks: HouseWalks, walk: Walk, pest: str, zone: str | None, *, inside: bool) -> Counted | None:
    """Return the mean of one aphid in the sprayed part of a house, or in the rest of it."""
    rows = walks.counts.get(walk.walk, ())
    if not rows:
        line = next((row for row in _lines(walks, walk) if row.pest == pest), None)
        if line is None or not inside or zone is not None:
            return None
        if line.infested and line.aphids_about is None:
            return None
        return Counted((line.aphids_about or 0) / line.looked_at, line.looked_at)
    units: dict[int, float] = {}
    for row in rows:
        sprayed = zone is None or row.zone == zone
        if sprayed != inside or (zone is not None and row.zone is None):
            continue
        units.setdefault(row.unit_no, 0.0)
        if row.pest == pest:
            low, high = interval_of(row.aphids)
            units[row.unit_no] += float(middle_of(np.array([low]), np.array([high]))[0])
    return Counted(sum(units.values()) / len(units), len(units)) if units else None
