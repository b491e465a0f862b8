"""What was done and seen in the houses of a farm, as dated entries that a reader from outside understands."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from outpace.facts.table import load
from outpace.language import say, to_say
from outpace.measures import temperature
from outpace.records.canonical import key_words, plain_row
from outpace.records.columns import table_of
from outpace.season.looked import looked_by_walk
from outpace.season.names import zone_of_farm
from outpace.season.sprayed import moment_words
from outpace.season.words import weekday
from outpace.terms.enemies import Banker, Check, Lot, OrderLine, Release
from outpace.terms.place import Farm, PlantsIn
from outpace.terms.scouting import Card, Walk
from outpace.terms.tables import TABLE_OF, Snapshot
from outpace.terms.upkeep import Decision, Harvest, Spray

KINDS = (
    to_say("plants in"),
    to_say("walk"),
    to_say("card"),
    to_say("decision"),
    to_say("arrival"),
    to_say("release"),
    to_say("banker"),
    to_say("spray"),
    to_say("harvest"),
)


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that was done or seen: when, where, and in a sentence what. ``row`` is the record itself."""

    time: datetime
    kind: str
    house: str | None
    zone: str | None
    what: str
    row: Any

    @property
    def table(self) -> str:
        return TABLE_OF[type(self.row)]

    @property
    def key(self) -> str:
        """Return the key of the row in the book, as words."""
        return key_of(self.row)


def key_of(row: Any) -> str:
    """Return the key of a row as the book writes it in words."""
    described = table_of(row)
    return key_words(described, plain_row(described, row))


def entries_of(
    snapshot: Snapshot, farm: Farm, houses: Collection[str] | None, first: datetime, last: datetime
) -> list[Entry]:
    """Return all entries of a farm's houses between two moments, both included, by their time.

    Parameters
    ----------
    houses : collection of str, optional
        Left out: all, and what belongs to no house.
    """
    found = [
        entry
        for entry in _all(snapshot, farm)
        if first <= entry.time <= last and (houses is None or entry.house in houses)
    ]
    return sorted(found, key=lambda entry: (entry.time, KINDS.index(entry.kind), entry.key))


def _all(snapshot: Snapshot, there: Farm) -> Iterator[Entry]:
    farm, zone = there.farm, zone_of_farm(there)
    yield from (plants_entry(row) for row in _of(snapshot.table(PlantsIn), farm) if row.time is not None)
    walks = list(_of(snapshot.table(Walk), farm))
    looked = looked_by_walk(snapshot, walks)
    for walk in walks:
        what = looked[walk.walk].words()
        by = say("; by {scout}", scout=walk.scout) if walk.scout else ""
        yield Entry(walk.time, "walk", walk.house, None, f"{what}{by}", walk)
    yield from (card_entry(row) for row in _of(snapshot.table(Card), farm))
    yield from (decision_entry(row) for row in _of(snapshot.table(Decision), farm))
    lots = {lot.lot: lot for lot in snapshot.table(Lot)}
    yield from (release_entry(row, lots.get(row.lot)) for row in _of(snapshot.table(Release), farm))
    yield from (banker_entry(row, zone) for row in _of(snapshot.table(Banker), farm))
    yield from (spray_entry(row, zone) for row in _of(snapshot.table(Spray), farm))
    yield from (harvest_entry(row) for row in _of(snapshot.table(Harvest), farm))


def _of(rows: Iterable[Any], farm: str) -> Iterator[Any]:
    return (row for row in rows if row.farm == farm)


def plants_entry(row: PlantsIn) -> Entry:
    """Return plants that came in, with what was told of their sprays."""
    number = "" if row.number is None else f"{row.number} "
    parts = [
        say("{number}{crop} plants came in", number=number, crop=crop_name(row.crop))
        + (say(" from {source}", source=row.source) if row.source else "")
    ]
    if row.looked_at is not None:
        parts.append(say("{looked_at} looked at", looked_at=row.looked_at))
    if row.finds:
        parts.append(say("found: {finds}", finds=row.finds))
    told = {
        "yes": say("sprays told"),
        "no": say("told: not sprayed"),
        "unknown": say("sprays before: not known"),
        None: say("sprays before: nobody asked"),
    }
    parts.append(told[row.sprays_told] + (f": {row.sprays}" if row.sprays else ""))
    assert row.time is not None
    return Entry(row.time, say("plants in"), row.house, None, "; ".join(parts), row)


def card_entry(row: Card) -> Entry:
    """Return what a sticky card had caught."""
    caught = (
        say("winged aphids not counted")
        if row.winged is None
        else say("{winged} winged aphids", winged=row.winged)
    )
    taken = say("; taken down") if row.taken is not None else ""
    return Entry(
        row.time,
        "card",
        row.house,
        row.zone,
        say("card {card}: {caught}{taken}", card=row.card, caught=caught, taken=taken),
        row,
    )


def decision_entry(row: Decision) -> Entry:
    """Return a decision with its reason."""
    verdict = f"{row.verdict}: " if row.verdict else ""
    reason = say(", because {reason}", reason=row.reason) if row.reason else say("; no reason written down")
    by = say("; by {person}", person=row.person) if row.person else ""
    return Entry(row.time, "decision", row.house, None, f"{verdict}{row.chosen}{reason}{by}", row)


def release_entry(row: Release, lot: Lot | None) -> Entry:
    """Return a release with the lot it came from."""
    what = (
        f"{row.number} {enemy_name(lot.enemy)} ({lot.form})"
        if lot
        else say("{number} enemies", number=row.number)
    )
    parts = [say("{what} of lot {lot} let go", what=what, lot=row.lot)]
    if row.points is not None:
        parts.append(say("at {points} points", points=row.points))
    if row.canopy_degc is not None:
        parts.append(say("{warmth} among the leaves", warmth=temperature(row.canopy_degc)))
    if row.person:
        parts.append(say("by {person}", person=row.person))
    return Entry(row.time, "release", row.house, row.zone, "; ".join(parts), row)


def banker_entry(row: Banker, zone: ZoneInfo) -> Entry:
    """Return banker plants that were set out."""
    gone = (
        say("; withdrawn {withdrawn_on}", withdrawn_on=moment_words(row.withdrawn_on, zone))
        if row.withdrawn_on
        else ""
    )
    what = say("{plants} banker plants set out{gone}", plants=row.plants, gone=gone)
    return Entry(row.set_out, "banker", row.house, row.zone, what, row)


def spray_entry(row: Spray, zone: ZoneInfo) -> Entry:
    """Return a spray with what was entered of it; what was not entered is said."""
    parts = [
        row.product or (row.kind if row.kind not in (None, "other") else None) or say("product not entered")
    ]
    parts.append(
        say("number {registration_no}", registration_no=row.registration_no)
        if row.registration_no
        else say("registration number not entered")
    )
    dose = None if row.dose is None else f"{row.dose:g} {row.dose_unit or say('(unit not entered)')}"
    parts.append(say("rate {dose}", dose=dose) if dose else say("rate not entered"))
    if row.reason:
        parts.append(say("against {reason}", reason=row.reason))
    parts.append(
        say("keep out: not entered")
        if row.reentry_h is None
        else say("keep out {reentry_h:g} h after its end", reentry_h=row.reentry_h)
    )
    parts.append(
        say("harvest interval: not entered")
        if row.harvest_interval_d is None
        else say("harvest interval {harvest_interval_d:g} d", harvest_interval_d=row.harvest_interval_d)
    )
    parts.append(
        say("end: not entered") if row.end is None else say("ended {end}", end=moment_words(row.end, zone))
    )
    if row.operator:
        parts.append(say("by {operator}", operator=row.operator))
    return Entry(row.start, "spray", row.house, row.zone, "; ".join(parts), row)


def harvest_entry(row: Harvest) -> Entry:
    """Return a harvest with its code."""
    amount = "" if row.amount is None else f": {row.amount:g} {row.unit or ''}".rstrip()
    return Entry(
        row.time,
        "harvest",
        row.house,
        row.zone,
        say("harvest code {lot_code}{amount}", lot_code=row.lot_code, amount=amount),
        row,
    )


def _day_year(when: date) -> str:
    return f"{weekday(when)} {when.year}"


def lot_words(lot: Lot, line: OrderLine | None, checks: Iterable[Check], zone: ZoneInfo) -> str:
    """Return a lot of enemies in one sentence: label, age, parcel, order, what its checks gave."""
    counts = {
        "units_in_pack": say("units in the pack"),
        "adults_expected": say("adults to be expected"),
        "unknown": say("what the label counts not known"),
    }
    parts = [
        say(
            "{labelled_number} {enemy} as {form} ({counts})",
            labelled_number=lot.labelled_number,
            enemy=enemy_name(lot.enemy),
            form=lot.form,
            counts=counts[lot.label_counts],
        )
    ]
    if line is not None:
        invoice = (
            say(", invoice {invoice}", invoice=line.invoice) if line.invoice else say(", invoice not entered")
        )
        parts.append(
            say(
                "order {order} line {line} from {supplier}{invoice}",
                order=line.order,
                line=line.line,
                supplier=line.supplier,
                invoice=invoice,
            )
        )
    else:
        parts.append(say("no order entered"))
    parts.append(
        say("packed {packed}", packed=_day_year(lot.packed))
        if lot.packed
        else say("packing date not entered")
    )
    parts.append(
        say("arrived {arrived}", arrived=_day_year(lot.arrived.astimezone(zone).date()))
        if lot.arrived
        else say("arrival not entered")
    )
    if lot.parcel_degc is not None:
        parts.append(say("parcel {warmth}", warmth=temperature(lot.parcel_degc)))
    if lot.condition:
        parts.append(lot.condition)
    given = [check_words(check) for check in checks]
    parts.append("; ".join(given) if given else say("no check entered"))
    return "; ".join(parts)


def check_words(check: Check) -> str:
    """Return what a check of a lot gave."""
    deed = {"emergence": "emerged", "sex": "females", "live count": "alive", "jar": say("emerged in a jar")}
    days = "" if check.days is None else say(" after {days:g} d", days=check.days)
    return say(
        "check: {positive} of {looked_at} {deed}{days}",
        positive=check.positive,
        looked_at=check.looked_at,
        deed=deed[check.kind],
        days=days,
    )


def enemy_name(key: str) -> str:
    """Return an enemy as people write it."""
    known = load().species.get(key)
    return known.latin or say(known.english) if known else key.replace("_", " ")


def crop_name(key: str) -> str:
    """Return a crop as people write it."""
    known = load().crops.get(key)
    return say(known.english) if known else key.replace("_", " ")
