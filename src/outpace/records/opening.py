"""Opening a book: refused where there is none or something else, its tables brought to the present form."""

from __future__ import annotations

import secrets
from pathlib import Path

import sqlalchemy as sa

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.records import migrate
from outpace.records.engine import make_engine, reading, url_of, writing
from outpace.records.tables import settings


def opened(place: str | Path, create: bool = False) -> sa.Engine:
    """Return the database of a book, its tables in the present form; see :meth:`Book.open`.

    Raises
    ------
    OutpaceError
        If there is no book there, if the file is something else, or if a newer program wrote it.
    """
    url = url_of(place)
    shown = url.database if url.get_backend_name() == "sqlite" else url.render_as_string()
    path = Path(url.database) if url.get_backend_name() == "sqlite" and url.database else None
    if path is not None:
        _look_at(path, create)
    engine = make_engine(url)
    try:
        with reading(engine) as connection:
            found = migrate.revision_of(connection)
        if found is None and not create:
            raise _no_book(str(shown))
        if found is not None:
            migrate.refuse_other_revision(found, str(shown))
        if found != migrate.REVISION:
            with writing(engine) as connection:
                migrate.upgrade(connection)
                _first_settings(connection)
    except sa.exc.DBAPIError as error:
        engine.dispose()
        raise OutpaceError(
            say("`{shown}` cannot be opened as a book", shown=shown),
            allowed=str(error.orig).strip().splitlines()[0],
            hint=say("name another file with OUTPACE_BOOK, or restore a backup"),
        ) from error
    except BaseException:
        engine.dispose()
        raise
    return engine


def _first_settings(connection: sa.Connection) -> None:
    if connection.execute(sa.select(settings.c.value).where(settings.c.name == "book")).first() is None:
        connection.execute(settings.insert().values(name="book", value=secrets.token_hex(16)))


def _no_book(place: str) -> OutpaceError:
    return OutpaceError(
        say("there is no book at `{place}`", place=place),
        hint=say("make one with `outpace farm`, or name yours with OUTPACE_BOOK"),
    )


def _look_at(path: Path, create: bool) -> None:
    """Refuse a place that cannot hold a book before the database driver makes a file there."""
    if path.is_dir():
        raise OutpaceError(
            say("`{path}` is a folder", path=path),
            allowed=say("a book is one file"),
            hint=say("name {path}/farm.book", path=path),
        )
    if path.exists():
        if path.stat().st_size and path.open("rb").read(16) != b"SQLite format 3\x00":
            raise OutpaceError(
                say("`{path}` is not a book", path=path),
                hint=say("import CSV files with `outpace book import`"),
            )
        return
    if not create:
        raise _no_book(str(path))
    path.parent.mkdir(parents=True, exist_ok=True)
