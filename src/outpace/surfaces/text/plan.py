"""What to buy and let go, as text."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from outpace.language import say, say_many
from outpace.surfaces import wording
from outpace.surfaces.text import page, plan_beside
from outpace.surfaces.text.order import waiting_text
from outpace.surfaces.text.page import Answer


def sentence(answer: Answer) -> str:
    """Return the one sentence: a verb, a day, a number."""
    if answer.get("sentence"):
        return str(answer["sentence"])
    firm = [decision for decision in answer["decisions"] if not decision["provisional"]]
    if firm:
        first = min(firm, key=lambda decision: str(decision["delivery_date"]))
        return say_many(
            "Buy {n} pack of {enemy} for delivery on {delivery_date}.",
            "Buy {n} packs of {enemy} for delivery on {delivery_date}.",
            first["packs"],
            enemy=page.name(first["enemy"]),
            delivery_date=page.day(first["delivery_date"]),
        )
    if answer["infeasible"]:
        house = answer["infeasible"][0]
        return say(
            "Act by hand on {as_of}: no release plan holds {house}, least risk {least_risk}.",
            as_of=page.day(answer["as_of"]),
            house=house["house"],
            least_risk=page.chance(house["least_risk"]),
        )
    return say(
        "Buy nothing on {as_of}: 0 packs are due before the next cut-off.", as_of=page.day(answer["as_of"])
    )


def _decision_lines(decisions: Iterable[Answer]) -> list[str]:
    lines: list[str] = []
    for decision in decisions:
        later = ""
        if decision.get("release_date", decision["delivery_date"]) != decision["delivery_date"]:
            later = say(", let go {day}", day=page.day(decision["release_date"]))
        part = decision["number"] < decision["packs"] * decision["pack_size"]
        lines += page.fold(
            say_many(
                "{house}, {zone}: {number}{n} pack of {enemy}, {pack_size} {form} each, from {supplier}, "
                "delivery {delivery_date}{later}",
                "{house}, {zone}: {number}{n} packs of {enemy}, {pack_size} {form} each, from {supplier}, "
                "delivery {delivery_date}{later}",
                decision["packs"],
                house=decision["house"],
                zone=page.zone(decision.get("zone")),
                number=page.figure(decision["number"]) + say(" out of ") if part else "",
                enemy=page.name(decision["enemy"]),
                pack_size=page.figure(decision["pack_size"]),
                form=say(decision.get("form") or ""),
                supplier=decision["supplier"],
                delivery_date=page.day(decision["delivery_date"]),
                later=later,
            ),
            first="  ",
            rest="    ",
        )
    return lines


def _buy_lines(answer: Answer) -> list[str]:
    """Return what is due before the next cut-off, and apart from it what is decided after the next walk."""
    lines: list[str] = []
    for title, provisional in (
        (say("Buy now"), False),
        (say("Later, provisional: decide after the next walk"), True),
    ):
        found = [one for one in answer["decisions"] if bool(one["provisional"]) is provisional]
        if found:
            lines += [*page.heading(title), *_decision_lines(found)]
    return lines


def _risk_lines(answer: Answer) -> list[str]:
    risks, fate = answer["chance_ever_above"], answer.get("not_preventable", {})
    lines: list[str] = []
    for house, risk in risks.items():
        lines += page.fold(
            say(
                "{house}: {risk} ({risk2}); before that day, which no release can prevent: {fate}",
                house=house,
                risk=page.chance(risk),
                risk2=page.such_houses(risk or 0.0),
                fate=page.chance(fate.get(house)),
            ),
            first="  ",
            rest="    ",
        )
    return lines


def _infeasible_lines(answer: Answer) -> list[str]:
    lines: list[str] = []
    for house in answer["infeasible"]:
        currency = answer["cost"]["currency"]
        cost = (
            say(" for {cost}", cost=page.money(house["cost"], currency))
            if house.get("cost") is not None
            else ""
        )
        why = f" ({house['why']})" if house.get("why") else ""
        lines += page.heading(
            say(
                "No release plan holds {house}{why}: the least risk in reach is {least_risk}{cost}. Today, "
                "without a delivery:",
                house=house["house"],
                why=why,
                least_risk=page.chance(house["least_risk"]),
                cost=cost,
            )
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
            what = say("{packs} packs", packs=page.figure(point["packs"]))
        lines += page.fold(
            say(
                "{house}{cost}: {what}; chance above your level {told}",
                house=house,
                cost=page.money(point["cost"], currency),
                what=what,
                told=told,
            ),
            first="  ",
            rest="    ",
        )
    return lines


def _tie_text(tie: object) -> str:
    if isinstance(tie, Mapping):
        house = f"{tie['house']}: " if tie.get("house") else ""
        return f"{house}{tie.get('text') or tie.get('what') or ''}"
    return str(tie)


def render(answer: Answer, *, others: bool = False, sources: bool = False) -> str:
    """Return the answer of ``outpace plan`` in lines of at most 80 columns.

    With ``others`` also what else could be done, ties, the rule of thumb and all rates; with ``sources`` the figures.
    """
    lines = page.fold(sentence(answer))
    cost = answer["cost"]
    lines += _buy_lines(answer)
    total = sum(cost.get(part) or 0.0 for part in ("packs", "freight", "labour"))
    lines += page.heading(
        say(
            "Cost {total}: packs {packs}, freight {freight}, labour {labour}.",
            total=page.money(total, cost["currency"]),
            packs=page.money(cost["packs"], cost["currency"]),
            freight=page.money(cost["freight"], cost["currency"]),
            labour=page.money(cost["labour"], cost["currency"]),
        )
    )
    if answer["chance_ever_above"]:
        lines += page.heading(
            say(
                "Chance of being above your level on any day, with this plan, from the first day an order "
                "can act to {horizon_d} days on",
                horizon_d=page.figure(answer["horizon_d"]),
            )
        )
        lines += _risk_lines(answer)
    lines += _infeasible_lines(answer)
    if answer.get("waiting"):
        lines += page.heading(say("Buy nothing yet for"))
        lines += page.bullets(waiting_text(item) for item in answer["waiting"])
    also = plan_beside.also_lines(answer)
    if also:
        lines += [*page.heading(say("Beside the packs")), *also]
    mind = [*answer.get("scenario", ()), *wording.minded(answer, whole=sources)]
    if mind:
        lines += [*page.heading(say("Mind")), *page.bullets(mind)]
    if others:
        for title, found in (
            (
                say("What else could be done, each house ordering by itself"),
                plan_beside.instead_lines(answer),
            ),
            (say("Cheaper and dearer plans"), _frontier_lines(answer)),
            (say("As good as each other"), page.bullets(_tie_text(tie) for tie in answer.get("ties", ()))),
            (say("The rule of thumb beside it"), plan_beside.rule_lines(answer)),
            (say("Release rates of others, each time"), plan_beside.rate_lines(answer)),
            (say("How the plan was searched for"), plan_beside.search_lines(answer)),
        ):
            if found:
                lines += [*page.heading(title), *found]
    else:
        line = say("Waiting, half, double, spots, nothing, and the rule of thumb: `outpace plan --others`")
        lines += ["", *page.fold(line)]
    if sources:
        lines += page.fact_lines(answer.get("facts", ()))
    lines += ["", *page.evidence_line(answer.get("evidence_weakest"))]
    if not sources:
        lines += page.fact_count(answer.get("facts", ()))
    return "\n".join(lines).rstrip("\n")
