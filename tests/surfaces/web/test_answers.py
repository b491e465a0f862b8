"""Answers are worked out once, beside the thread that serves, and anew when the book changes."""

from __future__ import annotations

import asyncio
import sys
import threading
import types
from datetime import UTC, datetime

import pytest

from outpace.errors import OutpaceError
from outpace.season.enter import Entered
from outpace.season.open_book import open_book
from outpace.surfaces.sheets import week_sheet
from outpace.surfaces.web.answers import Answers
from outpace.surfaces.web.asking import Asked, NothingYet, StillWorking
from outpace.terms.place import Farm, House

FARM = Farm(farm="cove", latitude=50.0, longitude=0.0, time_zone="Europe/London", currency="EUR")
HOUSE = House(farm="cove", house="south", crop="sweet_pepper", area_m2=100.0, plants=200)


@pytest.fixture
def book_url(tmp_path) -> str:
    url = str(tmp_path / "book.db")
    with open_book(url, create=True) as book:
        book.record([FARM, HOUSE], by="tester")
    return url


class Season:
    """Stands in for the slow part: counts its calls, waits where told to, fails where told to."""

    def __init__(self) -> None:
        self.calls: list[tuple[str, str]] = []
        self.threads: set[str] = set()
        self.gate = threading.Event()
        self.gate.set()
        self.failure: Exception | None = None

    def week_with_houses(self, snapshot, *, farm=None, progress=None, head=""):
        self.calls.append(("week", snapshot.as_of.isoformat()))
        self.threads.add(threading.current_thread().name)
        progress("house 1 of 1")
        self.gate.wait(10)
        if self.failure is not None:
            raise self.failure
        houses = [house.house for house in snapshot.table(House)]
        week = {"schema": "outpace.week/1", "houses": [{"house": house} for house in houses]}
        ordered = {"sentence": "Order 2 packs.", "tasks": [{"kind": "order"}]}
        return week, {house: {**self.one(house), **ordered} for house in houses}

    def week_of_houses(self, snapshot, names, *, farm=None, progress=None, head, since):
        self.calls.append(("alone", snapshot.as_of.isoformat()))
        return {"houses": []}, {name: {**self.one(name), "plan_of": "this morning"} for name in names}

    def one(self, house):
        return {"schema": "outpace.ahead/1", "house": house, "sentence": "Walk 20 plants.", "tasks": []}

    def ahead(self, snapshot, house, *, farm=None, days=28):
        self.calls.append((f"ahead {house} {days}", snapshot.as_of.isoformat()))
        return {**self.one(house.lower()), "days": days}


@pytest.fixture
def season(monkeypatch, tmp_path) -> Season:
    monkeypatch.setenv("OUTPACE_CACHE", str(tmp_path / "answers"))
    stand_in = Season()
    for name, doors in (("week", ("week_with_houses", "week_of_houses")), ("ahead", ("ahead",))):
        module = types.ModuleType(f"outpace.season.{name}")
        for door in doors:
            setattr(module, door, getattr(stand_in, door))
        monkeypatch.setitem(sys.modules, module.__name__, module)
    return stand_in


def names(week) -> list[str]:
    return [house["house"] for house in week["houses"]]


def run(answers: Answers, work):
    try:
        return asyncio.run(work(answers))
    finally:
        answers.close()


def test_the_same_question_is_worked_out_once_for_all_who_ask(book_url, season):
    async def work(answers):
        first = await asyncio.gather(*(answers.week(Asked()) for _ in range(5)))
        return [*first, await answers.week(Asked())]

    found = run(Answers(book_url), work)
    assert found == [{"schema": "outpace.week/1", "houses": [{"house": "south"}]}] * 6
    assert len(season.calls) == 1
    assert all(name.startswith("season") for name in season.threads)


def test_a_new_entry_in_the_book_makes_the_answer_anew(book_url, season):
    async def work(answers):
        before = await answers.week(Asked())
        with open_book(book_url) as book:
            more = House(farm="cove", house="north", crop="cucumber", area_m2=50.0, plants=90)
            book.record([more], by="tester")
        return names(before), names(await answers.week(Asked()))

    before, after = run(Answers(book_url), work)
    assert before == ["south"]
    assert sorted(after) == ["north", "south"]


def test_another_farm_or_day_is_another_question(book_url, season):
    async def work(answers):
        await answers.week(Asked())
        await answers.week(Asked(farm="cove"))

    run(Answers(book_url), work)
    assert len(season.calls) == 2


def test_the_hour_is_part_of_the_question_because_cutoffs_pass(book_url, season):
    clock = [datetime(2035, 4, 20, 13, 50, tzinfo=UTC)]

    async def work(answers):
        await answers.week(Asked())
        clock[0] = datetime(2035, 4, 20, 14, 5, tzinfo=UTC)
        await answers.week(Asked())

    run(Answers(book_url, now=lambda: clock[0]), work)
    assert [when for _, when in season.calls] == ["2035-04-20T13:50:00+00:00", "2035-04-20T14:05:00+00:00"]


def test_a_failure_is_told_and_tried_again(book_url, season):
    async def work(answers):
        season.failure = ValueError("broken")
        with pytest.raises(ValueError, match="broken"):
            await answers.week(Asked())
        season.failure = None
        return await answers.week(Asked())

    assert names(run(Answers(book_url), work)) == ["south"]


def test_a_page_does_not_wait_for_long_work_and_hears_how_far_it_is(book_url, season):
    season.gate.clear()

    async def work(answers):
        heard = ""
        # The work may begin late on a busy machine: the page asks again until it hears of it.
        for _ in range(100):
            with pytest.raises(StillWorking) as told:
                await answers.soon(answers.week(Asked()), 0.2)
            heard = told.value.progress
            if heard:
                break
        # While that work goes on, the serving thread is free for other questions.
        assert await asyncio.wait_for(answers.head(), 5)
        season.gate.set()
        return heard, await answers.soon(answers.week(Asked()), 10)

    heard, answer = run(Answers(book_url), work)
    assert heard == "house 1 of 1"
    assert names(answer) == ["south"]
    assert len(season.calls) == 1


def test_a_book_without_farm_or_house_says_the_next_step(tmp_path, season):
    url = str(tmp_path / "book.db")
    with open_book(url, create=True) as book:
        book.record([], by="tester")

    async def work(answers):
        with pytest.raises(NothingYet) as no_farm:
            await answers.week(Asked())
        with open_book(url) as book:
            book.record([FARM], by="tester")
        with pytest.raises(NothingYet) as no_house:
            await answers.week(Asked())
        return no_farm.value, no_house.value

    no_farm, no_house = run(Answers(url), work)
    assert "outpace farm" in no_farm.hint
    assert "outpace house" in no_house.hint
    assert season.calls == []


def test_what_the_first_page_needs_is_worked_out_before_anyone_asks(book_url, season):
    async def work(answers):
        await answers.begin()
        before = list(season.calls)
        await answers.week(Asked())
        await answers.ahead(Asked(), "south")
        return before

    before = run(Answers(book_url), work)
    assert [name for name, _ in before] == ["week"]
    assert season.calls == before


def test_a_house_says_what_the_week_says_of_it_and_is_not_worked_out_again(book_url, season):
    async def work(answers):
        return await asyncio.gather(answers.ahead(Asked(), "south"), answers.week(Asked()))

    house, _ = run(Answers(book_url), work)
    assert house["sentence"] == "Order 2 packs."
    assert [task["kind"] for task in house["tasks"]] == ["order"]
    assert [name for name, _ in season.calls] == ["week"]


def test_a_house_asked_for_other_days_or_by_other_capitals_keeps_the_tasks_of_the_week(book_url, season):
    async def work(answers):
        return await answers.ahead(Asked(), "South"), await answers.ahead(Asked(), "south", 10)

    for house, days in zip(run(Answers(book_url), work), (28, 10), strict=True):
        assert house["days"] == days
        assert house["sentence"] == "Order 2 packs."
        assert [task["kind"] for task in house["tasks"]] == ["order"]


def test_a_house_is_still_shown_where_the_week_cannot_be_told(book_url, season):
    season.failure = OutpaceError("another house has no plants")
    house = run(Answers(book_url), lambda answers: answers.ahead(Asked(), "south"))
    assert house["sentence"] == "Walk 20 plants."


def test_the_houses_to_choose_from_are_those_of_the_farm_and_none_without_a_book(book_url, tmp_path):
    assert run(Answers(book_url), lambda answers: answers.houses(Asked())) == ["south"]
    assert run(Answers(book_url), lambda answers: answers.houses(Asked(farm="nowhere"))) == []
    none = Answers(str(tmp_path / "no such.book"))
    assert run(none, lambda answers: answers.houses(Asked())) == []


def test_the_sheet_of_a_house_does_not_wait_for_the_week_and_is_of_it_once_it_is_known(
    book_url, season, monkeypatch
):
    monkeypatch.setattr(week_sheet, "render", lambda answer, *, head: dict(answer))
    season.gate.clear()

    async def work(answers):
        week = asyncio.ensure_future(answers.week(Asked()))
        before = await asyncio.wait_for(answers.sheet(Asked(), "south"), 20)
        assert not week.done()
        season.gate.set()
        await week
        return before, await Answers(book_url).sheet(Asked(), "south")

    before, after = run(Answers(book_url), work)
    assert before["plan_of"] == "this morning"
    assert after["sentence"] == "Order 2 packs."
    assert "plan_of" not in after
    assert sorted(name for name, _ in season.calls) == ["alone", "week"]


def test_the_sheet_of_a_house_is_still_printed_where_the_plan_cannot_be_told(book_url, season, monkeypatch):
    monkeypatch.setattr(week_sheet, "render", lambda answer, *, head: dict(answer))

    def failing(known, names, **how):
        return season.week_with_houses(known, progress=how["progress"])

    monkeypatch.setattr(sys.modules["outpace.season.week"], "week_of_houses", failing)
    season.failure = OutpaceError("another house has no plants")
    sheet = run(Answers(book_url), lambda answers: answers.sheet(Asked(), "south"))
    assert sheet["sentence"] == "Walk 20 plants."


def enter(answers, house):
    more = House(farm="cove", house=house, crop="cucumber", area_m2=50.0, plants=90)
    return answers.enter(lambda known, told: Entered([more], "noted"), {}, by="tester")


def test_after_an_entry_the_week_is_worked_out_and_who_asks_meanwhile_waits_for_it(book_url, season):
    async def work(answers):
        await answers.begin()
        season.gate.clear()
        await enter(answers, "north")
        while len(season.calls) < 2:
            await asyncio.sleep(0.01)
        waiting = [asyncio.ensure_future(answers.week(Asked())) for _ in range(3)]
        await asyncio.sleep(0.05)
        assert not any(each.done() for each in waiting)
        season.gate.set()
        return [names(each) for each in await asyncio.gather(*waiting)]

    found = run(Answers(book_url, quiet_s=0.05), work)
    assert [sorted(each) for each in found] == [["north", "south"]] * 3
    assert len(season.calls) == 2


def test_an_entry_while_a_week_is_worked_out_has_it_worked_out_once_more_and_no_two_at_a_time(
    book_url, season
):
    async def work(answers):
        await answers.begin()
        season.gate.clear()
        await enter(answers, "north")
        while len(season.calls) < 2:
            await asyncio.sleep(0.01)
        for house in ("west", "east"):
            await enter(answers, house)
        await asyncio.sleep(0.1)
        assert len(season.calls) == 2
        season.gate.set()
        while len(season.calls) < 3:
            await asyncio.sleep(0.01)
        return names(await answers.week(Asked()))

    assert sorted(run(Answers(book_url, quiet_s=0.02), work)) == ["east", "north", "south", "west"]
    assert len(season.calls) == 3


def test_what_writes_nothing_has_nothing_worked_out(book_url, season):
    async def work(answers):
        await answers.enter(lambda known, told: Entered([HOUSE], "noted"), {}, by="tester")
        await asyncio.sleep(0.1)

    run(Answers(book_url, quiet_s=0.0), work)
    assert season.calls == []


def test_a_start_on_an_empty_book_goes_on_quietly(tmp_path, season):
    url = str(tmp_path / "book.db")
    with open_book(url, create=True):
        pass
    run(Answers(url), lambda answers: answers.begin())
    assert season.calls == []
