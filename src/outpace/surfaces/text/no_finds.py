"""What a walk that found nothing proves, as text."""

from __future__ import annotations

from outpace.language import say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def sentence(answer: Answer) -> str:
    """Return the one sentence: a verb, a day, a number."""
    if answer.get("sentence"):
        return str(answer["sentence"])
    until = answer.get("valid_until")
    more = answer.get("more_plants_to_halve")
    plants = (
        say("{more} more plants halve the limit", more=page.figure(more))
        if more
        else say("look at as many plants again")
    )
    return (
        say("Walk again by {until}: {plants}.", until=page.day(until), plants=plants)
        if until
        else say("Walk today: {plants}.", plants=plants)
    )


def render(answer: Answer) -> str:
    """Return the answer of ``outpace nofinds`` in lines of at most 80 columns."""
    lines = page.fold(sentence(answer))
    looked, found = answer["looked_at"], answer["found"]
    seen = say("none found") if not found else say("{found} found with aphids", found=page.figure(found))
    title = f"{answer['house']}: " if answer.get("house") else ""
    lines += page.heading(
        say("{title}{looked} plants looked at, {seen}", title=title, looked=page.figure(looked), seen=seen)
    )
    detection = answer["detection"]
    percent = {key: 100 * detection[key] for key in ("mean", "low", "high") if detection.get(key) is not None}
    rows: list[tuple[str, str]] = []
    if answer.get("below_share") is not None:
        rows.append(
            (
                say("infested share of plants"),
                say(
                    "probably below {below_share} ({confidence} sure)",
                    below_share=page.share(answer["below_share"]),
                    confidence=page.chance(answer["confidence"]),
                ),
            )
        )
    else:
        rows.append((say("infested share of plants"), say("this look cannot put a limit on it")))
    if answer.get("up_to_plants") is not None:
        house = say(
            "of {plants_in_house} in the house", plants_in_house=page.figure(answer["plants_in_house"])
        )
        rows.append(
            (
                say("that is, in plants"),
                say(
                    "up to {up_to_plants} {house}",
                    up_to_plants=page.figure(answer["up_to_plants"]),
                    house=house,
                ),
            )
        )
    rows += [
        (
            say("a plant counts as infested from"),
            say("{design_density} live aphids", design_density=page.figure(answer["design_density"])),
        ),
        (
            say("one look finds"),
            say(
                "{percent} of infested plants, {source}",
                percent=page.between(percent, "%"),
                source=detection.get("source") or say("no source"),
            ),
        ),
    ]
    if answer.get("more_plants_to_halve"):
        rows.append((say("plants more to halve the limit"), page.figure(answer["more_plants_to_halve"])))
    if answer.get("valid_until"):
        rows.append((say("holds until"), page.day(answer["valid_until"], year=True)))
    lines += page.columns(rows)
    earlier = [walk for walk in answer.get("walks") or () if walk["times_grown_since"] > 1]
    for walk in earlier:
        lines += page.fold(
            say(
                "{date}: {plants} plants, weaker by now: aphids can have grown {times_grown_since}-fold "
                "since, and about {arrived_since} flown in",
                date=page.day(walk["date"]),
                plants=page.figure(walk["plants"]),
                times_grown_since=page.figure(walk["times_grown_since"]),
                arrived_since=page.figure(walk["arrived_since"]),
            ),
            first="  ",
            rest="    ",
        )
    if answer.get("assumptions"):
        lines += page.heading(say("If this is true:"))
        lines += page.bullets(answer["assumptions"])
    lines += ["", say("Nothing found is not nothing there."), *page.bullets(answer.get("cautions", ()))]
    return "\n".join(lines)
