"""Events only grow, and any change to what was written shows."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import threading

import pytest
import sqlalchemy as sa
from tests.records.rows import COUNT, START, hours

from outpace.records.book import Book
from outpace.records.engine import reading, writing
from outpace.records.guards import SQLITE_GUARDS, set_guards
from outpace.terms.scouting import Count


def tamper(book: Book, *statements: str) -> None:
    """Change the tables as someone with the file in hand could: guards off, change, guards on."""
    with writing(book.engine) as connection:
        for name in SQLITE_GUARDS:
            connection.exec_driver_sql(f"DROP TRIGGER {name}")
        for statement in statements:
            connection.exec_driver_sql(statement)
        set_guards(connection)


def test_digests_are_what_sha256_says_written_apart(book):
    book.record(START, by="Ana")
    # Source: FIPS 180-4 through hashlib, over the JSON of RFC 8259 with no spaces, fields in the order that
    # is written here anew; the chain starts at 64 zeros.
    previous = "0" * 64
    with reading(book.engine) as connection:
        rows = connection.execute(sa.text('SELECT * FROM events ORDER BY "seq"')).mappings().all()
    assert len(rows) == 4
    for seq, row in enumerate(rows, start=1):
        cells = [
            f"here-{seq}",
            "here",
            seq,
            previous,
            row["recorded"],
            row["by"],
            None,
            row["table"],
            row["key"],
        ]
        text = json.dumps([*cells, row["content"]], separators=(",", ":"), ensure_ascii=False)
        previous = hashlib.sha256(text.encode()).hexdigest()
        assert row["hash"] == previous
    assert book.head() == previous


@pytest.mark.parametrize("statement", ["UPDATE events SET why = 'x'", "DELETE FROM events"])
def test_events_cannot_be_changed_or_taken_away(book, statement):
    book.record(START, by="Ana")
    before = book.head()
    with pytest.raises(sa.exc.DatabaseError, match="only ever added"), writing(book.engine) as connection:
        connection.exec_driver_sql(statement)
    assert book.head() == before
    assert book.verify() == []


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        (
            "UPDATE events SET content = replace(content, 'cucumber', 'tomato')",
            "was altered after it was written",
        ),
        ("DELETE FROM events WHERE seq = 2", "are gone before it"),
        ("UPDATE counts SET aphids = '7'", "aphids differ from event here-5"),
        ("DELETE FROM counts", "the row of event here-5 is gone"),
        (
            "INSERT INTO counts (event, row_key, walk, unit_no, pest, aphids, recorded, withdrawn) "
            "VALUES ('x-1', 'k', 'w1', 9, 'any', '5', '2026', 0)",
            "no event made this row",
        ),
        ("UPDATE climate SET temperature_degc = 3.5 WHERE time % 7200 = 0", "were altered or are incomplete"),
        ("DELETE FROM climate WHERE time % 7200 = 0", "were altered or are incomplete"),
        ("UPDATE climate SET replaced = '2026' WHERE time % 86400 = 0", "says it ends 2026"),
    ],
)
def test_tampering_with_the_tables_is_found(book, statement, told):
    book.record([*START, *hours(30)], by="Ana")
    assert book.verify() == []
    tamper(book, statement)
    assert any(told in problem for problem in book.verify()), book.verify()


def test_a_missing_guard_is_reported(book):
    with writing(book.engine) as connection:
        connection.exec_driver_sql("DROP TRIGGER events_never_leave")
    assert book.verify() == ["the guard events_never_leave on events is gone"]


def test_rows_rebuilt_from_events_are_the_rows_there_were(book):
    book.record([*START, *hours(30)], by="Ana")
    book.record([dataclasses.replace(COUNT, aphids="3")], by="Bo", correct=True)
    book.record([Count(walk="w1", unit_no=2, pest="any", aphids="4to10")], by="Bo")
    book.withdraw(Count, "w1", 2, "any", by="Bo")
    book.record([dataclasses.replace(hours(1)[0], temperature_degc=9.0)], by="Bo", correct=True)
    before = book.snapshot()
    head = book.head()
    tamper(
        book,
        "UPDATE counts SET aphids = '99' WHERE withdrawn = 0",
        "DELETE FROM walks",
    )
    tamper(book, "UPDATE climate SET replaced = NULL")
    assert book.verify() != []
    book.rebuild()
    assert book.verify() == []
    assert book.head() == head
    assert book.snapshot().rows == before.rows


def test_two_devices_keep_a_chain_each_and_one_head_speaks_for_both(open_book):
    book = open_book("shared")
    book.record(START, by="Ana", device="phone")
    alone = book.head()
    book.record([Count(walk="w1", unit_no=2, pest="any", aphids="1")], by="Bo", device="tablet")
    assert {head.device for head in book.heads()} == {"phone", "tablet"}
    assert book.head() != alone
    assert book.verify() == []


def test_writers_side_by_side_take_turns_and_lose_nothing(book, clock, tmp_path):
    book.record(START, by="Ana")
    failures: list[BaseException] = []

    def write(worker: int) -> None:
        try:
            with Book.open(tmp_path / "farm.book", clock=clock, device="here") as mine:
                for turn in range(5):
                    row = Count(walk="w1", unit_no=100 + 10 * worker + turn, pest="any", aphids="1")
                    mine.record([row], by=f"scout {worker}")
        except BaseException as error:
            failures.append(error)

    workers = [threading.Thread(target=write, args=(worker,)) for worker in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert failures == []
    assert book.row_counts()["counts"] == 21
    assert book.verify() == []
