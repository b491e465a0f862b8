"""The two messages to a supplier: "under observation" at once, the figures when the check has ended."""

from __future__ import annotations

from typing import Any

from outpace.language import say, to_say
from outpace.measures import temperature
from outpace.season.arrival_lot import LotCase, line_of
from outpace.season.words import percent, weekday

Answer = dict[str, Any]

EMERGED = to_say("{head} {positive} of {looked_at} emerged: {share}, exact 95 % range {low} to {high}.")
ALIVE = to_say("{head} {positive} of {looked_at} were alive: {share}, exact 95 % range {low} to {high}.")


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
            say(
                "Most suppliers want notice within {value:g} to {high:g} h, which are over: say when you "
                "first saw it",
                value=notice.value,
                high=notice.high or notice.value,
            )
            if late
            else say(
                "Send it with a photo within {value:g} h of arrival if anything looks wrong; figures "
                "follow when the check has ended",
                value=notice.value,
            )
        )
        text = say(
            "{head} We have it under observation: {case} We send figures then.",
            head=head,
            case=_watch(case, check),
        )
        return {"step": 1, "words": words, "text": text}
    low, high = percent(worth["low"]), percent(worth["high"])
    share = percent(worth["positive"] / worth["looked_at"])
    told = EMERGED if case.lot.form not in ("adults", "larvae") else ALIVE
    text = say(
        told,
        head=head,
        positive=worth["positive"],
        looked_at=worth["looked_at"],
        share=share,
        low=low,
        high=high,
    )
    chances = worth["chances"]
    guideline = case.facts.find(case.lot.enemy, "guideline_emergence")
    if chances is None or guideline is None:
        return {"step": 2, "words": say("No guideline figure is known here to hold it against"), "text": text}
    asked = percent(guideline.value)
    text += say(
        " The guideline asks for {asked} of {n} ({cited}). A good lot would look this bad in "
        "{good_looks_this_bad} of such checks.",
        asked=asked,
        n=guideline.n,
        cited=guideline.cited,
        good_looks_this_bad=percent(chances["good_looks_this_bad"]),
    )
    if worth["high"] < guideline.value:
        words = say("Below the guideline even at the high end of the range: a claim stands")
    elif worth["low"] >= guideline.value:
        words = say("At or above the guideline even at the low end of the range: nothing to claim")
    else:
        words = say(
            "The guideline lies within the range: this check alone decides nothing; pool it with other lots"
        )
    return {"step": 2, "words": words, "text": text}


def _head(case: LotCase, invoice: str | None) -> str:
    lot = case.lot
    latin = case.facts.species[lot.enemy].latin
    parts = [
        say(
            "Lot {lot}, {labelled_number:,} {latin} as {form}",
            lot=lot.lot,
            labelled_number=lot.labelled_number,
            latin=latin,
            form=lot.form,
        )
    ]
    if invoice:
        parts.append(say("invoice {invoice}", invoice=invoice))
    parts.append(
        say("packed {packed}", packed=lot.packed) if lot.packed else say("packing date not told on the pack")
    )
    if lot.arrived is not None:
        parts.append(say("arrived {tzinfo:%Y-%m-%d %H:%M}", tzinfo=lot.arrived.astimezone(case.now.tzinfo)))
    parts.append(
        say("{warmth} in the parcel", warmth=temperature(lot.parcel_degc))
        if lot.parcel_degc is not None
        else say("parcel not measured")
    )
    if lot.condition:
        parts.append(lot.condition)
    return ", ".join(parts) + "."


def _watch(case: LotCase, check: Answer) -> str:
    if case.lot.form in ("adults", "larvae"):
        return say("the living and the dead are being counted.")
    due = check["due"] and check["due"]["likely"]
    where = say(" in {house}", house=check["house"]) if check["house"] else ""
    day = say(" on {due}", due=weekday(due)) if due else say(" when its days are full")
    return say("a pot stands{where} and is counted{day}.", where=where, day=day)
