"""The calendar file, read back by two libraries."""

from __future__ import annotations

import copy
import json
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import icalendar
import recurring_ical_events

from outpace.surfaces.calendar import week_calendar

WEEK: dict[str, Any] = json.loads((Path(__file__).parent / "answers" / "week.json").read_text())


def read(answer: dict[str, Any]) -> icalendar.Calendar:
    return icalendar.Calendar.from_ical(week_calendar(answer))


def events(answer: dict[str, Any]) -> list[icalendar.Event]:
    return list(read(answer).walk("VEVENT"))


def test_every_task_and_every_cutoff_is_an_entry_without_errors():
    found = events(WEEK)
    tasks = sum(len(house["tasks"]) for house in WEEK["houses"])
    assert len(found) == tasks + len(WEEK["orders_due"])
    assert [event.errors for event in found] == [[]] * len(found)
    assert read(WEEK).errors == []


def test_a_reader_of_calendars_finds_the_tasks_on_their_days():
    on_saturday = recurring_ical_events.of(read(WEEK)).at(date(2026, 4, 25))
    assert [str(event["SUMMARY"]) for event in on_saturday] == ["long: Walk 20 plants"]
    assert "because the aphid could grow four-fold by then" in str(on_saturday[0]["DESCRIPTION"])


def test_a_cutoff_ends_at_its_minute_and_reminds_before():
    cutoff = next(event for event in events(WEEK) if "Order from" in str(event["SUMMARY"]))
    # 14:00 in a zone two hours ahead of UTC.
    assert cutoff["DTEND"].dt == datetime(2026, 4, 21, 12, 0, tzinfo=UTC)
    assert "before 14:00" in str(cutoff["SUMMARY"])
    assert len(cutoff.walk("VALARM")) == 1


def test_the_same_week_asked_again_later_keeps_its_identifiers():
    later = copy.deepcopy(WEEK)
    later["as_of"] = "2026-04-20T21:00:00+02:00"
    later["houses"][0]["tasks"][1]["what"] = "Order 3 packs of Aphidius ervi"
    first, second = ([str(event["UID"]) for event in events(answer)] for answer in (WEEK, later))
    assert first == second


def test_identifiers_differ_even_for_two_equal_tasks_of_one_day():
    twice = copy.deepcopy(WEEK)
    twice["houses"][1]["tasks"] *= 2
    found = [str(event["UID"]) for event in events(twice)]
    assert len(set(found)) == len(found)


def test_what_people_wrote_cannot_add_a_line_of_its_own():
    hostile = copy.deepcopy(WEEK)
    hostile["houses"][0]["house"] = "south\r\nATTACH:file:///etc/passwd"
    hostile["houses"][0]["tasks"][0]["what"] = "squash; bag, tag\nEND:VEVENT\nBEGIN:VEVENT"
    found = events(hostile)
    assert len(found) == len(events(WEEK))
    assert all("ATTACH" not in event for event in found)


def test_a_week_with_nothing_to_do_is_an_empty_calendar():
    idle = {**WEEK, "houses": [{**house, "tasks": []} for house in WEEK["houses"]], "orders_due": []}
    assert events(idle) == []
