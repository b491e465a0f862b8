"""Climate in the book: many rows of one shape, one event a batch.

The event holds how many rows came, from when to when and the SHA-256 of their canonical lines; the rows
themselves stand in ``climate``, each with the moment it became known. A batch whose rows were altered no
longer has its digest.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from operator import itemgetter
from typing import Any

import sqlalchemy as sa

from outpace.records.canonical import canonical_json, digest, key_words, row_key
from outpace.records.chain import Chain
from outpace.records.columns import table
from outpace.records.entries import Conflict, Entry, Tally
from outpace.records.people import People
from outpace.records.tables import SERIES_COLUMNS, climate, climate_series
from outpace.records.versions import CORRECT, RECORD, WITHDRAW, Circumstances

CLIMATE = table("climate")
VALUES = ("temperature_degc", "humidity_pct", "radiation_w_per_m2", "flag")
DIGESTED = (*VALUES, "recorded", "withdrawn")


def seconds_of(text: str) -> int:
    """Return the time of a row as whole seconds since 1970, as the table holds it."""
    return int(datetime.fromisoformat(text).timestamp())


def text_of(seconds: int) -> str:
    """Return what :func:`seconds_of` took."""
    return datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def batch_digest(lines: Iterable[tuple[str, int, Sequence[Any]]]) -> str:
    """Return the SHA-256 over the canonical lines of a batch, sorted by series and time.

    Each line: series key, seconds, and the values of the columns of ``DIGESTED``.
    """
    write = _Fragments()
    text = "".join(
        [
            f"{key}{seconds}[{write[degc]},{write[pct]},{write[w]},{write[flag]},{write[recorded]},{gone}]\n"
            for key, seconds, (degc, pct, w, flag, recorded, gone) in sorted(lines, key=itemgetter(0, 1))
        ]
    )
    return digest(text)


class _Fragments(dict[Any, str]):
    """Canonical JSON of texts and decimals met before: hours of a logger repeat a few hundred of them."""

    def __missing__(self, value: Any) -> str:
        text = canonical_json(value)
        if value != 0.0:  # minus zero and zero are one key and two texts
            self[value] = text
        return text


class ClimateWriter:
    """Writes climate entries in one transaction: a batch of new rows, one of corrections, one withdrawn."""

    def __init__(
        self, connection: sa.Connection, chain: Chain, people: People, how: Circumstances, tally: Tally
    ) -> None:
        self._connection = connection
        self.chain = chain
        self._people = people
        self._how = how
        self._tally = tally
        self._series: dict[str, int] = {}

    def take(self, entries: Sequence[Entry]) -> None:
        """Decide on every row and write the batches."""
        by_columns: dict[tuple[Any, ...], list[tuple[int, Entry]]] = {}
        for entry in entries:
            columns = tuple(entry.values[name] for name in SERIES_COLUMNS)
            by_columns.setdefault(columns, []).append((seconds_of(entry.values["time"]), entry))
        by_series = {canonical_json(list(columns)): rows for columns, rows in by_columns.items()}
        batches: dict[str, list[tuple[str, int, Entry, Any]]] = {RECORD: [], CORRECT: [], WITHDRAW: []}
        for key, rows in by_series.items():
            held = self._held(key, rows)
            offered: dict[int, Entry] = {}
            for seconds, entry in rows:
                first = offered.setdefault(seconds, entry)
                if first is not entry:
                    if _content(first.values) == _content(entry.values):
                        self._tally.same += 1
                    else:
                        self._tally.conflicts.append(_conflict(entry, first.values, first.withdrawn))
                    continue
                there = held.get(seconds)
                deed = self._decide(entry, there)
                if deed is not None:
                    batches[deed].append((key, seconds, entry, there))
        if self._tally.conflicts:
            return
        for deed, batch in batches.items():
            if batch:
                self._write(deed, batch)

    def _held(self, key: str, rows: Sequence[tuple[int, Entry]]) -> dict[int, Any]:
        found = self._connection.execute(
            sa.select(climate_series.c.series).where(climate_series.c.series_key == key)
        ).scalar()
        if found is None:
            return {}
        self._series[key] = found
        times = [seconds for seconds, _ in rows]
        query = sa.select(climate).where(
            climate.c.series == found,
            climate.c.time.between(min(times), max(times)),
            climate.c.replaced.is_(None),
        )
        return {row.time: row for row in self._connection.execute(query)}

    def _decide(self, entry: Entry, held: Any) -> str | None:
        tally = self._tally
        if held is None:
            if entry.withdrawn:
                tally.withdrawn += 1
                return WITHDRAW
            tally.new += 1
            return RECORD
        if held.withdrawn and entry.withdrawn:
            tally.same += 1
            return None
        if entry.withdrawn:
            tally.withdrawn += 1
            for name in VALUES:
                entry.values[name] = getattr(held, name)
            return WITHDRAW
        alike = not held.withdrawn and tuple(getattr(held, name) for name in VALUES) == _content(entry.values)
        if alike and ("climate", row_key(CLIMATE, entry.values)) not in self._how.settling:
            tally.same += 1
            return None
        if self._how.correct or entry.replaces:
            tally.corrected += 1
            return CORRECT
        tally.conflicts.append(_conflict(entry, held._mapping, bool(held.withdrawn)))
        return None

    def _series_id(self, key: str, values: dict[str, Any]) -> int:
        if key not in self._series:
            last = self._connection.execute(sa.select(sa.func.max(climate_series.c.series))).scalar()
            self._series[key] = (last or 0) + 1
            self._connection.execute(
                climate_series.insert().values(
                    series=self._series[key],
                    series_key=key,
                    **{name: values[name] for name in SERIES_COLUMNS},
                )
            )
        return self._series[key]

    def _write(self, deed: str, batch: Sequence[tuple[str, int, Entry, Any]]) -> None:
        how, people = self._how, self._people
        default_by = people.id(how.by)
        rows: list[dict[str, Any]] = []
        lines: list[tuple[str, int, Sequence[Any]]] = []
        closed: list[dict[str, Any]] = []
        withdrawn = int(deed == WITHDRAW)
        for key, seconds, entry, held in batch:
            recorded = entry.recorded or (entry.own if held is None else None) or how.now
            if held is not None and recorded < held.recorded:
                recorded = held.recorded
            by = people.id(entry.by) if entry.by else default_by
            values = entry.values
            row = {
                "series": self._series_id(key, values),
                "time": seconds,
                "temperature_degc": values["temperature_degc"],
                "humidity_pct": values["humidity_pct"],
                "radiation_w_per_m2": values["radiation_w_per_m2"],
                "flag": values["flag"],
                "recorded": recorded,
                "recorded_by": by,
                "replaces": held.event if held is not None else entry.replaces,
                "replaced": None,
                "withdrawn": withdrawn,
                "written": entry.written["time"] if entry.written else None,
            }
            rows.append(row)
            lines.append((key, seconds, digest_values(row)))
            if held is not None:
                closed.append({"s": row["series"], "t": seconds, "e": held.event, "at": recorded})
        recorded = max(row["recorded"] for row in rows)
        times = [row["time"] for row in rows]
        content: dict[str, Any] = {
            "do": deed,
            "rows": len(rows),
            "digest": batch_digest(lines),
            "from": text_of(min(times)),
            "to": text_of(max(times)),
        }
        if recorded != how.now:
            content["entered"] = how.now
        houses = sorted({(entry.values["farm"], entry.values["house"]) for _, _, entry, _ in batch})
        event = self.chain.add(
            table="climate",
            key=canonical_json([list(house) for house in houses]),
            content=content,
            recorded=recorded,
            by=str(default_by),
            why=how.why,
        )
        if closed:
            self._connection.execute(
                climate.update()
                .where(
                    climate.c.series == sa.bindparam("s"),
                    climate.c.time == sa.bindparam("t"),
                    climate.c.event == sa.bindparam("e"),
                )
                .values(replaced=sa.bindparam("at")),
                closed,
            )
        for row in rows:
            row["event"] = event
        self._connection.execute(climate.insert(), rows)
        self._tally.changed("climate", len(rows))


def digest_values(row: Mapping[str, Any]) -> list[Any]:
    """Return the values of a climate row that its batch's digest covers."""
    return [row[name] for name in DIGESTED]


def _content(values: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(values[name] for name in VALUES)


def _conflict(entry: Entry, held: Mapping[str, Any], withdrawn: bool) -> Conflict:
    differs: dict[str, tuple[Any, Any]] = {
        name: (held[name], entry.values[name]) for name in VALUES if held[name] != entry.values[name]
    }
    if withdrawn:
        differs["withdrawn"] = ("yes", "no")
    return Conflict("climate", key_words(CLIMATE, entry.values), entry.where, differs)
