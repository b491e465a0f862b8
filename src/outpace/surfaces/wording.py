"""Chances and verdicts in words, and what to look out for: shared by the pages and the printed sheet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from outpace.language import say, say_many, to_say
from outpace.surfaces.text import page

Answer = Mapping[str, Any]

FRIDAY = 4
HEAT_FROM_DEGC = 27.0
"""From here on work in the crop is heat work; a rule of care, no figure about a species."""

LIKELY = (
    (0.95, to_say("almost surely")),
    (0.80, to_say("very likely")),
    (0.60, to_say("more likely than not")),
    (0.40, to_say("as likely as not")),
    (0.20, to_say("less likely than not")),
    (0.05, to_say("unlikely")),
    (0.00, to_say("hardly")),
)


def likely(probability: float | None) -> str:
    """Return a chance in words.

    Examples
    --------
    >>> [likely(p) for p in (0.97, 0.5, 0.11, None)]
    ['almost surely', 'as likely as not', 'unlikely', 'not known']
    """
    if probability is None:
        return say("not known")
    return say(next(words for least, words in LIKELY if probability >= least))


def verdict_line(verdict: Answer | None) -> str:
    """Return what the verdict's two chances mean, in words and numbers.

    Examples
    --------
    >>> verdict_line({"stays_below": None, "ends_well": 0.94})
    'Under your level at the end, and not growing: very likely (94 %, 94 of 100 such houses).'
    """
    if not verdict or verdict.get("ends_well") is None:
        return ""
    ends = verdict["ends_well"]
    chance = f"{page.chance(ends)}, {page.such_houses(ends)}"
    line = say(
        "Under your level at the end, and not growing: {ends} ({chance}).", ends=likely(ends), chance=chance
    )
    if verdict.get("stays_below") is not None:
        stays, days = verdict["stays_below"], verdict.get("horizon_d")
        within = say(" in {days} days", days=page.figure(days)) if days else ""
        line += say(
            " Never above it{within}: {stays} ({stays2}).",
            within=within,
            stays=likely(stays),
            stays2=page.chance(stays),
        )
    return line


def coming_friday(as_of: date) -> date:
    """Return the Friday a week's page speaks of: this one until Thursday, then the next.

    Examples
    --------
    >>> coming_friday(date(2026, 4, 20)).isoformat(), coming_friday(date(2026, 4, 24)).isoformat()
    ('2026-04-24', '2026-05-01')
    """
    return as_of + timedelta(days=(FRIDAY - as_of.weekday() - 1) % 7 + 1)


def binding_pest(answer: Answer) -> Answer | None:
    """Return the pest and zone the verdict hangs on, from the answer of ``outpace ahead``."""
    pests = answer.get("pests") or ()
    bound = answer.get("binding") or {}
    for pest in pests:
        if pest["pest"] == bound.get("pest") and pest.get("zone") == bound.get("zone"):
            return dict(pest)
    return dict(pests[0]) if pests else None


def look_out(answer: Answer) -> list[tuple[str, str]]:
    """Return what would be news by Friday, and what to do then: pairs of ``(if you see, then)``."""
    as_of = page.as_date(answer["as_of"])
    friday = coming_friday(as_of)
    pairs: list[tuple[str, str]] = []
    pest = binding_pest(answer)
    day = next((d for d in pest["days"] if page.as_date(d["date"]) == friday), None) if pest else None
    if pest and day and day.get("aphids"):
        high = day["aphids"]["q95"]
        many = (
            say("more than {high} live aphids per {unit}", high=page.figure(high), unit=say(pest["unit"]))
            if high >= 0.01
            else say("any live aphid")
        )
        if pest["unit"] == "share_infested":
            many = say("live aphids on more than {high} of the plants", high=page.share(high))
        pairs.append(
            (
                say(
                    "{many_told} by {friday} ({pest})",
                    many_told=many,
                    friday=page.day(friday),
                    pest=page.name(pest["pest"]),
                ),
                say(
                    "it grows faster than foreseen: squash or cut out the worst spots, enter the walk, "
                    "plan anew"
                ),
            )
        )
    mummies = answer.get("mummies_from") or {}
    earliest, latest = mummies.get("earliest"), mummies.get("latest")
    if earliest and page.as_date(earliest) > as_of:
        pairs.append(
            (
                say("no mummies before {earliest}", earliest=page.day(earliest)),
                say("nothing: none can be seen yet, and that proves nothing"),
            )
        )
    if latest and page.as_date(latest) >= as_of:
        pairs.append(
            (
                say("no mummies by {latest}", latest=page.day(latest)),
                say(
                    "suspect a wrong match, a dead parcel or a residue: look at the aphid with a lens, "
                    "call the supplier"
                ),
            )
        )
    return pairs


def care(answer: Answer) -> list[str]:
    """Return the lines of care that this week's tasks and temperatures ask for, none that they do not."""
    kinds = {str(task.get("kind") or "") for task in answer.get("tasks") or ()}
    words = " ".join(str(task["what"]).casefold() for task in answer.get("tasks") or ())
    lines = [str(task["care"]) for task in answer.get("tasks") or () if task.get("care")]
    week_end = page.as_date(answer["as_of"]) + timedelta(days=7)
    hot = [
        day
        for day in answer.get("heat_days") or ()
        if day["max"] >= HEAT_FROM_DEGC and page.as_date(day["date"]) <= week_end
    ]
    if hot:
        lines.append(
            say(
                "Heat on {date}: work in the early hours, with water and a partner.",
                date=page.day(hot[0]["date"]),
            )
        )
    if "release" in kinds or "release" in words:
        lines.append(
            say(
                "Open parcels in moving air, with gloves, a dust mask for loose carrier; stop at wheeze or "
                "rash. Count labels and hooks out and in. At dusk or dawn: burners off, house aired, not "
                "alone."
            )
        )
    if "spray" in kinds or "spray" in words:
        lines.append(
            say("The label comes first: re-entry, harvest, bees, ventilation. Not told means keep out.")
        )
    return list(dict.fromkeys(lines))


def minded(answer: Mapping[str, Any], *, whole: bool = False) -> list[str]:
    """Return what an answer of the whole farm asks to mind; warmth beyond what was studied in one line unless whole."""
    studied = list(answer.get("studied") or ())
    lines = [line for line in answer.get("cautions") or () if whole or line not in studied]
    if studied and not whole:
        lines.append(
            say_many(
                "In {n} house warmth leaves what was studied: its forecast is weaker than it looks.",
                "In {n} houses warmth leaves what was studied: their forecasts are weaker than they look.",
                len(studied),
            )
        )
    return lines


def plan_moment(answer: Mapping[str, Any]) -> str:
    """Return of what moment the plan is that tasks come from, where it is older than what is known; else nothing."""
    if not answer.get("plan_of"):
        return ""
    return say(
        "Orders are those of the plan of {moment}, older than this forecast: `outpace plan` makes it anew.",
        moment=page.moment(answer["plan_of"]),
    )
