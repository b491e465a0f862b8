"""The invented farm: the same every time, whole, and with the stories it is meant to tell."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, date, datetime, timedelta

import pytest

from outpace.errors import OutpaceError
from outpace.records.book import Book
from outpace.season.demo.build import build, climate_rows
from outpace.season.demo.calendar import ZONE, Season
from outpace.season.demo.counting import Course, as_counted, draw
from outpace.season.demo.farm import dated_rows, farm_rows
from outpace.season.demo.place import (
    AUBERGINE,
    COLEMANI,
    CUCUMBER,
    LETTUCE,
    MACROSIPHUM,
    PEPPER,
    STRAWBERRY,
    house_rows,
)
from outpace.season.demo.weather import inside_degc, logger_files
from outpace.terms.enemies import Lot, Release
from outpace.terms.place import Climate, House
from outpace.terms.scouting import Count, Mummies, Walk, WalkLine
from outpace.terms.tables import Snapshot

WEDNESDAY = date(2026, 11, 25)
NOON = datetime(2026, 11, 25, 11, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def season() -> Season:
    return Season.ending(WEDNESDAY, NOON)


@pytest.fixture(scope="module")
def built(tmp_path_factory) -> tuple[Book, Snapshot]:
    place = tmp_path_factory.mktemp("demo") / "farm.sqlite"
    with Book.open(place, create=True) as book:
        build(book, WEDNESDAY)
        yield book, book.snapshot()


def of_house(snapshot: Snapshot, house: str, kind: type) -> dict[date, list]:
    walks = {
        walk.walk: walk.time.astimezone(ZONE).date() for walk in snapshot.table(Walk) if walk.house == house
    }
    found: dict[date, list] = {day: [] for day in sorted(walks.values())}
    for row in snapshot.table(kind):
        if row.walk in walks:
            found[walks[row.walk]].append(row)
    return found


def test_the_same_day_gives_the_same_farm(season):
    assert farm_rows(season) == farm_rows(Season.ending(WEDNESDAY, NOON))


def test_it_is_built_once_and_a_second_time_changes_nothing(built):
    book, _snapshot = built
    head = book.head()
    build(book, WEDNESDAY)
    assert book.head() == head
    assert book.verify() == []


def test_a_season_that_ends_on_another_day_is_refused_in_the_same_book(built):
    with pytest.raises(OutpaceError) as told:
        build(built[0], WEDNESDAY - timedelta(days=1))
    assert "--fresh" in told.value.hint


def test_a_day_that_lies_ahead_is_refused(built):
    with pytest.raises(OutpaceError, match="lies ahead"):
        build(built[0], date(2099, 1, 1))


def test_five_houses_of_180_to_2400_square_metres_grow_five_crops(built):
    houses = built[1].table(House)
    assert sorted(house.area_m2 for house in houses) == [180, 420, 640, 960, 2400]
    assert {house.crop for house in houses} == {
        "sweet_pepper",
        "cucumber",
        "aubergine",
        "strawberry",
        "lettuce",
    }


def test_every_farm_supplier_and_product_says_that_it_is_invented(season):
    named = [
        value
        for row in farm_rows(season)
        for field in ("farm", "supplier", "product", "scout", "person", "operator", "source", "lot")
        if isinstance(value := getattr(row, field, None), str)
    ]
    assert [name for name in named if "invented" not in name] == []


def test_two_aphids_need_different_enemies(built):
    assert {row.pest for row in built[1].table(Count)} == {"myzus_persicae", MACROSIPHUM, "any"}


def test_the_long_tunnel_is_falling_with_mummies_everywhere(built):
    snapshot = built[1]
    counts, mummies = of_house(snapshot, PEPPER, Count), of_house(snapshot, PEPPER, Mummies)
    infested = [sum(row.aphids != "0" for row in rows) for rows in counts.values()]
    assert max(infested) > 2 * infested[-1]
    last = list(mummies.values())[-1]
    assert sum(row.closed for row in last) > 10
    assert sum(row.empty_smooth for row in last) > sum(row.closed for row in last) / 2


def test_the_south_house_grows_without_a_mummy_after_the_wrong_wasp(built):
    snapshot = built[1]
    counts, mummies = of_house(snapshot, AUBERGINE, Count), of_house(snapshot, AUBERGINE, Mummies)
    infested = [sum(row.aphids != "0" for row in rows) for rows in counts.values()]
    assert infested[-1] > infested[-2] > 0
    assert {row.closed for rows in mummies.values() for row in rows} == {0}
    lots = {lot.lot: lot.enemy for lot in snapshot.table(Lot)}
    let_go = [release for release in snapshot.table(Release) if release.house == AUBERGINE]
    assert {lots[release.lot] for release in let_go} == {COLEMANI}
    assert {row.pest for rows in counts.values() for row in rows} == {MACROSIPHUM, "any"}


def test_the_big_glasshouse_has_ragged_tan_holes_of_late(built):
    by_day = of_house(built[1], CUCUMBER, Mummies)
    ragged = [sum(row.empty_ragged for row in rows) for rows in by_day.values()]
    smooth = [sum(row.empty_smooth for row in rows) for rows in by_day.values()]
    assert 0.25 < ragged[-1] / (ragged[-1] + smooth[-1]) < 0.6
    assert ragged[0] == 0
    assert {row.colour for rows in by_day.values() for row in rows} == {"tan"}


def test_the_berry_tunnel_was_not_walked_for_twelve_days(built):
    assert max(of_house(built[1], STRAWBERRY, WalkLine)) == WEDNESDAY - timedelta(days=12)


def test_the_salad_house_never_had_a_find(built):
    lines = [row for rows in of_house(built[1], LETTUCE, WalkLine).values() for row in rows]
    assert len(lines) >= 6
    assert {(row.pest, row.infested) for row in lines} == {("any", 0)}


def test_temperatures_reach_the_morning_of_the_last_day_in_every_house(built, season):
    last: dict[str, datetime] = {}
    for row in built[1].table(Climate):
        last[row.house] = max(row.time, last.get(row.house, row.time))
    assert set(last) == {house.house for house in house_rows(season)}
    assert all(season.now - time < timedelta(hours=30) for time in last.values())


def test_each_logger_file_is_in_another_dialect_and_gives_back_the_weather(season):
    files = logger_files(season, 10)
    assert len({file.data[:12] for file in files}) == 4
    for rows in climate_rows(season)[:4]:
        wrong = [
            row
            for row in rows
            if abs(row.temperature_degc - inside_degc(row.house, row.time.astimezone(ZONE))) > 1
        ]
        assert wrong == []
        assert len(rows) > 1_000


def test_what_was_known_grows_from_day_to_day(built):
    book, whole = built
    then = book.snapshot(datetime(2026, 11, 1, 22, 0, tzinfo=UTC))
    assert 0 < len(then.table(Walk)) < len(whole.table(Walk))
    assert max(walk.time for walk in then.table(Walk)) <= then.as_of
    assert len(then.table(Release)) < len(whole.table(Release))


def test_lots_are_never_released_beyond_their_label(built):
    gone = Counter()
    for release in built[1].table(Release):
        gone[release.lot] += release.number
    assert all(gone[lot.lot] == lot.labelled_number for lot in built[1].table(Lot))


@pytest.mark.parametrize("ago", range(14))
def test_any_day_of_the_week_ends_a_season_with_nothing_ahead_of_it(ago):
    day = WEDNESDAY - timedelta(days=ago)
    season = Season.ending(day, NOON)
    assert season.today == day
    assert all(moment <= season.now for moment, _ in dated_rows(season))


def test_a_course_is_exponential_between_its_points():
    # Source: exponential growth, closed form: the geometric mean half-way in time.
    course = Course(((20, 0.1), (10, 10.0)))
    assert course.mean(15) == pytest.approx(1.0)
    assert course.mean(21) == 0.0
    assert course.mean(3) == 10.0


def test_counts_have_the_mean_and_the_clumping_they_were_drawn_with():
    counts = draw(Course(((1, 2.0),)), 1, 20_000, (5,))
    mean = sum(counts) / len(counts)
    variance = sum((count - mean) ** 2 for count in counts) / len(counts)
    assert mean == pytest.approx(2.0, rel=0.06)
    # Source: Taylor's law with the two numbers of the invented houses: 3·2^1.4 = 7.92.
    assert variance == pytest.approx(7.92, rel=0.12)


@pytest.mark.parametrize(
    ("number", "written"), [(0, "0"), (10, "10"), (11, "11to30"), (31, "31to100"), (101, "over100")]
)
def test_many_aphids_are_written_as_a_class(number, written):
    assert as_counted(number) == written
