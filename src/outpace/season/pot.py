"""The check pot of a lot: where it stands, how warm it is there, and when it can be counted."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.lot_checks import GIVES_ADULTS, RIPENS, finished, heat_needed, share_due
from outpace.facts.table import Facts, load
from outpace.language import say
from outpace.measures import temperature
from outpace.planning.arrival import heat_so_far
from outpace.planning.check_days import check_ends
from outpace.season.names import houses_of, zone_of_farm
from outpace.season.temperature import house_temperature
from outpace.terms.enemies import Allocation, Check, Lot, Release
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]
Array = NDArray[np.float64]

MEMBERS = 48
AHEAD_D = 45
"""Days ahead in which a pot must end; a house that cold would let no enemy work either."""
WATCHED_D = 60
"""A lot that came longer ago needs no more watching."""


@dataclass(frozen=True)
class Pot:
    """Where the pot of a lot stands and how warm it is, from the day of arrival on.

    ``hours`` has shape (hours, members); None where no house is known. [°C]
    """

    lot: Lot
    house: House | None
    hours: Array | None
    source: str
    now: datetime

    @property
    def arrived(self) -> date | None:
        """Return the farm's day of arrival."""
        return None if self.lot.arrived is None else self.lot.arrived.astimezone(self.now.tzinfo).date()


def house_of_pot(snapshot: Snapshot, farm: Farm, lot: Lot) -> House | None:
    """Return the house that got most of a lot, else the one it was ordered for: there its pot belongs."""
    numbers: dict[str, int] = {}
    for row in snapshot.table(Release):
        if row.farm == farm.farm and row.lot == lot.lot:
            numbers[row.house] = numbers.get(row.house, 0) + row.number
    if not numbers and lot.order is not None:
        for part in snapshot.table(Allocation):
            if part.farm == farm.farm and (part.order, part.line) == (lot.order, lot.line):
                numbers[part.house] = numbers.get(part.house, 0) + part.number
    houses = {house.house: house for house in houses_of(snapshot, farm)}
    known = {name: number for name, number in numbers.items() if name in houses}
    return houses[max(known, key=lambda name: known[name])] if known else None


@dataclass(frozen=True)
class Warmth:
    """Temperature of a house from ``first_day`` on; ``hours`` has shape (hours, members). [°C]"""

    first_day: date
    hours: Array
    source: str


def warmth_of(snapshot: Snapshot, facts: Facts, farm: Farm, house: House, now: datetime) -> Warmth:
    """Return the temperature of a house over the days in which pots are watched, recorded and expected."""
    first_day = now.date() - timedelta(days=WATCHED_D)
    inside = house_temperature(snapshot, facts, farm, house, first_day, now, AHEAD_D, MEMBERS)
    return Warmth(first_day, inside.hours, str(inside.told["source"]))


def pot_of(
    snapshot: Snapshot, facts: Facts, farm: Farm, lot: Lot, now: datetime, known: dict[str, Warmth]
) -> Pot:
    """Return where the pot of a lot stands and its temperatures.

    Parameters
    ----------
    known : dict
        Warmth by house, filled on the way: a house is read once for all its lots.
    """
    house = house_of_pot(snapshot, farm, lot)
    arrived = None if lot.arrived is None else lot.arrived.astimezone(now.tzinfo).date()
    if house is None or arrived is None or (now.date() - arrived).days > WATCHED_D:
        return Pot(lot, house, None, "", now)
    if house.house not in known:
        known[house.house] = warmth_of(snapshot, facts, farm, house, now)
    warmth = known[house.house]
    return Pot(lot, house, warmth.hours[(arrived - warmth.first_day).days * 24 :], warmth.source, now)


def with_warmth(pot: Pot, checks: Sequence[Check]) -> list[Check]:
    """Return the checks, those of this lot without a temperature taking the mean of the house since arrival."""
    if pot.hours is None or pot.arrived is None:
        return list(checks)
    warmed = []
    for check in checks:
        if check.lot == pot.lot.lot and check.degc is None and check.days:
            hours = pot.hours[: max(round(check.days), 1) * 24]
            check = dataclasses.replace(check, degc=round(float(hours.mean()), 1))
        warmed.append(check)
    return warmed


def check_answer(facts: Facts, pot: Pot, checks: Sequence[Check]) -> Answer:
    """Return when the pot can be counted, how far it is, and what may be said of it today.

    Parameters
    ----------
    checks : sequence of Check
        With their warmth.
    """
    lot, today = pot.lot, pot.now.date()
    run = facts.one(lot.enemy, "guideline_check_days")
    answer: Answer = {
        "house": pot.house.house if pot.house else None,
        "temperature": None,
        "run_d": run.value,
        "heat_needed_degc_d": round(heat_needed(facts, lot.enemy), 1),
        "day": None,
        "due": None,
        "share_due_now": None,
    }
    done = finished(facts, lot, checks)
    if lot.form in ("adults", "larvae"):
        return answer | _on_arrival(any(check.kind in GIVES_ADULTS for check in done), pot.arrived, today)
    if pot.arrived is None:
        words = say("No arrival is recorded: without it no day is the last of a check")
        return answer | {"status": "unknown", "words": words}
    day = (today - pot.arrived).days
    answer["day"] = day
    if pot.hours is None:
        last = pot.arrived + timedelta(days=int(np.ceil(run.value)))
        due = {"earliest": str(last), "likely": str(last), "latest": None}
        warmth = facts.one(lot.enemy, "check_warmth")
        where = say(
            "no house is known for the pot: as if it stood at {warmth} or warmer",
            warmth=temperature(warmth.value),
        )
    else:
        ends = check_ends(facts, lot.enemy, pot.arrived, pot.hours)
        due = {name: _text(getattr(ends, name)) for name in ("earliest", "likely", "latest")}
        so_far = pot.hours[: max(day, 0) * 24]
        answer["share_due_now"] = round(share_due(facts, lot.enemy, heat_so_far(facts, lot.enemy, so_far)), 2)
        span = pot.hours[: max(day, int(run.value)) * 24]
        answer["temperature"] = {"mean_degc": round(float(span.mean()), 1), "source": pot.source}
        where = say("in {house}", house=pot.house.house) if pot.house else ""
    answer["due"] = due
    if any(check.kind in RIPENS for check in done):
        return answer | {
            "status": "done",
            "words": say("Counted at its end; what is left in the pot belongs in the house"),
        }
    return answer | _not_counted(due["likely"], day, today, run.value, where)


def _on_arrival(counted: bool, arrived: date | None, today: date) -> Answer:
    if counted:
        return {"status": "done", "words": say("Counted alive on arrival")}
    if arrived is not None and (today - arrived).days > 1:
        return {
            "status": "missed",
            "words": say("Not counted on arrival; it is too late to count the living now"),
        }
    return {"status": "due", "words": say("Count the living and the dead at once, on arrival")}


def _not_counted(likely: str | None, day: int, today: date, run_d: float, where: str) -> Answer:
    if likely is None:
        return {
            "status": "too cold",
            "words": say(
                "Too cold {where}: the pot does not end in {ahead_d} days", where=where, ahead_d=AHEAD_D
            ),
        }
    days = (date.fromisoformat(likely) - today).days
    if days <= 0:
        return {
            "status": "due",
            "words": say(
                "Its {run_d:g} days and their heat are full: count the pot now, {where}",
                run_d=run_d,
                where=where,
            ),
        }
    length = day + days
    return {
        "status": "running",
        "words": say(
            "Day {day} of {length}: neither pass nor reject. What is still closed may yet open, {where}",
            day=day,
            length=length,
            where=where,
        ),
    }


def _text(day: date | None) -> str | None:
    return None if day is None else str(day)


def counted_on(snapshot: Snapshot, farm: Farm, lot: Lot, known: dict[str, Warmth]) -> str | None:
    """Return the day on which the pot of a lot can be counted; None where none stands or none can be told.

    Parameters
    ----------
    known : dict
        Warmth by house, filled on the way.
    """
    checks = [check for check in snapshot.table(Check) if check.lot == lot.lot]
    facts = load()
    pot = pot_of(snapshot, facts, farm, lot, snapshot.as_of.astimezone(zone_of_farm(farm)), known)
    due = check_answer(facts, pot, with_warmth(pot, checks))["due"]
    return due["likely"] if due else None
