"""Triggers that keep the table of events append-only.

A batch rebuild of a table on SQLite drops its triggers without a word, so every migration ends by putting
them back (:func:`set_guards`), and :func:`missing_guards` says which are absent.
"""

from __future__ import annotations

import sqlalchemy as sa

SQLITE_GUARDS = {
    "events_never_change": (
        "CREATE TRIGGER events_never_change BEFORE UPDATE ON events "
        "BEGIN SELECT RAISE(ABORT, 'events are only ever added'); END"
    ),
    "events_never_leave": (
        "CREATE TRIGGER events_never_leave BEFORE DELETE ON events "
        "BEGIN SELECT RAISE(ABORT, 'events are only ever added'); END"
    ),
}

POSTGRESQL_FUNCTION = """
CREATE OR REPLACE FUNCTION events_only_added() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'events are only ever added'; END $$
"""

POSTGRESQL_GUARDS = {
    "events_never_change": (
        "CREATE TRIGGER events_never_change BEFORE UPDATE ON events "
        "FOR EACH ROW EXECUTE FUNCTION events_only_added()"
    ),
    "events_never_leave": (
        "CREATE TRIGGER events_never_leave BEFORE DELETE ON events "
        "FOR EACH ROW EXECUTE FUNCTION events_only_added()"
    ),
    "events_never_emptied": (
        "CREATE TRIGGER events_never_emptied BEFORE TRUNCATE ON events "
        "FOR EACH STATEMENT EXECUTE FUNCTION events_only_added()"
    ),
}


def missing_guards(connection: sa.Connection) -> list[str]:
    """Return the names of the triggers that should stand on ``events`` and do not."""
    if connection.dialect.name == "sqlite":
        wanted, query = SQLITE_GUARDS, "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        there = {row.name: row.sql for row in connection.execute(sa.text(query))}
        return [name for name, sql in wanted.items() if there.get(name) != sql]
    query = "SELECT tgname FROM pg_trigger WHERE tgrelid = 'events'::regclass AND tgenabled = 'O'"
    names = set(connection.execute(sa.text(query)).scalars())
    return [name for name in POSTGRESQL_GUARDS if name not in names]


def set_guards(connection: sa.Connection) -> None:
    """Put the triggers on ``events`` where they are absent or altered."""
    missing = missing_guards(connection)
    if connection.dialect.name == "sqlite":
        for name in missing:
            connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name}")
            connection.exec_driver_sql(SQLITE_GUARDS[name])
        return
    if missing:
        connection.exec_driver_sql(POSTGRESQL_FUNCTION)
    for name in missing:
        connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name} ON events")
        connection.exec_driver_sql(POSTGRESQL_GUARDS[name])
