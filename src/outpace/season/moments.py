"""Days and times as people type them, in the time of their farm."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say, to_say

NOON = time(12, 0)
WRITTEN = to_say("must be a day such as 2026-04-20, or a time such as 2026-04-20T09:30")


def time_zone(name: str, *, where: str = "`--time-zone`") -> ZoneInfo:
    """Return a time zone by its name.

    Raises
    ------
    OutpaceError
        If there is no such zone.
    """
    import difflib
    import zoneinfo

    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        near = difflib.get_close_matches(name, sorted(zoneinfo.available_timezones()), n=3, cutoff=0.5)
        raise OutpaceError(
            say("no time zone called {name!r}", name=name),
            where=where,
            allowed=say("near: {near}", near=", ".join(near)) if near else say("such as Europe/London"),
            hint=say("name it by continent and city"),
            code=ExitCode.USAGE,
        ) from error


def day(text: str, *, where: str, today: date | None = None) -> date:
    """Return a typed day: a date, ``today`` or ``yesterday``.

    Examples
    --------
    >>> day("2026-04-20", where="`--release`")
    datetime.date(2026, 4, 20)
    """
    word = text.strip().casefold()
    now = today or datetime.now().astimezone().date()
    if word in ("today", "yesterday", "tomorrow"):
        return now + timedelta(days={"today": 0, "yesterday": -1, "tomorrow": 1}[word])
    try:
        return date.fromisoformat(word)
    except ValueError:
        raise _unread(text, where) from None


def moment(text: str | None, zone: ZoneInfo, *, where: str, now: datetime | None = None) -> datetime:
    """Return a typed time with its offset; a day alone means its noon, or now where noon is still to come.

    Raises
    ------
    OutpaceError
        If it cannot be read, if the clock skipped it, or if the clock showed it twice.

    Examples
    --------
    >>> str(moment("2026-04-20T09:30", ZoneInfo("Europe/Paris"), where="`--on`"))
    '2026-04-20 09:30:00+02:00'
    """
    right_now = (now or datetime.now(UTC)).astimezone(zone)
    if text is None or text.strip().casefold() == "now":
        return right_now.replace(microsecond=0)
    typed = text.strip()
    if re.fullmatch(r"\d{1,2}:\d{2}", typed):
        typed = f"{right_now.date()}T{typed:0>5}"
    if not _has_time(typed):
        found = day(typed, where=where, today=right_now.date())
        noon = datetime.combine(found, NOON, zone)
        return right_now.replace(microsecond=0) if found == right_now.date() and noon > right_now else noon
    try:
        read = datetime.fromisoformat(typed)
    except ValueError:
        raise _unread(text, where) from None
    if read.tzinfo is not None:
        return read
    first, second = read.replace(tzinfo=zone, fold=0), read.replace(tzinfo=zone, fold=1)
    if first.utcoffset() != second.utcoffset():
        skipped = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != read
        raise OutpaceError(
            say(
                "{text_told}: the clock {value} on that day",
                text_told=text,
                value=say("skipped this hour") if skipped else say("showed this hour twice"),
            ),
            where=where,
            hint=say("write it with its offset, such as {first}", first=first.isoformat(timespec="minutes")),
            code=ExitCode.USAGE,
        )
    return first


def end_of(text: str | None, zone: ZoneInfo, *, now: datetime | None = None) -> datetime | None:
    """Return the moment that ``--as-of`` means: the end of a day, a time as written, nothing for now.

    Raises
    ------
    OutpaceError
        If it lies in the future: what will be known then is not known.

    Examples
    --------
    >>> str(end_of("2026-04-20", ZoneInfo("Europe/Paris")))
    '2026-04-20 23:59:59+02:00'
    """
    if text is None:
        return None
    right_now = (now or datetime.now(UTC)).astimezone(zone)
    typed = text.strip()
    if _has_time(typed):
        meant = moment(typed, zone, where="`--as-of`", now=right_now)
    else:
        found = day(typed, where="`--as-of`", today=right_now.date())
        if found == right_now.date():
            return None
        meant = datetime.combine(found, time(23, 59, 59), zone)
    if meant > right_now:
        raise OutpaceError(
            say("{text_told} lies in the future", text_told=text),
            where="`--as-of`",
            allowed=say("at the latest {date}", date=right_now.date()),
            hint=say("leave it out to speak as of now"),
            code=ExitCode.USAGE,
        )
    return meant


def _has_time(text: str) -> bool:
    return bool(re.search(r"\d[Tt ]+\d", text))


def _unread(text: str, where: str) -> OutpaceError:
    return OutpaceError(
        say("{text_told!r} is no date", text_told=text),
        where=where,
        allowed=say(WRITTEN),
        hint=say("write the year first: year-month-day"),
        code=ExitCode.USAGE,
    )


def local_iso(when: datetime, zone: ZoneInfo) -> str:
    """Return a moment as ISO 8601 in a zone, to the minute where it has no seconds.

    Examples
    --------
    >>> local_iso(datetime(2026, 4, 20, 7, 30, tzinfo=UTC), ZoneInfo("Europe/Paris"))
    '2026-04-20T09:30+02:00'
    """
    local = when.astimezone(zone).replace(microsecond=0)
    return local.isoformat(timespec="seconds" if local.second else "minutes")
