"""From a harvest code to all that stands behind it, and from a lot, spray or batch to the harvests it may be in."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from outpace.language import say, say_many
from outpace.planning.spray_clocks import clocks_of
from outpace.records.changes import Change
from outpace.season.changed import changes_answer
from outpace.season.moments import local_iso
from outpace.season.names import pick_farm, zone_of_farm
from outpace.season.open_book import Book, moment_of
from outpace.season.register import Entry, enemy_name, entries_of, key_of, lot_words
from outpace.season.sprayed import moment_words
from outpace.season.trace_found import Found, Part, find, plantings_of
from outpace.season.words import weekday
from outpace.terms.enemies import Check, Lot, OrderLine, Release
from outpace.terms.place import Farm
from outpace.terms.scouting import Walk
from outpace.terms.tables import TABLE_OF, Snapshot
from outpace.terms.upkeep import Harvest, Permit, Spray

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
OF_HOUSES = ("plants_in", "walks", "cards", "releases", "bankers", "sprays", "harvests", "decisions")


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
    part = Part(book, moment)
    part.read({"farm": {}, "houses": {}})
    there = pick_farm(part.known, farm)
    zone = zone_of_farm(there)
    changes = book.changes(TRACED, moment)
    found = find(part, there, code, plantings_of(part.known, changes, there))
    _read_windows(part, there, found)
    entries = _entries(part.known, there, found)
    lots = _lots(part, found, entries)
    known = part.known
    ours = _changes(changes, entries, lots, found)
    harvests = sorted(found.harvests, key=lambda row: (row.time, row.harvest))
    return {
        "schema": "outpace.trace/1",
        "code": code.strip(),
        "kind": found.kind,
        "sentence": _sentence(code.strip(), found, entries, lots, zone),
        "farm": there.farm,
        "as_of": local_iso(known.as_of, zone),
        "head": book.head(moment),
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


def _read_windows(part: Part, farm: Farm, found: Found) -> None:
    """Read what was done in the houses of the windows, and what was counted on their walks in that time.

    Ahead of a lot or a spray lies what it went into, not all else that was done there.
    """
    if found.kind == "harvest":
        place = {"farm": [farm.farm], "house": list(found.windows)}
        part.read(dict.fromkeys(OF_HOUSES, place))
        walks = [
            walk.walk
            for walk in part.known.table(Walk)
            if walk.farm == farm.farm
            and walk.house in found.windows
            and found.windows[walk.house][0] <= walk.time <= found.windows[walk.house][1]
        ]
        lots = found.lots | {row.lot for row in part.known.table(Release)}
    else:
        walks = [row.walk for row in found.rows if isinstance(row, Walk)]
        lots = found.lots
    part.read({name: {"walk": walks} for name in OF_WALKS})
    part.read({"lots": {"lot": lots}})


def _entries(known: Snapshot, farm: Farm, found: Found) -> list[Entry]:
    ours = set(found.harvests)
    if found.kind == "harvest":
        entries = [
            entry
            for house, (first, last) in found.windows.items()
            for entry in entries_of(known, farm, {house}, first, last)
            if entry.kind != "harvest" or entry.row in ours
        ]
    else:
        rows: dict[str, tuple[Any, ...]] = {name: known.rows.get(name, ()) for name in (*OF_WALKS, "lots")}
        for row in (*found.rows, *found.harvests):
            name = TABLE_OF[type(row)]
            rows[name] = (*rows.get(name, ()), row) if name != "lots" else rows[name]
        only = Snapshot(as_of=known.as_of, head=known.head, rows=rows)
        ends = [moment for window in found.windows.values() for moment in window]
        entries = entries_of(only, farm, found.windows, min(ends), max(ends)) if ends else []
    return sorted(entries, key=lambda entry: (entry.time, entry.house or ""))


def _lots(part: Part, found: Found, entries: Iterable[Entry]) -> list[Lot]:
    wanted = found.lots | {entry.row.lot for entry in entries if entry.kind == "release"}
    part.read({name: {"lot": wanted} for name in ("lots", "checks", "releases")})
    lots = [lot for lot in part.known.table(Lot) if lot.lot in wanted]
    part.read({"orders": {"order": {lot.order for lot in lots if lot.order}}, "permits": {}})
    return sorted(lots, key=lambda lot: (lot.arrived is not None, lot.arrived, lot.lot))


def _lot_answer(known: Snapshot, lot: Lot, farm: Farm, zone: ZoneInfo) -> dict[str, Any]:
    line = next(
        (row for row in known.table(OrderLine) if (row.order, row.line) == (lot.order, lot.line)), None
    )
    checks = [check for check in known.table(Check) if check.lot == lot.lot]
    let_go = [row for row in known.table(Release) if row.lot == lot.lot and row.farm == farm.farm]
    permit = next(
        (row for row in known.table(Permit) if (row.farm, row.enemy) == (farm.farm, lot.enemy)), None
    )
    seen = say("no permit or list entry written down")
    if permit is not None:
        number = (
            say(", number {number}", number=permit.number) if permit.number else say(", number not entered")
        )
        seen = say(
            "permit or list entry {value} ({country}{number})",
            value=say("seen") if permit.seen else say("not seen"),
            country=permit.country,
            number=number,
        )
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
        "what": f"{lot_words(lot, line, checks, zone)}; {seen}",
    }


def _changes(
    changes: Sequence[Change],
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
                say(
                    "Whether {lot_code} waited for it cannot be shown: {lacks} not entered.",
                    lot_code=row.lot_code,
                    lacks=", ".join(picking.lacks),
                )
            )
        elif row.time < picking.until:
            told.append(
                say(
                    "{lot_code} was picked {time}, before its wait ended {until}.",
                    lot_code=row.lot_code,
                    time=moment_words(row.time, zone),
                    until=moment_words(picking.until, zone),
                )
            )
    return told


def _sentence(code: str, found: Found, entries: Sequence[Entry], lots: Sequence[Lot], zone: ZoneInfo) -> str:
    def number(kind: str) -> int:
        return sum(entry.kind == kind for entry in entries)

    if found.kind == "harvest":
        days = sorted({row.time.astimezone(zone).date() for row in found.harvests})
        houses = ", ".join(sorted(found.windows))
        span = (
            weekday(days[0])
            if len(days) == 1
            else say("{days} to {days2}", days=weekday(days[0]), days2=weekday(days[-1]))
        )
        return say(
            "Behind {code}, picked {span} in {houses}: {walks}, {sprays}, {releases} of {lots}, {decisions}.",
            code=code,
            span=span,
            houses=houses,
            walks=say_many("{n} walk", "{n} walks", number("walk")),
            sprays=say_many("{n} spray", "{n} sprays", number("spray")),
            releases=say_many("{n} release", "{n} releases", number("release")),
            lots=say_many("{n} lot", "{n} lots", len(lots)),
            decisions=say_many("{n} decision", "{n} decisions", number("decision")),
        )
    codes = list(dict.fromkeys(row.lot_code for row in found.harvests))
    houses = ", ".join(sorted(found.windows)) or say("no house")
    first = min((first for first, _ in found.windows.values()), default=None)
    when = "" if first is None else say(" on {date}", date=weekday(first.astimezone(zone).date()))
    what = enemy_name(lots[0].enemy) if len(lots) == 1 else say(found.kind)
    return say_many(
        "{code} ({what}) went into {houses}{when}; look at {n} harvest code after it.",
        "{code} ({what}) went into {houses}{when}; look at {n} harvest codes after it.",
        len(codes),
        code=code,
        what=what,
        houses=houses,
        when=when,
    )
