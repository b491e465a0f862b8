"""Lines of at most 80 columns: folding, days, chances, amounts with their intervals."""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from outpace import measures
from outpace.currency import money as money
from outpace.language import day as written_day
from outpace.language import say, say_many, to_say, written
from outpace.language import week_of as written_week
from outpace.measures import figure as figure

WIDTH = 80

WHOLE_HOUSE = to_say("whole house")

Answer = Mapping[str, Any]

EVIDENCE = ("own", "read", "derived", "recalled", "seller", "practice")
EVIDENCE_WORDS = {
    "read": to_say("a source that was read"),
    "derived": to_say("computed from other figures"),
    "recalled": to_say("recalled from the literature, page not checked"),
    "seller": to_say("told by sellers"),
    "practice": to_say("common practice, no source"),
    "own": to_say("this farm's own counts"),
}

UNITS = {
    "1": "",
    "d-1": to_say("per day"),
    "d^-1": to_say("per day"),
    "d⁻¹": to_say("per day"),
    "d": to_say("days"),
    "h": to_say("hours"),
}


def plain(text: object) -> str:
    """Return a person's text on one line, without the characters that move a terminal's cursor."""
    joined = " ".join(str(text).split())
    return "".join(mark for mark in joined if unicodedata.category(mark) not in ("Cc", "Cf", "Cs"))


def fold(text: object, *, first: str = "", rest: str | None = None) -> list[str]:
    """Return the text folded to the page, each line indented.

    Examples
    --------
    >>> fold("a word and another", first="  ")
    ['  a word and another']
    """
    after = first if rest is None else rest
    return textwrap.wrap(
        plain(text),
        WIDTH,
        initial_indent=first,
        subsequent_indent=after,
        break_long_words=True,
        break_on_hyphens=False,
    ) or [first.rstrip()]


def as_date(moment: object) -> date:
    """Return the day of an ISO date or time."""
    return date.fromisoformat(str(moment)[:10])


def day(moment: object, *, year: bool = False) -> str:
    """Return a day as people say it, with the day of the week.

    Examples
    --------
    >>> day("2026-04-21")
    'Tue 21 Apr'
    >>> day("2026-04-21", year=True)
    'Tue 21 Apr 2026'
    """
    when = as_date(moment)
    tail = f" {when.year}" if year else ""
    return f"{written_day(when)}{tail}"


def moment(when: object, *, year: bool = False) -> str:
    """Return a day, and the time of day where one was told.

    Examples
    --------
    >>> moment("2026-04-21T14:00:00+02:00")
    'Tue 21 Apr, 14:00'
    """
    text = str(when)
    if len(text) <= 10:
        return day(text, year=year)
    return f"{day(text, year=year)}, {datetime.fromisoformat(text):%H:%M}"


def week_of(moment: object) -> str:
    """Return the week of a day with its first and last day.

    Examples
    --------
    >>> week_of("2026-04-22")
    'ISO week 17, Mon 20 Apr to Sun 26 Apr 2026'
    """
    return written_week(as_date(moment))


def chance(probability: float | None) -> str:
    """Return a probability as a percentage; the ends are never called certain.

    Examples
    --------
    >>> [chance(p) for p in (0.0, 0.034, 0.5, 0.999, None)]
    ['under 1 %', '3 %', '50 %', 'over 99 %', 'not known']
    """
    if probability is None:
        return say("not known")
    if probability < 0.005:
        return say("under 1 %")
    if probability > 0.995:
        return say("over 99 %")
    return f"{100 * probability:.0f} %"


def share(value: float) -> str:
    """Return a share of plants as a percentage, finer where it is small.

    Examples
    --------
    >>> [share(x) for x in (0.071, 0.3, 0.0042)]
    ['7.1 %', '30 %', '0.42 %']
    """
    percent = 100 * value
    return f"{percent:.0f} %" if percent >= 10 else f"{written(f'{percent:.2g}')} %"


def such_houses(probability: float) -> str:
    """Return what a chance means in houses.

    Examples
    --------
    >>> [such_houses(p) for p in (0.001, 0.034, 0.999)]
    ['fewer than 1 of 100 such houses', '3 of 100 such houses', 'more than 99 of 100 such houses']
    """
    if probability < 0.005:
        return say("fewer than 1 of 100 such houses")
    if probability > 0.995:
        return say("more than 99 of 100 such houses")
    return say("{n} of 100 such houses", n=round(100 * probability))


def between(value: Any, unit: str = "") -> str:
    """Return an estimate with its interval, whichever of the two spellings of an interval it has.

    ``unit`` may be one of the tables of facts: then the figures are told as the reader measures them.

    Examples
    --------
    >>> between({"q05": 1.2, "q50": 2.1, "q95": 3.6}, "per leaf")
    '2.1 per leaf (1.2 to 3.6)'
    >>> between({"mean": 0.7, "low": 0.5, "high": 0.85})
    '0.70 (0.50 to 0.85)'
    """
    tail = f" {unit_text(unit)}" if unit else ""

    def told(number: float | None) -> str:
        return figure(number if number is None else measures.of_unit(number, unit))

    if value is None:
        return say("not known")
    if not isinstance(value, Mapping):
        return f"{told(value)}{tail}"
    middle = value.get("q50", value.get("mean", value.get("mean_degc", value.get("value"))))
    low = value.get("q05", value.get("low"))
    high = value.get("q95", value.get("high"))
    if low is None or high is None:
        return f"{told(middle)}{tail}"
    return f"{told(middle)}{tail} ({say('{low} to {high}', low=told(low), high=told(high))})"


def days_ago(days: float) -> str:
    """Return how long ago something was, in whole days.

    Examples
    --------
    >>> [days_ago(days) for days in (0.2, 1.2, 12.3)]
    ['today', '1 day ago', '12 days ago']
    """
    whole = round(days)
    return say("today") if whole < 1 else say_many("{n} day ago", "{n} days ago", whole)


def unit_text(unit: str) -> str:
    """Return a unit of the facts tables as it is read aloud."""
    return measures.name_of_unit(unit) or say(UNITS.get(unit, unit))


def name(key: str | None) -> str:
    """Return the Latin name behind a species key, or the plain words of another key.

    Examples
    --------
    >>> [name(key) for key in ("aphidius_ervi", "sweet_pepper")]
    ['Aphidius ervi', 'sweet pepper']
    """
    if not key:
        return say("not told")
    known = _latin().get(key)
    return say(known) if known else say(plain(key).replace("_", " "))


def _latin() -> dict[str, str]:
    from outpace.facts.table import load

    return {key: species.latin or species.english for key, species in load().species.items()}


def zone(part: str | None) -> str:
    """Return a zone as it is read aloud.

    Examples
    --------
    >>> [zone(part) for part in ("A", "bay 2", "whole house", None)]
    ['zone A', 'bay 2', 'whole house', 'whole house']
    """
    told = plain(part) if part else WHOLE_HOUSE
    if told == WHOLE_HOUSE:
        return say(WHOLE_HOUSE)
    return told if len(told.split()) > 1 else say("zone {zone}", zone=told)


def heading(text: str) -> list[str]:
    """Return a heading with the empty line before it."""
    return ["", *fold(text)]


def bullets(items: Iterable[object], *, mark: str = "-") -> list[str]:
    """Return one folded point an item."""
    return [line for item in items for line in fold(item, first=f"  {mark} ", rest="    ")]


def columns(rows: Sequence[Sequence[object]], *, indent: str = "  ", right: Sequence[int] = ()) -> list[str]:
    """Return rows set in columns; the last column is folded when the page ends.

    Parameters
    ----------
    rows : sequence of rows of cells
        All rows of one length.
    right : sequence of int
        Columns set to the right, for numbers.
    """
    if not rows:
        return []
    cells = [[plain(cell) for cell in row] for row in rows]
    last = len(cells[0]) - 1
    widths = [min(34, max(len(row[i]) for row in cells)) for i in range(last)]
    lines: list[str] = []
    for row in cells:
        start = indent
        for i, width in enumerate(widths):
            cell = row[i] if len(row[i]) <= width else row[i][: width - 1] + "…"
            start += (cell.rjust(width) if i in right else cell.ljust(width)) + "  "
        lines += [line.rstrip() for line in fold(row[last], first=start, rest=" " * len(start))]
    return lines


def task_lines(tasks: Sequence[Answer]) -> list[str]:
    """Return the tasks of a house: day, minutes, deed, and why."""
    lines: list[str] = []
    for task in tasks:
        minutes = task.get("minutes")
        length = say("{minutes} min", minutes=figure(minutes)) if minutes is not None else ""
        start = f"  {day(task['day']):<11}{length:>7}  "
        lines += fold(task["what"], first=start, rest=" " * len(start))
        if task.get("why"):
            pad = " " * len(start)
            lines += fold(say("because {why}", why=task["why"]), first=pad, rest=pad)
    return lines


def evidence_line(weakest: str | None) -> list[str]:
    """Return what the weakest figure behind an answer rests on."""
    if not weakest:
        return []
    meaning = say(EVIDENCE_WORDS.get(weakest, weakest))
    return fold(
        say("Weakest evidence behind this: {weakest} ({meaning}).", weakest=say(weakest), meaning=meaning)
    )


def fact_lines(facts: Sequence[Answer]) -> list[str]:
    """Return the figures an answer rests on, each with its source and evidence class."""
    if not facts:
        return []
    lines = heading(say("Figures this rests on"))
    for fact in facts:
        parts = (fact.get("source"), fact.get("locator"))
        source = ", ".join(str(part) for part in parts if part) or say("no source")
        value = between(fact, str(fact.get("unit") or ""))
        told = say(plain(fact["key"]).replace("_", " "))
        lines += fold(f"{told}: {value}; {say(fact['evidence'])}, {source}", first="  ", rest="    ")
    return lines


def fact_count(facts: Sequence[Answer]) -> list[str]:
    """Return how many figures an answer rests on, by evidence class, the strongest first."""
    if not facts:
        return []
    classes = [fact["evidence"] for fact in facts]
    told = [f"{classes.count(each)} {say(each)}" for each in EVIDENCE if each in classes]
    return fold(
        say(
            "It rests on {n} figures: {classes}; `--sources` shows them.",
            n=len(facts),
            classes=", ".join(told),
        )
    )
