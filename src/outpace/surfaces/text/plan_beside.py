"""What is shown beside a plan, as text: what else could be done, and the rates that others go by."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby

from outpace.language import say
from outpace.measures import per_area, rate_figure
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

COMMANDS = {
    "course": "outpace course",
    "enemies": "outpace enemies",
    "bankers": "outpace banker plan",
    "standing": "outpace order open",
    "dear": "outpace plan --others",
}
"""The command behind each line that stands beside the packs."""


def span(low: str, high: str) -> str:
    """Return a range, or its one figure where both ends read the same.

    Examples
    --------
    >>> span("4", "4"), span("0.5", "2")
    ('4', '0.5 to 2')
    """
    return low if low == high else say("{low} to {high}", low=low, high=high)


def also_lines(answer: Answer) -> list[str]:
    """Return what bears on the plan beside its packs, a line each with the command that tells more."""
    lines: list[str] = []
    for item in answer.get("also", ()):
        command = COMMANDS.get(item["topic"], "")
        if item["topic"] in ("course", "enemies"):
            command += f' "{item["house"]}"'
        lines += page.fold(f"{item['text']} `{command}`", first="  - ", rest="    ")
    return lines


def instead_lines(answer: Answer) -> list[str]:
    """Return what else could be done, a table a house: cost, chance, crop-days above the level, hours, then what."""
    currency = answer["cost"]["currency"]
    lines: list[str] = []
    for house, group in groupby(answer.get("instead", ()), key=lambda one: one["house"]):
        rows = list(group)
        lines += page.fold(house, first="  ")
        if len(rows) == 1 and not rows[0]["cost"]:
            lines += page.fold(
                say(
                    "the plan is to buy nothing: chance above your level {chance}, {days} crop-days above it",
                    chance=page.chance(rows[0]["chance_ever_above"]),
                    days=page.figure(rows[0]["days_above"]),
                ),
                first="    ",
            )
            continue
        lost = any("loss" in one for one in rows)
        heads = (currency, say("lost")) if lost else (currency,)
        table = [(*heads, say("above"), say("days"), say("h"), say("what"))]
        table += [
            (
                say("not told") if one["cost"] is None else f"{one['cost']:,.2f}",
                *((f"{one['loss']:,.2f}" if "loss" in one else "",) if lost else ()),
                page.chance(one["chance_ever_above"]),
                page.figure(one["days_above"]),
                say("not told") if one["hours"] is None else page.figure(one["hours"]),
                one["what"],
            )
            for one in rows
        ]
        lines += page.columns(table, indent="    ", right=tuple(range(len(table[0]) - 1)))
    if lines:
        lines += page.fold(
            say(
                "above: chance of going above your level; days: expected crop-days above it; h: hours of work."
            ),
            first="  ",
        )
    return lines


def rule_lines(answer: Answer) -> list[str]:
    """Return the trade's calendar for each house, with its range, cost, chance and source."""
    lines: list[str] = []
    currency = answer["cost"]["currency"]
    for house, rule in answer.get("rule_of_thumb", {}).items():
        if not isinstance(rule, Mapping) or rule.get("text"):
            text = rule["text"] if isinstance(rule, Mapping) else rule
            lines += page.fold(f"{house}: {text}", first="  ", rest="    ")
            continue
        lines += page.fold(
            say(
                "{house}: {enemy}, {use}, {rate} {per}, every {interval_d} days, {releases} times{cost}{chance} "
                "({cited})",
                house=house,
                enemy=page.name(rule.get("enemy")),
                use=say(rule.get("use", "")),
                rate=span(rate_figure(rule.get("low_per_m2")), rate_figure(rule.get("high_per_m2"))),
                per=per_area(),
                interval_d=page.figure(rule.get("interval_d")),
                releases=page.figure(rule.get("releases")),
                cost=rule_cost(rule, currency),
                chance=rule_chance(rule),
                cited=cited(rule),
            ),
            first="  ",
            rest="    ",
        )
    return lines


def rule_cost(rule: Answer, currency: str) -> str:
    """Return what the calendar costs from its low to its high end; nothing where that is not known."""
    if rule.get("low_cost") is None or rule.get("high_cost") is None:
        return ""
    return ", " + span(page.money(rule["low_cost"], currency), page.money(rule["high_cost"], currency))


def rule_chance(rule: Answer) -> str:
    """Return the chance of going above the level at both ends of the calendar; nothing where that is not known."""
    if rule.get("low_chance") is None or rule.get("high_chance") is None:
        return ""
    both = span(page.chance(rule["high_chance"]), page.chance(rule["low_chance"]))
    return say("; chance above your level {both}", both=both)


def cited(row: Answer) -> str:
    """Return how well a rate is known and who gives it; practice without a source says so once.

    Examples
    --------
    >>> cited({"evidence": "seller", "source": "a leaflet"}), cited({"evidence": "practice", "source": ""})
    ('seller: a leaflet', 'common practice, no source')
    """
    evidence, source = row.get("evidence") or "practice", row.get("source") or ""
    none = say("common practice, no source")
    if evidence == "practice" and source in ("", none):
        return none
    return f"{say(evidence)}: {source}" if source else say(evidence)


def rate_lines(answer: Answer) -> list[str]:
    """Return every rate that is published, sold with or practised, with where it is from."""
    lines: list[str] = []
    rates = answer.get("rates", ())
    for other in (False, True):
        found = [rate for rate in rates if bool(rate.get("against")) is other]
        if found and other:
            lines += page.fold(say("Enemies that no plan is made with:"), first="  ")
        for rate in found:
            lines += page.fold(rate_line(rate), first="  ", rest="    ")
    return lines


def rate_line(rate: Answer, enemy: str | None = None) -> str:
    """Return one rate: whose, for what use, how many per m² or plant, how often, from where."""
    often = "" if rate["interval_d"] is None else say(", every {n} days", n=rate["interval_d"])
    times = "" if rate["releases"] is None else say(" × {n}", n=rate["releases"])
    note = f"; {rate['note']}" if rate["note"] else ""
    by_plant = rate.get("per") == "plant"
    shown = page.figure if by_plant else rate_figure
    return say(
        "{enemy}, {use}: {rate} {per}{often}{times} ({cited}{note})",
        enemy=enemy or page.name(rate["enemy"]),
        use=say("{use} against {pest}", use=say(rate["use"]), pest=say(rate["against"]))
        if rate.get("against")
        else say(rate["use"]),
        rate=span(shown(rate["low_per_m2"]), shown(rate["high_per_m2"])),
        per=say("per plant") if by_plant else per_area(),
        often=often,
        times=times,
        cited=cited(rate),
        note=note,
    )


def search_lines(answer: Answer) -> list[str]:
    """Return how the plan was searched for and what is not proved of it."""
    told = (answer.get("search") or {}).get("text")
    return page.fold(told[:1].upper() + told[1:] + ".", first="  ") if told else []
