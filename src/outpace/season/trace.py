"""From a harvest code to all that stands behind it, and from a lot, spray or batch to the harvests it may be in."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from outpace.errors import ExitCode, OutpaceError
from outpace.planning.spray_clocks import clocks_of
from outpace.records.changes import Change
from outpace.season.changed import changes_answer
from outpace.season.moments import local_iso
from outpace.season.names import pick_farm, zone_of_farm
from outpace.season.open_book import Book, moment_of
from outpace.season.register import Entry, enemy_name, entries_of, key_of, lot_words
from outpace.season.sprayed import moment_words
from outpace.season.words import weekday
from outpace.terms.enemies import Check, Lot, OrderLine, Release
from outpace.terms.place import Farm, House, PlantsIn
from outpace.terms.scouting import Walk
from outpace.terms.tables import TABLE_OF, Snapshot
from outpace.terms.upkeep import Harvest, Permit, Spray

WITHOUT_PLANTING = timedelta(days=365)
"""So far back a harvest looks in a house whose day of planting nobody entered."""

TRACED = (
    "farm",
    "houses",
    "plants_in",
    "walks",
    "counts",
    "mummies",
    "seen",
    "walk_lines",
    "cards",
    "orders",
    "lots",
    "checks",
    "releases",
    "bankers",
    "sprays",
    "harvests",
    "decisions",
    "permits",
)
OF_WALKS = ("counts", "mummies", "seen", "walk_lines")
BEGINNINGS: tuple[tuple[type, str, str], ...] = (
    (Lot, "lot", "lot"),
    (OrderLine, "order", "order"),
    (OrderLine, "invoice", "invoice"),
    (Spray, "spray", "spray"),
    (Release, "release", "release"),
    (PlantsIn, "batch", "batch of plants"),
    (Walk, "walk", "walk"),
)


@dataclass(slots=True)
class Found:
    """What a code stands for: windows of houses to look through, and which rows belong to it."""

    kind: str
    windows: dict[str, tuple[datetime, datetime]] = field(default_factory=dict)
    rows: list[Any] = field(default_factory=list)
    lots: set[str] = field(default_factory=set)
    harvests: list[Harvest] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)


def trace(book: Book, code: str, *, farm: str | None = None, as_of: str | None = None) -> dict[str, Any]:
    """Return what stands behind a harvest code, or where a lot, order, spray, release, walk or batch went.

    Parameters
    ----------
    code : str
        A harvest code, or a key of the book; capitals do not matter.
    as_of : str, optional
        Speak as on that day.

    Raises
    ------
    OutpaceError
        If the book knows no such code.
    """
    moment = moment_of(book, as_of, farm)
    known = book.snapshot(moment, only={name: {} for name in TRACED if name not in OF_WALKS})
    there = pick_farm(known, farm)
    zone = zone_of_farm(there)
    changes = book.changes(TRACED, moment)
    found = _find(known, there, code, _plantings(known, changes, there))
    whole = _with_counts(book, known, moment, there, found)
    entries = _entries(whole, there, found)
    lots = _lots(known, there, found, entries)
    ours = _changes(changes, whole, entries, lots, found)
    harvests = sorted(found.harvests, key=lambda row: (row.time, row.harvest))
    return {
        "schema": "outpace.trace/1",
        "code": code.strip(),
        "kind": found.kind,
        "sentence": _sentence(code.strip(), found, entries, lots, zone),
        "farm": there.farm,
        "as_of": local_iso(known.as_of, zone),
        "head": known.head,
        "houses": [
            {"house": house, "since": local_iso(first, zone), "until": local_iso(last, zone)}
            for house, (first, last) in sorted(found.windows.items())
        ],
        "harvests": [
            {
                "code": row.lot_code,
                "harvest": row.harvest,
                "house": row.house,
                "zone": row.zone,
                "time": local_iso(row.time, zone),
                "amount": row.amount,
                "unit": row.unit,
            }
            for row in harvests
        ],
        "lots": [_lot_answer(known, lot, there, zone) for lot in lots],
        "entries": [_entry_answer(entry, ours, harvests, zone) for entry in entries],
        "corrections": changes_answer(ours, zone),
        "cautions": found.cautions,
    }


def last_codes(
    book: Book, *, farm: str | None = None, as_of: str | None = None, most: int = 12
) -> dict[str, list[str]]:
    """Return the last harvest codes and lots, the latest first."""
    moment = moment_of(book, as_of, farm)
    known = book.snapshot(moment, only={name: {} for name in ("farm", "harvests", "lots", "releases")})
    there = pick_farm(known, farm)
    harvests = sorted(
        (row for row in known.table(Harvest) if row.farm == there.farm), key=lambda row: row.time
    )
    let_go = sorted((row for row in known.table(Release) if row.farm == there.farm), key=lambda row: row.time)
    return {
        "harvests": list(dict.fromkeys(row.lot_code for row in reversed(harvests)))[:most],
        "lots": list(dict.fromkeys(row.lot for row in reversed(let_go)))[:most],
    }


def _find(known: Snapshot, farm: Farm, code: str, plantings: Mapping[str, Sequence[datetime]]) -> Found:
    wanted = " ".join(code.split()).casefold()
    harvests = [row for row in known.table(Harvest) if row.farm == farm.farm]
    coded = [row for row in harvests if wanted in (row.lot_code.casefold(), row.harvest.casefold())]
    if coded:
        return _behind(farm, coded, plantings)
    for kind, column, said in BEGINNINGS:
        every: tuple[Any, ...] = known.rows.get(TABLE_OF[kind], ())
        rows = [
            row
            for row in every
            if getattr(row, "farm", farm.farm) == farm.farm
            and str(getattr(row, column) or "").casefold() == wanted
        ]
        if rows:
            return _ahead(known, farm, said, rows, harvests, plantings)
    names = [
        *(row.lot_code for row in reversed(harvests)),
        *(row.lot for row in reversed(known.table(Lot))),
        *(row.spray for row in reversed(known.table(Spray))),
    ]
    near = difflib.get_close_matches(code, list(dict.fromkeys(names)), n=4, cutoff=0.6)
    shown = near or list(dict.fromkeys(names))[:6]
    raise OutpaceError(
        f"no harvest, lot, order, spray, release, walk or batch of plants is called {code!r}",
        allowed=f"{'near' if near else 'such as'}: {', '.join(shown)}"
        if shown
        else "none is written down yet",
        hint="write the code as it stands on the crate, the label or in the book",
        code=ExitCode.USAGE,
    )


def _plantings(known: Snapshot, changes: Iterable[Change], farm: Farm) -> dict[str, list[datetime]]:
    """Return every day of planting that the book has had for a house, the earlier crops from its corrections."""
    zone = zone_of_farm(farm)
    days: dict[str, set[Any]] = {}
    for house in known.table(House):
        if house.farm == farm.farm and house.planted is not None:
            days.setdefault(house.house, set()).add(house.planted)
    for change in changes:
        if change.table == "houses" and change.was["farm"] == farm.farm and change.was["planted"] is not None:
            days.setdefault(change.was["house"], set()).add(change.was["planted"])
    return {
        house: sorted(datetime(day.year, day.month, day.day, tzinfo=zone) for day in found)
        for house, found in days.items()
    }


def _behind(farm: Farm, coded: list[Harvest], plantings: Mapping[str, Sequence[datetime]]) -> Found:
    found = Found("harvest", harvests=coded)
    for row in coded:
        before = [day for day in plantings.get(row.house, ()) if day <= row.time]
        if before:
            since = before[-1]
        else:
            since = row.time - WITHOUT_PLANTING
            found.cautions.append(
                f"No day of planting before this harvest is entered for {row.house}: one year back is shown."
            )
        held = found.windows.get(row.house, (since, row.time))
        found.windows[row.house] = (min(since, held[0]), max(row.time, held[1]))
    return found


def _ahead(
    known: Snapshot,
    farm: Farm,
    kind: str,
    rows: list[Any],
    harvests: list[Harvest],
    plantings: Mapping[str, Sequence[datetime]],
) -> Found:
    found = Found(kind, rows=list(rows))
    begins: list[tuple[str, str | None, datetime]] = []
    if kind in ("order", "invoice"):
        lines = {(row.order, row.line) for row in rows}
        found.lots = {lot.lot for lot in known.table(Lot) if (lot.order, lot.line) in lines}
    elif kind == "lot" or kind == "release":
        found.lots = {row.lot for row in rows}
    let_go = [
        row
        for row in known.table(Release)
        if row.farm == farm.farm and (row in rows if kind == "release" else row.lot in found.lots)
    ]
    steps: list[Any] = list(let_go) if found.lots else rows
    for row in steps:
        when = getattr(row, "time", None) or getattr(row, "start", None)
        if getattr(row, "house", None) is None or when is None:
            found.cautions.append(f"{key_of(row)} names no house or no time: its way ends here.")
            continue
        begins.append((row.house, getattr(row, "zone", None), when))
        if row not in found.rows:
            found.rows.append(row)
    for house, zone, when in begins:
        later = [day for day in plantings.get(house, ()) if day > when]
        until = later[0] if later else when + WITHOUT_PLANTING
        picked = [
            row
            for row in harvests
            if row.house == house and when <= row.time < until and (zone is None or row.zone in (None, zone))
        ]
        found.harvests += [row for row in picked if row not in found.harvests]
        last = max((row.time for row in picked), default=when)
        held = found.windows.get(house, (when, last))
        found.windows[house] = (min(when, held[0]), max(last, held[1]))
    if not found.harvests and begins:
        found.cautions.append("No harvest after it is written down: the way ends at the house.")
    return found


def _with_counts(book: Book, known: Snapshot, moment: datetime | None, farm: Farm, found: Found) -> Snapshot:
    """Return the snapshot with what was counted on the walks of the windows, and no other."""
    walks = [
        walk.walk
        for walk in known.table(Walk)
        if walk.farm == farm.farm
        and walk.house in found.windows
        and found.windows[walk.house][0] <= walk.time <= found.windows[walk.house][1]
    ]
    if not walks:
        return known
    counted = book.snapshot(moment, only={name: {"walk": walks} for name in OF_WALKS})
    return Snapshot(as_of=known.as_of, head=known.head, rows={**known.rows, **counted.rows})


def _entries(known: Snapshot, farm: Farm, found: Found) -> list[Entry]:
    entries: list[Entry] = []
    for house, (first, last) in found.windows.items():
        entries += entries_of(known, farm, {house}, first, last)
    if found.kind == "harvest":
        return sorted(
            (entry for entry in entries if entry.kind != "harvest" or entry.row in found.harvests),
            key=lambda entry: (entry.time, entry.house or ""),
        )
    # Ahead of a lot or a spray lies what it went into, not all else that was done there.
    kept = [entry for entry in entries if entry.row in found.rows or entry.row in found.harvests]
    return sorted(kept, key=lambda entry: (entry.time, entry.house or ""))


def _lots(known: Snapshot, farm: Farm, found: Found, entries: Iterable[Entry]) -> list[Lot]:
    wanted = found.lots | {entry.row.lot for entry in entries if entry.kind == "release"}
    return [lot for lot in known.table(Lot) if lot.lot in wanted]


def _lot_answer(known: Snapshot, lot: Lot, farm: Farm, zone: ZoneInfo) -> dict[str, Any]:
    line = next(
        (row for row in known.table(OrderLine) if (row.order, row.line) == (lot.order, lot.line)), None
    )
    checks = [check for check in known.table(Check) if check.lot == lot.lot]
    let_go = [row for row in known.table(Release) if row.lot == lot.lot and row.farm == farm.farm]
    permit = next(
        (row for row in known.table(Permit) if (row.farm, row.enemy) == (farm.farm, lot.enemy)), None
    )
    seen = "no permit or list entry written down"
    if permit is not None:
        number = f", number {permit.number}" if permit.number else ", number not entered"
        seen = f"permit or list entry {'seen' if permit.seen else 'not seen'} ({permit.country}{number})"
    return {
        "lot": lot.lot,
        "enemy": lot.enemy,
        "form": lot.form,
        "arrived": None if lot.arrived is None else local_iso(lot.arrived, zone),
        "order": lot.order,
        "supplier": line.supplier if line else None,
        "invoice": line.invoice if line else None,
        "houses": sorted({row.house for row in let_go}),
        "released": sum(row.number for row in let_go),
        "labelled_number": lot.labelled_number,
        "what": f"{lot_words(lot, line, checks)}; {seen}",
    }


def _changes(
    changes: Sequence[Change],
    known: Snapshot,
    entries: Sequence[Entry],
    lots: Sequence[Lot],
    found: Found,
) -> list[Change]:
    """Return the changes of what is shown, and of rows that were withdrawn from the same houses and time."""
    keys = {(entry.table, entry.key) for entry in entries}
    keys |= {("lots", key_of(lot)) for lot in lots}
    walks = {entry.row.walk for entry in entries if entry.kind == "walk"}
    named = {lot.lot for lot in lots}
    kept = []
    for change in changes:
        was = change.was
        ours = (change.table, change.key) in keys
        ours |= change.table in OF_WALKS and was["walk"] in walks
        ours |= change.table == "checks" and was["lot"] in named
        if not ours and was.get("house") in found.windows:
            when = was.get("time") or was.get("start") or was.get("set_out")
            first, last = found.windows[was["house"]]
            ours = when is not None and first <= when <= last and found.kind == "harvest"
            ours &= change.withdrawn or change.table != "harvests"
        if ours:
            kept.append(change)
    return kept


def _entry_answer(
    entry: Entry, changes: Sequence[Change], harvests: Sequence[Harvest], zone: ZoneInfo
) -> dict[str, Any]:
    key, table = entry.key, entry.table
    touched = sum(
        (change.table, change.key) == (table, key)
        or (entry.kind == "walk" and change.table in OF_WALKS and change.was["walk"] == entry.row.walk)
        for change in changes
    )
    return {
        "time": local_iso(entry.time, zone),
        "kind": entry.kind,
        "house": entry.house,
        "zone": entry.zone,
        "what": entry.what,
        "table": table,
        "key": key,
        "corrections": touched,
        "minds": _interval(entry.row, harvests, zone) if entry.kind == "spray" else [],
    }


def _interval(spray: Spray, harvests: Collection[Harvest], zone: ZoneInfo) -> list[str]:
    """Return what is to be said of picking after a spray: too early, or not to be shown."""
    picking = clocks_of(spray, zone, bees_in=None).picking
    told = []
    for row in harvests:
        if row.house != spray.house or row.time < spray.start:
            continue
        if spray.zone is not None and row.zone not in (None, spray.zone):
            continue
        if picking.until is None:
            told.append(
                f"Whether {row.lot_code} waited for it cannot be shown: {', '.join(picking.lacks)} not entered."
            )
        elif row.time < picking.until:
            told.append(
                f"{row.lot_code} was picked {moment_words(row.time, zone)}, before its wait ended "
                f"{moment_words(picking.until, zone)}."
            )
    return told


def _sentence(code: str, found: Found, entries: Sequence[Entry], lots: Sequence[Lot], zone: ZoneInfo) -> str:
    def number(kind: str, one: str, many: str = "") -> str:
        count = sum(entry.kind == kind for entry in entries)
        return f"{count} {one if count == 1 else many or f'{one}s'}"

    if found.kind == "harvest":
        days = sorted({row.time.astimezone(zone).date() for row in found.harvests})
        houses = ", ".join(sorted(found.windows))
        span = weekday(days[0]) if len(days) == 1 else f"{weekday(days[0])} to {weekday(days[-1])}"
        return (
            f"Behind {code}, picked {span} in {houses}: {number('walk', 'walk')}, "
            f"{number('spray', 'spray')}, {number('release', 'release')} of {len(lots)} "
            f"{'lot' if len(lots) == 1 else 'lots'}, {number('decision', 'decision')}."
        )
    codes = list(dict.fromkeys(row.lot_code for row in found.harvests))
    houses = ", ".join(sorted(found.windows)) or "no house"
    first = min((first for first, _ in found.windows.values()), default=None)
    when = "" if first is None else f" on {weekday(first.astimezone(zone).date())}"
    what = enemy_name(lots[0].enemy) if len(lots) == 1 else found.kind
    return (
        f"{code} ({what}) went into {houses}{when}; look at {len(codes)} harvest "
        f"{'code' if len(codes) == 1 else 'codes'} after it."
    )
