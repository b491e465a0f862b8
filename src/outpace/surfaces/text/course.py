"""The courses open to a house, as text."""

from __future__ import annotations

from outpace.language import say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render(answer: Answer, *, sources: bool = False) -> str:
    """Return the answer of ``outpace course`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    if answer["scenario"]:
        lines += page.fold(answer["scenario"])
    for row in answer["courses"]:
        lines += _course_lines(answer, row)
    lines += [*page.heading(say("Today, without a delivery")), *page.bullets(answer["today"])]
    if answer["cautions"]:
        lines += [*page.heading(say("Mind")), *page.bullets(answer["cautions"])]
    if sources:
        lines += page.fact_lines(answer["facts"])
    lines += ["", *page.evidence_line(answer["evidence_weakest"])]
    if not sources:
        lines += page.fact_count(answer["facts"])
    return "\n".join(lines)


def _course_lines(answer: Answer, row: Answer) -> list[str]:
    mark = ""
    if row["course"] == answer["best"]:
        mark = say(" (chosen)")
    elif row["course"] in answer["ties"]:
        mark = say(" (as good, by what is known)")
    lines = page.heading(f"{row['name'][:1].upper()}{row['name'][1:]}{mark}")

    def tell(text: str) -> None:
        lines.extend(page.fold(text, first="  ", rest="    "))

    if not row["possible"]:
        tell(say("Not open: {why}.", why=row["why_not"]))
        return lines
    currency = answer["currency"]
    tell(money_line(row, currency))
    chances = say(
        "Chance above your level on a day to {day}: {chance}. To end well: {well}.",
        day=page.day(answer["until"]),
        chance=page.chance(row["chance_ever_above"]),
        well=page.chance(row["ends_well"]),
    )
    tell(chances)
    for line in detail_lines(row, currency):
        tell(line)
    return lines


def money_line(row: Answer, currency: str) -> str:
    """Return what a course costs, and what it and the aphids cost together where that is known."""
    if row["money"] is None:
        text = say("Costs: not told ({what}).", what=", ".join(row["unpriced"]))
    else:
        text = say("Costs {money}.", money=page.money(row["money"], currency))
        if row["unpriced"]:
            text += " " + say("Not in it, since not told: {what}.", what=", ".join(row["unpriced"]))
    if row["minutes"]:
        text += " " + say("Work: {hours:.1f} hours.", hours=row["minutes"] / 60)
    if row["expected_cost"] is not None:
        text += " " + say(
            "With the crop that is lost: {money} expected.",
            money=page.money(row["expected_cost"], currency),
        )
    return text


def detail_lines(row: Answer, currency: str) -> list[str]:
    """Return what is bought, treated, spared, waited for and destroyed in a course, a line each."""
    told = [
        say(
            "Order by {cutoff}: {packs} x {size} {enemy} from {supplier}, for {day}.",
            cutoff=page.moment(buy["cutoff"]),
            packs=buy["packs"],
            size=page.figure(buy["pack_size"]),
            enemy=page.name(buy["enemy"]),
            supplier=buy["supplier"],
            day=page.day(buy["delivery_date"]),
        )
        for buy in row["buys"]
    ]
    if row["plants"] is not None:
        told.append(say("Reckoned with {n} plants, the worst that are found.", n=row["plants"]))
    if row["against_waiting"] is not None:
        told.append(row["against_waiting"]["words"])
    if row["waits"] is not None:
        told.append(waits_line(row["waits"]))
    if row["not_entered"]:
        told.append(
            say(
                "Read the label and enter it: {what}. Not entered acts as danger.",
                what=", ".join(row["not_entered"]),
            )
        )
    if row["destroys"] is not None:
        told.append(row["destroys"]["words"])
    return told


def waits_line(waits: Answer) -> str:
    """Return until when nobody enters, picks or releases; what was not entered has no end."""

    def until(name: str) -> str:
        moment = None if waits[name] is None else waits[name]["until"]
        return say("the label is read") if moment is None else page.moment(moment)

    text = say(
        "Keep out until {enter}; do not pick until {pick}; release nothing until {release}.",
        enter=until("enter"),
        pick=until("pick"),
        release=until("release"),
    )
    if waits["bees"] is not None and waits["bees"]["until"] is None:
        text += " " + say("Hive closed or out: until when?")
    return text
