"""The tables of a book as migrations make them."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
from dataclasses import replace

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.operations import Operations
from tests.records.rows import START

from outpace.errors import OutpaceError
from outpace.records import migrate
from outpace.records.book import Book
from outpace.records.columns import BOOKKEEPING, table
from outpace.records.engine import reading, writing
from outpace.records.guards import missing_guards
from outpace.records.tables import SERIES_COLUMNS, climate, climate_series, metadata
from outpace.terms.tables import TABLES
from outpace.terms.upkeep import Spray

SPRAY = Spray(
    spray="s1", farm=START[0].farm, house=START[1].house, start=START[2].time, product="invented soap"
)  # fmt: skip

REBUILD = '''
"""Rebuild the table of events, as SQLite needs for most changes."""
import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade():
    with op.batch_alter_table("events", recreate="always") as batch:
        batch.add_column(sa.Column("extra", sa.Text()))
'''


def test_the_migrations_make_the_tables_that_the_records_of_the_trade_ask_for(book):
    with reading(book.engine) as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []


def test_every_table_of_the_trade_has_a_home_and_every_column_too():
    for name in TABLES:
        if name != "climate":
            assert set(table(name).names) <= set(metadata.tables[name].columns.keys())
    told = {*SERIES_COLUMNS, *climate.columns.keys()}
    assert set(table("climate").names) <= told
    assert set(SERIES_COLUMNS) <= set(climate_series.columns.keys())


def test_no_column_of_the_trade_is_named_like_one_of_the_bookkeeping():
    kept = {*BOOKKEEPING, "event", "row_key", "replaced", "written"}
    for name in TABLES:
        assert not kept & set(table(name).names), name


def test_every_table_is_strict_about_types(book):
    with reading(book.engine) as connection:
        rows = connection.execute(sa.text("SELECT name, strict FROM pragma_table_list WHERE schema = 'main'"))
        loose = {name for name, strict in rows if not strict}
    assert loose == {"alembic_version", "sqlite_schema"}


def test_a_batch_rebuild_drops_the_guards_which_is_why_migrations_put_them_back(book):
    with writing(book.engine) as connection:
        operations = Operations(MigrationContext.configure(connection))
        with operations.batch_alter_table("events", recreate="always") as batch:
            batch.add_column(sa.Column("extra", sa.Text()))
        assert missing_guards(connection) == ["events_never_change", "events_never_leave"]


def test_a_migration_that_rebuilds_events_leaves_them_guarded_and_whole(book, tmp_path):
    book.record(START, by="Ana")
    head = book.head()
    versions = tmp_path / "versions"
    versions.mkdir()
    (versions / "0003_rebuild.py").write_text(REBUILD)
    with writing(book.engine) as connection:
        migrate.upgrade(connection, more_versions=versions)
    with writing(book.engine) as connection:
        assert migrate.revision_of(connection) == "0003"
        assert missing_guards(connection) == []
        with pytest.raises(sa.exc.DatabaseError, match="only ever added"):
            connection.exec_driver_sql("DELETE FROM events")
    assert book.head() == head


def test_a_book_of_a_newer_program_is_refused_and_left_alone(book, tmp_path):
    with writing(book.engine) as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0099'")
    book.close()
    copy = tmp_path / "copy.book"
    shutil.copy(tmp_path / "farm.book", copy)
    with pytest.raises(OutpaceError, match="the book has form 0099"):
        Book.open(copy)


def test_the_revision_that_is_expected_is_the_newest_there_is():
    newest = max(path.name[:4] for path in (migrate.HERE / "versions").glob("[0-9]*.py"))
    assert newest == migrate.REVISION


def test_a_book_of_the_first_form_is_brought_up_and_loses_nothing(tmp_path):
    place = tmp_path / "old.book"
    with Book.open(place, create=True) as book:
        book.record([*START, SPRAY], by="Ana")
        before, head = book.snapshot().rows, book.head()
    with contextlib.closing(sqlite3.connect(place)) as old:
        # What the first form lacked; its events name no minutes either.
        for name in ("releases", "bankers", "sprays"):
            old.execute(f"ALTER TABLE {name} DROP COLUMN minutes")
        old.execute("UPDATE alembic_version SET version_num = '0001'")
        old.commit()
    with Book.open(place) as book:
        assert book.snapshot().rows == before
        assert book.head() == head
        assert book.verify() == []
        book.record([replace(SPRAY, minutes=40.0)], by="Ana", correct=True)
        assert book.snapshot().table(Spray)[0].minutes == 40.0
        assert book.verify() == []
