"""Connections to the database: SQLite in a file, or a PostgreSQL server.

On SQLite a writer asks for the write lock when it begins (``BEGIN IMMEDIATE``) and waits its turn; one that
asked only at its first write could be refused half-way. On PostgreSQL a lock held to the end of the
transaction does the same, so chains grow one event at a time on both.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from outpace.errors import OutpaceError
from outpace.language import say

BUSY_WAIT_S = 20
WRITE_LOCK = 7_086_672_001  # any number, the same for every program that writes to a book


def url_of(place: str | Path) -> sa.URL:
    """Return the database address that a file name or a URL stands for."""
    text = str(place)
    if "://" not in text:
        return sa.URL.create("sqlite", database=str(Path(text).expanduser()))
    url = sa.make_url(text)
    if url.drivername in ("postgres", "postgresql"):
        url = url.set(drivername="postgresql+psycopg")
    if url.get_backend_name() not in ("sqlite", "postgresql"):
        raise OutpaceError(
            say("a book in {get_backend_name}", get_backend_name=url.get_backend_name()),
            where="`OUTPACE_BOOK`",
            allowed=say("books are kept in SQLite or PostgreSQL"),
            hint=say("name a file, or a URL that starts with postgresql://"),
        )
    return url


def make_engine(url: sa.URL) -> sa.Engine:
    """Return an engine whose connections keep the book's promises: durable, checked, patient."""
    if url.get_backend_name() == "postgresql":
        return sa.create_engine(url, isolation_level="REPEATABLE READ", pool_pre_ping=True)
    engine = sa.create_engine(
        url, connect_args={"timeout": BUSY_WAIT_S, "check_same_thread": False}, poolclass=sa.pool.NullPool
    )

    @sa.event.listens_for(engine, "connect")
    def _set_up(connection: Any, _: Any) -> None:
        connection.isolation_level = None  # transactions are begun below, not by the driver
        connection.execute(f"PRAGMA busy_timeout = {BUSY_WAIT_S * 1000}")
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")

    @sa.event.listens_for(engine, "begin")
    def _begin(connection: sa.Connection) -> None:
        writing = connection.get_execution_options().get("writing")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


@contextmanager
def writing(engine: sa.Engine) -> Iterator[sa.Connection]:
    """Yield a connection in one transaction that holds the write lock; all of it stands or none."""
    with engine.connect() as plain:
        connection = plain.execution_options(writing=True)
        if engine.dialect.name == "postgresql":
            # The transaction must see what the writer before it committed, so the lock comes first.
            connection = connection.execution_options(isolation_level="READ COMMITTED")
        with connection.begin():
            if engine.dialect.name == "postgresql":
                connection.execute(sa.text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": WRITE_LOCK})
            yield connection


@contextmanager
def reading(engine: sa.Engine) -> Iterator[sa.Connection]:
    """Yield a connection that sees the book as it stood at one moment, whoever writes meanwhile."""
    with engine.connect() as connection, connection.begin():
        yield connection
