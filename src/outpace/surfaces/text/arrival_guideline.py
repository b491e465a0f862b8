"""What a lot is held against, as text: its guideline, the sizes of samples, how long it keeps."""

from __future__ import annotations

from typing import Any

from outpace.language import say
from outpace.measures import temperature
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def range_of(of: Any, low: str = "low", high: str = "high") -> str:
    """Return a range as chances."""
    return say("{of} to {of2}", of=page.chance(of[low]), of2=page.chance(of[high]))


def criteria(lot: Answer) -> list[str]:
    """Return what the quality guideline asks of a lot."""
    criteria = lot["criteria"]
    if not criteria["rows"]:
        return page.fold(say("No quality guideline for this enemy was seen."), first="  ")
    lines = page.heading(say("What the quality guideline asks"))
    for row in criteria["rows"]:
        a_share = row["value"] < 1
        value = page.chance(row["value"]) if a_share else page.figure(row["value"])
        of = say(" of {n}", n=page.figure(row["n"])) if a_share and row["n"] else ""
        whose = "" if row["for_users"] else say("; the producer's work")
        lines += page.fold(
            f"{_named(row['what'])}: {row['side']} {value}{of} "
            f"({_degrees(row['conditions']) or say('no conditions told')}{whose}; {row['evidence']}, {row['source']})",
            first="  ",
            rest="    ",
        )
    if criteria["passing"]:
        lines += page.fold(
            say("With {looked_at} looked at it is reached by", looked_at=criteria["looked_at"]), first="  "
        )
        lines += page.columns(
            [
                (
                    row["lot"],
                    page.chance(row["true_share"]),
                    say("in {chance} of such checks", chance=page.chance(row["chance"])),
                )
                for row in criteria["passing"]
            ],
            indent="    ",
            right=(1,),
        )
    return lines


def _degrees(text: str) -> str:
    return text.replace("degC", "°C")


def _named(words: str) -> str:
    what, on, species = words.partition(" on ")
    return (
        say("{what} on {species}", what=what, species=page.name(species)) if on and "_" in species else words
    )


def sampling(lot: Answer) -> list[str]:
    """Return how many to set aside, and what a count of them would tell."""
    sampling = lot["sampling"]
    lines = page.heading(say("How many into the pot: {asks}", asks=sampling["asks"]))
    take = sampling["take"]
    lines += page.fold(
        say("Set {take} aside. {words}", take=page.figure(take), words=sampling["words"])
        if take
        else say(
            "No pot of this lot answers that question: it is too small for it, or no guideline is known. "
            "Pool it with other lots."
        ),
        first="  ",
        rest="  ",
    )
    rows = []
    for row in sampling["rows"]:
        labour = "" if row["labour"] is None else f", {page.money(row['labour'], sampling['currency'])}"
        rows.append(
            (
                page.figure(row["size"]),
                say(
                    "if {expected} come out it says {row}; {minutes} min{labour}",
                    expected=page.chance(sampling["expected"]),
                    row=range_of(row),
                    minutes=page.figure(row["minutes"]),
                    labour=labour,
                ),
            )
        )
    return lines + page.columns(rows, indent="    ", right=(0,))


def letters(lot: Answer) -> list[str]:
    """Return the sample sizes by letters."""
    letters = lot["letters"]
    if letters is None:
        return []
    sizes = "; ".join(
        say(
            "level {level} letter {letter}: {sample}",
            level=row["level"],
            letter=row["letter"],
            sample=row["sample"],
        )
        for row in letters["levels"]
    )
    lines = page.fold(f"{letters['standard']}: {sizes} ({letters['evidence']}).", first="  ", rest="    ")
    plan = letters["plan"]
    if plan:
        curve = "; ".join(
            say(
                "{bad_share} bad {accepted}",
                bad_share=page.share(row["bad_share"]),
                accepted=page.chance(row["accepted"]),
            )
            for row in plan["curve"]
        )
        lines += page.fold(
            say(
                "At a limit of {quality_limit_pct} % look at {sample}, accept up to {accept} bad, reject "
                "from {reject}. It accepts: {curve}.",
                quality_limit_pct=page.figure(plan["quality_limit_pct"]),
                sample=plan["sample"],
                accept=plan["accept"],
                reject=plan["reject"],
                curve=curve,
            ),
            first="  ",
            rest="    ",
        )
        lines += page.fold(letters["words"], first="  ", rest="    ")
    return lines


def storage(answer: Answer, enemy: str) -> list[str]:
    """Return how long an enemy keeps, by the views there are."""
    views: list[Any] = next((row["views"] for row in answer["storage"] if row["enemy"] == enemy), [])
    if not views:
        return []
    lines = page.heading(say("How long it keeps: the views differ"))
    for row in views:
        if row["quantity"] == "storage_coldest":
            value = say("not below {value}", value=temperature(row["value"]))
        else:
            span = (
                say("{low} to {high}", low=page.figure(row["low"]), high=page.figure(row["high"]))
                if row["low"] is not None
                else None
            )
            value = say("{span} days", span=span or page.figure(row["value"]))
            value += (
                say(" at {warmth}", warmth=temperature(row["at_degc"])) if row["at_degc"] is not None else ""
            )
        lines += page.fold(
            f"{_degrees(row['view'])}: {value}; {_degrees(row['note']) or say('no more told')} "
            f"({say(row['evidence'])}, {row['source']})",
            first="  ",
            rest="    ",
        )
    return lines
