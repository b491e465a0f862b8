"""Parcels: what is expected, what came, how old and how good it is, what to check and when."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.estimation.acceptance import QUALITY_LIMITS
from outpace.facts.table import Fact, Facts, load, weakest
from outpace.language import say, say_many, to_say
from outpace.planning.arrival import QUESTIONS, Question, storage_views
from outpace.season.arrival_lot import (
    LotCase,
    age_answer,
    balance_answer,
    check_rows,
    criteria_answer,
    letters_answer,
    line_of,
    sampling_answer,
    worth_answer,
)
from outpace.season.claim import claim_answer
from outpace.season.names import pick_farm, zone_of_farm
from outpace.season.parcels import find_lot
from outpace.season.pot import WATCHED_D, Warmth, check_answer, pot_of, with_warmth
from outpace.season.words import weekday
from outpace.terms.enemies import Allocation, Check, Lot, OrderLine, Release
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]

CARE = (
    to_say(
        "Open parcels in moving air, with gloves, and a dust mask for loose carrier; stop at a wheeze or a "
        "rash"
    ),
    to_say("Plastic pots, no glass; count labels and hooks out and in; no sample in a food fridge"),
)
"""What keeps people well at the door."""

CARD = (
    to_say("lot and packing date as printed"),
    to_say("temperature in the parcel before it warms"),
    to_say("what the label counts: units in the pack, or adults expected"),
    to_say("how it looks: dry or wet, crushed, smell, many flying already"),
    to_say("a photo of label and content"),
    to_say("set a pot aside for the check, in the house it is for"),
)
"""What to write down before anything is let go."""


def arrival(
    snapshot: Snapshot,
    lot: str | None = None,
    *,
    farm: str | None = None,
    question: str = "disaster",
    quality_limit: float | None = None,
    facts: Facts | None = None,
) -> Answer:
    """Return the parcels of a farm as the answer ``outpace.arrival/1``.

    Parameters
    ----------
    lot : str, optional
        One lot alone; otherwise those of the last two months, and what is on its way.
    question : str, default "disaster"
        What the check is to answer: disaster, guideline, claim or figure.
    quality_limit : float, optional
        Acceptance quality limit of ISO 2859-1, for those who want a plan by letters. [per cent]

    Raises
    ------
    OutpaceError
        If no such lot is recorded, or if question or limit are none of the known ones.
    """
    _check(question, quality_limit)
    known = facts or load()
    there = pick_farm(snapshot, farm)
    now = snapshot.as_of.astimezone(zone_of_farm(there))
    today = now.date()
    used: list[Fact] = []
    wanted = [find_lot(snapshot, lot)] if lot is not None else _watched(snapshot, there, today)
    lots = []
    warmth: dict[str, Warmth] = {}
    for each in wanted:
        pot = pot_of(snapshot, known, there, each, now, warmth)
        checks = with_warmth(pot, snapshot.table(Check))
        case = LotCase(snapshot, known, there, each, pot, checks, now, used)
        lots.append(_lot(case, question, quality_limit))  # type: ignore[arg-type]
    expected = [] if lot is not None else _expected(snapshot, known, there, today)
    for row in (*expected, *lots):
        used.extend(storage_views(known, row["enemy"]))
    enemies = dict.fromkeys(row["enemy"] for row in (*expected, *lots))
    return {
        "schema": "outpace.arrival/1",
        "farm": there.farm,
        "as_of": str(today),
        "sentence": _sentence(expected, lots, today),
        "expected": expected,
        "lots": lots,
        "storage": [
            {"enemy": enemy, "views": [_view(row) for row in storage_views(known, enemy)]}
            for enemy in enemies
        ],
        "card": [say(line) for line in CARD],
        "facts": [_fact(row) for row in dict.fromkeys(used)],
        "evidence_weakest": weakest(used),
        "cautions": [say(line) for line in CARE] if expected or lots else [],
    }


def _check(question: str, quality_limit: float | None) -> None:
    if question not in QUESTIONS:
        raise OutpaceError(
            say("no question called {question!r}", question=question),
            allowed=say("one of {questions}", questions=", ".join(QUESTIONS)),
            code=ExitCode.USAGE,
        )
    if quality_limit is not None and quality_limit not in QUALITY_LIMITS:
        raise OutpaceError(
            say("no acceptance quality limit of {quality_limit:g} %", quality_limit=quality_limit),
            allowed=say(
                "one of {quality_limits}", quality_limits=", ".join(f"{each:g}" for each in QUALITY_LIMITS)
            ),
            code=ExitCode.USAGE,
        )


def _watched(snapshot: Snapshot, farm: Farm, today: date) -> list[Lot]:
    """Return the lots of the farm that came in the last two months, the newest first."""
    ours = {(row.order, row.line) for row in snapshot.table(OrderLine) if row.farm == farm.farm}
    let_go = {row.lot: row.farm for row in snapshot.table(Release)}
    found = [
        lot
        for lot in snapshot.table(Lot)
        if lot.arrived is not None
        and (today - lot.arrived.date()).days <= WATCHED_D
        and (
            (lot.order, lot.line) in ours
            or let_go.get(lot.lot, farm.farm if lot.order is None else "") == farm.farm
        )
    ]
    return sorted(found, key=lambda lot: (lot.arrived, lot.lot), reverse=True)


def _expected(snapshot: Snapshot, facts: Facts, farm: Farm, today: date) -> list[Answer]:
    came = {(lot.order, lot.line) for lot in snapshot.table(Lot)}
    rows = []
    for line in snapshot.table(OrderLine):
        if line.farm != farm.farm or line.status != "placed" or (line.order, line.line) in came:
            continue
        late = max((today - line.delivery_date).days, 0)
        rows.append(
            {
                "order": line.order,
                "line": line.line,
                "supplier": line.supplier,
                "enemy": line.enemy,
                "form": line.form,
                "packs": line.packs,
                "pack_size": line.pack_size,
                "number": line.packs * line.pack_size,
                "delivery_date": str(line.delivery_date),
                "late_d": late,
                "houses": [
                    {"house": part.house, "number": part.number, "release_date": str(part.release_date)}
                    for part in snapshot.table(Allocation)
                    if (part.order, part.line, part.farm) == (line.order, line.line, farm.farm)
                ],
                "words": say("Late: ask the supplier today, and run `outpace plan` for what can come instead")
                if late
                else "",
            }
        )
    return sorted(rows, key=lambda row: (row["delivery_date"], row["order"], row["line"]))


def _lot(case: LotCase, question: Question, quality_limit: float | None) -> Answer:
    lot = case.lot
    line = line_of(case.snapshot, lot)
    check = check_answer(case.facts, case.pot, case.checks)
    case.fact("guideline_check_days")
    worth = worth_answer(case)
    sampling = sampling_answer(case, question)
    age, balance = age_answer(case), balance_answer(case)
    return {
        "lot": lot.lot,
        "enemy": lot.enemy,
        "form": lot.form,
        "label_counts": lot.label_counts,
        "labelled_number": lot.labelled_number,
        "supplier": line.supplier if line else None,
        "order": lot.order,
        "packed": str(lot.packed) if lot.packed else None,
        "arrived": lot.arrived.astimezone(case.now.tzinfo).isoformat(timespec="minutes")
        if lot.arrived
        else None,
        "parcel_degc": lot.parcel_degc,
        "condition": lot.condition,
        "age": age,
        "balance": balance,
        "check": check,
        "checks": check_rows(case),
        "worth": worth,
        "criteria": criteria_answer(case, worth["looked_at"] or sampling["take"] or 0),
        "sampling": sampling,
        "letters": letters_answer(case, quality_limit),
        "claim": claim_answer(case, check, worth),
        "warnings": _warnings(case, age, balance, line),
    }


def _warnings(case: LotCase, age: Answer, balance: Answer, line: OrderLine | None) -> list[str]:
    lot = case.lot
    told = []
    if age["left_d"] is not None and age["left_d"] < 0 and balance["left"] > 0:
        told.append(
            say(
                "{age_d} days since {counted_from}, it keeps {life_d:g} d ({source}): what is left may be "
                "weak; let it go now, count it as little, and look at the pot",
                age_d=age["age_d"],
                counted_from=age["counted_from"],
                life_d=age["life_d"],
                source=age["source"],
            )
        )
    if lot.packed is None:
        told.append(say("No packing date: ask for it, the life of a parcel counts from there"))
    if balance["left"] < 0:
        told.append(
            say(
                "{left:,} more were let go than came: correct the lot's number or one of its releases",
                left=-balance["left"],
            )
        )
    if line is not None:
        ordered = line.packs * line.pack_size
        came = sum(
            each.labelled_number
            for each in case.snapshot.table(Lot)
            if (each.order, each.line) == (lot.order, lot.line)
        )
        if came < ordered:
            told.append(
                say(
                    "{ordered:,} short of the order: tell the supplier, then run `outpace plan` again",
                    ordered=ordered - came,
                )
            )
        if line.enemy != lot.enemy:
            told.append(
                say(
                    "{latin} was ordered: check that this one takes your aphid",
                    latin=case.facts.species[line.enemy].latin,
                )
            )
    if lot.label_counts == "unknown":
        told.append(say("What the label counts is not told: both readings are drawn, and the range is wider"))
    return told


def _sentence(expected: list[Answer], lots: list[Answer], today: date) -> str:
    late = [row for row in expected if row["late_d"]]
    if late:
        row = late[0]
        return say_many(
            "Ask {supplier} on {today}: {n} parcel is late, {number:,} animals.",
            "Ask {supplier} on {today}: {n} parcels are late, {number:,} animals.",
            len(late),
            supplier=row["supplier"],
            today=weekday(today),
            number=row["number"],
        )
    if [row for row in expected if row["delivery_date"] == str(today)]:
        rows = [row for row in expected if row["delivery_date"] == str(today)]
        return say_many(
            "Receive {n} parcel on {today}.",
            "Receive {n} parcels on {today}.",
            len(rows),
            today=weekday(today),
        )
    due = [lot for lot in lots if lot["check"]["status"] == "due"]
    if due:
        return say(
            "Count {pots} on {today}: lot {lot}.",
            pots=say_many("{n} pot", "{n} pots", len(due)),
            today=weekday(today),
            lot=due[0]["lot"],
        )
    running = [lot for lot in lots if lot["check"]["status"] == "running"]
    if running:
        first = min(running, key=lambda lot: lot["check"]["due"]["likely"])
        last = date.fromisoformat(first["check"]["due"]["likely"])
        length = first["check"]["day"] + (last - today).days
        return say(
            "Count the pot of lot {lot} on {last}, day {length} from arrival.",
            lot=first["lot"],
            last=weekday(last),
            length=length,
        )
    if expected:
        row = expected[0]
        return say(
            "Receive {number:,} animals from {supplier} on {delivery_date}.",
            number=row["number"],
            supplier=row["supplier"],
            delivery_date=weekday(row["delivery_date"]),
        )
    return say("Do nothing on {today}: 0 parcels are expected and 0 pots are due.", today=weekday(today))


def _view(row: Fact) -> Answer:
    return {
        "quantity": row.quantity,
        "value": row.value,
        "unit": row.unit,
        "low": row.low,
        "high": row.high,
        "at_degc": row.temperature_degc,
        "view": row.strain or say("usual advice"),
        "source": row.cited,
        "evidence": row.evidence,
        "note": row.note,
    }


def _fact(row: Fact) -> Answer:
    told = asdict(row)
    return {
        "key": row.key,
        "source": row.source or say("no source"),
        **{name: told[name] for name in ("value", "unit", "low", "high", "locator", "evidence", "note")},
    }
