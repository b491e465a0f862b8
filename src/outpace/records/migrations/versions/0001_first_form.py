"""The first form of the book.

Written out in full and never changed: a column that the records of the trade gain later comes with a later
migration. In the list, ``!`` marks a column that must be filled.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

TEXT = sa.Text()
WHOLE: sa.types.TypeEngine[Any] = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
REAL: sa.types.TypeEngine[Any] = sa.Double().with_variant(sa.REAL(), "sqlite")
TYPES: dict[str, sa.types.TypeEngine[Any]] = {"text": TEXT, "whole": WHOLE, "real": REAL}

VERSION_TABLES = """
farm: farm text!, latitude real!, longitude real!, time_zone text!, currency text!, risk real,
    labour_per_h real, area_unit text, temperature_unit text, country text
houses: farm text!, house text!, crop text!, area_m2 real!, plants whole!, length_m real, width_m real,
    leaves_per_plant real, zones whole, vent_area_m2 real, floor text, cover text, heating_setpoint_degc
    real, vent_setpoint_degc real, planted text, removed text, bees_in whole, virus_sensitive whole,
    action_level real, action_unit text
zones: farm text!, house text!, zone text!, crop text, area_m2 real, plants whole, door whole, vent whole
action_levels: farm text!, house text!, pest text!, unit text!, level real!, from text
crop_stages: farm text!, house text!, time text!, leaves_per_plant real, height_m real, bbch whole,
    leaves_removed_share real
plants_in: batch text!, farm text!, house text, time text, source text, crop text!, number whole,
    looked_at whole, finds text, sprays_told text, sprays text
walks: walk text!, farm text!, house text!, time text!, scout text, unit text!, chosen text!,
    leaf_position text, looked_at whole, minutes real, repeats text, finished whole
counts: walk text!, unit_no whole!, pest text!, zone text, plant text, aphids text!, winged whole,
    confidence text, note text
mummies: walk text!, unit_no whole!, colour text!, closed whole, empty_smooth whole, empty_ragged whole,
    empty_unread whole
seen: walk text!, unit_no whole!, organism text!, stage text, number whole
walk_lines: walk text!, pest text!, looked_at whole!, infested whole!, aphids_about whole, mummies_about
    whole
cards: farm text!, house text!, card text!, hung text!, taken text, time text!, zone text, winged whole
packs: supplier text!, enemy text!, form text!, pack_size whole!, valid_from text, label_counts text!,
    price real!, freight_per_parcel real, packs_per_parcel whole, minimum_order_money real,
    minimum_order_packs whole, life_d real, life_at_degc real, cutoff_weekday text!, cutoff_time text,
    delivery_weekday text!, lead_d whole, no_delivery text
orders: order text!, line whole!, farm text!, placed text, supplier text!, enemy text!, form text!, packs
    whole!, pack_size whole!, delivery_date text!, status text!, unit_price real, freight real, invoice
    text, substitute_for text
allocations: order text!, line whole!, farm text!, house text!, zone text, release_date text!, number
    whole!
lots: lot text!, order text, line whole, enemy text!, form text!, label_counts text!, labelled_number
    whole!, packs whole, packed text, arrived text, parcel_degc real, condition text, note text
checks: lot text!, time text!, kind text!, looked_at whole!, positive whole!, days real, degc real, ragged
    whole, note text
releases: release text!, farm text!, house text!, zone text, time text!, lot text!, number whole!, points
    whole, canopy_degc real, person text
bankers: banker text!, farm text!, house text!, zone text, set_out text!, plants whole!, withdrawn_on
    text, note text
sprays: spray text!, farm text!, house text!, zone text, crop text, bbch whole, start text!, end text,
    kind text, product text, registration_no text, active text, action_group text, dose real, dose_unit
    text, amount_total real, area_m2 real, wind text, reason text, operator text, operator_licence text,
    reentry_h real, harvest_interval_d real, bees_out_until text, kill_pest_share real, kill_enemy_share
    real, residual_enemy_share real, residual_d real
harvests: harvest text!, farm text!, house text!, zone text, time text!, lot_code text!, amount real, unit
    text
decisions: decision text!, farm text!, house text!, time text!, verdict text, chosen text!, reason text,
    person text
permits: farm text!, enemy text!, country text!, seen whole!, number text, time text!
own_facts: farm text!, species text!, other_species text, crop text, quantity text!, value real!, sd
    real!, unit text!, seasons whole!
forecasts: farm text!, house text!, pest text!, zone text, made text!, for_date text!, quantity text!, q05
    real!, q25 real!, q50 real!, q75 real!, q95 real!
"""


def _listed() -> dict[str, list[sa.Column[Any]]]:
    tables: dict[str, list[sa.Column[Any]]] = {}
    for paragraph in VERSION_TABLES.strip().replace("\n    ", " ").splitlines():
        name, _, columns = paragraph.partition(": ")
        tables[name] = []
        for column in columns.split(", "):
            column_name, kind = column.split()
            tables[name].append(
                sa.Column(column_name, TYPES[kind.rstrip("!")], nullable=not kind.endswith("!"))
            )
    return tables


def upgrade() -> None:
    op.create_table(
        "events",
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
        sqlite_strict=True,
    )
    op.create_index("events_recorded", "events", ["recorded"])
    op.create_index("events_table_key", "events", ["table", "key"])
    op.create_table(
        "people",
        sa.Column("person", TEXT, primary_key=True),
        sa.Column("name", TEXT),
        sa.Column("erased", TEXT),
        sqlite_strict=True,
    )
    op.create_table(
        "settings",
        sa.Column("name", TEXT, primary_key=True),
        sa.Column("value", TEXT, nullable=False),
        sqlite_strict=True,
    )
    op.create_table(
        "climate_series",
        sa.Column("series", WHOLE, primary_key=True, autoincrement=False),
        sa.Column("series_key", TEXT, nullable=False, unique=True),
        sa.Column("farm", TEXT, nullable=False),
        sa.Column("house", TEXT, nullable=False),
        *(sa.Column(name, TEXT) for name in ("zone", "sensor", "place", "source", "issued")),
        sqlite_strict=True,
    )
    op.create_table(
        "climate",
        sa.Column(
            "series", WHOLE, sa.ForeignKey("climate_series.series"), primary_key=True, autoincrement=False
        ),
        sa.Column("time", WHOLE, primary_key=True, autoincrement=False),
        sa.Column("event", TEXT, primary_key=True),
        sa.Column("temperature_degc", REAL, nullable=False),
        sa.Column("humidity_pct", REAL),
        sa.Column("radiation_w_per_m2", REAL),
        sa.Column("flag", TEXT),
        *_bookkeeping(),
        sqlite_strict=True,
        sqlite_with_rowid=False,
    )
    op.create_index("climate_event", "climate", ["event"])
    for name, columns in _listed().items():
        op.create_table(
            name,
            sa.Column("event", TEXT, primary_key=True),
            sa.Column("row_key", TEXT, nullable=False),
            *columns,
            *_bookkeeping(),
            sqlite_strict=True,
        )
        current = sa.text("replaced IS NULL")
        op.create_index(
            f"{name}_current",
            name,
            ["row_key"],
            unique=True,
            sqlite_where=current,
            postgresql_where=current,
        )


def _bookkeeping() -> list[sa.Column[Any]]:
    return [
        sa.Column("recorded", TEXT, nullable=False),
        sa.Column("recorded_by", TEXT),
        sa.Column("replaces", TEXT),
        sa.Column("replaced", TEXT),
        sa.Column("withdrawn", WHOLE, nullable=False),
        sa.Column("written", TEXT),
    ]


def downgrade() -> None:
    raise RuntimeError("a book is not taken back to before its first form: restore a backup instead")
