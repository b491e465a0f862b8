"""The tables of the book as lists of columns, read once from the records of the trade.

Database tables, Table Schemas, checks and CSV reading all walk these lists; none names a column of its own.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from typing import Any

from outpace.terms.tables import TABLE_OF, TABLES

#: Columns that hold a person's name. Their text lives in the erasable table of people, outside every hash.
PERSON_COLUMNS = frozenset({"scout", "person", "operator", "operator_licence"})

#: Columns that name a crop, where names are resolved on import.
CROP_TABLES = frozenset({"houses", "zones", "plants_in", "own_facts"})

#: Columns that every table of an exchange file may carry beside its own.
BOOKKEEPING = ("recorded", "recorded_by", "replaces", "withdrawn")


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """One column: its name in the record and in files, its type, its rules."""

    name: str
    stored: str
    kind: type
    key: bool
    required: bool
    rules: Mapping[str, Any]

    @property
    def person(self) -> bool:
        return self.stored in PERSON_COLUMNS


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """One table of the book: its record class and its columns in file order."""

    name: str
    row: type
    columns: tuple[Column, ...]

    @property
    def keys(self) -> tuple[Column, ...]:
        return tuple(column for column in self.columns if column.key)

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(column.stored for column in self.columns)

    def column(self, stored: str) -> Column:
        return next(column for column in self.columns if column.stored == stored)


def _plain(hint: Any) -> type:
    """Return the type of a column without its "or None"."""
    if isinstance(hint, types.UnionType) or typing.get_origin(hint) is typing.Union:
        (kind,) = (part for part in typing.get_args(hint) if part is not type(None))
        return typing.cast(type, kind)
    return typing.cast(type, hint)


@cache
def table(name: str) -> Table:
    """Return the description of one table of the book by its name in exchange files."""
    row = TABLES[name]
    hints = typing.get_type_hints(row)
    columns = []
    for part in dataclasses.fields(row):
        kind = _plain(hints[part.name])
        assert kind in (str, int, float, bool, datetime, date), f"{name}.{part.name}: {kind}"
        rules = {k: v for k, v in part.metadata.items() if k not in ("key", "required", "stored_as")}
        columns.append(
            Column(
                name=part.name,
                stored=part.metadata.get("stored_as", part.name),
                kind=kind,
                key=bool(part.metadata.get("key")),
                required=bool(part.metadata.get("required")),
                rules=rules,
            )
        )
    return Table(name, row, tuple(columns))


def table_of(row: Any) -> Table:
    """Return the description of the table a record belongs to."""
    return table(TABLE_OF[type(row)])
