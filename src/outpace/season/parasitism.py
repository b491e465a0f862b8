"""How much is parasitised in a house, and by whom: mummies beside live aphids, holes by colour, jars."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.bands import HOUSE
from outpace.estimation.intervals import clopper_pearson
from outpace.estimation.mummy_dates import absence_counts_from, first_possible, stage_times
from outpace.estimation.observations import LineSeen, Seen, WalkSeen, middle_of
from outpace.estimation.parasitism import Share, cannot_tell, hyperparasitism
from outpace.estimation.total_parasitism import against_the_trend, clustered_share, total_parasitism
from outpace.facts.table import Fact
from outpace.language import say, say_many
from outpace.season.case import WHOLE_HOUSE, HouseCase
from outpace.season.observed import ragged_holes
from outpace.season.outlook import Outlook
from outpace.season.words import percent, weekday
from outpace.terms.enemies import Check, Lot, Release
from outpace.terms.place import CropStage

Answer = dict[str, Any]
Array = NDArray[np.float64]

BEFORE_D = 14
"""Days before a walk whose warmth sets how long the stages last."""
GROWTH_D = 7
HOLES_D = 28
TAN = "tan"


@dataclass(frozen=True)
class _Counted:
    """Closed mummies and live aphids, plant by plant."""

    closed: Array
    live: Array


def parasitism(found: Outlook) -> Answer:
    """Return the block ``parasitism`` of a house: samples by aphid and zone, holes, jars of lots and of the crop."""
    case = found.case
    return {
        "samples": [row for pest in range(len(case.model.pests)) for row in _of_pest(found, pest)],
        "holes": _holes(case),
        "jars": _jars(case),
        "crop_jars": _crop_jars(case),
    }


def parasitism_facts(found: Outlook) -> list[Fact]:
    """Return the judged figures behind the block."""
    facts = found.case.facts
    return [facts.one("", "mummies_alike"), facts.one("", "leaves_removed_limit")]


def _of_pest(found: Outlook, pest: int) -> list[Answer]:
    case = found.case
    enemies = tuple(e for p, e in found.posterior.parameters.substages.pairs if p == pest)
    told = [walk for walk in case.walks if _tells_mummies(walk, pest)]
    if not told:
        return []
    sample = [walk for walk in told if not walk.hunted]
    walk = (sample or told)[-1]
    zones = sorted({int(z) for z in walk.zone if z >= 0}) if isinstance(walk, WalkSeen) else []
    if len(case.model.zones) < 2:
        zones = []
    return [_sample(found, pest, enemies, walk, zone) for zone in (*zones, HOUSE)]


def _tells_mummies(walk: Seen, pest: int) -> bool:
    if isinstance(walk, LineSeen):
        return walk.pest == pest and walk.mummies_about is not None
    return any(not np.isnan(mummies.closed).all() for mummies in walk.mummies)


def _sample(found: Outlook, pest: int, enemies: tuple[int, ...], walk: Seen, zone: int) -> Answer:
    case = found.case
    counted = _counted(walk, pest, enemies, zone)
    closed, live = float(counted.closed.sum()), float(counted.live.sum())
    why = _silent(found, pest, enemies, walk, closed, closed + live)
    alike = case.facts.one("", "mummies_alike").value
    day = case.date_of(int(walk.day))
    row: Answer = {
        "pest": case.model.pests[pest],
        "zone": WHOLE_HOUSE if zone == HOUSE else case.zones[zone],
        "date": str(day),
        "closed": round(closed),
        "live": round(live),
        "plants": int(((counted.closed + counted.live) > 0).sum()),
        "visible": None,
        "parasitised": None,
        "attack_per_d": None,
        "growth_per_d": None,
        "days_alive_after_sting": None,
        "days_as_mummy": None,
        "cannot_tell": why,
    }
    if closed + live > 0 and not walk.hunted:
        row["visible"] = _share(clustered_share(counted.closed, counted.live, alike))
    if why is None and enemies:
        before, after = _times(found, pest, enemies, walk)
        growth = _growth(found, pest, zone, walk)
        whole = total_parasitism(
            counted.closed,
            counted.live,
            days_before=before,
            days_mummy=after,
            growth=growth,
            alike=alike,
            seed=case.seed,
        )
        row["parasitised"] = _share(whole.parasitised)
        row["attack_per_d"] = _share(whole.attack) if np.isfinite(whole.attack.high) else None
        row["growth_per_d"] = round(whole.growth, 3)
        row["days_alive_after_sting"] = round(float(np.median(before)), 1)
        row["days_as_mummy"] = round(float(np.median(after)), 1)
    row["sentence"] = _sentence(row)
    return row


def _counted(walk: Seen, pest: int, enemies: tuple[int, ...], zone: int) -> _Counted:
    """Return mummies that can be of this aphid beside its live ones, plant by plant; unwritten mummies left out."""
    if isinstance(walk, LineSeen):
        infested = max(walk.infested, 1)
        live = walk.aphids_about if walk.aphids_about is not None else float(walk.infested)
        closed = walk.mummies_about or 0.0
        return _Counted(np.full(infested, closed / infested), np.full(infested, live / infested))
    mine = [m for m in walk.mummies if not enemies or set(m.enemies) & set(enemies)] or list(walk.mummies)
    each = np.array([m.closed for m in mine])
    written = ~np.isnan(each).all(axis=0)
    here = written & ((walk.zone == zone) if zone != HOUSE else True)
    looked = np.isfinite(walk.high[pest]) | (walk.low[pest] > 0)
    aphids = middle_of(walk.low[pest], walk.high[pest])
    plants, index = np.unique(walk.plant[here], return_inverse=True)
    closed_by = np.bincount(index, np.nansum(each, axis=0)[here], len(plants)).astype(np.float64)
    live_by = np.bincount(
        index, np.where(looked & np.isfinite(aphids), aphids, 0.0)[here], len(plants)
    ).astype(np.float64)
    return _Counted(closed_by, live_by)


def _silent(
    found: Outlook, pest: int, enemies: tuple[int, ...], walk: Seen, closed: float, animals: float
) -> str | None:
    """Return why the sample cannot tell, or None."""
    case = found.case
    released = [release for release in case.let_go.releases if release.enemy in enemies]
    heat, parameters = case.temperature.hours, found.posterior.parameters
    early = False
    if closed == 0 and released:
        possible = first_possible(parameters, heat, released)
        early = bool(possible) and walk.day < min(possible.values())
    removed = _leaves_removed(case, walk)
    limit = case.facts.one("", "leaves_removed_limit").value
    why = cannot_tell(
        before_first_mummies=early,
        only_hunted=walk.hunted,
        leaves_removed_share=removed,
        leaves_removed_limit=limit,
    )
    if why is not None:
        return why
    if animals == 0:
        return say("no live aphid and no mummy was on the plants looked at")
    if closed == 0 and not released:
        return say("nothing that accepts this aphid was released, and no mummy was seen")
    if closed == 0:
        late = absence_counts_from(case.model, case.facts, parameters, heat, released)
        if late and walk.day < min(late.values()):
            day = min(late.values())
            when = weekday(case.date_of(int(np.ceil(day)))) if np.isfinite(day) else say("it gets warmer")
            return say("no mummy yet, and none before {when} says nothing", when=when)
    return None


def _leaves_removed(case: HouseCase, walk: Seen) -> float:
    """Return the share of leaves taken out in the weeks before the walk in which its mummies would have formed."""
    kept = 1.0
    for row in case.snapshot.table(CropStage):
        if row.farm != case.farm.farm or row.house != case.house.house or not row.leaves_removed_share:
            continue
        if walk.day - BEFORE_D <= case.day_of(row.time) <= walk.day:
            kept *= 1 - row.leaves_removed_share
    return 1 - kept


def _times(found: Outlook, pest: int, enemies: tuple[int, ...], walk: Seen) -> tuple[Array, Array]:
    case = found.case
    end = max(24, int(walk.day * 24))
    hours = case.temperature.hours[max(0, end - 24 * BEFORE_D) : end].mean(axis=1)
    released = [release.enemy for release in case.let_go.releases if release.enemy in enemies]
    enemy = max(set(released), key=released.count) if released else enemies[0]
    return stage_times(found.posterior.parameters, pest, enemy, np.asarray(hours))


def _growth(found: Outlook, pest: int, zone: int, walk: Seen) -> Array:
    """Return the growth of live aphids in the week before the walk, member by member. [d⁻¹]"""
    past = found.posterior.past
    live = past.live(pest, zone)
    end = min(max(int(walk.day) - past.first_day, 0), past.days)
    start = max(0, end - GROWTH_D)
    if end == start:
        return np.zeros(live.shape[1])
    return np.asarray(np.log((live[end] + 1e-9) / (live[start] + 1e-9)) / (end - start))


def _sentence(row: Answer) -> str:
    plants = say_many("{n} plant", "{n} plants", row["plants"])
    mummies = say_many("{n} closed mummy", "{n} closed mummies", row["closed"])
    beside = say(
        "{mummies} beside {live} live aphids on {plants}", mummies=mummies, live=row["live"], plants=plants
    )
    if row["cannot_tell"] is not None:
        return say("{beside}: cannot tell, {cannot_tell}", beside=beside, cannot_tell=row["cannot_tell"])
    visible = row["visible"]
    told = say("{beside}: {visible} visible", beside=beside, visible=_range(visible))
    if row["parasitised"] is None:
        return told
    told += say(
        ", {parasitised} parasitised with those not visible yet", parasitised=_range(row["parasitised"])
    )
    return f"{told}; {against_the_trend(row['growth_per_d'])}"


def _range(share: Answer) -> str:
    return say(
        "{share} ({low} to {high})",
        share=percent(share["share"]),
        low=percent(share["low"]),
        high=percent(share["high"]),
    )


def _share(share: Share) -> Answer:
    return {"share": round(share.share, 4), "low": round(share.low, 4), "high": round(share.high, 4)}


def _holes(case: HouseCase) -> Answer:
    """Return what the holes of four weeks say: colour first, and only tan mummies can tell."""
    since = case.now - timedelta(days=HOLES_D)
    recent = [walk.walk for walk in case.rows.walks if walk.time >= since]
    other = {
        row.colour: sum((m.empty_smooth or 0) + (m.empty_ragged or 0) for m in rows if m.colour == row.colour)
        for walk in recent
        for rows in [case.rows.mummies.get(walk, ())]
        for row in rows
        if row.colour != TAN
    }
    looked, ragged = ragged_holes(case.rows, since)
    told = hyperparasitism(ragged, looked - ragged, TAN)
    messages = [told.message] if looked else []
    messages += [
        hyperparasitism(0, number, colour).message for colour, number in sorted(other.items()) if number
    ]
    return {
        "since": str(since.date()),
        "ragged": told.ragged,
        "read": told.read,
        "share": round(told.share, 4) if looked else None,
        "low": round(told.interval.low, 4),
        "high": round(told.interval.high, 4),
        "messages": messages,
    }


def _crop_jars(case: HouseCase) -> list[Answer]:
    """Return the jars of mummies taken from this crop: what came out of them, and how many were taken over."""
    told = []
    for walk in case.rows.walks:
        jar = case.rows.jars.get(walk.walk)
        if jar is None or not jar.came_out:
            continue
        share, ends = jar.hyperparasitoids / jar.came_out, clopper_pearson(jar.hyperparasitoids, jar.came_out)
        words = say(
            "{taken} of {out} that came out of a jar of the crop's own mummies were hyperparasitoids: "
            "{low} to {high} of them likely",
            taken=jar.hyperparasitoids,
            out=jar.came_out,
            low=percent(ends.low),
            high=percent(ends.high),
        )
        row: Answer = {
            "date": str(walk.time.astimezone(case.now.tzinfo).date()),
            "put_in": jar.put_in,
            "came_out": jar.came_out,
            "hyperparasitoids": jar.hyperparasitoids,
            "share": round(share, 4),
            "low": round(ends.low, 4),
            "high": round(ends.high, 4),
            "emerged": None,
            "message": words,
        }
        if jar.put_in:
            row["emerged"] = round(min(1.0, jar.came_out / jar.put_in), 4)
        told.append(row)
    return told


def _jars(case: HouseCase) -> list[Answer]:
    """Return the closed jars of lots released here: of what came out, how much was a hyperparasitoid."""
    mine = {
        row.lot
        for row in case.snapshot.table(Release)
        if row.farm == case.farm.farm and row.house == case.house.house
    }
    lots = {lot.lot: lot for lot in case.snapshot.table(Lot) if lot.lot in mine}
    told = []
    for check in sorted(case.snapshot.table(Check), key=lambda item: item.time):
        if check.kind != "jar" or check.lot not in lots or check.ragged is None:
            continue
        colour = case.facts.species[lots[check.lot].enemy].mummy_colour
        out = max(check.positive, check.ragged)
        found = hyperparasitism(check.ragged, out - check.ragged, colour)
        told.append(
            {
                "lot": check.lot,
                "date": str(check.time.astimezone(case.now.tzinfo).date()),
                "looked_at": check.looked_at,
                "came_out": out,
                "ragged": found.ragged,
                "read": found.read,
                "share": round(found.share, 4) if found.read else None,
                "low": round(found.interval.low, 4),
                "high": round(found.interval.high, 4),
                "message": found.message,
            }
        )
    return told
