"""What a season teaches: the things to change, and what it says nothing about."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from outpace.estimation.staleness import NO_VERDICT_D
from outpace.language import say, say_many
from outpace.season.looked import pest_name
from outpace.season.register import enemy_name
from outpace.season.wrong_enemies import refused
from outpace.terms.upkeep import Decision, Spray

Answer = dict[str, Any]

MOST_CHANGES = 3


def to_change(
    houses: Iterable[Answer],
    parcels: Answer,
    planned: Answer,
    lots: Sequence[Answer],
    sprays: Sequence[Spray],
    decisions: Sequence[Decision],
) -> list[Answer]:
    """Return at most three things to change, those that touched the largest share of their kind first."""
    weighed: list[tuple[float, str, str]] = []
    every = list(houses)

    def add(part: int, whole: int, what: str, why: str) -> None:
        if part and whole:
            weighed.append((part / whole, what, why))

    add(
        parcels["late"],
        parcels["came"],
        say("Agree earlier delivery days, or another supplier"),
        say("{late} of {came} parcels came after their day", late=parcels["late"], came=parcels["came"]),
    )
    add(
        parcels["short"],
        parcels["came"],
        say("Count the packs when they come, and claim at once"),
        say("{short} of {came} parcels were short", short=parcels["short"], came=parcels["came"]),
    )
    add(
        planned["late"] + planned["not_done"],
        planned["meant"],
        say("Release on the day it was meant for"),
        say(
            "{late} of {meant} releases were late and {not_done} are not written down",
            late=planned["late"],
            meant=planned["meant"],
            not_done=planned["not_done"],
        ),
    )
    poor = [
        lot for lot in lots if lot["guideline"] and lot["high"] is not None and lot["high"] < lot["guideline"]
    ]
    add(
        len(poor),
        len(lots),
        say("Claim poor lots within the supplier's days, and order elsewhere"),
        say(
            "{poor} of {lots} lots were below their guideline by their own check",
            poor=len(poor),
            lots=len(lots),
        ),
    )
    bare = [lot for lot in lots if lot["looked_at"] is None and lot["count_on"] is None]
    add(
        len(bare),
        len(lots),
        say("Keep a pot of each lot and count it"),
        say("{bare} of {lots} lots were not checked", bare=len(bare), lots=len(lots)),
    )
    let_go = sum(len(house["releases"]) for house in every)
    wrong = [(house, refused(house["releases"], house["pest"])) for house in every if house["first_find"]]
    add(
        sum(len(rows) for _, rows in wrong),
        let_go,
        say("Choose an enemy that accepts the aphid"),
        ", ".join(
            say_many(
                "in {house} {n} release was of {enemy}, which does not accept {pest}",
                "in {house} {n} releases were of {enemy}, which does not accept {pest}",
                len(rows),
                house=house["house"],
                enemy=enemy_name(rows[0]["enemy"]),
                pest=pest_name(house["pest"]),
            )
            for house, rows in wrong
            if rows
        ),
    )
    unsaid = [
        row for row in sprays if None in (row.end, row.reentry_h, row.harvest_interval_d, row.residual_d)
    ]
    add(
        len(unsaid),
        len(sprays),
        say("Enter the label's figures with each spray"),
        say(
            "{unsaid} of {sprays} sprays miss some, and each holds releases back as if it harmed them",
            unsaid=len(unsaid),
            sprays=len(sprays),
        ),
    )
    mute = [row for row in decisions if not row.reason]
    add(
        len(mute),
        len(decisions),
        say("Write down why"),
        say("{mute} of {decisions} decisions have no reason", mute=len(mute), decisions=len(decisions)),
    )
    stale = NO_VERDICT_D
    gaps = [house for house in every if (house["longest_gap_d"] or 0) > stale]
    add(
        len(gaps),
        len(every),
        say("Walk every house at least every {stale} days", stale=stale),
        ", ".join(
            say(
                "{house} was once not walked for {longest_gap_d} days",
                house=house["house"],
                longest_gap_d=house["longest_gap_d"],
            )
            for house in gaps[:3]
        ),
    )
    slow = [house for house in every if _wait(house) is not None and (_wait(house) or 0) > 7]
    add(
        len(slow),
        len(every),
        say("Have enemies on order before the first aphids"),
        ", ".join(
            say(
                "in {house} the first release came {house2} days after the first find",
                house=house["house"],
                house2=_wait(house),
            )
            for house in slow[:3]
        ),
    )
    weighed.sort(key=lambda item: (-item[0], item[1]))
    return [{"what": what, "why": why, "share": share} for share, what, why in weighed[:MOST_CHANGES]]


def _wait(house: Answer) -> int | None:
    if house["first_find"] is None or house["first_release"] is None:
        return None
    return (
        date.fromisoformat(house["first_release"]) - date.fromisoformat(str(house["first_find"]["date"]))
    ).days


def not_tested(houses: Iterable[Answer], lots: Sequence[Answer], scored: Answer) -> list[str]:
    """Return what the season says nothing about, in sentences."""
    told = [
        say("What would have happened without releases: no house was left untreated."),
        say("Which part the enemies had, beside weather, crop work and wild ones."),
    ]
    unwalked = [house["house"] for house in houses if not house["walks"]]
    if unwalked:
        told.append(say("{unwalked}: no walk in this span.", unwalked=", ".join(unwalked)))
    bare = sum(lot["looked_at"] is None and lot["count_on"] is None for lot in lots)
    if bare:
        told.append(
            say_many(
                "The quality of {n} lot: nobody counted a pot.",
                "The quality of {n} lots: nobody counted a pot.",
                bare,
            )
        )
    if not sum(row["forecasts"] for row in scored["by_days_ahead"]):
        told.append(say("The forecasts: none was kept that a later walk could judge."))
    return told
