"""The rows of an exchange file as checked entries, with every fault named by file, row and column."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime
from typing import Any

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.records.canonical import canonical_json, key_words, plain, recorded_text, row_key
from outpace.records.cells import (
    HAS_OFFSET,
    CellFault,
    LocalClock,
    LocalTime,
    cell_reader,
    local_clock,
    read_exact_time,
    read_text,
    read_time,
    read_yes_no,
)
from outpace.records.checks import CLOCK_SLACK, YEARS, check_pairs, checker
from outpace.records.columns import BOOKKEEPING, Column, Table, table
from outpace.records.entries import Entry
from outpace.records.package_header import places_of, ragged_hint
from outpace.records.surroundings import Surroundings
from outpace.records.tables import SERIES_COLUMNS

PORTION = 20_000

#: A row with no time of its own, such as a house, counts as known from the start unless it says otherwise.
FROM_THE_START = recorded_text(datetime(YEARS[0], 1, 1, tzinfo=UTC))

#: The columns that say when a row of a table came about, the first that is filled.
OWN_TIME: dict[str, tuple[str, ...]] = {
    "crop_stages": ("time",),
    "plants_in": ("time",),
    "climate": ("issued", "time"),
    "walks": ("time",),
    "cards": ("time",),
    "packs": ("valid_from",),
    "orders": ("placed",),
    "lots": ("arrived", "packed"),
    "checks": ("time",),
    "releases": ("time",),
    "bankers": ("set_out",),
    "sprays": ("start",),
    "harvests": ("time",),
    "decisions": ("time",),
    "permits": ("time",),
    "forecasts": ("made",),
}

#: Tables whose rows came about with a row of another: its name and the columns that lead there.
BORN_WITH: dict[str, tuple[str, tuple[str, ...]]] = {
    "counts": ("walks", ("walk",)),
    "mummies": ("walks", ("walk",)),
    "seen": ("walks", ("walk",)),
    "walk_lines": ("walks", ("walk",)),
    "allocations": ("orders", ("order", "line")),
}


class TableRows:
    """Reads one file of one table."""

    def __init__(self, name: str, shown: str, around: Surroundings) -> None:
        self.table: Table = table(name)
        self.shown = shown
        self._around = around
        self._seen: dict[str, tuple[int, str]] = {}
        self._twofold: dict[tuple[Any, ...], list[tuple[Entry, LocalTime, str]]] = {}
        self._ends: dict[tuple[Any, ...], tuple[str, str]] = {}
        self.count = 0
        self.farms: list[str] = []
        # An hour may name the event that brought it, so that its batch can be taken over whole.
        self.bookkeeping = (*BOOKKEEPING, "event") if name == "climate" else BOOKKEEPING

    def entries(self, rows: Iterator[list[str]]) -> Iterator[list[Entry]]:
        """Yield entries in portions; faults are added to the surroundings."""
        header = next(rows, None)
        if header is None or not any(cell.strip() for cell in header):
            self._around.add(
                OutpaceError(say("has no header"), where=f"`{self.shown}`", allowed=say("needs column names"))
            )
            return
        names = [cell.strip() for cell in header]
        plan = places_of(names, self.table, self.bookkeeping, self.shown, self._around)
        if plan is None:
            return
        portion: list[Entry] = []
        for number, cells in enumerate(rows, start=2):
            if len(cells) != len(header):
                if not any(cell.strip() for cell in cells):
                    continue
                self._fault(
                    number,
                    "",
                    say("{cells} cells", cells=len(cells)),
                    say("the header names {header} columns", header=len(header)),
                    ragged_hint(cells, header),
                )
                continue
            entry = self._row(number, cells, plan)
            if entry is not None:
                self.count += 1
                portion.append(entry)
                if len(portion) >= PORTION:
                    yield portion
                    portion = []
        portion += self._settled()
        if portion:
            yield portion

    # The rows

    def _fault(self, number: int, column: str, what: str, allowed: str, hint: str = "") -> None:
        place = say("`{shown}` row {number}", shown=self.shown, number=number) + (
            say(", column `{column}`", column=column) if column else ""
        )
        self._around.add(OutpaceError(what, where=place, allowed=allowed, hint=hint))

    def _row(self, number: int, cells: list[str], plan: Mapping[str, int]) -> Entry | None:
        around = self._around
        if not hasattr(self, "_readers"):
            self._prepare(plan)
        values: dict[str, Any] = dict(self._blank)
        typed: dict[str, Any] = {}
        written: dict[str, str] | None = None
        twofold: LocalTime | None = None
        good = True
        for column, at, read, check in self._readers:
            text = cells[at].strip()
            if not text:
                if column.required:
                    good = False
                    self._fault(number, column.stored, say("is empty"), say("must be filled"))
                continue
            try:
                if read is None:
                    value = read_time(text, self._clock(cells))
                    if isinstance(value, LocalTime):
                        if column.stored != "time" or self.table.name != "climate":
                            raise CellFault(
                                say("local time `{text_told}` came twice that night", text_told=text),
                                say("the clock was put back over it"),
                                say("write the time with its offset from UTC"),
                            )
                        twofold = value
                        value = value.first
                    shown = plain(column, value)
                    if text != shown:
                        written = written or {}
                        written[column.stored] = text
                    values[column.stored] = shown
                else:
                    value = read(text)
                    values[column.stored] = value.isoformat() if column.kind.__name__ == "date" else value
            except CellFault as fault:
                good = False
                self._fault(number, column.stored, f"{column.stored} {fault.what}", fault.allowed, fault.hint)
                continue
            wrong = check(value, around.now)
            if wrong is not None:
                good = False
                self._fault(number, column.stored, wrong.what, wrong.allowed, wrong.hint)
            typed[column.stored] = value
        told = self._told(number, cells, plan)
        if not good or told is None:
            return None
        for wrong in check_pairs(self.table, typed):
            self._fault(number, wrong.column, wrong.what, wrong.allowed, wrong.hint)
            return None
        where = say("`{shown}` row {number}", shown=self.shown, number=number)
        entry = Entry(self.table, values, "", written=written, where=where, **told)
        if twofold is not None:
            series = tuple(values[name] for name in SERIES_COLUMNS)
            self._twofold.setdefault(series, []).append((entry, twofold, cells[plan["time"]].strip()))
            return None
        if self.table.name == "climate":
            self._note_end(values)
        return self._keyed(entry, number)

    def _keyed(self, entry: Entry, number: int) -> Entry | None:
        """Give an entry its key and its own time; refuse a second row of one key with other content."""
        values = entry.values
        name = self.table.name
        if name != "climate":
            entry.key = row_key(self.table, values)
            content = canonical_json(values)
            first = self._seen.setdefault(entry.key, (number, content))
            if first[1] != content:
                words = key_words(self.table, values)
                self._fault(
                    number,
                    "",
                    say("{words} stands twice with other content", words=words),
                    say("first in row {first}", first=first[0]),
                    say("give one of them another name, or remove it"),
                )
                return None
        entry.own = self._own_time(entry)
        if name in ("walks", "orders"):
            self._around.recorded.setdefault(name, {})[entry.key] = entry.recorded or entry.own
        elif name == "farm":
            self._around.zones[values["farm"]] = values["time_zone"]
            if not entry.withdrawn:
                self.farms.append(values["farm"])
        return entry

    def _prepare(self, plan: Mapping[str, int]) -> None:
        around = self._around
        self._blank: dict[str, Any] = dict.fromkeys(self.table.names)
        only = around.only_farm()
        if "farm" in self.table.names and "farm" not in plan:
            self._blank["farm"] = only
        self._farm_at = plan.get("farm")
        self._zone_at = plan.get("time_zone") if self.table.name == "farm" else None
        self._only_clock = around.clock(only)
        self._readers: list[tuple[Column, int, Callable[[str], Any] | None, Any]] = [
            (
                column,
                plan[column.stored],
                None if column.kind is datetime else cell_reader(self.table.name, column, around.resolve),
                checker(column),
            )
            for column in self.table.columns
            if column.stored in plan
        ]

    def _clock(self, cells: list[str]) -> LocalClock | None:
        if self._zone_at is not None:  # a farm's own row says its zone
            try:
                return local_clock(cells[self._zone_at].strip())
            except (KeyError, ValueError, OSError):
                return None  # the cell itself is refused with its reason
        if self._farm_at is None:
            return self._only_clock
        return self._around.clock(read_text(cells[self._farm_at].strip()) or None)

    def _told(self, number: int, cells: list[str], plan: Mapping[str, int]) -> dict[str, Any] | None:
        """Return what the bookkeeping columns of a row say; None where one is wrong."""
        told: dict[str, Any] = {}
        for name in self.bookkeeping:
            text = cells[plan[name]].strip() if name in plan else ""
            if not text:
                continue
            try:
                if name == "recorded":
                    moment = self._moment(text, cells)
                    if moment > self._around.now + CLOCK_SLACK:
                        raise CellFault(f"{text}", say("lies in the future"), say("say when it became known"))
                    told["recorded"] = recorded_text(moment)
                elif name == "recorded_by":
                    told["by"] = read_text(text)
                elif name == "withdrawn":
                    told["withdrawn"] = read_yes_no(text)
                else:
                    told[name] = read_text(text)
            except CellFault as fault:
                self._fault(number, name, f"{name} {fault.what}", fault.allowed, fault.hint)
                return None
        return told

    def _moment(self, text: str, cells: list[str]) -> datetime:
        if HAS_OFFSET.search(text):
            return read_exact_time(text)
        moment = read_time(text, self._clock(cells))
        return moment.second if isinstance(moment, LocalTime) else moment

    def _own_time(self, entry: Entry) -> str:
        name, values = self.table.name, entry.values
        found: str | None = None
        if name in BORN_WITH:
            parent, columns = BORN_WITH[name]
            key = canonical_json([values[column] for column in columns])
            found = self._around.recorded.get(parent, {}).get(key) or self._around.recorded_of(parent, key)
        else:
            for column in OWN_TIME.get(name, ()):
                if values[column] is not None:
                    text = values[column]
                    found = f"{text}T00:00:00.000000Z" if len(text) == 10 else text.replace("Z", ".000000Z")
                    break
        return min(found or FROM_THE_START, recorded_text(self._around.now))

    # The repeated hour

    def _note_end(self, values: Mapping[str, Any]) -> None:
        series = tuple(values[name] for name in SERIES_COLUMNS)
        first, _ = self._ends.get(series, (values["time"], ""))
        self._ends[series] = (first, values["time"])

    def _settled(self) -> list[Entry]:
        """Return the rows of the repeated hour, told apart by order where each local time stands twice."""
        found = []
        for series, rows in self._twofold.items():
            first, last = self._ends.get(series, ("", ""))
            by_text: dict[str, list[tuple[Entry, LocalTime]]] = {}
            for entry, both, text in rows:
                by_text.setdefault(text, []).append((entry, both))
            for text, pair in by_text.items():
                if len(pair) != 2:
                    self._around.add(
                        OutpaceError(
                            say(
                                "local time `{text_told}` came twice that night and stands {pair}",
                                text_told=text,
                                pair=_times(len(pair)),
                            ),
                            where=pair[0][0].where,
                            allowed=say("the order of rows tells the two apart only where both are there"),
                            hint=say("write the time with its offset from UTC"),
                        )
                    )
                    continue
                moments = [pair[0][1].first, pair[0][1].second]
                if first > last:
                    moments.reverse()
                for (entry, _), moment in zip(pair, moments, strict=True):
                    entry.values["time"] = plain(self.table.column("time"), moment)
                    entry.own = self._own_time(entry)
                    self.count += 1
                    found.append(entry)
        return found


def _times(count: int) -> str:
    return "once" if count == 1 else say("{count} times", count=count)
