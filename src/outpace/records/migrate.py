"""Bring the tables of a book to the present form, with the guards in place at the end."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.records.guards import set_guards

HERE = Path(__file__).parent / "migrations"

#: The revision this program reads and writes. Kept here so that opening a book need not load alembic.
REVISION = "0002"


def revision_of(connection: sa.Connection) -> str | None:
    """Return the revision of the tables in a database, or None where there are none."""
    if not sa.inspect(connection).has_table("alembic_version"):
        return None
    found = connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar()
    return None if found is None else str(found)


def upgrade(connection: sa.Connection, *, more_versions: Path | None = None) -> None:
    """Run the migrations that are missing, then put the guards back.

    Parameters
    ----------
    connection
        In a transaction that holds the write lock.
    more_versions : Path, optional
        A further folder of migrations.
    """
    from alembic import command
    from alembic.config import Config

    folders = [HERE / "versions", *([more_versions] if more_versions else [])]
    config = Config()
    config.set_main_option("script_location", str(HERE).replace("%", "%%"))
    config.set_main_option("path_separator", "newline")
    config.set_main_option("version_locations", "\n".join(str(f).replace("%", "%%") for f in folders))
    config.attributes["connection"] = connection
    command.upgrade(config, "heads")
    set_guards(connection)


def refuse_other_revision(found: str, place: str) -> None:
    """Refuse a book that a newer program wrote."""
    if found > REVISION:
        raise OutpaceError(
            say("the book has form {found}", found=found),
            where=f"`{place}`",
            allowed=say("this program knows forms up to {revision}", revision=REVISION),
            hint=say("install the newer outpace that wrote this book"),
        )
