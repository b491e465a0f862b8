"""Copies of a book are whole before they are kept, and never written over anything."""

from __future__ import annotations

import shutil
from dataclasses import replace

import pytest
from tests.records.conftest import RESOLVERS
from tests.records.rows import START, hours
from tests.records.test_chain import tamper

from outpace.errors import OutpaceError
from outpace.records.book import Book
from outpace.records.exchange import export_package, import_package
from outpace.records.store import backup, restore
from outpace.terms.place import House


def test_a_copy_holds_what_the_book_holds(book, clock, tmp_path):
    book.record([*START, *hours(30)], by="Ana")
    copy = backup(book, tmp_path / "copies" / "monday.book")
    book.withdraw("counts", "w1", 1, "any", by="Bo")
    place = restore(copy, tmp_path / "elsewhere" / "farm.book")
    with Book.open(place, clock=clock) as back:
        assert back.row_counts()["counts"] == 1
        assert back.row_counts()["climate"] == 30
        assert back.verify() == []
    assert sorted(path.name for path in place.parent.iterdir()) == ["farm.book"]


def test_a_copy_that_is_written_on_here_too_is_a_device_of_its_own_and_merges(tmp_path, clock):
    original = tmp_path / "farm.book"
    with Book.open(original, create=True, clock=clock) as book:
        book.record(START, by="Ana")
        backup(book, tmp_path / "copy.book")
    with Book.open(original, clock=clock) as book, Book.open(tmp_path / "copy.book", clock=clock) as copy:
        first = book.snapshot().table(House)[0]
        book.record([replace(first, plants=901)], by="Ana", correct=True)
        copy.record([replace(first, plants=902)], by="Bo", correct=True)
        done = import_package(book, export_package(copy, tmp_path / "copy"), by="Ana", resolve=RESOLVERS)
        assert done.merged > 0
        assert len({head.device for head in book.heads()}) == 2
        assert [conflict.table for conflict in book.open_conflicts()] == ["houses"]
        assert book.verify() == []


def test_nothing_is_written_over(book, tmp_path):
    there = tmp_path / "there.book"
    there.write_text("mine")
    with pytest.raises(OutpaceError, match="is there already"):
        backup(book, there)
    copy = backup(book, tmp_path / "copy.book")
    with pytest.raises(OutpaceError, match="is there already"):
        restore(copy, there)
    assert there.read_text() == "mine"


def test_a_spoiled_copy_is_not_restored(book, tmp_path):
    book.record(START, by="Ana")
    copy = backup(book, tmp_path / "copy.book")
    with Book.open(copy) as spoiled:
        tamper(spoiled, "UPDATE events SET content = replace(content, 'cucumber', 'tomato')")
    with pytest.raises(OutpaceError, match="the copy is not whole"):
        restore(copy, tmp_path / "new.book")
    torn = tmp_path / "torn.book"
    shutil.copy(copy, torn)
    with torn.open("r+b") as file:
        file.truncate(9000)
    with pytest.raises(OutpaceError):
        restore(torn, tmp_path / "new.book")
    (tmp_path / "text.book").write_text("not a book at all, although it is long enough")
    with pytest.raises(OutpaceError, match="no copy of a book"):
        restore(tmp_path / "text.book", tmp_path / "new.book")
    assert not list(tmp_path.glob("*new.book*"))


@pytest.mark.postgres
def test_a_book_on_a_server_is_copied_by_other_means(postgres_book, tmp_path):
    with pytest.raises(OutpaceError, match="database server"):
        backup(postgres_book, tmp_path / "copy.book")
