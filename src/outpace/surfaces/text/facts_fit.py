"""What a trial of development or of feeding tells, as text."""

from __future__ import annotations

from collections.abc import Sequence

from outpace.language import say, say_many, to_say
from outpace.measures import degree_sign, degrees, name_of_unit, of_unit, temperature
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

UNITS = {
    "d-1": to_say("per day"),
    "d": "days",
    "J mol-1": "J/mol",
    "1": "",
    "d-1 degC-2.5": "",
    "d-1 degC-(2 + 1/root)": "",
    "arena d-1": to_say("arenas per day"),
}


SPREAD_OF = {"degC": "degC d"}
"""A spread of temperatures has no zero point: it is converted as degree-days are, by the factor alone."""


def unit_words(unit: str) -> str:
    """Return the unit of a fitted figure as it is read."""
    return name_of_unit(unit) or say(UNITS.get(unit, unit))


def number(value: float | None) -> str:
    """Return a fitted number with four digits.

    Examples
    --------
    >>> [number(x) for x in (3.52412, 130.63, 0.000083641, 323290.0, None)]
    ['3.524', '130.6', '8.364e-05', '323300', 'not told']
    """
    if value is None:
        return say("not told")
    shown = f"{value:.4g}"
    return f"{float(shown):.0f}" if 1e4 <= abs(value) < 1e7 else shown


def render(answer: Answer) -> str:
    """Return the answer of ``outpace facts fit`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    domain, feeding = answer["domain"], answer["kind"] == "functional_response"
    unit = unit_words(domain["unit"])
    rows = say(
        "{rows} rows, {low} to {high} {unit}",
        rows=answer["rows"],
        low=number(of_unit(domain["low"], domain["unit"])),
        high=number(of_unit(domain["high"], domain["unit"])),
        unit=unit,
    )
    columns = ", ".join(
        say("{heading} as {field}", heading=heading, field=field.replace("_", " "))
        for heading, field in answer["columns"].items()
    )
    lines += ["", *page.columns([(say("read"), columns), (say("domain"), rows)])]
    if answer["left_out"]:
        lines += page.fold(_left_out(answer["left_out"]), first="  ")
    lines += _line(answer["line"])
    lines += page.heading(
        say("Eaten") if feeding else say("Rates, seen and fitted (the best curve, and the line)")
    )
    lines += _table(answer["table"], feeding)
    lines += page.heading(say("Curves, the best first by AICc; the nearer two are, the less they differ"))
    for fit in answer["fits"]:
        lines += _fit(fit)
    if answer["not_fitted"]:
        lines += page.heading(say("Not fitted"))
        for item in answer["not_fitted"]:
            lines += page.fold(f"{item['title']}: {item['why']}", first="  ", rest="    ")
    if answer["cautions"]:
        lines += page.heading(say("Mind"))
        lines += page.bullets(answer["cautions"])
    if answer["own_facts"]:
        lines += page.heading(say("Among your own facts"))
        lines += page.columns(
            [
                (
                    row["quantity"].replace("_", " "),
                    number(of_unit(row["value"], row["unit"])),
                    f"s.d. {number(of_unit(row['sd'], SPREAD_OF.get(row['unit'], row['unit'])))}"
                    if row["sd"]
                    else "",
                    unit_words(row["unit"]),
                )
                for row in answer["own_facts"]
            ],
            right=(1,),
        )
    lines += ["", *page.fold(answer["how_to"])]
    return "\n".join(lines)


def _left_out(rows: Sequence[Answer]) -> str:
    named = ", ".join(str(row["row"]) for row in rows[:8])
    more = say(" and {rows} more", rows=len(rows) - 8) if len(rows) > 8 else ""
    whys = "; ".join(dict.fromkeys(row["why"] for row in rows))
    return say_many(
        "row {named}{more} left out: {whys}",
        "rows {named}{more} left out: {whys}",
        len(rows),
        named=named,
        more=more,
        whys=whys,
    )


def _line(line: Answer | None) -> list[str]:
    if line is None:
        return []
    span = say(
        "{lowest} to {highest}, {n} rows",
        lowest=degrees(line["lowest_degc"]),
        highest=temperature(line["highest_degc"]),
        n=line["n"],
    )
    rows: list[tuple[str, str]] = []
    for name, unit in (("lower_threshold", "degC"), ("thermal_constant", "degC d")):
        error = line[f"{name}_error"]
        spread = (
            say(", standard error {error}", error=number(of_unit(error, "degC d")))
            if error is not None
            else say(", error not told")
        )
        rows.append(
            (name.replace("_", " "), f"{number(of_unit(line[name], unit))} {unit_words(unit)}{spread}")
        )
    rows.append((say("correlation of the two"), number(line["correlation"])))
    if line["days_at_20_degc"] is not None:
        rows.append((say("days at {warmth}", warmth=temperature(20.0)), number(line["days_at_20_degc"])))
    return [*page.heading(say("The line ({span})", span=span)), *page.columns(rows)]


def _table(table: Sequence[Answer], feeding: bool) -> list[str]:
    if feeding:
        fed = [("offered", "eaten", "trials", "")]
        fed += [(number(row["offered"]), number(row["eaten"]), str(row["n"]), "") for row in table]
        return page.columns(fed, right=(0, 1, 2))
    rows = [(degree_sign(), say("per day"), say("days"), say("curve"), say("line"), say("rows"), "")]
    rows += [
        (
            degrees(row["temperature_degc"], 2),
            f"{row['rate_per_d']:.4f}",
            f"{1 / row['rate_per_d']:.1f}" if row["rate_per_d"] > 0 else "none",
            f"{row['fitted_per_d']:.4f}",
            "" if row["line_per_d"] is None else f"{row['line_per_d']:.4f}",
            str(row["n"]),
            "",
        )
        for row in table
    ]
    return page.columns(rows, right=(0, 1, 2, 3, 4, 5))


def _fit(fit: Answer) -> list[str]:
    aicc = (
        say("AICc not told (too few rows)")
        if fit["aicc"] is None
        else say("AICc {aicc:.1f}", aicc=fit["aicc"])
    )
    delta = say(", {delta:.1f} behind", delta=fit["delta"]) if fit["delta"] else ""
    lines = page.fold(
        say(
            "{title}: AIC {aic:.1f}, {aicc}{delta}",
            title=fit["title"],
            aic=fit["aic"],
            aicc=aicc,
            delta=delta,
        ),
        first="  ",
    )
    rows = []
    for each in fit["parameters"]:
        unit = say(UNITS.get(each["unit"], each["unit"]))
        span = (
            say("{low} to {high}", low=number(each["low"]), high=number(each["high"]))
            if each["low"] is not None
            else say("not told")
        )
        doubt = "" if each["told"] else say(" - not told by these data")
        rows.append(
            (each["name"].replace("_", " "), f"{number(each['value'])} {unit}".strip(), f"{span}{doubt}")
        )
    return lines + page.columns(rows, indent="    ")
