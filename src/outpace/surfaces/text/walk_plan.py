"""How to walk a house, and whether a walk may stop, as text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

PASSES = 3
"""So many passes are shown unless all are asked for."""
DENSITIES = (0.1, 0.25, 0.5, 1.0, 2.0, 10.0)
"""Multiples of the level shown; the answer itself has more."""


def adds_up(rule: Mapping[str, Any], answer: Answer) -> str:
    """Return what the running total of a rule counts."""
    if rule["adds_up"] == "aphids":
        return "all live aphids"
    more = rule["more_than"]
    units = {"leaf": "leaves", "shoot": "shoots", "plant": "plants"}[answer["unit"]]
    return f"{units} with {'any' if not more else f'more than {more}'} live aphids"


def looks_at(answer: Answer) -> str:
    """Return what to look at on each plant."""
    return "the whole plant" if answer["unit"] == "plant" else f"one {answer['unit']} a plant"


def level_of(answer: Answer) -> str:
    """Return the action level with what it counts by."""
    level = answer["level"]
    if level["unit"] == "share_infested":
        return f"{page.share(level['value'])} of plants infested"
    return f"{page.figure(level['value'])} per {level['unit']}"


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
        f"{stand['looked_at']} looked at, total {stand['total']} ({adds_up(rule, answer)}).", first="  "
    )
    if stand["passed_over"]:
        lines += page.fold(
            f"It could have stopped there: {stand['passed_over']} more were looked at. Keep them in the book.",
            first="  ",
        )
    if stand["end"] == "on":
        lines += page.fold(
            f"If it goes on as so far: about {stand['as_so_far_more']} more, {stand['at_most_more']} at most.",
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
        f"{answer['house']} ({page.name(answer['crop'])}): {page.name(answer['pest'])}, your level "
        f"{level_of(answer)}{'' if level['told'] else ', provisional'}"
    )
    lines += page.fold(
        f"Look at {looks_at(answer)}. Rows are counted from the door, plants from the path. Each pass goes "
        "through the whole house.",
        first="  ",
    )
    lines += _way(answer, whole)
    for number, rule in enumerate(answer["rules"]):
        lines += _rule(answer, rule, first=number == 0)
    lines += _precision(answer)
    lines += _clumping(answer)
    lines += page.heading("Mind")
    lines += page.bullets(answer["cautions"])
    lines += ["", *page.evidence_line(answer.get("evidence_weakest"))]
    return "\n".join(lines)


def _way(answer: Answer, whole: bool) -> list[str]:
    rule = answer["rules"][0]
    lines = page.heading(f"The way (total: {adds_up(rule, answer)})")
    lines.append("   no  zone                  row  plant  found  total  stop low  stop high")
    shown = answer["passes"] if whole else answer["passes"][:PASSES]
    for number, looks in enumerate(shown, 1):
        back = ", going back" if number % 2 == 0 else ""
        lines.append(f"  pass {number}{back}")
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
        lines += page.fold(f"and {more} more: `--all` shows them", first="  ")
    return lines


def _rule(answer: Answer, rule: Mapping[str, Any], *, first: bool) -> list[str]:
    title = "This rule, exactly" if first else f"If you only mark {adds_up(rule, answer)}"
    lines = page.heading(
        f"{title}: {page.figure(rule['mean_looks'])} plants on average, {page.chance(rule['saved'])} saved "
        f"against {rule['most']}"
    )
    rows: list[tuple[str, str, str, str]] = [
        ("true density", "called low", "called high", "plants looked at")
    ]
    for found in rule["characteristic"]:
        if found["times_level"] in DENSITIES:
            rows.append(
                (
                    f"{found['times_level']:g} x level",
                    page.chance(found["calls_low"]),
                    page.chance(found["calls_high"]),
                    page.figure(found["mean_looks"]),
                )
            )
    lines += page.columns(rows)
    worst = rule["worst"]
    lines += page.fold(
        f"Most plants at {worst['times_level']:g} x level: {page.figure(worst['mean_looks'])} on average. "
        f"Called wrongly at most {page.chance(rule['wrong'])}"
        + (
            f", {page.chance(rule['wrong_if_more_clumped'])} if aphids vary twice as much between plants."
            if rule["wrong_if_more_clumped"] is not None
            else "."
        ),
        first="  ",
    )
    if not first:
        shown = [n for n in range(rule["least"], rule["most"] + 1) if (n - rule["least"]) % 10 == 0]
        stops = []
        for n in shown:
            low, high = limits(rule, n)
            stops.append(f"{n}: {'≤ ' + low if low else 'none'} or ≥ {high}")
        lines += page.fold("Stop at " + "; ".join(stops), first="  ", rest="    ")
    return lines


def _precision(answer: Answer) -> list[str]:
    precision = answer.get("precision")
    if not precision or not precision["green"]:
        return []
    rule = answer["rules"][0]
    least = rule["least"]
    lines = page.heading(
        f"If you want the mean itself, to within {page.chance(precision['standard_error_over_mean'])} "
        "(standard error)"
    )
    for name, label in (("green", "Green"), ("kuno", "Kuno, own walks")):
        totals = precision[name]
        if totals:
            shown = [
                f"{totals[at]:,} aphids on {least + at}"
                for at in range(0, len(totals), 10)
                if totals[at] is not None
            ]
            lines += page.fold(
                f"{label}: stop at {', '.join(shown)}" if shown else f"{label}: not within {rule['most']}",
                first="  ",
                rest="    ",
            )
    return lines


def _clumping(answer: Answer) -> list[str]:
    clumping = answer.get("clumping")
    if not clumping:
        return []
    lines = page.heading(
        f"How clumped they are (variance = a x mean^b); k {clumping['k_at_level']} at your level"
    )
    for name in ("prior", "own", "used"):
        law = clumping[name]
        told = (
            f"a {law['a']:g} ({law['a_low']:g} to {law['a_high']:g}), b {law['b']:g} ({law['b_low']:g} to "
            f"{law['b_high']:g})"
            if law
            else "too few finds on own walks"
        )
        lines += page.fold(f"{name}: {told}", first="  ")
    lines += page.fold(
        f"own walks with finds: {clumping['walks']}, units on them: {clumping['units']}", first="  "
    )
    return lines
