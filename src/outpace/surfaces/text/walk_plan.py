"""How to walk a house, and whether a walk may stop, as text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from outpace.language import say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

PASSES = 3
"""So many passes are shown unless all are asked for."""
DENSITIES = (0.1, 0.25, 0.5, 1.0, 2.0, 10.0)
"""Multiples of the level shown; the answer itself has more."""


def adds_up(rule: Mapping[str, Any], answer: Answer) -> str:
    """Return what the running total of a rule counts."""
    if rule["adds_up"] == "aphids":
        return say("all live aphids")
    more = rule["more_than"]
    units = say({"leaf": "leaves", "shoot": "shoots", "plant": "plants"}[answer["unit"]])
    if not more:
        return say("{units} with any live aphids", units=units)
    return say("{units} with more than {more} live aphids", units=units, more=more)


def looks_at(answer: Answer) -> str:
    """Return what to look at on each plant."""
    return (
        say("the whole plant")
        if answer["unit"] == "plant"
        else say("one {unit} a plant", unit=say(answer["unit"]))
    )


def level_of(answer: Answer) -> str:
    """Return the action level with what it counts by."""
    level = answer["level"]
    if level["unit"] == "share_infested":
        return say("{value} of plants infested", value=page.share(level["value"]))
    return say("{value} per {unit}", value=page.figure(level["value"]), unit=say(level["unit"]))


def limits(rule: Mapping[str, Any], number: int) -> tuple[str, str]:
    """Return the totals at which a walk may stop after so many looks: low and high, empty before the fewest."""
    at = number - rule["least"]
    if at < 0 or at >= len(rule["high_at_or_over"]):
        return "", ""
    low = rule["low_at_or_under"][at]
    return ("" if low is None else str(low)), str(rule["high_at_or_over"][at])


def stand_lines(answer: Answer) -> list[str]:
    """Return where a walk stands that is being made."""
    stand = answer["stand"]
    rule = answer["rules"][0]
    lines = page.fold(
        say(
            "{looked_at} looked at, total {total} ({rule}).",
            looked_at=stand["looked_at"],
            total=stand["total"],
            rule=adds_up(rule, answer),
        ),
        first="  ",
    )
    if stand["passed_over"]:
        lines += page.fold(
            say(
                "It could have stopped there: {passed_over} more were looked at. Keep them in the book.",
                passed_over=stand["passed_over"],
            ),
            first="  ",
        )
    if stand["end"] == "on":
        lines += page.fold(
            say(
                "If it goes on as so far: about {as_so_far_more} more, {at_most_more} at most.",
                as_so_far_more=stand["as_so_far_more"],
                at_most_more=stand["at_most_more"],
            ),
            first="  ",
        )
    return lines


def render_stop(answer: Answer) -> str:
    """Return the answer of ``outpace walk stop``."""
    return "\n".join([*page.fold(answer["sentence"]), *stand_lines(answer)])


def render(answer: Answer, *, whole: bool = False) -> str:
    """Return the answer of ``outpace walk plan HOUSE`` in lines of at most 80 columns."""
    level = answer["level"]
    lines = page.fold(answer["sentence"])
    if answer["stand"] is not None:
        lines += stand_lines(answer)
    lines += page.heading(
        say(
            "{house} ({crop}): {pest}, your level {answer}{value}",
            house=answer["house"],
            crop=page.name(answer["crop"]),
            pest=page.name(answer["pest"]),
            answer=level_of(answer),
            value="" if level["told"] else say(", provisional"),
        )
    )
    lines += page.fold(
        say(
            "Look at {answer}. Rows are counted from the door, plants from the path. Each pass goes "
            "through the whole house.",
            answer=looks_at(answer),
        ),
        first="  ",
    )
    lines += _way(answer, whole)
    for number, rule in enumerate(answer["rules"]):
        lines += _rule(answer, rule, first=number == 0)
    lines += _precision(answer)
    lines += _clumping(answer)
    lines += page.heading(say("Mind"))
    lines += page.bullets(answer["cautions"])
    lines += ["", *page.evidence_line(answer.get("evidence_weakest"))]
    return "\n".join(lines)


def _way(answer: Answer, whole: bool) -> list[str]:
    rule = answer["rules"][0]
    lines = page.heading(say("The way (total: {rule})", rule=adds_up(rule, answer)))
    lines.append(say("   no  zone                  row  plant  found  total  stop low  stop high"))
    shown = answer["passes"] if whole else answer["passes"][:PASSES]
    for number, looks in enumerate(shown, 1):
        back = say(", going back") if number % 2 == 0 else ""
        lines.append(say("  pass {number}{back}", number=number, back=back))
        for look in looks:
            sample = look["kind"] == "sample"
            low, high = limits(rule, look["no"]) if sample else ("", "")
            told = "   +" if not sample else f"{look['no']:>4}"
            zone = page.plain(look["zone"])
            zone = zone if len(zone) <= 20 else zone[:19] + "…"
            line = f" {told}  {zone:<20}{look['row']:>5}{look['plant']:>7}  .....  "
            line += "     " if not sample else "....."
            line += f"{'≤ ' + low if low else '':>10}{'≥ ' + high if high else '':>11}"
            lines.append(line.rstrip())
    more = sum(look["no"] > 0 for looks in answer["passes"][len(shown) :] for look in looks)
    if more:
        lines += page.fold(say("and {more} more: `--all` shows them", more=more), first="  ")
    return lines


def _rule(answer: Answer, rule: Mapping[str, Any], *, first: bool) -> list[str]:
    title = say("This rule, exactly") if first else say("If you only mark {rule}", rule=adds_up(rule, answer))
    lines = page.heading(
        say(
            "{title}: {mean_looks} plants on average, {saved} saved against {most}",
            title=title,
            mean_looks=page.figure(rule["mean_looks"]),
            saved=page.chance(rule["saved"]),
            most=rule["most"],
        )
    )
    rows: list[tuple[str, str, str, str]] = [
        (say("true density"), say("called low"), say("called high"), say("plants looked at"))
    ]
    for found in rule["characteristic"]:
        if found["times_level"] in DENSITIES:
            rows.append(
                (
                    say("{times_level:g} x level", times_level=found["times_level"]),
                    page.chance(found["calls_low"]),
                    page.chance(found["calls_high"]),
                    page.figure(found["mean_looks"]),
                )
            )
    lines += page.columns(rows)
    worst = rule["worst"]
    lines += page.fold(
        say(
            "Most plants at {times_level:g} x level: {mean_looks} on average. Called wrongly at most {wrong}",
            times_level=worst["times_level"],
            mean_looks=page.figure(worst["mean_looks"]),
            wrong=page.chance(rule["wrong"]),
        )
        + (
            say(
                ", {wrong_as_expected} if aphids are clumped as expected.",
                wrong_as_expected=page.chance(rule["wrong_as_expected"]),
            )
            if rule["wrong_as_expected"] is not None
            else "."
        ),
        first="  ",
    )
    if not first:
        shown = [n for n in range(rule["least"], rule["most"] + 1) if (n - rule["least"]) % 10 == 0]
        stops = []
        for n in shown:
            low, high = limits(rule, n)
            stops.append(
                say("{n}: {low} or ≥ {high}", n=n, low="≤ " + low if low else say("none"), high=high)
            )
        lines += page.fold(say("Stop at ") + "; ".join(stops), first="  ", rest="    ")
    return lines


def _precision(answer: Answer) -> list[str]:
    precision = answer.get("precision")
    if not precision or not precision["green"]:
        return []
    rule = answer["rules"][0]
    least = rule["least"]
    lines = page.heading(
        say(
            "If you want the mean itself, to within {standard_error_over_mean} (standard error)",
            standard_error_over_mean=page.chance(precision["standard_error_over_mean"]),
        )
    )
    for name, label in (("green", "Green"), ("kuno", say("Kuno, own walks"))):
        totals = precision[name]
        if totals:
            shown = [
                say("{totals:,} aphids on {least}", totals=totals[at], least=least + at)
                for at in range(0, len(totals), 10)
                if totals[at] is not None
            ]
            lines += page.fold(
                say("{label}: stop at {shown}", label=label, shown=", ".join(shown))
                if shown
                else say("{label}: not within {most}", label=label, most=rule["most"]),
                first="  ",
                rest="    ",
            )
    return lines


def _clumping(answer: Answer) -> list[str]:
    clumping = answer.get("clumping")
    if not clumping:
        return []
    lines = page.heading(
        say(
            "How clumped they are (variance = a x mean^b); k {k_at_level} at your level",
            k_at_level=clumping["k_at_level"],
        )
    )
    for name in ("prior", "own", "used"):
        law = clumping[name]
        told = (
            say(
                "a {a:g} ({a_low:g} to {a_high:g}), b {b:g} ({b_low:g} to {b_high:g})",
                a=law["a"],
                a_low=law["a_low"],
                a_high=law["a_high"],
                b=law["b"],
                b_low=law["b_low"],
                b_high=law["b_high"],
            )
            if law
            else say("too few finds on own walks")
        )
        lines += page.fold(f"{name}: {told}", first="  ")
    lines += page.fold(
        say(
            "own walks with finds: {walks}, units on them: {units}",
            walks=clumping["walks"],
            units=clumping["units"],
        ),
        first="  ",
    )
    return lines
