"""What is said of the courses open to a house: names, when one pays, what to mind, the one sentence."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from outpace.currency import money
from outpace.language import say, say_many, to_say
from outpace.measures import figure, per_area, rate_value
from outpace.season.course_steps import Ground, Step
from outpace.season.judged import house_verdicts
from outpace.season.outlook import Outlook
from outpace.season.words import percent, weekday
from outpace.season.worth import Worth
from outpace.season.wrong_enemies import wrong_enemies

BANDS_TO_D = 21
LOOK_AGAIN_D = 7

TODAY = (
    to_say("Squash or wipe off the colonies that are in reach"),
    to_say("Pinch out and bag the worst tips, and carry the bag out of the house"),
    to_say("Take out single plants that are covered, in a closed bag"),
    to_say("Shut the door to the clean bays, and walk those first"),
)
"""Deeds that need no delivery; common practice, no source."""

NAMES = {
    "wait": to_say("wait"),
    "by hand": to_say("squash and bag by hand today"),
    "enrich": to_say("add enemies with the next delivery"),
    "by hand, and enrich": to_say("by hand today, and add enemies"),
    "treat spots": to_say("treat the worst plants alone"),
    "spray": to_say("spray the whole house"),
    "spray, then release": to_say("spray the whole house, then release anew"),
    "remove": to_say("remove the crop"),
}
UNITS = {
    "leaf": to_say("leaf"),
    "shoot": to_say("shoot"),
    "plant": to_say("plant"),
    "share_infested": to_say("unit looked at"),
}


def break_even_words(
    ground: Ground, step: Step, saved: float, per_m2: float | None, most: float | None
) -> str:
    unit, currency = say(UNITS[ground.case.levels[0].unit]), ground.case.farm.currency
    if saved <= 0:
        return say("It spares nothing against waiting.")
    if step.money is None and most is not None:
        return say(
            "It pays if it costs you less than {most}, work included.",
            most=money(most, currency),
        )
    if per_m2 is None:
        return say("From which price it pays cannot be said: neither its cost nor your loss was told.")
    if per_m2 == 0:
        return say("It costs no money that was told, and spares some loss.")
    return say(
        "It pays against waiting where one aphid per {unit} above your level costs you more than {loss} "
        "{per} and day.",
        unit=unit,
        loss=f"{currency} {figure(rate_value(per_m2))}",
        per=per_area(),
    )


def cautions_of(found: Outlook, worth: Worth, steps: Sequence[Step], unread: Sequence[Step]) -> list[str]:
    case = found.case
    told = [
        say(
            "Days after {day} are a scenario: no forecast reaches there.",
            day=weekday(case.day + timedelta(days=BANDS_TO_D)),
        ),
        say(
            "Label and local code come first; a spray that is not allowed on food: call the adviser or buyer before "
            "selling."
        ),
    ]
    if worth.loss is None:
        told.append(
            say(
                "What an aphid above your level costs is not told (`outpace farm worth --loss`): courses are held "
                "against your risk, not against money."
            )
        )
    if case.house.virus_sensitive:
        told.append(
            say("Enemies do not stop a virus in time: its risk is not judged here, and the loss may be all.")
        )
    lacking = [step for step in steps if step.spray is not None and step.spray.figures.lacks]
    if lacking:
        told.append(
            say(
                "What was not entered of a treatment is drawn over all it could be, and holds people, picking and "
                "releases back until it is entered."
            )
        )
    told += [
        say(
            "To {what} looks better by what was told, and is not chosen while its label is not entered in full.",
            what=say(NAMES[step.key]),
        )
        for step in unread
    ]
    told += wrong_enemies(case)
    levels = {level.word for level in house_verdicts(found)[1]} if not found.stale else set()
    if "Losing" in levels:
        told.append(say("The verdict of this house is Losing: waiting is a choice, not a default."))
    return told


def sentence_of(ground: Ground, best: Step, ties: Sequence[Step]) -> str:
    """Return one verb, one day, one number."""
    case = ground.case
    house, today = case.house.house, weekday(case.day)
    chance = percent(chance_of(best))
    tied = say_many(" {n} other course is as good.", " {n} other courses are as good.", len(ties))
    if best.key == "wait":
        text = say(
            "Wait in {house} and look again on {day}: {chance} chance above your level in {days} days.",
            house=house,
            day=weekday(case.day + timedelta(days=LOOK_AGAIN_D)),
            chance=chance,
            days=ground.house.horizon_d,
        )
    elif best.key == "by hand":
        text = say(
            "Squash and bag by hand in {house} on {day}, {plants} plants: {chance} chance above your level.",
            house=house,
            day=today,
            plants=best.plants,
            chance=chance,
        )
    elif best.bought and best.deeds:
        offer, count = best.bought[0]
        text = say_many(
            "Squash and bag by hand in {house} on {day} and order {n} pack of {enemy} by {until}: {chance} chance "
            "above your level.",
            "Squash and bag by hand in {house} on {day} and order {n} packs of {enemy} by {until}: {chance} chance "
            "above your level.",
            count,
            house=house,
            day=today,
            enemy=case.facts.species[offer.pack.enemy].latin,
            until=weekday(offer.cutoff.date()),
            chance=chance,
        )
    elif best.bought and best.spray is None:
        offer, count = best.bought[0]
        text = say_many(
            "Order {n} pack of {enemy} for {house} by {day}: {chance} chance above your level.",
            "Order {n} packs of {enemy} for {house} by {day}: {chance} chance above your level.",
            count,
            enemy=case.facts.species[offer.pack.enemy].latin,
            house=house,
            day=weekday(offer.cutoff.date()),
            chance=chance,
        )
    elif best.key == "remove":
        text = say("Remove the crop of {house} on {day}: it costs least.", house=house, day=today)
    else:
        text = say(
            "{what} in {house} on {day}, by its label: {chance} chance above your level.",
            what=say(NAMES[best.key]).capitalize(),
            house=house,
            day=today,
            chance=chance,
        )
    if chance_of(best) > ground.risk:
        text += say(
            " Nothing that may be chosen keeps it within your risk of {risk}.", risk=percent(ground.risk)
        )
    return text + (tied if ties else "")


def chance_of(step: Step) -> float:
    """Return the chance of being above the level; 1 for a course that is not open."""
    return 1.0 if step.fared is None else step.fared.chance_ever_above
