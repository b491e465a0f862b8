"""The same book on a PostgreSQL server."""

from __future__ import annotations

import dataclasses
import threading

import pytest
import sqlalchemy as sa
from tests.records.conftest import OTHER_FARM
from tests.records.rows import COUNT, START

from outpace.errors import OutpaceError
from outpace.records.book import Book
from outpace.records.engine import writing
from outpace.records.exchange import export_package, import_package
from outpace.terms.scouting import Count

pytestmark = pytest.mark.postgres


def test_a_farm_imported_there_leaves_as_from_a_file(postgres_book, book, resolve, tmp_path):
    for at, place in enumerate((postgres_book, book)):
        import_package(place, OTHER_FARM, by="Ema", resolve=resolve)
        export_package(place, tmp_path / f"{at}")
    names = sorted(path.name for path in (tmp_path / "0").iterdir())
    assert "counts.csv" in names
    for name in names:
        if name not in ("events.csv", "people.csv"):
            assert (tmp_path / "0" / name).read_text() == (tmp_path / "1" / name).read_text(), name
    assert postgres_book.snapshot().rows == book.snapshot().rows
    assert postgres_book.verify() == []


def test_corrections_withdrawals_and_rebuilding_work_there(postgres_book):
    book = postgres_book
    book.record(START, by="Ana")
    other = dataclasses.replace(COUNT, aphids="3")
    assert book.record([other], by="Bo").conflicts
    assert book.record([other], by="Bo", correct=True).corrected == 1
    book.withdraw(Count, "w1", 1, "any", by="Bo")
    before = book.snapshot().rows
    book.rebuild()
    assert book.snapshot().rows == before
    assert book.verify() == []


@pytest.mark.parametrize(
    "statement", ["UPDATE events SET why = 'x'", "DELETE FROM events", "TRUNCATE events"]
)
def test_events_are_guarded_there(postgres_book, statement):
    postgres_book.record(START, by="Ana")
    with (
        pytest.raises(sa.exc.DBAPIError, match="only ever added"),
        writing(postgres_book.engine) as connection,
    ):
        connection.exec_driver_sql(statement)
    assert postgres_book.row_counts()["events"] == 4


def test_writers_side_by_side_grow_one_chain_there(postgres_book, postgres_server, clock):
    postgres_book.record(START, by="Ana")
    failures: list[BaseException] = []

    def write(worker: int) -> None:
        try:
            with Book.open(postgres_server, clock=clock, device="here") as mine:
                for turn in range(5):
                    row = Count(walk="w1", unit_no=100 + 10 * worker + turn, pest="any", aphids="1")
                    mine.record([row], by=f"scout {worker}")
        except BaseException as error:
            failures.append(error)

    workers = [threading.Thread(target=write, args=(worker,)) for worker in range(3)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert failures == []
    assert postgres_book.verify() == []
    assert postgres_book.row_counts()["counts"] == 16


def test_a_server_without_a_book_is_said_so(postgres_server):
    engine = sa.create_engine(postgres_server.replace("postgresql://", "postgresql+psycopg://"))
    with engine.begin() as connection:
        connection.execute(sa.text("DROP SCHEMA public CASCADE"))
        connection.execute(sa.text("CREATE SCHEMA public"))
    engine.dispose()
    with pytest.raises(OutpaceError, match="there is no book"):
        Book.open(postgres_server)
