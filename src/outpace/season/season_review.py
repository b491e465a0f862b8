"""A season looked back on: planned, done and late, its cost, its lots, when it turned, what to change."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

from outpace.estimation.intervals import clopper_pearson
from outpace.facts.table import load
from outpace.language import say, say_many
from outpace.season.audit_tables import Within, within
from outpace.season.forecasts_scored import review
from outpace.season.levels import level_of
from outpace.season.moments import day, local_iso
from outpace.season.money import money
from outpace.season.names import houses_of, pick_farm, zone_of_farm
from outpace.season.observed import UNKNOWN, means_by_walk, pests_seen, walks_of
from outpace.season.pot import Warmth, counted_on
from outpace.season.review_lessons import not_tested, to_change
from outpace.season.words import weekday
from outpace.terms.enemies import Allocation, Check, Lot, OrderLine, Release
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Decision, Spray

Answer = dict[str, Any]

LATE = timedelta(days=1)
"""A release a day after the one it was meant for is still on time: parcels are let go at dusk or the next dawn."""
TURNED_WALKS = 2
"""It has turned where so many walks after the highest one each found fewer than the one before."""


def season_review(
    snapshot: Snapshot, first: str, last: str, *, farm: str | None = None, head: str = ""
) -> Answer:
    """Return what a season was, as the answer ``outpace.season/1``."""
    spent = money(snapshot, first, last, farm=farm)
    there = pick_farm(snapshot, farm)
    begins, ends = day(first, where="`--from`"), day(last, where="`--to`")
    span = within(there, begins, ends)
    houses = [_house(snapshot, there, house, span) for house in houses_of(snapshot, there)]
    parcels, planned = _parcels(snapshot, there, span), _planned(snapshot, there, span)
    lots = _lots(snapshot, there, span)
    scored = review(snapshot, farm=there.farm)
    sprays = [row for row in snapshot.table(Spray) if row.farm == there.farm and span.holds(row.start)]
    decisions = [row for row in snapshot.table(Decision) if row.farm == there.farm and span.holds(row.time)]
    changes = to_change(houses, parcels, planned, lots, sprays, decisions)
    return {
        "schema": "outpace.season/1",
        "sentence": _sentence(there, begins, ends, changes),
        "farm": there.farm,
        "from": begins.isoformat(),
        "to": ends.isoformat(),
        "as_of": local_iso(snapshot.as_of, zone_of_farm(there)),
        "head": head or snapshot.head,
        "currency": there.currency,
        "planned": planned,
        "parcels": parcels,
        "sprays": len(sprays),
        "houses": houses,
        "money": {
            "goods": spent["goods"],
            "freight": spent["freight"],
            "labour": spent["labour"],
            "per_m2": spent["per_m2"],
            "unpriced": len(spent["unpriced"]),
            "houses": spent["houses"],
        },
        "lots": lots,
        "forecasts": {
            "sentence": scored["sentence"],
            "by_days_ahead": [
                {"days_ahead": row["days_ahead"], "forecasts": row["forecasts"], "in_90": row["in_90"]}
                for row in scored["by_days_ahead"]
            ],
        },
        "changes": changes,
        "untested": not_tested(houses, lots, scored),
    }


def _house(snapshot: Snapshot, farm: Farm, house: House, span: Within) -> Answer:
    walks = walks_of(snapshot, farm, house)
    days = {walk.walk: str(walk.time.astimezone(span.zone).date()) for walk in walks.walks}
    pests = pests_seen(walks) or (UNKNOWN,)
    means = [
        row
        for row in means_by_walk(walks, pests, days)
        if span.first.isoformat() <= str(row["date"]) <= span.last.isoformat()
    ]
    shown = [row for row in means if row["pest"] == pests[0] and not row["hunted"]]
    found = next((row for row in means if int(str(row["infested"])) > 0), None)
    walked = sorted({date.fromisoformat(str(row["date"])) for row in means})
    gaps = [(after - before).days for before, after in pairwise(walked)]
    lots = {lot.lot: lot for lot in snapshot.table(Lot)}
    let_go = sorted(
        (
            row
            for row in snapshot.table(Release)
            if (row.farm, row.house) == (farm.farm, house.house) and span.holds(row.time)
        ),
        key=lambda row: row.time,
    )
    level = level_of(snapshot, load(), house, pests[0], span.last)
    peak = max(shown, key=lambda row: float(str(row["mean"])), default=None)
    return {
        "house": house.house,
        "crop": house.crop,
        "walks": len(walked),
        "longest_gap_d": max(gaps, default=None),
        "first_find": None if found is None else {"date": found["date"], "pest": found["pest"]},
        "first_release": None if not let_go else str(let_go[0].time.astimezone(span.zone).date()),
        "pest": pests[0],
        "unit": shown[0]["unit"] if shown else None,
        "means": [
            {"date": row["date"], "mean": row["mean"], "low": row["low"], "high": row["high"]}
            for row in shown
        ],
        "peak": None if peak is None else {"date": peak["date"], "mean": peak["mean"]},
        "turned": _turned(shown),
        "level": {"value": level.value, "unit": level.unit, "told": level.told},
        "releases": [
            {
                "date": str(row.time.astimezone(span.zone).date()),
                "number": row.number,
                "enemy": lots[row.lot].enemy if row.lot in lots else None,
            }
            for row in let_go
        ],
    }


def _turned(shown: Sequence[dict[str, object]]) -> str | None:
    """Return the day of the highest walk where those after it each found fewer; None where it has not turned."""
    means = [float(str(row["mean"])) for row in shown]
    if not means or max(means) == 0:
        return None
    top = means.index(max(means))
    after = means[top : top + TURNED_WALKS + 1]
    falls = all(later < before for before, later in pairwise(after))
    return str(shown[top]["date"]) if len(after) > TURNED_WALKS and falls else None


def _planned(snapshot: Snapshot, farm: Farm, span: Within) -> Answer:
    """Return how many releases were meant, done in time, late, and not done by the end of the span."""
    lots = {lot.lot: (lot.order, lot.line) for lot in snapshot.table(Lot)}
    done: dict[tuple[Any, Any, str], list[date]] = {}
    for let_go in snapshot.table(Release):
        if let_go.farm == farm.farm and let_go.lot in lots:
            key = (*lots[let_go.lot], let_go.house)
            done.setdefault(key, []).append(let_go.time.astimezone(span.zone).date())
    placed = {
        (row.order, row.line) for row in snapshot.table(OrderLine) if row.status in ("placed", "arrived")
    }
    meant = [
        row
        for row in snapshot.table(Allocation)
        if row.farm == farm.farm
        and span.first <= row.release_date <= span.last
        and (row.order, row.line) in placed
    ]
    late = absent = 0
    for row in meant:
        days = done.get((row.order, row.line, row.house), [])
        absent += not days
        late += bool(days) and min(days) > row.release_date + LATE
    return {"meant": len(meant), "in_time": len(meant) - late - absent, "late": late, "not_done": absent}


def _parcels(snapshot: Snapshot, farm: Farm, span: Within) -> Answer:
    arrived = {(lot.order, lot.line): lot for lot in snapshot.table(Lot) if lot.order}
    lines = [
        row
        for row in snapshot.table(OrderLine)
        if row.farm == farm.farm
        and row.status in ("placed", "arrived")
        and span.first <= row.delivery_date <= span.last
    ]
    came = [(row, arrived[row.order, row.line]) for row in lines if (row.order, row.line) in arrived]
    late = [
        lot
        for row, lot in came
        if lot.arrived and lot.arrived.astimezone(span.zone).date() > row.delivery_date
    ]
    short = [lot for row, lot in came if lot.labelled_number < row.packs * row.pack_size]
    return {"ordered": len(lines), "came": len(came), "late": len(late), "short": len(short)}


def _lots(snapshot: Snapshot, farm: Farm, span: Within) -> list[Answer]:
    used = {row.lot for row in snapshot.table(Release) if row.farm == farm.farm and span.holds(row.time)}
    checks: dict[str, list[Check]] = {}
    for check in snapshot.table(Check):
        if check.kind in ("emergence", "live count"):
            checks.setdefault(check.lot, []).append(check)
    facts, found = load(), []
    today = snapshot.as_of.astimezone(span.zone).date().isoformat()
    known: dict[str, Warmth] = {}
    for lot in snapshot.table(Lot):
        if lot.lot not in used:
            continue
        last = max(checks.get(lot.lot, ()), key=lambda check: check.time, default=None)
        low, high = (
            clopper_pearson(last.positive, last.looked_at) if last and last.looked_at else (None, None)
        )
        due = counted_on(snapshot, farm, lot, known) if last is None else None
        asked = facts.find(lot.enemy, "guideline_emergence") if lot.form in ("mummies", "pupae") else None
        found.append(
            {
                "lot": lot.lot,
                "enemy": lot.enemy,
                "arrived": None if lot.arrived is None else str(lot.arrived.astimezone(span.zone).date()),
                "looked_at": last.looked_at if last else None,
                "positive": last.positive if last else None,
                "low": low,
                "high": high,
                "guideline": asked.value if asked else None,
                "count_on": due if due and due > today else None,
            }
        )
    return found


def _sentence(farm: Farm, first: date, last: date, changes: Sequence[Answer]) -> str:
    span = say(
        "{farm}, {first} {year} to {last} {year2}",
        farm=farm.farm,
        first=weekday(first),
        year=first.year,
        last=weekday(last),
        year2=last.year,
    )
    if not changes:
        return say("{span}: keep 0 things in mind for next year; nothing stands out.", span=span)
    named = "; ".join(change["what"][:1].lower() + change["what"][1:] for change in changes)
    return say_many(
        "{span}: change {n} thing next year: {named}.",
        "{span}: change {n} things next year: {named}.",
        len(changes),
        span=span,
        named=named,
    )
