"""What a trial of development or of feeding tells, as text."""

from __future__ import annotations

from collections.abc import Sequence

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

UNITS = {
    "degC": "°C",
    "degC d": "°C d",
    "degC-1": "per °C",
    "d-1": "per day",
    "d": "days",
    "J mol-1": "J/mol",
    "1": "",
    "d-1 degC-2.5": "",
    "d-1 degC-(2 + 1/root)": "",
    "arena d-1": "arenas per day",
}


def number(value: float | None) -> str:
    """Return a fitted number with four digits.

    Examples
    --------
    >>> [number(x) for x in (3.52412, 130.63, 0.000083641, 323290.0, None)]
    ['3.524', '130.6', '8.364e-05', '323300', 'not told']
    """
    if value is None:
        return "not told"
    shown = f"{value:.4g}"
    return f"{float(shown):.0f}" if 1e4 <= abs(value) < 1e7 else shown


def render(answer: Answer) -> str:
    """Return the answer of ``outpace facts fit`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    domain, feeding = answer["domain"], answer["kind"] == "functional_response"
    unit = UNITS.get(domain["unit"], domain["unit"])
    rows = f"{answer['rows']} rows, {number(domain['low'])} to {number(domain['high'])} {unit}"
    columns = ", ".join(
        f"{heading} as {field.replace('_', ' ')}" for heading, field in answer["columns"].items()
    )
    lines += ["", *page.columns([("read", columns), ("domain", rows)])]
    if answer["left_out"]:
        lines += page.fold(_left_out(answer["left_out"]), first="  ")
    lines += _line(answer["line"])
    lines += page.heading("Eaten" if feeding else "Rates, seen and fitted (the best curve, and the line)")
    lines += _table(answer["table"], feeding)
    lines += page.heading("Curves, the best first by AICc; the nearer two are, the less they differ")
    for fit in answer["fits"]:
        lines += _fit(fit)
    if answer["not_fitted"]:
        lines += page.heading("Not fitted")
        for item in answer["not_fitted"]:
            lines += page.fold(f"{item['title']}: {item['why']}", first="  ", rest="    ")
    if answer["cautions"]:
        lines += page.heading("Mind")
        lines += page.bullets(answer["cautions"])
    if answer["own_facts"]:
        lines += page.heading("Among your own facts")
        lines += page.columns(
            [
                (
                    row["quantity"].replace("_", " "),
                    number(row["value"]),
                    f"s.d. {number(row['sd'])}" if row["sd"] else "",
                    UNITS.get(row["unit"], row["unit"]),
                )
                for row in answer["own_facts"]
            ],
            right=(1,),
        )
    lines += ["", *page.fold(answer["how_to"])]
    return "\n".join(lines)


def _left_out(rows: Sequence[Answer]) -> str:
    named = ", ".join(str(row["row"]) for row in rows[:8])
    more = f" and {len(rows) - 8} more" if len(rows) > 8 else ""
    whys = "; ".join(dict.fromkeys(row["why"] for row in rows))
    return f"{'row' if len(rows) == 1 else 'rows'} {named}{more} left out: {whys}"


def _line(line: Answer | None) -> list[str]:
    if line is None:
        return []
    span = f"{number(line['lowest_degc'])} to {number(line['highest_degc'])} °C, {line['n']} rows"
    rows: list[tuple[str, str]] = []
    for name, unit in (("lower_threshold", "°C"), ("thermal_constant", "°C d")):
        error = line[f"{name}_error"]
        spread = f", standard error {number(error)}" if error is not None else ", error not told"
        rows.append((name.replace("_", " "), f"{number(line[name])} {unit}{spread}"))
    rows.append(("correlation of the two", number(line["correlation"])))
    if line["days_at_20_degc"] is not None:
        rows.append(("days at 20 °C", number(line["days_at_20_degc"])))
    return [*page.heading(f"The line ({span})"), *page.columns(rows)]


def _table(table: Sequence[Answer], feeding: bool) -> list[str]:
    if feeding:
        fed = [("offered", "eaten", "trials", "")]
        fed += [(number(row["offered"]), number(row["eaten"]), str(row["n"]), "") for row in table]
        return page.columns(fed, right=(0, 1, 2))
    rows = [("°C", "per day", "days", "curve", "line", "rows", "")]
    rows += [
        (
            number(row["temperature_degc"]),
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
    aicc = "AICc not told (too few rows)" if fit["aicc"] is None else f"AICc {fit['aicc']:.1f}"
    delta = f", {fit['delta']:.1f} behind" if fit["delta"] else ""
    lines = page.fold(f"{fit['title']}: AIC {fit['aic']:.1f}, {aicc}{delta}", first="  ")
    rows = []
    for each in fit["parameters"]:
        unit = UNITS.get(each["unit"], each["unit"])
        span = f"{number(each['low'])} to {number(each['high'])}" if each["low"] is not None else "not told"
        doubt = "" if each["told"] else " - not told by these data"
        rows.append(
            (each["name"].replace("_", " "), f"{number(each['value'])} {unit}".strip(), f"{span}{doubt}")
        )
    return lines + page.columns(rows, indent="    ")
