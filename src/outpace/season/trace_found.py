"""What a code of the book stands for: a harvest with all before it, or a lot, spray or batch with all after it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.records.changes import Change
from outpace.records.known import Only
from outpace.season.names import zone_of_farm
from outpace.season.open_book import Book
from outpace.season.register import key_of
from outpace.terms.enemies import Lot, OrderLine, Release
from outpace.terms.place import Farm, House, PlantsIn
from outpace.terms.scouting import Walk
from outpace.terms.tables import TABLE_OF, Snapshot
from outpace.terms.upkeep import Harvest, Spray

WITHOUT_PLANTING = timedelta(days=365)
"""So far back a harvest looks in a house whose day of planting nobody entered."""

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


class Part:
    """The part of a book that one code needs, read as it becomes known what that is."""

    def __init__(self, book: Book, moment: datetime | None) -> None:
        self._book, self._moment = book, moment
        self.known = book.snapshot(moment, only={})

    def read(self, only: Only) -> None:
        """Read further rows beside those that are there."""
        more = self._book.snapshot(self._moment, only=only)
        rows = dict(self.known.rows)
        for name, found in more.rows.items():
            rows[name] = tuple(dict.fromkeys((*rows.get(name, ()), *found)))
        self.known = Snapshot(as_of=self.known.as_of, head=more.head, rows=rows)


def find(part: Part, farm: Farm, code: str, plantings: Mapping[str, Sequence[datetime]]) -> Found:
    """Return what a code of a farm stands for.

    Raises
    ------
    OutpaceError
        If the book knows no such code; some that are near are named.
    """
    typed = " ".join(code.split())
    exact = {
        "harvests": ("lot_code", "harvest"),
        **{TABLE_OF[kind]: (column,) for kind, column, _ in BEGINNINGS},
        "orders": ("order", "invoice"),
    }
    for name, columns in exact.items():
        for column in columns:
            part.read({name: {column: [typed]}})
    found = _matching(part, farm, typed, plantings)
    if found is None:
        part.read({name: {} for name in exact})
        found = _matching(part, farm, typed, plantings)
    if found is None:
        raise _nothing(part.known, farm, code)
    return found


def _matching(
    part: Part, farm: Farm, typed: str, plantings: Mapping[str, Sequence[datetime]]
) -> Found | None:
    wanted, known = typed.casefold(), part.known
    coded = [
        row
        for row in known.table(Harvest)
        if row.farm == farm.farm and wanted in (row.lot_code.casefold(), row.harvest.casefold())
    ]
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
            return _ahead(part, farm, said, rows, plantings)
    return None


def _nothing(known: Snapshot, farm: Farm, code: str) -> OutpaceError:
    names = [
        *(row.lot_code for row in reversed(known.table(Harvest)) if row.farm == farm.farm),
        *(row.lot for row in reversed(known.table(Lot))),
        *(row.spray for row in reversed(known.table(Spray))),
    ]
    near = difflib.get_close_matches(code, list(dict.fromkeys(names)), n=4, cutoff=0.6)
    shown = near or list(dict.fromkeys(names))[:6]
    return OutpaceError(
        say("no harvest, lot, order, spray, release, walk or batch of plants is called {code!r}", code=code),
        allowed=_such_as(near, shown),
        hint=say("write the code as it stands on the crate, the label or in the book"),
        code=ExitCode.USAGE,
    )


def _such_as(near: list[str], shown: list[str]) -> str:
    if not shown:
        return say("none is written down yet")
    names = ", ".join(shown)
    return say("near: {names}", names=names) if near else say("such as: {names}", names=names)


def plantings_of(known: Snapshot, changes: Iterable[Change], farm: Farm) -> dict[str, list[datetime]]:
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
                say(
                    "No day of planting before this harvest is entered for {house}: one year back is shown.",
                    house=row.house,
                )
            )
        held = found.windows.get(row.house, (since, row.time))
        found.windows[row.house] = (min(since, held[0]), max(row.time, held[1]))
    return found


def _ahead(
    part: Part,
    farm: Farm,
    kind: str,
    rows: list[Any],
    plantings: Mapping[str, Sequence[datetime]],
) -> Found:
    found = Found(kind, rows=list(rows))
    begins: list[tuple[str, str | None, datetime]] = []
    if kind in ("order", "invoice"):
        lines = {(row.order, row.line) for row in rows}
        part.read({"lots": {"order": [row.order for row in rows]}})
        found.lots = {lot.lot for lot in part.known.table(Lot) if (lot.order, lot.line) in lines}
    elif kind in ("lot", "release"):
        found.lots = {row.lot for row in rows}
    part.read({"releases": {"lot": found.lots}})
    let_go = [
        row
        for row in part.known.table(Release)
        if row.farm == farm.farm and (row in rows if kind == "release" else row.lot in found.lots)
    ]
    steps: list[Any] = list(let_go) if found.lots else rows
    for row in steps:
        when = getattr(row, "time", None) or getattr(row, "start", None)
        if getattr(row, "house", None) is None or when is None:
            found.cautions.append(say("{row} names no house or no time: its way ends here.", row=key_of(row)))
            continue
        begins.append((row.house, getattr(row, "zone", None), when))
        found.rows.append(row)
    found.rows = list(dict.fromkeys(found.rows))
    part.read({"harvests": {"farm": [farm.farm], "house": {house for house, _, _ in begins}}})
    harvests = part.known.table(Harvest)
    for house, zone, when in begins:
        later = [day for day in plantings.get(house, ()) if day > when]
        until = later[0] if later else when + WITHOUT_PLANTING
        picked = [
            row
            for row in harvests
            if row.farm == farm.farm
            and row.house == house
            and when <= row.time < until
            and (zone is None or row.zone in (None, zone))
        ]
        found.harvests += picked
        last = max((row.time for row in picked), default=when)
        held = found.windows.get(house, (when, last))
        found.windows[house] = (min(when, held[0]), max(last, held[1]))
    found.harvests = list(dict.fromkeys(found.harvests))
    if not found.harvests and begins:
        found.cautions.append(say("No harvest after it is written down: the way ends at the house."))
    return found
