"""One way to write each value down, so that equal rows have equal text and equal digests.

Times of rows are whole seconds in UTC; the moment something became known keeps its microseconds. Both have a
fixed width, so text order is time order.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from typing import Any

from outpace.records.columns import Column, Table

GENESIS = "0" * 64

_ENCODER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def canonical_json(value: Any) -> str:
    """Return JSON with sorted names, no spaces and no escapes beyond the needed.

    >>> canonical_json({"b": 1.0, "a": [None, "é"]})
    '{"a":[null,"é"],"b":1.0}'
    """
    return _ENCODER.encode(value)


def digest(text: str) -> str:
    """Return the SHA-256 of a text in UTF-8, as 64 hexadecimal digits."""
    return hashlib.sha256(text.encode()).hexdigest()


def time_text(moment: datetime) -> str:
    """Return the time of a row: UTC, whole seconds.

    >>> time_text(datetime.fromisoformat("2026-11-03T09:10:30.25+01:00"))
    '2026-11-03T08:10:30Z'
    """
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def recorded_text(moment: datetime) -> str:
    """Return the moment at which something became known: UTC, microseconds."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def moment_of(text: str) -> datetime:
    """Return the aware time that :func:`time_text` or :func:`recorded_text` wrote."""
    return datetime.fromisoformat(text)


def plain(column: Column, value: Any) -> Any:
    """Return a value as JSON can hold it: the one form in which values are compared and hashed."""
    if value is None:
        return None
    kind = column.kind
    if kind is datetime:
        return time_text(value)
    if kind is date:
        return value.isoformat()
    if kind is float:
        number = float(value)
        return 0.0 if number == 0 else number  # minus zero and zero are one value
    if kind is int:
        return int(value)
    if kind is bool:
        return bool(value)
    text = str(value).strip()
    return text or None


def plain_row(table: Table, row: Any) -> dict[str, Any]:
    """Return a record as a mapping from stored column name to plain value."""
    return {column.stored: plain(column, getattr(row, column.name)) for column in table.columns}


def from_plain(column: Column, value: Any) -> Any:
    """Return the typed value that :func:`plain` made plain."""
    if value is None:
        return None
    kind = column.kind
    if kind is datetime:
        return datetime.fromisoformat(value)
    if kind is date:
        return date.fromisoformat(value)
    if kind is bool:
        return bool(value)
    if kind is float:
        return float(value)
    return value


def record_of(table: Table, values: Mapping[str, Any]) -> Any:
    """Return the record that a mapping of plain values describes."""
    return table.row(**{c.name: from_plain(c, values[c.stored]) for c in table.columns})


def row_key(table: Table, values: Mapping[str, Any]) -> str:
    """Return the key of a row as one text."""
    return canonical_json([values[column.stored] for column in table.keys])


def key_words(table: Table, values: Mapping[str, Any]) -> str:
    """Return the key of a row as a person reads it: ``walk w12, unit_no 3``."""
    return ", ".join(
        f"{column.stored} {values[column.stored]}"
        for column in table.keys
        if values[column.stored] is not None
    )


def sort_key(table: Table, values: Sequence[Any]) -> tuple[Any, ...]:
    """Return key values so that rows sort with empty cells first."""
    return tuple((value is not None, value if value is not None else 0) for value in values)
