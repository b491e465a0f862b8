"""The week's tasks as an iCalendar file."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

import icalendar

from outpace.language import say
from outpace.surfaces.text import page

Answer = Mapping[str, Any]

PRODUCT = "-//outpace//the week of a farm//EN"
NOTICE = timedelta(minutes=30)
"""How long before a cut-off its entry begins; the reminder comes as long before that."""


def week_calendar(answer: Answer) -> bytes:
    """Return the tasks and order cut-offs of a week as an iCalendar file.

    A task is an entry of its whole day. Its identifier is made of farm, house, day and kind of task, so that a
    calendar that reads the file again moves entries on instead of doubling them.

    Parameters
    ----------
    answer : mapping
        The answer of ``outpace week``.
    """
    farm = page.plain(answer.get("farm") or "farm")
    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("name", say("{farm}: this week", farm=farm))
    calendar.add("x-wr-calname", say("{farm}: this week", farm=farm))
    stamp = _moment(answer["as_of"])
    seen: Counter[tuple[str, ...]] = Counter()
    for house in answer["houses"]:
        for task in house["tasks"]:
            calendar.add_component(_task(farm, house["house"], task, stamp, seen))
    for order in answer.get("orders_due") or ():
        calendar.add_component(_cutoff(farm, order, stamp, seen))
    return bytes(calendar.to_ical())


def _moment(text: str) -> datetime:
    when = datetime.fromisoformat(str(text))
    return (when if when.tzinfo else when.replace(tzinfo=UTC)).astimezone(UTC)


def _identifier(parts: tuple[str, ...], seen: Counter[tuple[str, ...]]) -> str:
    seen[parts] += 1
    told = "\x1f".join([*parts, str(seen[parts])])
    return f"{hashlib.sha256(told.encode()).hexdigest()[:32]}@outpace"


def _task(
    farm: str, house: str, task: Answer, stamp: datetime, seen: Counter[tuple[str, ...]]
) -> icalendar.Event:
    day = page.as_date(task["day"])
    kind = str(task.get("kind") or task["what"])
    event = icalendar.Event()
    event.add("uid", _identifier((farm, house, day.isoformat(), kind), seen))
    event.add("dtstamp", stamp)
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("summary", f"{page.plain(house)}: {page.plain(task['what'])}")
    about = []
    if task.get("minutes") is not None:
        about.append(say("{minutes} min", minutes=page.figure(task["minutes"])))
    if task.get("why"):
        about.append(say("because {why}", why=page.plain(task["why"])))
    if task.get("care"):
        about.append(page.plain(task["care"]))
    if about:
        event.add("description", "\n".join(about))
    event.add("location", page.plain(house))
    event.add("transp", "TRANSPARENT")
    return event


def _cutoff(farm: str, order: Answer, stamp: datetime, seen: Counter[tuple[str, ...]]) -> icalendar.Event:
    event = icalendar.Event()
    supplier = page.plain(order["supplier"])
    event.add("uid", _identifier((farm, "order", supplier, str(order["cutoff"])[:10]), seen))
    event.add("dtstamp", stamp)
    summary = say("Order from {supplier}", supplier=supplier)
    if len(str(order["cutoff"])) > 10:
        cutoff = _moment(order["cutoff"])
        event.add("dtstart", cutoff - NOTICE)
        event.add("dtend", cutoff)
        summary += say(" before {cutoff:%H:%M}", cutoff=datetime.fromisoformat(order["cutoff"]))
    else:
        event.add("dtstart", page.as_date(order["cutoff"]))
        event.add("dtend", page.as_date(order["cutoff"]) + timedelta(days=1))
    event.add("summary", summary)
    event.add("description", page.plain(order["text"]))
    alarm = icalendar.Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", summary)
    alarm.add("trigger", -NOTICE)
    event.add_component(alarm)
    return event
