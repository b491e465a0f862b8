"""Books for tests: one on SQLite, one on a PostgreSQL server that lives as long as the test session."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from outpace.errors import OutpaceError
from outpace.records.book import Book
from outpace.records.exchange import Resolvers

OTHER_FARM = Path(__file__).parent.parent / "data" / "other_farm"
NOW = datetime(2026, 11, 20, 18, 0, tzinfo=UTC)


class Clock:
    """A clock that a test sets by hand; each look moves it by a second."""

    def __init__(self, now: datetime = NOW) -> None:
        self.now = now

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now


SPECIES = {
    "macseu": "macrosiphum_euphorbiae",
    "macrosiphum euphorbiae": "macrosiphum_euphorbiae",
    "aphis gossypii": "aphis_gossypii",
    "aphidius ervi": "aphidius_ervi",
    "aphidius colemani": "aphidius_colemani",
    "aphelinus abdominalis": "aphelinus_abdominalis",
    "aphidoletes aphidimyza": "aphidoletes_aphidimyza",
}


def _species(name: str) -> str:
    found = SPECIES.get(name.lower().replace("_", " "))
    if found is None:
        raise OutpaceError(f"`{name}` is no species known here", hint="see `outpace facts`")
    return found


RESOLVERS = Resolvers(species=_species, crop=lambda name: name.lower().replace(" ", "_"))


@pytest.fixture
def resolve() -> Resolvers:
    return RESOLVERS


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def open_book(tmp_path: Path, clock: Clock) -> Iterator[Callable[..., Book]]:
    """A function that opens further empty books, closed at the end of the test."""
    opened: list[Book] = []

    def open_another(name: str, device: str | None = None) -> Book:
        opened.append(Book.open(tmp_path / f"{name}.book", create=True, clock=clock, device=device or name))
        return opened[-1]

    yield open_another
    for book in opened:
        book.close()


@pytest.fixture
def book(open_book: Callable[..., Book]) -> Book:
    return open_book("farm", "here")


@pytest.fixture
def other_farm(tmp_path: Path) -> Path:
    """A copy of the other farm's package that a test may spoil."""
    copy = tmp_path / "other_farm"
    shutil.copytree(OTHER_FARM, copy)
    return copy


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """A throwaway server on a local socket; it refuses to run as root, so then it runs as a lesser user."""
    programs = sorted(Path("/usr/lib/postgresql").glob("*/bin"))[-1]
    home = Path(tempfile.mkdtemp(prefix="outpace-pg-"))
    as_root = os.geteuid() == 0
    user = pwd.getpwnam("postgres").pw_name if as_root else pwd.getpwuid(os.geteuid()).pw_name
    if as_root:
        shutil.chown(home, user)

    def run(*words: str) -> None:
        command = ["runuser", "-u", user, "--", *words] if as_root else list(words)
        subprocess.run(command, check=True, capture_output=True, cwd=home, timeout=60)

    data = str(home / "data")
    control = str(programs / "pg_ctl")
    run(str(programs / "initdb"), "-D", data, "-U", user, "--auth=trust", "-E", "UTF8", "--locale=C", "-N")
    options = f"-k {home} -c listen_addresses= -c fsync=off -c port=5499"
    run(control, "-D", data, "-o", options, "-w", "-l", str(home / "log"), "start")
    try:
        yield f"postgresql://{user}@/postgres?host={home}&port=5499"
    finally:
        run(control, "-D", data, "-w", "-m", "immediate", "stop")
        shutil.rmtree(home, ignore_errors=True)


@pytest.fixture
def postgres_book(postgres_server: str, clock: Clock) -> Iterator[Book]:
    import sqlalchemy as sa

    engine = sa.create_engine(postgres_server.replace("postgresql://", "postgresql+psycopg://"))
    with engine.begin() as connection:
        connection.execute(sa.text("DROP SCHEMA public CASCADE"))
        connection.execute(sa.text("CREATE SCHEMA public"))
    engine.dispose()
    with Book.open(postgres_server, create=True, clock=clock, device="here") as opened:
        yield opened
