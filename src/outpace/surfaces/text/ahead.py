"""The forecast of one house, as text."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from outpace.surfaces.text import band_chart, page
from outpace.surfaces.text.page import Answer


def _verdict_lines(answer: Answer) -> list[str]:
    verdict = answer.get("verdict") or {}
    word = verdict.get("word")
    if not word:
        stale = answer.get("stale") or {}
        why = str(stale.get("message") or "there is no walk to judge from")
        return page.fold(f"No verdict: {why}")
    lines = page.fold(
        f"{word}. Chance of staying at or under your level on every one of the next "
        f"{page.figure(verdict.get('horizon_d'))} days: {page.chance(verdict.get('stays_below'))} "
        f"({page.such_houses(verdict.get('stays_below') or 0.0)}); of ending well, that is under it and "
        f"not growing in the last week: {page.chance(verdict.get('ends_well'))} "
        f"({page.such_houses(verdict.get('ends_well') or 0.0)})."
    )
    lines += page.bullets(f"because {reason}" for reason in verdict.get("reasons", ()))
    binding = answer.get("binding")
    if binding:
        lines += page.fold(
            f"This is decided by {page.name(binding['pest'])}, {page.zone(binding.get('zone'))}.",
            first="  ",
        )
    if (answer.get("stale") or {}).get("message"):
        lines += page.fold(str(answer["stale"]["message"]), first="  ")
    if answer.get("next_look"):
        lines += page.fold(f"{answer['next_look']['sentence']}.", first="  ")
    return lines


def _numbers(pest: Answer, scenario_from: str | None) -> list[str]:
    rows: list[tuple[str, str, str, str]] = [("day", "live aphids", "closed mummies", "above that day")]
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
    own = f", your level {page.figure(level)}" if level is not None else ""
    lines = page.heading(
        f"{page.name(pest['pest'])}, {page.zone(pest.get('zone'))}: live aphids per {unit}{own}"
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
        lines += page.fold(f"? from {page.day(scenario)} on: a scenario, no forecast", first="  ")
    lines += page.fold(
        f"chance of passing your level on any day: {page.chance(pest.get('chance_ever_above'))}", first="  "
    )
    return lines


def _background(answer: Answer) -> list[str]:
    lines: list[str] = []
    releases = answer.get("releases", ())
    if releases:
        lines += page.heading("Released")
        for release in releases:
            where = f" in {page.zone(release['zone'])}" if release.get("zone") else ""
            note = f"; {release['note']}" if release.get("note") else ""
            lines += page.fold(
                f"{page.day(release['date'])}: {page.figure(release['number'])} "
                f"{page.name(release['enemy'])}, {release.get('form') or 'form not told'}{where}{note}",
                first="  ",
                rest="    ",
            )
    mummies = answer.get("mummies_from")
    if mummies and mummies.get("earliest"):
        until = (
            f"; none by {page.day(mummies['latest'])} would mean something" if mummies.get("latest") else ""
        )
        lines += page.fold(f"first mummies from {page.day(mummies['earliest'])}{until}", first="  ")
    temperature = answer.get("temperature")
    if temperature:
        lines += page.heading(
            f"Temperature in the next 7 days: "
            f"{page.between({**temperature, 'mean': temperature['mean_next_7_d']}, '°C')}; "
            f"{temperature['source']}"
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
        top = page.figure(max(heat["max"] for heat in spell))
        told = f"on {first}: {top} °C" if len(spell) == 1 else f"from {first} to {last}: up to {top} °C"
        lines += page.fold(f"heat {told}", first="  ")
    return lines


MOMENT = (
    "The share of one moment is not what a generation loses: it is not added up over walks, "
    "and its peak is no total."
)


def _parasitism(answer: Answer) -> list[str]:
    block = answer.get("parasitism") or {}
    samples, jars = block.get("samples") or (), block.get("jars") or ()
    told = (block.get("holes") or {}).get("messages") or ()
    if not samples and not told and not jars:
        return []
    lines = page.heading("Parasitism")
    for row in samples:
        lines += page.fold(
            f"{page.name(row['pest'])}, {page.zone(row['zone'])}, {page.day(row['date'])}: {row['sentence']}",
            first="  ",
            rest="    ",
        )
    if any(row["visible"] for row in samples):
        lines += page.fold(MOMENT, first="  ", rest="    ")
    for line in told:
        lines += page.fold(f"holes of four weeks: {line}", first="  ", rest="    ")
    for jar in jars:
        lines += page.fold(f"jar of lot {jar['lot']}: {jar['message']}", first="  ", rest="    ")
    return lines


def _learned(answer: Answer) -> list[str]:
    learned = answer.get("learned") or {}
    if not learned:
        return []
    lines = page.heading("What your counts have taught (1 = nothing yet, 0 = all)")
    for quantity, ratio in learned.items():
        books = "; not learned yet, from the books" if ratio > 0.7 else ""
        lines += page.fold(f"{page.plain(quantity).replace('_', ' ')}: {ratio:.2f}{books}", first="  ")
    return lines


def render(answer: Answer, *, sources: bool = False) -> str:
    """Return the answer of ``outpace ahead`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    age = answer.get("data_age_d")
    walked = f" Last walk {page.days_ago(age)}." if age is not None else ""
    lines += page.heading(
        f"{answer['house']} ({page.name(answer.get('crop'))}), farm {answer['farm']}. "
        f"{page.week_of(answer['as_of'])}.{walked}"
    )
    lines += _verdict_lines(answer)
    if answer.get("tasks"):
        lines += page.heading("To do")
        lines += page.task_lines(answer["tasks"])
    for pest in answer.get("pests", ()):
        lines += _pest_lines(answer, pest)
    lines += _parasitism(answer)
    lines += _background(answer)
    lines += _learned(answer)
    if answer.get("cautions"):
        lines += page.heading("Mind")
        lines += page.bullets(answer["cautions"])
    if sources:
        lines += page.fact_lines(answer.get("facts", ()))
    lines += ["", *page.evidence_line(answer.get("evidence_weakest"))]
    if not sources:
        lines += page.fact_count(answer.get("facts", ()))
    return "\n".join(lines)
