"""Two copies of a book grow apart and come together: nothing is lost, what differs is listed."""

from __future__ import annotations

import dataclasses
import json
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from tests.records.conftest import OTHER_FARM, RESOLVERS, Clock
from tests.records.rows import COUNT, FARM, HOUSE, START, WALK, hours

from outpace.errors import OutpaceError
from outpace.records.book import Book
from outpace.records.canonical import plain_row, row_key
from outpace.records.columns import table
from outpace.records.entries import Entry
from outpace.records.exchange import Imported, export_package, import_package
from outpace.terms.place import Climate
from outpace.terms.scouting import Count, Walk

Carry = Callable[[Book, Book], Imported]


@pytest.fixture
def carry(tmp_path: Path) -> Carry:
    """A function that brings one book's history into another by way of a package."""
    count = iter(range(100))

    def bring(source: Book, target: Book) -> Imported:
        folder = export_package(source, tmp_path / f"package-{next(count)}")
        return import_package(target, folder, by="Ana", resolve=RESOLVERS)

    return bring


@pytest.fixture
def pair(open_book, carry) -> tuple[Book, Book]:
    """A laptop's book and a phone's copy of it, each with its own chain."""
    laptop, phone = open_book("laptop"), open_book("phone")
    laptop.record([*START, *hours(6)], by="Ana")
    carry(laptop, phone)
    return laptop, phone


def test_a_history_taken_over_whole_is_the_same_history(pair):
    laptop, phone = pair
    assert phone.head() == laptop.head()
    assert phone.snapshot().rows == laptop.snapshot().rows
    assert phone.history(Count, "w1", 1, "any") == laptop.history(Count, "w1", 1, "any")
    assert phone.verify() == []


def test_in_out_and_in_again_keeps_corrections_withdrawals_and_old_hours(open_book, carry, tmp_path):
    laptop, phone = open_book("laptop"), open_book("phone")
    import_package(laptop, OTHER_FARM, by="Ema", resolve=RESOLVERS)
    count = next(row for row in laptop.snapshot().table(Count) if row.aphids == "6")
    laptop.record([dataclasses.replace(count, aphids="7")], by="Bo", correct=True, why="misread")
    laptop.withdraw("seen", "S-1118", 11, "ants", by="Bo")
    hour = laptop.snapshot().table(Climate)[5]
    laptop.record([dataclasses.replace(hour, temperature_degc=1.5)], by="Bo", correct=True)
    carry(laptop, phone)
    first, second = (
        export_package(book, tmp_path / name) for name, book in (("first", laptop), ("second", phone))
    )
    assert (first / "climate_past.csv").exists()
    assert {p.name: p.read_bytes() for p in first.iterdir()} == {
        p.name: p.read_bytes() for p in second.iterdir()
    }
    then = datetime(2026, 11, 19, tzinfo=UTC)
    assert phone.snapshot(then) == laptop.snapshot(then)
    assert phone.verify() == []


def test_rows_of_both_devices_come_together_and_the_next_entry_names_all_heads(pair, carry):
    laptop, phone = pair
    phone.record([dataclasses.replace(WALK, walk="w2"), dataclasses.replace(COUNT, walk="w2")], by="Bo")
    laptop.record([Count(walk="w1", unit_no=2, pest="any", aphids="4")], by="Ana")
    done = carry(phone, laptop)
    assert done.written
    assert done.merged == 3, "a merge event, a walk and a count"
    assert done.unsettled == ()
    assert {walk.walk for walk in laptop.snapshot().table(Walk)} == {"w1", "w2"}
    named = {head.device: head.hash for head in laptop.heads()}
    assert set(named) == {"laptop", "phone"}
    laptop.record([Count(walk="w1", unit_no=3, pest="any", aphids="1")], by="Ana")
    with laptop.engine.connect() as connection:
        rows = connection.exec_driver_sql(
            "SELECT device, content FROM events WHERE \"table\" = '' ORDER BY position"
        )
        merges = [(device, json.loads(content)["heads"]) for device, content in rows]
    assert [device for device, _ in merges] == ["phone", "laptop"]
    assert {device: own for device, (_, own) in merges[-1][1].items()} == named
    assert laptop.head() == next(head.hash for head in laptop.heads() if head.device == "laptop")
    assert laptop.verify() == []
    carry(laptop, phone)
    assert phone.snapshot().rows == laptop.snapshot().rows
    assert phone.head() == laptop.head()
    assert phone.verify() == []


def test_two_opinions_on_one_row_are_both_kept_and_listed_until_settled(pair, carry):
    laptop, phone = pair
    laptop.record([dataclasses.replace(COUNT, aphids="2")], by="Ana", correct=True)
    phone.record([dataclasses.replace(COUNT, aphids="5")], by="Bo", correct=True)
    done = carry(phone, laptop)
    assert done.written
    assert [dict(conflict.differs) for conflict in done.unsettled] == [{"aphids": ("2", "5")}]
    assert [row.aphids for row in laptop.snapshot().table(Count)] == ["2"]
    assert [v.row.aphids for v in laptop.history(Count, "w1", 1, "any").versions] == ["0", "2", "5"]
    assert laptop.verify() == []
    laptop.rebuild()
    assert [row.aphids for row in laptop.snapshot().table(Count)] == ["2"]
    # Saying the standing value again, as a correction, settles it on both sides.
    assert laptop.record([dataclasses.replace(COUNT, aphids="2")], by="Ana").same == 1
    assert laptop.open_conflicts() != []
    assert laptop.record([dataclasses.replace(COUNT, aphids="2")], by="Ana", correct=True).corrected == 1
    assert laptop.open_conflicts() == []
    carry(laptop, phone)
    assert phone.open_conflicts() == []
    assert [row.aphids for row in phone.snapshot().table(Count)] == ["2"]
    assert phone.verify() == []


def test_two_opinions_on_one_hour_are_both_kept_and_listed_until_settled(pair, carry):
    laptop, phone = pair
    hour = hours(1)[0]
    laptop.record([dataclasses.replace(hour, temperature_degc=2.0)], by="Ana", correct=True)
    phone.record([dataclasses.replace(hour, temperature_degc=5.0)], by="Bo", correct=True)
    (conflict,) = carry(phone, laptop).unsettled
    assert dict(conflict.differs) == {"temperature_degc": (2.0, 5.0)}
    assert laptop.snapshot().table(Climate)[0].temperature_degc == 2.0
    assert laptop.verify() == []
    laptop.record([dataclasses.replace(hour, temperature_degc=5.0)], by="Ana", correct=True)
    assert laptop.open_conflicts() == []
    carry(laptop, phone)
    assert phone.snapshot().table(Climate)[0].temperature_degc == 5.0
    assert phone.open_conflicts() == []
    assert phone.verify() == []


def test_the_same_said_twice_apart_is_no_conflict(open_book, carry):
    laptop, phone = open_book("laptop"), open_book("phone")
    laptop.record([*START, *hours(6)], by="Ana")
    phone.record([*START, *hours(6)], by="Ana")
    done = carry(phone, laptop)
    assert done.unsettled == ()
    assert laptop.row_counts()["counts"] == 1
    assert laptop.row_counts()["climate"] == 6
    assert laptop.verify() == []


def test_two_farms_meet_in_one_book(open_book, carry):
    laptop, phone = open_book("laptop"), open_book("phone")
    laptop.record(START, by="Ana")
    import_package(phone, OTHER_FARM, by="Ema", resolve=RESOLVERS)
    assert carry(phone, laptop).unsettled == ()
    assert laptop.row_counts()["farm"] == 2
    assert laptop.row_counts()["houses"] == 3
    assert laptop.verify() == []


def test_a_name_erased_there_is_erased_here_too(pair, carry):
    laptop, phone = pair
    laptop.erase_person("Ana", by="Bo")
    carry(laptop, phone)
    assert phone.snapshot().table(Walk)[0].scout == "(erased)"
    assert phone.verify() == []


def test_an_altered_history_is_refused_and_the_book_unchanged(pair, open_book, tmp_path):
    laptop, _ = pair
    fresh = open_book("fresh")
    package = export_package(laptop, tmp_path / "out")
    whole = {path.name: path.read_bytes() for path in package.iterdir()}

    def spoil(name: str, old: str, new: str) -> str:
        for file, content in whole.items():
            (package / file).write_bytes(content)
        text = (package / name).read_text()
        assert old in text
        (package / name).write_text(text.replace(old, new))
        with pytest.raises(OutpaceError) as told:
            import_package(fresh, package, by="x", resolve=RESOLVERS)
        assert fresh.row_counts()["events"] == 0
        assert fresh.snapshot().rows["farm"] == ()
        return told.value.what

    assert "does not follow" in spoil("events.csv", "cucumber", "tomato")
    assert "are not those it was recorded with" in spoil("climate.csv", ",15.25,", ",15.5,")
    assert "other columns" in spoil("events.csv", "previous_hash", "hash")


def test_a_copy_continued_apart_under_one_name_is_refused(open_book, carry, tmp_path, clock):
    one, other = open_book("one", "same"), open_book("other", "same")
    one.record([FARM], by="Ana")
    other.record([FARM, HOUSE], by="Bo")
    before = one.head()
    with pytest.raises(OutpaceError, match="part here"):
        carry(other, one)
    assert one.head() == before


def test_a_history_with_rows_that_may_not_be_is_refused(open_book, carry):
    good, bad = open_book("good"), open_book("bad")
    houses = table("houses")
    values = {**plain_row(houses, HOUSE), "area_m2": -5.0}
    bad.record([FARM], by="Mallory")
    bad.enter([Entry(houses, values, row_key(houses, values))], by="Mallory")
    with pytest.raises(OutpaceError, match="area -5 m², must be above 0"):
        carry(bad, good)
    assert good.row_counts()["events"] == 0


def test_a_row_changed_by_hand_in_such_a_package_is_a_conflict_and_nothing_is_taken(
    pair, open_book, tmp_path
):
    laptop, _ = pair
    fresh = open_book("fresh")
    package = export_package(laptop, tmp_path / "out")
    counts = package / "counts.csv"
    counts.write_text(counts.read_text().replace("w1,1,any,,,0", "w1,1,any,,,9"))
    done = import_package(fresh, package, by="x", resolve=RESOLVERS)
    assert [dict(conflict.differs) for conflict in done.conflicts] == [{"aphids": ("0", "9")}]
    assert fresh.row_counts()["events"] == 0


def test_without_its_history_a_book_leaves_as_plain_tables(pair, tmp_path):
    laptop, _ = pair
    package = export_package(laptop, tmp_path / "out", history=False)
    assert not {"events.csv", "people.csv"} & {path.name for path in package.iterdir()}
    assert "event" not in (package / "climate.csv").read_text().splitlines()[0]


DEEDS = st.lists(
    st.tuples(
        st.sampled_from(["laptop", "phone"]),
        st.sampled_from(["count", "correct", "withdraw", "hour", "carry"]),
        st.integers(1, 3),
        st.integers(0, 2),
    ),
    max_size=10,
)


# Both withdraw a row, and one brings it back before they meet: an earlier rule listed a conflict on one side only.
BROUGHT_BACK = [("phone", "withdraw", 1, 0), ("laptop", "withdraw", 1, 2), ("phone", "correct", 1, 0)]
# One takes back what it said first and comes to say what the other says: which is first in a book must not matter.
COME_ROUND = [
    ("laptop", "count", 2, 1),
    ("phone", "count", 2, 0),
    ("laptop", "correct", 2, 0),
    ("laptop", "carry", 1, 0),
]
SAME_HOUR = [
    ("laptop", "hour", 2, 1),
    ("phone", "hour", 2, 0),
    ("laptop", "hour", 2, 0),
    ("laptop", "carry", 1, 0),
]


@settings(max_examples=8, deadline=None)
@given(DEEDS)
@example(BROUGHT_BACK)
@example(COME_ROUND)
@example(SAME_HOUR)
def test_whatever_is_entered_corrected_and_merged_both_books_stay_whole_and_agree_in_the_end(deeds):
    clock = Clock()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        books = {
            name: Book.open(folder / f"{name}.book", create=True, clock=clock, device=name)
            for name in ("laptop", "phone")
        }
        packages = iter(range(1000))

        def bring(source: str, target: str) -> None:
            package = export_package(books[source], folder / f"{next(packages)}")
            assert import_package(books[target], package, by="Ana", resolve=RESOLVERS).written

        books["laptop"].record(START, by="Ana")
        bring("laptop", "phone")
        for name, deed, unit, value in deeds:
            book, other = books[name], "phone" if name == "laptop" else "laptop"
            row = Count(walk="w1", unit_no=unit, pest="any", aphids=str(value))
            if deed == "carry":
                bring(name, other)
            elif deed == "hour":
                book.record(hours(unit, humidity_pct=float(value)), by=name, correct=True)
            elif deed == "withdraw":
                if book.history(Count, "w1", unit, "any").now is not None:
                    book.withdraw(Count, "w1", unit, "any", by=name)
            else:
                book.record([row], by=name, correct=deed == "correct")
            assert book.verify() == []
        bring("phone", "laptop")
        laptop = books["laptop"]
        for conflict in laptop.open_conflicts():
            if conflict.table == "counts":
                unit = json.loads(conflict.row_key)[1]
                settled = Count(walk="w1", unit_no=unit, pest="any", aphids="2")
                laptop.record([settled], by="Ana", correct=True)
            else:
                laptop.record(hours(3, humidity_pct=50.0), by="Ana", correct=True)
        assert laptop.open_conflicts() == []
        bring("laptop", "phone")
        assert books["phone"].open_conflicts() == []
        assert books["phone"].snapshot().rows == laptop.snapshot().rows
        went = export_package(laptop, folder / "went")
        fresh = books["fresh"] = Book.open(folder / "fresh.book", create=True, clock=clock, device="fresh")
        import_package(fresh, went, by="Ana", resolve=RESOLVERS)
        came = export_package(fresh, folder / "came")
        assert {path.name: path.read_bytes() for path in went.glob("*.csv")} == {
            path.name: path.read_bytes() for path in came.glob("*.csv")
        }
        before = laptop.snapshot().rows
        laptop.rebuild()
        assert laptop.snapshot().rows == before
        for book in books.values():
            assert book.verify() == []
            book.close()
