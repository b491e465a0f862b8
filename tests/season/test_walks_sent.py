"""Walks sent from a phone: whole, idempotent, and never half replaced."""

from __future__ import annotations

import pytest

from outpace.errors import OutpaceError
from outpace.records.store import Book
from outpace.season.photos import keep_photo, photo
from outpace.season.walks_sent import take_walks
from outpace.terms.place import Farm, House
from outpace.terms.scouting import Count, Walk

WALK = {
    "walk": "w1",
    "farm": "Invented",
    "house": "bay",
    "time": "2026-04-20T09:00:00+02:00",
    "unit": "plant",
    "chosen": "random",
    "looked_at": 2,
    "finished": "yes",
}


def counts(*told):
    return [
        {"walk": "w1", "unit_no": number, "pest": pest, "aphids": aphids}
        for number, (pest, aphids) in enumerate(told, 1)
    ]


@pytest.fixture
def book(tmp_path):
    with Book.open(tmp_path / "farm.book", create=True) as opened:
        farm = Farm(farm="Invented", latitude=43.1, longitude=-8.2, time_zone="Europe/Madrid", currency="EUR")
        house = House(farm="Invented", house="bay", crop="sweet_pepper", area_m2=200, plants=500)
        opened.record([farm, house], by="Ana")
        yield opened


def send(book, *told, **more):
    return take_walks(book, {"walks": [WALK], "counts": counts(*told)}, by="Ana", device="phone-12ab", **more)


def test_the_same_walk_sent_twice_is_recorded_once(book):
    found = ("any", "0"), ("Myzus persicae", "4to10"), ("unknown", "2"), ("unknown small", "present")
    assert send(book, *found)["new"] == 5
    again = send(book, *found)
    assert (again["new"], again["same"], again["conflicts"]) == (0, 5, [])
    assert len(book.snapshot().table(Count)) == 4


def test_a_finding_named_otherwise_conflicts_with_the_row_it_would_leave_behind(book):
    send(book, ("any", "0"))
    answer = send(book, ("myzus_persicae", "12"))
    assert [conflict["table"] for conflict in answer["conflicts"]] == ["counts"]
    assert [row.pest for row in book.snapshot().table(Count)] == ["any"]
    assert send(book, ("myzus_persicae", "12"), correct=True)["conflicts"] == []
    assert [(row.pest, row.aphids) for row in book.snapshot().table(Count)] == [("myzus_persicae", "12")]
    assert book.verify() == []


def test_another_table_a_walk_without_a_house_and_nothing_at_all_are_refused(book):
    with pytest.raises(OutpaceError, match="none of a walk"):
        take_walks(book, {"farm": [{"farm": "x"}]}, by="Ana")
    with pytest.raises(OutpaceError, match="no walk was sent"):
        take_walks(book, {}, by="Ana")
    with pytest.raises(OutpaceError):
        take_walks(book, {"walks": [{**WALK, "house": "attic"}]}, by="Ana")
    assert book.snapshot().table(Walk) == ()


def test_a_photo_is_kept_under_its_name_and_nothing_but_a_picture_is(tmp_path):
    place, name = str(tmp_path / "farm.book"), "0123456789abcdef"
    picture = b"\xff\xd8\xff\xe0" + b"0" * 20
    assert keep_photo(place, name, picture) == keep_photo(place, name, picture)
    assert photo(place, name) == (picture, "jpg")
    for wrong in ("../../etc", "ABC", ""):
        with pytest.raises(OutpaceError):
            keep_photo(place, wrong, picture)
        assert photo(place, wrong) is None
    with pytest.raises(OutpaceError, match="no picture"):
        keep_photo(place, "fedcba9876543210", b"<svg onload=alert(1)>")
    with pytest.raises(OutpaceError, match="another picture"):
        keep_photo(place, name, picture + b"1")
