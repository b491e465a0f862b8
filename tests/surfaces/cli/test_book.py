"""The book as a whole: out and in again, copied and put back, checked."""

from __future__ import annotations

import dataclasses
import json
import sqlite3
from pathlib import Path

import jsonschema
import pypdf
import pytest

import outpace.surfaces.schemas
from outpace.records.book import Book
from outpace.terms.place import House
from outpace.terms.scouting import WalkLine

SCHEMAS = Path(outpace.surfaces.schemas.__file__).parent
LINE = "Long tunnel: 20 looked at, 4 with green peach aphid, about 60, 3 mummies"


def valid(out, name):
    answer = json.loads(out)
    jsonschema.validate(answer, json.loads((SCHEMAS / f"{name}.json").read_text(encoding="utf-8")))
    return answer


@pytest.fixture
def walked(farm):
    assert farm("walk", LINE, "--on", "2026-11-20").code == 0
    return farm


@pytest.mark.parametrize("name", ["package", "package.zip"])
def test_a_book_goes_out_and_comes_back_in_once(walked, tmp_path, name):
    assert walked("book", "export", tmp_path / name).code == 0
    other = ("--book", tmp_path / "other.book")
    answer = valid(walked("book", "import", tmp_path / name, *other, "--json").out, "recorded")
    (house,) = json.loads(walked("house", *other, "--json").out)["houses"]
    assert (house["house"], house["plants"], house["last_walk"][:10]) == ("Long tunnel", 520, "2026-11-20")
    again = valid(walked("book", "import", tmp_path / name, *other, "--json").out, "recorded")
    assert (again["new"], again["corrected"], again["head"]) == (0, 0, answer["head"])


def test_a_conflict_on_import_ends_with_the_code_of_a_thing_left_to_do(walked, tmp_path):
    walked("book", "export", tmp_path / "package")
    table = tmp_path / "package" / "walk_lines.csv"
    table.write_text(table.read_text(encoding="utf-8").replace(",4,60,3", ",5,60,3"), encoding="utf-8")
    said = walked("book", "import", table)
    assert said.code == 3
    assert "Nothing was written." in said.out
    assert "--correct" in said.out
    assert walked("book", "import", table, "--correct").code == 0


def test_two_devices_that_say_different_things_are_told_at_the_import_and_one_word_settles_it(
    walked, tmp_path
):
    book = tmp_path / "phone.book"
    walked("backup", book)
    with Book.open(book, device="phone") as phone:
        (house,) = phone.snapshot().table(House)
        phone.record([dataclasses.replace(house, plants=530)], by="Rui", correct=True)
    walked("book", "export", tmp_path / "phone.zip", "--book", book)
    walked("house", "Long tunnel", "--plants", "510", "--why", "counted again")
    answer = walked("book", "import", tmp_path / "phone.zip", "--json")
    assert answer.code == 3
    assert valid(answer.out, "recorded")["unsettled"] == [
        "`houses` farm Kelp Lane, house Long tunnel: plants: 510 stands, 530 was said too"
    ]
    assert walked("book", "conflicts").code == 3
    assert walked("house", "Long tunnel", "--plants", "530").code == 0
    assert walked("book", "conflicts").code == 0
    assert walked("book", "verify").code == 0


def test_an_import_names_file_row_and_what_is_allowed(walked, tmp_path):
    table = tmp_path / "walk_lines.csv"
    table.write_text("walk,pest,looked_at,infested\nw1,MYZUPE,20,-4\n", encoding="utf-8")
    head = valid(walked("book", "heads", "--json").out, "book")["head"]
    said = walked("book", "import", table)
    assert said.code == 1
    assert "walk_lines.csv" in said.err
    assert "row 2" in said.err
    assert "negative" in said.err
    assert valid(walked("book", "heads", "--json").out, "book")["head"] == head


def test_a_file_that_is_not_there_is_told(walked):
    said = walked("book", "import", "/nowhere/walks.csv")
    assert said.code == 2
    assert "/nowhere/walks.csv" in said.err


def test_a_copy_put_back_elsewhere_is_the_same_book(walked, tmp_path):
    copied = valid(walked("backup", tmp_path / "copy.book", "--json").out, "book")
    back = valid(
        walked("restore", tmp_path / "copy.book", "--book", tmp_path / "b.book", "--json").out, "book"
    )
    assert back["head"] == copied["head"]
    assert walked("book", "verify", "--book", tmp_path / "b.book").code == 0


def test_neither_copy_nor_restore_writes_over_what_is_there(walked, tmp_path):
    there = tmp_path / "there.book"
    there.write_text("mine", encoding="utf-8")
    assert walked("backup", there).code == 1
    assert walked("restore", tmp_path / "own.book", "--book", there).code == 1
    assert there.read_text(encoding="utf-8") == "mine"


def test_a_file_that_is_no_book_is_not_put_back(walked, tmp_path):
    (tmp_path / "photo.jpg").write_bytes(b"\xff\xd8\xff" * 400)
    said = walked("restore", tmp_path / "photo.jpg", "--book", tmp_path / "new.book")
    assert said.code == 1
    assert not (tmp_path / "new.book").exists()


def test_an_altered_book_fails_its_check(walked, tmp_path):
    assert "whole" in walked("book", "verify").out
    with sqlite3.connect(tmp_path / "own.book") as database:
        triggers = database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (name,) in triggers:
            database.execute(f'DROP TRIGGER "{name}"')
        database.execute("UPDATE events SET content = replace(content, '60', '6') WHERE content LIKE '%60%'")
    said = walked("book", "verify", "--json")
    assert said.code == 1
    assert valid(said.out, "book")["problems"]


def test_beginning_a_book_twice_changes_nothing(say):
    first = valid(say("book", "init", "--json").out, "book")
    assert "has begun" in first["sentence"]
    second = valid(say("book", "init", "--json").out, "book")
    assert "already" in second["sentence"]
    assert second["head"] == first["head"]


def test_no_book_is_told_with_the_way_to_begin_one(say):
    said = say("week")
    assert said.code == 1
    assert "there is no book" in said.err


def test_farm_and_house_answers_satisfy_their_schemas(walked):
    valid(walked("farm", "--json").out, "farm")
    answer = valid(walked("house", "--json").out, "house")
    assert answer["houses"][0]["last_walk"].startswith("2026-11-20")
    for words in (("farm",), ("house",)):
        assert [line for line in walked(*words).out.splitlines() if len(line) > 80] == []


def test_two_copies_that_disagree_are_listed_and_settled(walked, tmp_path):
    phone = ("--book", str(tmp_path / "phone.book"))
    assert walked("book", "export", tmp_path / "first.zip").code == 0
    assert walked("book", "import", tmp_path / "first.zip", *phone).code == 0
    with Book.open(tmp_path / "phone.book", device="phone") as book:
        (walk,) = book.snapshot().table(WalkLine)
        book.record([dataclasses.replace(walk, infested=5)], by="Rui", correct=True)
    with Book.open(tmp_path / "own.book") as book:
        book.record([dataclasses.replace(walk, infested=6)], by="Ida", correct=True)
    assert walked("book", "export", tmp_path / "second.zip", *phone).code == 0
    assert walked("book", "import", tmp_path / "second.zip").code == 3
    listed = walked("book", "conflicts")
    assert listed.code == 3
    assert "with aphids:" in listed.out
    with Book.open(tmp_path / "own.book") as book:
        book.record([dataclasses.replace(walk, infested=6)], by="Ida", correct=True)
    settled = walked("book", "conflicts", "--json")
    assert settled.code == 0
    assert valid(settled.out, "book")["conflicts"] == []


def test_a_name_is_erased_and_its_entries_stay(walked, tmp_path):
    assert walked("book", "erase-person", "Nobody").code == 2
    assert walked("book", "erase-person", "Ida", "--why", "asked for it", "--by", "Rui").code == 0
    assert walked("book", "verify").code == 0
    with Book.open(tmp_path / "own.book") as book:
        (walk,) = book.snapshot().table(WalkLine)
        assert book.history(WalkLine, walk.walk, walk.pest).versions[0].by == "(erased)"


@pytest.mark.parametrize(
    "paper", [("walk-form", "--house", "Long tunnel"), ("arrival-card",), ("mummy-card",)]
)
def test_printed_paper_carries_the_head_that_the_book_tells(walked, tmp_path, paper):
    head = json.loads(walked("book", "heads", "--json").out)["head"]
    what, *more = paper
    assert walked("book", "print", what, tmp_path / "paper.pdf", *more).code == 0
    (page,) = pypdf.PdfReader(tmp_path / "paper.pdf").pages
    assert f"book {head[:16]}" in page.extract_text()


def test_the_card_of_mummies_is_printed_without_a_book(say, tmp_path):
    assert say("book", "print", "mummy-card", tmp_path / "card.pdf").code == 0
    assert "book " not in pypdf.PdfReader(tmp_path / "card.pdf").pages[0].extract_text()
