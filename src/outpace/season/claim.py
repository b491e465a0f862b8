"""The two messages to a supplier: "under observation" at once, the figures when the check has ended."""

from __future__ import annotations

from typing import Any

from outpace.season.arrival_lot import LotCase, line_of
from outpace.season.words import percent, weekday

Answer = dict[str, Any]


def claim_answer(case: LotCase, check: Answer, worth: Answer) -> Answer:
    """Return which step of a claim is open, and a text to send that says no more than is known.

    Parameters
    ----------
    check, worth : dict
        As in the answer of the lot.
    """
    notice = case.fact("claim_notice")
    line = line_of(case.snapshot, case.lot)
    head = _head(case, line.invoice if line else None)
    if not worth["looked_at"]:
        late = case.pot.arrived is not None and (case.today - case.pot.arrived).days * 24 > (
            notice.high or notice.value
        )
        words = (
            f"Most suppliers want notice within {notice.value:g} to {notice.high or notice.value:g} h, which are over: "
            "say when you first saw it"
            if late
            else f"Send it with a photo within {notice.value:g} h of arrival if anything looks wrong; "
            "figures follow when the check has ended"
        )
        text = f"{head} We have it under observation: {_watch(case, check)} We send figures then."
        return {"step": 1, "words": words, "text": text}
    low, high = percent(worth["low"]), percent(worth["high"])
    share = percent(worth["positive"] / worth["looked_at"])
    alive = "emerged" if case.lot.form not in ("adults", "larvae") else "were alive"
    text = f"{head} {worth['positive']} of {worth['looked_at']} {alive}: {share}, exact 95 % range {low} to {high}."
    chances = worth["chances"]
    guideline = case.facts.find(case.lot.enemy, "guideline_emergence")
    if chances is None or guideline is None:
        return {"step": 2, "words": "No guideline figure is known here to hold it against", "text": text}
    asked = percent(guideline.value)
    text += (
        f" The guideline asks for {asked} of {guideline.n} ({guideline.cited}). A good lot would look this bad "
        f"in {percent(chances['good_looks_this_bad'])} of such checks."
    )
    if worth["high"] < guideline.value:
        words = "Below the guideline even at the high end of the range: a claim stands"
    elif worth["low"] >= guideline.value:
        words = "At or above the guideline even at the low end of the range: nothing to claim"
    else:
        words = (
            "The guideline lies within the range: this check alone decides nothing; pool it with other lots"
        )
    return {"step": 2, "words": words, "text": text}


def _head(case: LotCase, invoice: str | None) -> str:
    lot = case.lot
    latin = case.facts.species[lot.enemy].latin
    parts = [f"Lot {lot.lot}, {lot.labelled_number:,} {latin} as {lot.form}"]
    if invoice:
        parts.append(f"invoice {invoice}")
    parts.append(f"packed {lot.packed}" if lot.packed else "packing date not told on the pack")
    if lot.arrived is not None:
        parts.append(f"arrived {lot.arrived.astimezone(case.now.tzinfo):%Y-%m-%d %H:%M}")
    parts.append(
        f"{lot.parcel_degc:g} °C in the parcel" if lot.parcel_degc is not None else "parcel not measured"
    )
    if lot.condition:
        parts.append(lot.condition)
    return ", ".join(parts) + "."


def _watch(case: LotCase, check: Answer) -> str:
    if case.lot.form in ("adults", "larvae"):
        return "the living and the dead are being counted."
    due = check["due"] and check["due"]["likely"]
    where = f" in {check['house']}" if check["house"] else ""
    day = f" on {weekday(due)}" if due else " when its days are full"
    return f"a pot stands{where} and is counted{day}."
