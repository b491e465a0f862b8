"""The database: events, people, and one table of row versions for each table of the book.

A row version is valid from ``recorded`` until ``replaced``; the version without an end is the current one.
So what was known at a moment is one condition, and no history is replayed to answer it. Climate rows are
many and alike: their common columns stand once in ``climate_series``, and one event vouches for a whole
batch by digest.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from outpace.records.columns import Column, table
from outpace.terms.tables import TABLES

metadata = sa.MetaData()

TEXT = sa.Text()
WHOLE: sa.types.TypeEngine[Any] = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
REAL: sa.types.TypeEngine[Any] = sa.Double().with_variant(sa.REAL(), "sqlite")

SQL_TYPES: dict[type, sa.types.TypeEngine[Any]] = {
    str: TEXT,
    int: WHOLE,
    float: REAL,
    bool: WHOLE,
    datetime: TEXT,
    date: TEXT,
}

events = sa.Table(
    "events",
    metadata,
    sa.Column("position", WHOLE, primary_key=True, autoincrement=False),
    sa.Column("event", TEXT, nullable=False, unique=True),
    sa.Column("device", TEXT, nullable=False),
    sa.Column("seq", WHOLE, nullable=False),
    sa.Column("previous_hash", TEXT, nullable=False),
    sa.Column("hash", TEXT, nullable=False),
    sa.Column("recorded", TEXT, nullable=False),
    sa.Column("by", TEXT, nullable=False),
    sa.Column("why", TEXT),
    sa.Column("table", TEXT, nullable=False),
    sa.Column("key", TEXT, nullable=False),
    sa.Column("content", TEXT, nullable=False),
    sa.UniqueConstraint("device", "seq", name="events_device_seq"),
    sa.Index("events_recorded", "recorded"),
    sa.Index("events_table_key", "table", "key"),
    sqlite_strict=True,
)

people = sa.Table(
    "people",
    metadata,
    sa.Column("person", TEXT, primary_key=True),
    sa.Column("name", TEXT),
    sa.Column("erased", TEXT),
    sqlite_strict=True,
)

settings = sa.Table(
    "settings",
    metadata,
    sa.Column("name", TEXT, primary_key=True),
    sa.Column("value", TEXT, nullable=False),
    sqlite_strict=True,
)

climate_series = sa.Table(
    "climate_series",
    metadata,
    sa.Column("series", WHOLE, primary_key=True, autoincrement=False),
    sa.Column("series_key", TEXT, nullable=False, unique=True),
    sa.Column("farm", TEXT, nullable=False),
    sa.Column("house", TEXT, nullable=False),
    sa.Column("zone", TEXT),
    sa.Column("sensor", TEXT),
    sa.Column("place", TEXT),
    sa.Column("source", TEXT),
    sa.Column("issued", TEXT),
    sqlite_strict=True,
)

#: Columns of ``climate`` that stand in ``climate_series``; the rest differ from row to row.
SERIES_COLUMNS = ("farm", "house", "zone", "sensor", "place", "source", "issued")

climate = sa.Table(
    "climate",
    metadata,
    sa.Column("series", WHOLE, sa.ForeignKey("climate_series.series"), primary_key=True, autoincrement=False),
    sa.Column("time", WHOLE, primary_key=True, autoincrement=False),
    sa.Column("event", TEXT, primary_key=True),
    sa.Column("temperature_degc", REAL, nullable=False),
    sa.Column("humidity_pct", REAL),
    sa.Column("radiation_w_per_m2", REAL),
    sa.Column("flag", TEXT),
    sa.Column("recorded", TEXT, nullable=False),
    sa.Column("recorded_by", TEXT),
    sa.Column("replaces", TEXT),
    sa.Column("replaced", TEXT),
    sa.Column("withdrawn", WHOLE, nullable=False),
    sa.Column("written", TEXT),
    sa.Index("climate_event", "event"),
    sqlite_strict=True,
    sqlite_with_rowid=False,
)


def _column(column: Column) -> sa.Column[Any]:
    return sa.Column(column.stored, SQL_TYPES[column.kind], nullable=not column.required)


def _version_table(name: str) -> sa.Table:
    return sa.Table(
        name,
        metadata,
        sa.Column("event", TEXT, primary_key=True),
        sa.Column("row_key", TEXT, nullable=False),
        *(_column(column) for column in table(name).columns),
        sa.Column("recorded", TEXT, nullable=False),
        sa.Column("recorded_by", TEXT),
        sa.Column("replaces", TEXT),
        sa.Column("replaced", TEXT),
        sa.Column("withdrawn", WHOLE, nullable=False),
        sa.Column("written", TEXT),
        sa.Index(
            f"{name}_current",
            "row_key",
            unique=True,
            sqlite_where=sa.text("replaced IS NULL"),
            postgresql_where=sa.text("replaced IS NULL"),
        ),
        sqlite_strict=True,
    )


#: The version table of each table of the book except ``climate``.
VERSIONS: dict[str, sa.Table] = {name: _version_table(name) for name in TABLES if name != "climate"}
