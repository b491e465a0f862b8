"""Sprays: one written down from words, and what all of them hold back."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping
from datetime import UTC, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from outpace.errors import ExitCode, OutpaceError
from outpace.facts.table import load
from outpace.language import say, to_say
from outpace.planning.spray_clocks import END_TIME, clocks_of
from outpace.season.enter import Entered, key_from, plain_name
from outpace.season.moments import day as day_of
from outpace.season.moments import moment
from outpace.season.names import pick_farm, pick_house, zone_of_farm
from outpace.season.released import on_the_way
from outpace.season.sprayed import Sprayed, moment_words, release_hold
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Spray

COUNTS_TOO = to_say(
    "Fungicide, sulphur, soap, leaf feed, disinfectant and fogger are sprays too: many kill wasps."
)
OTHER_KINDS = ("leaf feed", "disinfectant", "fogger")
"""Kinds that the table of the book keeps as ``other``, with the word in front of the reason."""

FIRST_MINUTE, LAST_MINUTE = time(0, 0), time(23, 59)


def spray_from_words(
    snapshot: Snapshot,
    house: str,
    told: Mapping[str, Any],
    *,
    start: str | None = None,
    end: str | None = None,
    bees_out_until: str | None = None,
    spray: str | None = None,
    farm: str | None = None,
    now: datetime | None = None,
) -> Entered:
    """Return the spray that a person tells; told again, what is not told stays as it was.

    Parameters
    ----------
    told : mapping
        Columns of the table of sprays as they are, None where not told. Nothing is filled in but the crop of the house.
    start, end, bees_out_until : str, optional
        As typed. A day alone counts from its first minute, or to its last: the longer wait.
    spray : str, optional
        Key of a spray in the book that is to be completed.

    Raises
    ------
    OutpaceError
        If a time cannot be read, the end lies before the start, or no such spray is in the book.
    """
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    zone = zone_of_farm(there)
    known = {
        row.spray: row for row in snapshot.table(Spray) if (row.farm, row.house) == (there.farm, place.house)
    }
    if spray is not None and spray not in known:
        raise OutpaceError(
            say("no spray {spray!r} in {house}", spray=spray, house=place.house),
            allowed=say("known: {known}", known=", ".join(list(known)[-8:]))
            if known
            else say("none is written down"),
            hint=say("`outpace spray show {house!r}` lists them with their keys", house=place.house),
            code=ExitCode.USAGE,
        )
    values = _columns(told)
    cautions: list[str] = []
    if spray is not None and start is None:
        begins = known[spray].start
    else:
        begins = _instant(start, zone, "`--start`", now=now, first=True, cautions=cautions)
    if end is not None:
        values["end"] = _instant(end, zone, "`--end`", now=now, after=begins, cautions=cautions)
        if values["end"] < begins:
            raise OutpaceError(
                say(
                    "it ended {end}, before it began {begins}",
                    end=moment_words(values["end"], zone),
                    begins=moment_words(begins, zone),
                ),
                where="`--end`",
                hint=say("write day and time of both"),
                code=ExitCode.USAGE,
            )
    if bees_out_until is not None:
        values["bees_out_until"] = _instant(
            bees_out_until, zone, "`--bees-out-until`", now=now, cautions=cautions
        )
    what = values.get("product") or told.get("kind") or "spray"
    key = spray or key_from(
        place.house, there.farm, begins.astimezone(UTC).isoformat(), what, values.get("zone")
    )
    old = known.get(key)
    if old is None:
        row = Spray(
            spray=key,
            farm=there.farm,
            house=place.house,
            start=begins,
            **{"crop": place.crop, **{name: value for name, value in values.items() if value is not None}},
        )
    else:
        row = dataclasses.replace(
            old, start=begins, **{name: value for name, value in values.items() if value is not None}
        )
    item = Sprayed(row, clocks_of(row, zone, bees_in=place.bees_in), zone, place.bees_in)
    cautions += _asked(item, place)
    cautions += _met(snapshot, there, place, item)
    return Entered([row], _said(item, place), tuple(cautions))


def _columns(told: Mapping[str, Any]) -> dict[str, Any]:
    values = {
        name: plain_name(value, name) if isinstance(value, str) and name != "kind" else value
        for name, value in told.items()
    }
    kind = values.get("kind")
    if kind in OTHER_KINDS:
        values["kind"] = "other"
        if values.get("product") is None:
            values["product"] = kind
        else:
            values["reason"] = f"{kind}: {values['reason']}" if values.get("reason") else kind
    return values


def _instant(
    text: str | None,
    zone: ZoneInfo,
    where: str,
    *,
    now: datetime | None,
    first: bool = False,
    after: datetime | None = None,
    cautions: list[str],
) -> datetime:
    typed = (text or "now").strip()
    if after is not None and re.fullmatch(r"\d{1,2}:\d{2}", typed):
        # A time alone belongs to the evening of the start, or to the night after it.
        local = after.astimezone(zone)
        found = moment(f"{local.date()}T{typed:0>5}", zone, where=where, now=now)
        if found < after:
            found = moment(f"{local.date() + timedelta(days=1)}T{typed:0>5}", zone, where=where, now=now)
        return found
    if typed.casefold() == "now" or re.search(r"\d[Tt ]+\d", typed) or re.fullmatch(r"\d{1,2}:\d{2}", typed):
        return moment(typed, zone, where=where, now=now)
    right_now = (now or datetime.now(UTC)).astimezone(zone)
    found_day = day_of(typed, where=where, today=right_now.date())
    at = FIRST_MINUTE if first else LAST_MINUTE
    cautions.append(
        say("{where} names a day without a time: taken as {at:%H:%M}, the longer wait.", where=where, at=at)
    )
    return datetime.combine(found_day, at, zone)


def _said(item: Sprayed, house: House) -> str:
    """Return what was written down, as one verb, one day, one number."""
    waits = _waits(item, house)
    stopped = sum(clock.until is None for clock in waits)
    if stopped:
        deed = say("keep out") if item.clocks.reentry.until is None else say("read the label and complete it")
        return say(
            "{house}, {called}: written down; {deed}, {stopped} of its {waits} clocks cannot start.",
            house=house.house,
            called=item.called,
            deed=deed,
            stopped=stopped,
            waits=len(waits),
        )
    reentry = item.clocks.reentry.until
    assert reentry is not None
    return say(
        "{house}, {called}: written down; keep out until {reentry}, and all {waits} of its clocks run.",
        house=house.house,
        called=item.called,
        reentry=moment_words(reentry, item.zone),
        waits=len(waits),
    )


def _waits(item: Sprayed, house: House) -> list[Any]:
    clocks = item.clocks
    return [clock for clock in (clocks.reentry, clocks.picking, clocks.bees, clocks.release) if clock.applies]


def _asked(item: Sprayed, house: House) -> list[str]:
    """Return what must be said at once: each thing that was not told, and what it holds."""
    clocks, row = item.clocks, item.row
    asked = []
    if row.end is None:
        asked.append(say("No clock starts until it is told {end_time} (`--end`).", end_time=say(END_TIME)))
    if row.reentry_h is None:
        asked.append(say("How long to keep out was not told: keep out, read the label (`--reentry-h`)."))
    if row.harvest_interval_d is None:
        asked.append(
            say("The harvest interval was not told: do not pick, read the label (`--harvest-days`).")
        )
    if row.residual_d is None and row.residual_enemy_share != 0:
        asked.append(
            say(
                "How long it harms enemies was not told: no release here, ask the supplier of the enemies "
                "(`--residue-days`)."
            )
        )
    if clocks.bees.applies and row.bees_out_until is None:
        bees = (
            say("Bees are in this house")
            if house.bees_in
            else say("Whether bees are in this house was never told")
        )
        asked.append(say("{bees}: hive closed or out, until when? (`--bees-out-until`)", bees=bees))
    elif row.bees_out_until is not None and row.end is not None and row.bees_out_until < row.end:
        asked.append(say("The bees are back before the spray ends: hive closed or out, until when?"))
    if row.kind is None:
        asked.append(say(COUNTS_TOO))
    asked.append(
        say(
            "Under cover the label may ask for airing before anyone goes in: no figure of it is kept, look "
            "it up."
        )
    )
    return asked


def _met(snapshot: Snapshot, farm: Farm, house: House, item: Sprayed) -> list[str]:
    """Return the releases on their way that the spray meets."""
    species = load().species
    found = []
    for coming in on_the_way(snapshot, farm, house):
        name = species[coming.line.enemy].latin
        held = release_hold([item], coming.release_date)
        if held is not None:
            found.append(
                say(
                    "{number} {name} are to be released here on {release_date}: not while this spray harms "
                    "them; send them to another house or ask for a later day.",
                    number=coming.number,
                    name=name,
                    release_date=coming.release_date,
                )
            )
    return found
