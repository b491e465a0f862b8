"""What to buy and let go, as text."""

from __future__ import annotations

from collections.abc import Mapping

from outpace.surfaces.text import page
from outpace.surfaces.text.order import waiting_text
from outpace.surfaces.text.page import Answer


def sentence(answer: Answer) -> str:
    """Return the one sentence: a verb, a day, a number."""
    if answer.get("sentence"):
        return str(answer["sentence"])
    firm = [decision for decision in answer["decisions"] if not decision["provisional"]]
    if firm:
        first = min(firm, key=lambda decision: str(decision["delivery_date"]))
        noun = "pack" if first["packs"] == 1 else "packs"
        return (
            f"Buy {first['packs']} {noun} of {page.name(first['enemy'])} for delivery on "
            f"{page.day(first['delivery_date'])}."
        )
    if answer["infeasible"]:
        house = answer["infeasible"][0]
        return (
            f"Act by hand on {page.day(answer['as_of'])}: no release plan holds {house['house']}, "
            f"least risk {page.chance(house['least_risk'])}."
        )
    return f"Buy nothing on {page.day(answer['as_of'])}: 0 packs are due before the next cut-off."


def _decision_lines(answer: Answer) -> list[str]:
    lines: list[str] = []
    for decision in answer["decisions"]:
        later = " (provisional: decide after the next walk)" if decision["provisional"] else ""
        noun = "pack" if decision["packs"] == 1 else "packs"
        part = decision["number"] < decision["packs"] * decision["pack_size"]
        lines += page.fold(
            f"{decision['house']}, {page.zone(decision.get('zone'))}: "
            f"{page.figure(decision['number']) + ' out of ' if part else ''}"
            f"{page.figure(decision['packs'])} {noun} of "
            f"{page.name(decision['enemy'])}, {page.figure(decision['pack_size'])} "
            f"{decision.get('form') or ''} each, from "
            f"{decision['supplier']}, delivery {page.day(decision['delivery_date'])}{later}",
            first="  ",
            rest="    ",
        )
    return lines


def _risk_lines(answer: Answer) -> list[str]:
    risks, fate = answer["chance_ever_above"], answer.get("not_preventable", {})
    lines: list[str] = []
    for house, risk in risks.items():
        lines += page.fold(
            f"{house}: {page.chance(risk)} ({page.such_houses(risk or 0.0)}); before that day, which no "
            f"release can prevent: {page.chance(fate.get(house))}",
            first="  ",
            rest="    ",
        )
    return lines


def _infeasible_lines(answer: Answer) -> list[str]:
    lines: list[str] = []
    for house in answer["infeasible"]:
        currency = answer["cost"]["currency"]
        cost = f" for {page.money(house['cost'], currency)}" if house.get("cost") is not None else ""
        why = f" ({house['why']})" if house.get("why") else ""
        lines += page.heading(
            f"No release plan holds {house['house']}{why}: the least risk in reach is "
            f"{page.chance(house['least_risk'])}{cost}. Today, without a delivery:"
        )
        lines += page.bullets(house.get("today", ()))
    return lines


def _frontier_lines(answer: Answer) -> list[str]:
    lines: list[str] = []
    currency = answer["cost"]["currency"]
    for point in answer.get("frontier", ()):
        if not isinstance(point, Mapping):
            continue
        risk = point.get("chance_ever_above", point.get("risk"))
        if isinstance(risk, Mapping) and list(risk) == [point.get("house")]:
            told = page.chance(risk[point["house"]])
        elif isinstance(risk, Mapping):
            told = ", ".join(f"{house} {page.chance(value)}" for house, value in risk.items())
        else:
            told = page.chance(risk)
        house = f"{point['house']}: " if point.get("house") else ""
        what = point.get("text") or point.get("what") or ""
        if not what and point.get("packs") is not None:
            what = f"{page.figure(point['packs'])} packs"
        lines += page.fold(
            f"{house}{page.money(point['cost'], currency)}: {what}; chance above your level {told}",
            first="  ",
            rest="    ",
        )
    return lines


def _rule_lines(answer: Answer) -> list[str]:
    lines: list[str] = []
    currency = answer["cost"]["currency"]
    for house, rule in answer.get("rule_of_thumb", {}).items():
        if not isinstance(rule, Mapping):
            lines += page.fold(f"{house}: {rule}", first="  ", rest="    ")
            continue
        if rule.get("text"):
            lines += page.fold(f"{house}: {rule['text']}", first="  ", rest="    ")
            continue
        cost = ""
        if rule.get("low_cost") is not None and rule.get("high_cost") is not None:
            cost = f", {page.money(rule['low_cost'], currency)} to {page.money(rule['high_cost'], currency)}"
        lines += page.fold(
            f"{house}: {page.name(rule.get('enemy'))}, {rule.get('use', '')}, "
            f"{page.figure(rule.get('low_per_m2'))} to {page.figure(rule.get('high_per_m2'))} per m², "
            f"every {page.figure(rule.get('interval_d'))} days, "
            f"{page.figure(rule.get('releases'))} times{cost}{_rule_chance(rule)} "
            f"({rule.get('evidence', 'practice')}, {rule.get('source', 'no source')})",
            first="  ",
            rest="    ",
        )
    return lines


def _rule_chance(rule: Answer) -> str:
    if rule.get("low_chance") is None or rule.get("high_chance") is None:
        return ""
    return (
        f"; chance above your level {page.chance(rule['high_chance'])} to {page.chance(rule['low_chance'])}"
    )


def _tie_text(tie: object) -> str:
    if isinstance(tie, Mapping):
        house = f"{tie['house']}: " if tie.get("house") else ""
        return f"{house}{tie.get('text') or tie.get('what') or ''}"
    return str(tie)


def render(answer: Answer, *, others: bool = False, sources: bool = False) -> str:
    """Return the answer of ``outpace plan`` in lines of at most 80 columns.

    With ``others`` also dearer and cheaper plans, ties and the rule of thumb; with ``sources`` the figures.
    """
    lines = page.fold(sentence(answer))
    cost = answer["cost"]
    if answer["decisions"]:
        lines += page.heading("Buy")
        lines += _decision_lines(answer)
    total = sum(cost.get(part) or 0.0 for part in ("packs", "freight", "labour"))
    lines += page.heading(
        f"Cost {page.money(total, cost['currency'])}: packs {page.money(cost['packs'], cost['currency'])}, "
        f"freight {page.money(cost['freight'], cost['currency'])}, "
        f"labour {page.money(cost['labour'], cost['currency'])}."
    )
    if answer["chance_ever_above"]:
        lines += page.heading(
            "Chance of being above your level on any day, with this plan, from the first day an order can "
            f"act to {page.figure(answer['horizon_d'])} days on"
        )
        lines += _risk_lines(answer)
    lines += _infeasible_lines(answer)
    if answer.get("waiting"):
        lines += page.heading("Buy nothing yet for")
        lines += page.bullets(waiting_text(item) for item in answer["waiting"])
    mind = [*answer.get("scenario", ()), *answer.get("cautions", ())]
    if mind:
        lines += [*page.heading("Mind"), *page.bullets(mind)]
    if others:
        for title, found in (
            ("Cheaper and dearer plans", _frontier_lines(answer)),
            ("As good as each other", page.bullets(_tie_text(tie) for tie in answer.get("ties", ()))),
            ("The rule of thumb", _rule_lines(answer)),
        ):
            if found:
                lines += [*page.heading(title), *found]
    else:
        lines += ["", "Other plans, ties and the rule of thumb: `outpace plan --others`"]
    if sources:
        lines += page.fact_lines(answer.get("facts", ()))
    lines += ["", *page.evidence_line(answer.get("evidence_weakest"))]
    if not sources:
        lines += page.fact_count(answer.get("facts", ()))
    return "\n".join(lines).rstrip("\n")
