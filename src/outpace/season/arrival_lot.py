"""One lot: its age and what is left of its life, its balance, its checks, what it is worth, what to claim."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import numpy as np

from outpace.estimation.acceptance import (
    SAMPLE_SIZE,
    chance_of_at_least,
    chance_of_at_most,
    code_letter,
    plan_by_letter,
)
from outpace.estimation.intervals import clopper_pearson
from outpace.estimation.lot_checks import is_early
from outpace.estimation.lot_quality import Beta, emergence_of, lot_quality
from outpace.facts.table import Fact, Facts
from outpace.language import say, say_many
from outpace.measures import temperature
from outpace.planning.arrival import (
    CHECKED_BY_USERS,
    GUIDELINE_WORDS,
    QUESTIONS,
    USUAL_SIZES,
    Question,
    criteria,
    days_left,
    passing_table,
    sample_for,
    sample_of,
)
from outpace.season.pot import Pot
from outpace.terms.enemies import Check, Lot, OrderLine, Pack, Release
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]

MEMBERS = 4096
SEED = 7
LEVELS = ("I", "II", "III")
CURVE = (0.01, 0.025, 0.05, 0.10, 0.20)


@dataclass(frozen=True)
class LotCase:
    """One lot with what the book holds about it; ``checks`` are those of all lots, with their warmth."""

    snapshot: Snapshot
    facts: Facts
    farm: Farm
    lot: Lot
    pot: Pot
    checks: Sequence[Check]
    now: datetime
    used: list[Fact]

    @property
    def today(self) -> date:
        """Return today's date on the farm."""
        return self.now.date()

    @property
    def own(self) -> list[Check]:
        """Return the checks of this lot, by time."""
        return sorted((c for c in self.checks if c.lot == self.lot.lot), key=lambda check: check.time)

    def fact(self, quantity: str) -> Fact:
        """Return a fact of the enemy, noted as used."""
        found = self.facts.one(self.lot.enemy, quantity)
        self.used.append(found)
        return found


def line_of(snapshot: Snapshot, lot: Lot) -> OrderLine | None:
    """Return the order line of a lot."""
    return next(
        (row for row in snapshot.table(OrderLine) if (row.order, row.line) == (lot.order, lot.line)), None
    )


def units_of(case: LotCase) -> float:
    """Return the units in the packs: as labelled, or the adults expected over the promised emergence."""
    if case.lot.label_counts == "adults_expected":
        return case.lot.labelled_number / case.facts.one(case.lot.enemy, "emergence").value
    return float(case.lot.labelled_number)


def age_answer(case: LotCase) -> Answer:
    """Return the age of a lot since packing and what is left of its life."""
    lot = case.lot
    since, counted_from = lot.packed, "packing"
    if since is None and case.pot.arrived is not None:
        since, counted_from = case.pot.arrived, say("arrival, its packing is not told")
    line = line_of(case.snapshot, lot)
    lives = [
        (pack.life_d, pack.supplier, pack.life_at_degc)
        for pack in case.snapshot.table(Pack)
        if (pack.enemy, pack.form) == (lot.enemy, lot.form)
        and pack.life_d is not None
        and (line is None or pack.supplier == line.supplier)
    ]
    if lives:
        life, supplier, degc = min(lives)
        at = say(" at {warmth}", warmth=temperature(degc)) if degc is not None else ""
        told = {
            "life_d": life,
            "source": say("{supplier}, price list{at}", supplier=supplier, at=at),
            "evidence": "seller",
        }
    else:
        fact = case.fact("storage_life")
        # The most that is advised: a shipped parcel is a day or two old when it comes.
        life = fact.value if fact.high is None else fact.high
        told = {
            "life_d": life,
            "source": say("usual advice, {cited}", cited=fact.cited),
            "evidence": fact.evidence,
        }
    left = None if since is None else days_left(float(str(told["life_d"])), since, case.today)
    let_go = [
        (row.time.astimezone(case.now.tzinfo).date() - since).days
        for row in case.snapshot.table(Release)
        if row.lot == lot.lot and since is not None
    ]
    return told | {
        "let_go_at_d": max(let_go, default=None),
        "age_d": None if since is None else (case.today - since).days,
        "counted_from": counted_from if since is not None else None,
        "left_d": left,
    }


def balance_answer(case: LotCase) -> Answer:
    """Return what of a lot was let go, where, and what is left; unlike the label, a release is never refused."""
    rows = sorted(
        (row for row in case.snapshot.table(Release) if row.lot == case.lot.lot), key=lambda row: row.time
    )
    released = sum(row.number for row in rows)
    return {
        "released": released,
        "left": case.lot.labelled_number - released,
        "releases": [
            {
                "date": str(row.time.astimezone(case.now.tzinfo).date()),
                "house": row.house,
                "zone": row.zone,
                "number": row.number,
            }
            for row in rows
        ],
    }


def check_rows(case: LotCase) -> list[Answer]:
    """Return every check of a lot with its exact 95 % ends; an early look is called one."""
    rows = []
    for check in case.own:
        low, high = clopper_pearson(check.positive, check.looked_at)
        rows.append(
            {
                "date": str(check.time.astimezone(case.now.tzinfo).date()),
                "kind": check.kind,
                "looked_at": check.looked_at,
                "positive": check.positive,
                "share": check.positive / check.looked_at if check.looked_at else None,
                "low": low,
                "high": high,
                "days": check.days,
                "degc": check.degc,
                "early": is_early(case.facts, case.lot, check),
            }
        )
    return rows


def worth_answer(case: LotCase) -> Answer:
    """Return emergence before and after the check, and the living females that the whole lot gives."""
    lots = case.snapshot.table(Lot)
    fact, prior, seen = emergence_of(case.facts, case.lot, case.checks, lots)
    others = sum(
        1
        for lot in lots
        if lot.lot != case.lot.lot
        and (lot.enemy, lot.form) == (case.lot.enemy, case.lot.form)
        and any(check.lot == lot.lot for check in case.checks)
    )
    after = prior.after(seen)
    quality = lot_quality(case.facts, case.lot, case.checks, MEMBERS, SEED, lots=lots)
    case.used.extend(quality.facts)
    per_label = quality.units_per_label * quality.emergence * quality.share_female
    females = np.quantile(case.lot.labelled_number * per_label, (0.05, 0.5, 0.95))
    low, high = clopper_pearson(seen.positive, seen.looked_at)
    criterion = case.facts.find(case.lot.enemy, "guideline_emergence")
    answer: Answer = {
        "before": _band(prior),
        "before_from": fact.cited + _own(others),
        "looked_at": seen.looked_at,
        "positive": seen.positive,
        "low": low if seen.looked_at else None,
        "high": high if seen.looked_at else None,
        "after": _band(after),
        "females": {
            name: round(float(value)) for name, value in zip(("q05", "q50", "q95"), females, strict=True)
        },
        "label_unknown": quality.unknown_label,
        "chances": None,
    }
    if seen.looked_at and criterion is not None and case.lot.form not in ("adults", "larvae"):
        answer["chances"] = {
            "below_guideline": after.below(criterion.value),
            "good_looks_this_bad": float(chance_of_at_most(seen.positive, seen.looked_at, fact.value)),
            "just_at_guideline_looks_this_good": float(
                chance_of_at_least(seen.positive, seen.looked_at, criterion.value)
            ),
        }
    return answer


def _own(lots: int) -> str:
    return "" if not lots else say_many(", and checks of {n} own lot", ", and checks of {n} own lots", lots)


def criteria_answer(case: LotCase, looked_at: int) -> Answer:
    """Return what the guideline asks, with source, and how often lots of several qualities reach it."""
    rows = criteria(case.facts, case.lot.enemy)
    good = case.fact("emergence").value
    case.used.extend(rows)
    return {
        "rows": [
            {
                "what": say(GUIDELINE_WORDS[row.quantity])
                + (say(" on {other_species}", other_species=row.other_species) if row.other_species else ""),
                "side": say("at most") if row.quantity == "guideline_adult_mortality" else say("at least"),
                "value": row.value,
                "n": row.n,
                "conditions": row.conditions,
                "for_users": row.quantity in CHECKED_BY_USERS,
                "source": row.cited,
                "evidence": row.evidence,
                "note": row.note,
            }
            for row in rows
        ],
        "looked_at": looked_at,
        "passing": [
            {"lot": words, "true_share": share, "chance": chance}
            for words, share, chance in passing_table(case.facts, case.lot.enemy, looked_at, good)
        ],
    }


def sampling_answer(case: LotCase, question: Question) -> Answer:
    """Return how many to keep back for the question asked, and what pots of the usual sizes tell and take.

    A good lot is good by the books: poor lots of the same supplier do not make it any worse.
    """
    expected = case.fact("emergence").value
    units = int(units_of(case))
    take = sample_for(case.facts, case.lot.enemy, question, expected, units)
    guideline = case.facts.find(case.lot.enemy, "guideline_emergence")
    sizes = {
        size for size in (*USUAL_SIZES, take, guideline.n if guideline else None) if size and size <= units
    }
    rows = [sample_of(case.facts, case.lot.enemy, size, expected) for size in sorted(sizes)]
    for quantity in ("check_minutes_per_unit", "check_minutes_to_set_up", "dead_lot_emergence"):
        case.fact(quantity)
    return {
        "question": question,
        "asks": say(QUESTIONS[question]),
        "take": take,
        "expected": expected,
        "rows": [
            {
                "size": row.size,
                "low": row.ends.low,
                "high": row.ends.high,
                "minutes": row.minutes,
                "labour": None
                if case.farm.labour_per_h is None
                else row.minutes / 60 * case.farm.labour_per_h,
            }
            for row in rows
        ],
        "currency": case.farm.currency,
        "words": say(
            "The pot stays in the house and is opened there afterwards: it costs minutes, not enemies."
        ),
    }


def letters_answer(case: LotCase, quality_limit: float | None) -> Answer | None:
    """Return code letters, sample sizes and, with a quality limit, the plan and its curve by ISO 2859-1."""
    units = int(units_of(case))
    if units < 2:
        return None
    letters = {level: code_letter(units, level) for level in LEVELS}
    plan = None
    if quality_limit is not None:
        found = plan_by_letter(letters["II"], quality_limit)
        curve = found.chance_accepted(CURVE)
        plan = {
            "quality_limit_pct": quality_limit,
            "letter": found.letter,
            "sample": min(found.sample, units),
            "accept": found.accept,
            "reject": found.reject,
            "curve": [
                {"bad_share": share, "accepted": float(chance)}
                for share, chance in zip(CURVE, curve, strict=True)
            ],
        }
    return {
        "standard": say("ISO 2859-1, single sampling, normal inspection"),
        "evidence": say("letters and sizes read, plans recalled"),
        "levels": [
            {"level": level, "letter": letter, "sample": min(SAMPLE_SIZE[letter], units)}
            for level, letter in letters.items()
        ],
        "plan": plan,
        "words": say(
            "Made for few bad units, 10 % at most: it suits dead adults, not mummies of which a good lot "
            "leaves a fifth closed."
        ),
    }


def _band(share: Beta) -> Answer:
    return {"q05": share.quantile(0.05), "q50": share.quantile(0.5), "q95": share.quantile(0.95)}
