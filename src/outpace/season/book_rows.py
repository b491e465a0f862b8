"""The rows of the book: found by a word, shown with all they ever said, mended by adding."""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from outpace.errors import ExitCode, ManyErrors, OutpaceError
from outpace.facts.table import load
from outpace.language import say, say_many, to_say, written
from outpace.measures import (
    area,
    area_sign,
    area_value,
    degree_sign,
    of_unit,
    read_area,
    read_temperature,
    temperature,
)
from outpace.records.canonical import from_plain, plain_row, row_key
from outpace.records.columns import CROP_TABLES, Column, Table, table
from outpace.records.store import Book
from outpace.season.enter import Entered
from outpace.season.moments import day, moment
from outpace.season.names import pick_farm, zone_of_farm
from outpace.season.register import crop_name, enemy_name, plants_entry
from outpace.terms.place import PlantsIn
from outpace.terms.scouting import PESTS_UNNAMED, Walk
from outpace.terms.tables import TABLES, Snapshot
from outpace.units import number

Answer = dict[str, Any]

NOT_LISTED = ("climate", "forecasts")
"""Too many rows to read one by one: temperatures come in files, forecasts are made."""
SHOWN = 60
DATED = ("time", "start", "placed", "arrived", "set_out", "since", "release_date", "valid_from", "made")
MADE_KEY = re.compile(r"-[0-9a-f]{10}$")
"""A key that was made of what an entry tells; it says nothing to people."""
MEASURED = ("_degc", "_m2")
SMALL = ("vent_area_m2",)
"""Areas told in m² or ft² even where houses are measured in larger units."""
SPECIES = ("enemy", "pest", "species", "other_species")


def rows_answer(
    snapshot: Snapshot, *, farm: str | None = None, of: str = "", search: str = "", first: int = 0
) -> Answer:
    """Return the rows of a farm that hold all the words searched for, the latest first.

    Parameters
    ----------
    of : str
        The table alone; empty: all.
    first : int
        So many of them are passed over.
    """
    there = pick_farm(snapshot, farm)
    clock = zone_of_farm(there)
    words = search.casefold().split()
    walks = {walk.walk: walk for walk in snapshot.table(Walk) if walk.farm == there.farm}
    counted: dict[str, int] = {}
    found: list[tuple[str, str, Table, Any]] = []
    for name, kind in TABLES.items():
        if name in NOT_LISTED:
            continue
        described = table(name)
        held: tuple[Any, ...] = snapshot.table(kind)
        rows = [row for row in held if _belongs(row, there.farm, walks)]
        if rows:
            counted[name] = len(rows)
        if of and name != of:
            continue
        for row in rows:
            whole = f"{name} {_words(described, row, clock, walks, keys=True)}".casefold()
            if all(word in whole for word in words):
                found.append((_when(row, walks), name, described, row))
    found.sort(key=lambda item: item[0], reverse=True)
    return {
        "farm": there.farm,
        "tables": counted,
        "total": len(found),
        "first": first,
        "rows": [
            {
                "table": name,
                "key": row_key(described, plain_row(described, row)),
                "when": when[:10],
                "what": _words(described, row, clock, walks),
            }
            for when, name, described, row in found[first : first + SHOWN]
        ],
        "next": first + SHOWN if first + SHOWN < len(found) else None,
    }


def row_answer(book: Book, snapshot: Snapshot, of: str, key: str, *, farm: str | None = None) -> Answer:
    """Return one row with its columns as they can be typed, and all it ever said.

    Raises
    ------
    OutpaceError
        If there is no such table or row.
    """
    described = _table(of)
    clock = zone_of_farm(pick_farm(snapshot, farm))
    history = book.history(of, *_key(described, key))
    if not history.versions:
        raise OutpaceError(
            say("no such row in the book"), hint=say("look it up in the book"), code=ExitCode.USAGE
        )
    now = history.now
    kept = next(version.row for version in reversed(history.versions) if version.row is not None)
    told = []
    before: Any = None
    for version in history.versions:
        told.append(
            {
                "at": version.recorded.astimezone(clock).isoformat(timespec="minutes"),
                "by": version.by,
                "why": version.why,
                "withdrawn": version.row is None,
                "differs": _differs(described, before, version.row, clock),
            }
        )
        before = version.row or before
    return {
        "table": of,
        "key": key,
        "what": _words(described, kept, clock, {}),
        "withdrawn": now is None,
        "columns": [_column(column, getattr(kept, column.name), clock) for column in described.columns],
        "history": told,
    }


def corrected(
    book: Book, snapshot: Snapshot, of: str, key: str, told: Mapping[str, str], *, farm: str | None = None
) -> Entered:
    """Return a row as it is after what was typed; columns left as they stood stay to the second.

    Raises
    ------
    OutpaceError
        If a value cannot be read, each told by its column.
    """
    described = _table(of)
    clock = zone_of_farm(pick_farm(snapshot, farm))
    row = book.history(of, *_key(described, key)).now
    if row is None:
        raise OutpaceError(say("this row was withdrawn"), hint=say("write it down anew"), code=ExitCode.USAGE)
    values, errors = {}, []
    for column in described.columns:
        if column.key or column.name not in told:
            continue
        typed = told[column.name].strip()
        if typed == _typed(column, getattr(row, column.name), clock):
            continue
        try:
            values[column.name] = _read(of, column, typed, clock)
        except OutpaceError as error:
            errors.append(
                OutpaceError(
                    error.what, where=column.name, allowed=error.allowed, hint=error.hint, code=ExitCode.USAGE
                )
            )
    if errors:
        raise errors[0] if len(errors) == 1 else ManyErrors(errors)
    if not values:
        raise OutpaceError(
            say("nothing was changed"), hint=say("change a value, or withdraw the row"), code=ExitCode.USAGE
        )
    new = dataclasses.replace(row, **values)
    return Entered([new], say("Corrected: {what}.", what=_words(described, new, clock, {})))


def withdraw(book: Book, of: str, key: str, *, by: str, why: str) -> Answer:
    """Withdraw a row; it stays in the history."""
    from outpace.season.recorded import recorded_answer

    written = book.withdraw(of, *_key(_table(of), key), by=by, why=why)
    return recorded_answer(book, written, sentence=say("Withdrawn: the row stays in the history."))


def _table(of: str) -> Table:
    if of not in TABLES or of in NOT_LISTED:
        raise OutpaceError(
            say("no table called {name}", name=repr(of)),
            hint=say("look it up in the book"),
            code=ExitCode.USAGE,
        )
    return table(of)


def _key(described: Table, key: str) -> list[Any]:
    try:
        cells = json.loads(key)
        return [from_plain(column, cell) for column, cell in zip(described.keys, cells, strict=True)]
    except (ValueError, TypeError) as error:
        raise OutpaceError(
            say("no such row in the book"), hint=say("look it up in the book"), code=ExitCode.USAGE
        ) from error


def _belongs(row: Any, farm: str, walks: Mapping[str, Walk]) -> bool:
    if hasattr(row, "farm"):
        return bool(row.farm == farm)
    return not hasattr(row, "walk") or row.walk in walks


def _when(row: Any, walks: Mapping[str, Walk]) -> str:
    for name in DATED:
        value = getattr(row, name, None)
        if isinstance(value, datetime):
            return value.astimezone(UTC).isoformat()
        if isinstance(value, date):
            return value.isoformat()
    walk = walks.get(getattr(row, "walk", ""))
    return walk.time.astimezone(UTC).isoformat() if walk else ""


def _words(
    described: Table, row: Any, clock: ZoneInfo, walks: Mapping[str, Walk], *, keys: bool = False
) -> str:
    """Return a row as people read it: what is told only, names instead of keys."""
    parts = []
    walk = walks.get(getattr(row, "walk", "")) if described.name != "walks" else None
    if walk is not None:
        parts.append(f"{walk.house} {walk.time.astimezone(clock):%Y-%m-%d}")
    for column in described.columns:
        value = getattr(row, column.name)
        if value is None or (column.name == "walk" and walk is not None):
            continue
        if column.name == "farm" and described.name != "farm":
            continue
        if not keys and column.key and isinstance(value, str) and MADE_KEY.search(value):
            continue
        name, shown = _told_column(described.name, column, value, clock)
        parts.append(say("{column} {value}", column=name, value=shown))
    return ", ".join(parts)


def _told_column(of: str, column: Column, value: Any, clock: ZoneInfo) -> tuple[str, str]:
    """Return the name of a column and what it holds in words; a measure is rounded, its unit behind it."""
    words, ending = parted(column.stored)
    if isinstance(value, float) and ending in MEASURED:
        small = column.stored in SMALL
        return say(words), temperature(value) if ending == "_degc" else area(value, small=small)
    return column_words(column.stored), _shown(of, column, value, clock)


def column_words(name: str) -> str:
    """Return the name of a column in words, with the unit its figures are told in.

    Examples
    --------
    >>> column_words("labelled_number"), column_words("parcel_degc")
    ('labelled number', 'parcel °C')
    """
    words, ending = parted(name)
    sign = {
        "_m2": area_sign(small=name in SMALL),
        "_degc": degree_sign(),
        "_pct": "%",
        "_m": "m",
        "_d": "d",
        "_h": "h",
    }.get(ending, "")
    return f"{say(words)} {sign}".rstrip()


def parted(name: str) -> tuple[str, str]:
    """Return the name of a column in English words, and the ending that tells its unit.

    Examples
    --------
    >>> parted("parcel_degc"), parted("labour_per_h")
    (('parcel', '_degc'), ('labour per h', ''))
    """
    for ending in ("_m2", "_degc", "_pct", "_m", "_d", "_h"):
        if name.endswith(ending) and name != "labour_per_h":
            return name.removesuffix(ending).replace("_", " "), ending
    return name.replace("_", " "), ""


def _shown(of: str, column: Column, value: Any, clock: ZoneInfo) -> str:
    if isinstance(value, str) and column.name in SPECIES:
        return enemy_name(value)
    if isinstance(value, str) and column.stored == "crop" and of in CROP_TABLES:
        return crop_name(value)
    if isinstance(value, bool) or value in column.rules.get("one_of", ()):
        return say(_typed(column, value, clock))
    if isinstance(value, float):
        return written(_typed(column, value, clock))
    typed = _typed(column, value, clock)
    return typed.replace("T", " ") if isinstance(value, datetime) else typed


def _typed(column: Column, value: Any, clock: ZoneInfo) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return f"{value.astimezone(clock):%Y-%m-%dT%H:%M}"
    if isinstance(value, bool):
        return to_say("yes") if value else to_say("no")
    if not isinstance(value, float):
        return str(value)
    # Never as 1e-05, which a form does not read.
    shown = f"{_told(column, value):.6f}".rstrip("0").rstrip(".") if column.stored.endswith(MEASURED) else ""
    return shown or f"{value:.10g}"


def _told(column: Column, value: float) -> float:
    """Return a number of the book as its reader measures it."""
    if column.stored.endswith("_degc"):
        return of_unit(value, "degC")
    if column.stored.endswith("_m2"):
        return area_value(value, small=column.stored in SMALL)
    return value


def _column(column: Column, value: Any, clock: ZoneInfo) -> Answer:
    kinds = {float: "number", int: "whole", bool: "yesno", date: "day", datetime: "moment"}
    return {
        "name": column.name,
        "words": column_words(column.stored),
        "kind": kinds.get(column.kind, "text"),
        "value": _typed(column, value, clock),
        "key": column.key,
        "needed": column.required,
        "one_of": list(column.rules.get("one_of", ())),
    }


def _differs(described: Table, before: Any, after: Any, clock: ZoneInfo) -> list[str]:
    if before is None or after is None:
        return []
    nothing = say("empty")
    return [
        say(
            "{column}: {old} became {new}",
            column=column_words(column.stored),
            old=_typed(column, getattr(before, column.name), clock) or nothing,
            new=_typed(column, getattr(after, column.name), clock) or nothing,
        )
        for column in described.columns
        if getattr(before, column.name) != getattr(after, column.name)
    ]


def _read(of: str, column: Column, typed: str, clock: ZoneInfo) -> Any:
    if not typed:
        if column.required:
            raise OutpaceError(say("nothing is entered here"), allowed=say("this is needed"))
        return None
    if column.kind is datetime:
        return moment(typed, clock, where="")
    if column.kind is date:
        return day(typed, where="")
    if column.kind is float:
        if column.stored.endswith("_degc"):
            return read_temperature(typed, where="")
        if column.stored.endswith("_m2"):
            return read_area(typed, small=column.stored in SMALL, where="")
        return number(typed, where="")
    if column.kind is int:
        found = number(typed, where="")
        if not found.is_integer():
            raise OutpaceError(f"{typed!r}", allowed=say("must be a whole number"))
        return int(found)
    if column.kind is bool:
        if typed not in ("yes", "no"):
            raise OutpaceError(f"{typed!r}", allowed=say("yes or no"))
        return typed == "yes"
    if column.name in SPECIES and column.rules.get("species"):
        return typed if typed in PESTS_UNNAMED else load().resolve(typed)
    if column.stored == "crop" and of in CROP_TABLES:
        return load().resolve_crop(typed) or typed
    return typed


def plants_answer(snapshot: Snapshot, *, farm: str | None = None) -> Answer:
    """Return the plants that came in, the latest first, and whose raiser is still to be asked."""
    there = pick_farm(snapshot, farm)
    described = table("plants_in")
    rows = [row for row in snapshot.table(PlantsIn) if row.farm == there.farm]
    rows.sort(key=lambda row: row.time.astimezone(UTC).isoformat() if row.time else "", reverse=True)
    entries = [
        {
            "key": row_key(described, plain_row(described, row)),
            "day": row.time.astimezone(zone_of_farm(there)).date().isoformat() if row.time else None,
            "house": row.house,
            "what": plants_entry(row).what if row.time else _words(described, row, zone_of_farm(there), {}),
            "ask": row.sprays_told in (None, "unknown"),
            "unseen": row.looked_at is None,
        }
        for row in rows
    ]
    ask = sum(row.sprays_told in (None, "unknown") for row in rows)
    sentence = (
        say_many(
            "Ask today what was sprayed on {n} batch: unknown is not none.",
            "Ask today what was sprayed on {n} batches: unknown is not none.",
            ask,
        )
        if ask
        else say_many(
            "Ask nobody today: of {n} batch it is told what was sprayed.",
            "Ask nobody today: of {n} batches it is told what was sprayed.",
            len(entries),
        )
    )
    return {"farm": there.farm, "sentence": sentence, "plants": entries}
