"""The forecast of one house, as text."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from outpace.language import say, to_say
from outpace.measures import temperature as warmth
from outpace.surfaces.text import band_chart, page
from outpace.surfaces.text.page import Answer


def _verdict_lines(answer: Answer) -> list[str]:
    verdict = answer.get("verdict") or {}
    word = verdict.get("word")
    if not word:
        stale = answer.get("stale") or {}
        why = str(stale.get("message") or say("there is no walk to judge from"))
        return page.fold(say("No verdict: {why}", why=why))
    lines = page.fold(
        say(
            "{word}. Chance of staying at or under your level on every one of the next {horizon_d} days: "
            "{stays_below} ({stays_below2}); of ending well, that is under it and not growing in the last "
            "week: {ends_well} ({ends_well2}).",
            word=word,
            horizon_d=page.figure(verdict.get("horizon_d")),
            stays_below=page.chance(verdict.get("stays_below")),
            stays_below2=page.such_houses(verdict.get("stays_below") or 0.0),
            ends_well=page.chance(verdict.get("ends_well")),
            ends_well2=page.such_houses(verdict.get("ends_well") or 0.0),
        )
    )
    lines += page.bullets(say("because {reason}", reason=reason) for reason in verdict.get("reasons", ()))
    binding = answer.get("binding")
    if binding:
        lines += page.fold(
            say(
                "This is decided by {pest}, {zone}.",
                pest=page.name(binding["pest"]),
                zone=page.zone(binding.get("zone")),
            ),
            first="  ",
        )
    if (answer.get("stale") or {}).get("message"):
        lines += page.fold(str(answer["stale"]["message"]), first="  ")
    if answer.get("next_look"):
        lines += page.fold(f"{answer['next_look']['sentence']}.", first="  ")
    return lines


def _numbers(pest: Answer, scenario_from: str | None) -> list[str]:
    rows: list[tuple[str, str, str, str]] = [
        (say("day"), say("live aphids"), say("closed mummies"), say("above that day"))
    ]
    for day in pest["days"][::7]:
        later = scenario_from and page.as_date(day["date"]) >= page.as_date(scenario_from)
        rows.append(
            (
                page.day(day["date"]) + ("?" if later else ""),
                page.between(day["aphids"]),
                page.between(day.get("mummies_closed")),
                page.chance(day.get("chance_above_that_day")),
            )
        )
    return page.columns(rows)


def _pest_lines(answer: Answer, pest: Answer) -> list[str]:
    unit, level = pest["unit"], pest.get("action_level")
    own = say(", your level {level}", level=page.figure(level)) if level is not None else ""
    lines = page.heading(
        say(
            "{pest}, {zone}: live aphids per {unit}{own}",
            pest=page.name(pest["pest"]),
            zone=page.zone(pest.get("zone")),
            unit=unit,
            own=own,
        )
    )
    walks = [
        walk
        for walk in answer.get("walks", ())
        if walk["pest"] == pest["pest"] and walk["unit"] == unit and not walk.get("hunted")
    ]
    scenario = answer.get("scenario_from")
    drawn = band_chart.chart(walks[-4:], pest["days"], level, scenario)
    if drawn:
        lines += [*drawn, *page.fold(band_chart.KEY, first="  "), ""]
    lines += _numbers(pest, scenario)
    if scenario:
        lines += page.fold(
            say("? from {scenario} on: a scenario, no forecast", scenario=page.day(scenario)), first="  "
        )
    lines += page.fold(
        say(
            "chance of passing your level on any day: {chance_ever_above}",
            chance_ever_above=page.chance(pest.get("chance_ever_above")),
        ),
        first="  ",
    )
    return lines


def _background(answer: Answer) -> list[str]:
    lines: list[str] = []
    releases = answer.get("releases", ())
    if releases:
        lines += page.heading(say("Released"))
        for release in releases:
            where = say(" in {zone}", zone=page.zone(release["zone"])) if release.get("zone") else ""
            note = f"; {release['note']}" if release.get("note") else ""
            lines += page.fold(
                f"{page.day(release['date'])}: {page.figure(release['number'])} "
                f"{page.name(release['enemy'])}, {say(release.get('form') or 'form not told')}{where}{note}",
                first="  ",
                rest="    ",
            )
    mummies = answer.get("mummies_from")
    if mummies and mummies.get("earliest"):
        until = (
            say("; none by {latest} would mean something", latest=page.day(mummies["latest"]))
            if mummies.get("latest")
            else ""
        )
        lines += page.fold(
            say("first mummies from {earliest}{until}", earliest=page.day(mummies["earliest"]), until=until),
            first="  ",
        )
    temperature = answer.get("temperature")
    if temperature:
        lines += page.heading(
            say(
                "Temperature in the next 7 days: {value}; {source}",
                value=page.between({**temperature, "mean": temperature["mean_next_7_d"]}, "degC"),
                source=temperature["source"],
            )
        )
    return lines + _heat_lines(answer.get("heat_days", ()))


def _heat_lines(heat_days: Sequence[Answer]) -> list[str]:
    """Return one line a spell of hot days that follow each other."""
    spells: list[list[Answer]] = []
    for heat in heat_days:
        if spells and page.as_date(heat["date"]) - page.as_date(spells[-1][-1]["date"]) == timedelta(days=1):
            spells[-1].append(heat)
        else:
            spells.append([heat])
    lines: list[str] = []
    for spell in spells:
        first, last = page.day(spell[0]["date"]), page.day(spell[-1]["date"])
        top = warmth(max(heat["max"] for heat in spell), 0)
        told = (
            say("on {first}: {top}", first=first, top=top)
            if len(spell) == 1
            else say("from {first} to {last}: up to {top}", first=first, last=last, top=top)
        )
        lines += page.fold(say("heat {told}", told=told), first="  ")
    return lines


MOMENT = to_say(
    "The share of one moment is not what a generation loses: it is not added up over walks, and its peak "
    "is no total."
)


def _parasitism(answer: Answer) -> list[str]:
    block = answer.get("parasitism") or {}
    samples, jars = block.get("samples") or (), block.get("jars") or ()
    told = (block.get("holes") or {}).get("messages") or ()
    if not samples and not told and not jars and not block.get("crop_jars"):
        return []
    lines = page.heading(say("Parasitism"))
    for row in samples:
        lines += page.fold(
            f"{page.name(row['pest'])}, {page.zone(row['zone'])}, {page.day(row['date'])}: {row['sentence']}",
            first="  ",
            rest="    ",
        )
    if any(row["visible"] for row in samples):
        lines += page.fold(say(MOMENT), first="  ", rest="    ")
    for line in told:
        lines += page.fold(say("holes of four weeks: {line}", line=line), first="  ", rest="    ")
    for jar in jars:
        lines += page.fold(
            say("jar of lot {lot}: {message}", lot=jar["lot"], message=jar["message"]),
            first="  ",
            rest="    ",
        )
    for jar in block.get("crop_jars") or ():
        line = say("jar of {date}: {message}", date=page.day(jar["date"]), message=jar["message"])
        lines += page.fold(line, first="  ", rest="    ")
    return lines


def _learned(answer: Answer) -> list[str]:
    learned = answer.get("learned") or {}
    if not learned:
        return []
    lines = page.heading(say("What your counts have taught (1 = nothing yet, 0 = all)"))
    for quantity, ratio in learned.items():
        books = say("; not learned yet, from the books") if ratio > 0.7 else ""
        lines += page.fold(f"{page.plain(quantity).replace('_', ' ')}: {ratio:.2f}{books}", first="  ")
    return lines


def render(answer: Answer, *, sources: bool = False) -> str:
    """Return the answer of ``outpace ahead`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    age = answer.get("data_age_d")
    walked = say(" Last walk {age}.", age=page.days_ago(age)) if age is not None else ""
    lines += page.heading(
        say(
            "{house} ({crop}), farm {farm}. {as_of}.{walked}",
            house=answer["house"],
            crop=page.name(answer.get("crop")),
            farm=answer["farm"],
            as_of=page.week_of(answer["as_of"]),
            walked=walked,
        )
    )
    lines += _verdict_lines(answer)
    if answer.get("tasks"):
        lines += page.heading(say("To do"))
        lines += page.task_lines(answer["tasks"])
    for pest in answer.get("pests", ()):
        lines += _pest_lines(answer, pest)
    lines += _parasitism(answer)
    lines += _background(answer)
    lines += _learned(answer)
    if answer.get("cautions"):
        lines += page.heading(say("Mind"))
        lines += page.bullets(answer["cautions"])
    if sources:
        lines += page.fact_lines(answer.get("facts", ()))
    lines += ["", *page.evidence_line(answer.get("evidence_weakest"))]
    if not sources:
        lines += page.fact_count(answer.get("facts", ()))
    return "\n".join(lines)
