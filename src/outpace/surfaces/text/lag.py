"""How long a release takes to show, as text."""

from __future__ import annotations

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def _when(point: Answer) -> str:
    return f"{page.day(point['date'])} (day {page.figure(point['days'])})"


def _temperature(temperature: Answer) -> str:
    mean, low, high = (temperature[key] for key in ("mean_degc", "low", "high"))
    swing = (
        "all day" if low == high else f"in the mean, {page.figure(low)} by night, {page.figure(high)} by day"
    )
    return f"{page.figure(mean)} °C {swing}; {temperature['source']}"


def render(answer: Answer, *, sources: bool = False) -> str:
    """Return the answer of ``outpace lag`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    match = answer["host_match"]
    temperature = answer["temperature"]
    source = match.get("source") or "no source"
    lines += page.heading(
        f"{answer['enemy']['latin']} released as {answer['form']} on "
        f"{page.day(answer['release'], year=True)} against {answer['pest']['latin']}"
    )
    lines += page.columns(
        [
            ("does it accept this aphid", f"{match['words']} ({source})"),
            ("temperature in the crop", _temperature(temperature)),
        ]
    )
    mummies = answer.get("first_mummies")
    if mummies:
        lines += page.heading("When it shows")
        rows = [
            (
                "first mummies",
                f"{_when(mummies['likely'])}; earliest {_when(mummies['earliest'])}, "
                f"latest {_when(mummies['latest'])}",
            ),
        ]
        if answer.get("first_look"):
            rows.append(("first look worth taking", _when(answer["first_look"])))
        if answer.get("absence_means_something"):
            rows.append(
                ("no mummies means little before", _when(answer["absence_means_something"])),
            )
        if answer.get("next_brood"):
            brood = answer["next_brood"]
            rows.append(
                ("next brood flies", f"{_when(brood['q50'])}; {_when(brood['q05'])} to {_when(brood['q95'])}")
            )
        lines += page.columns(rows)
    if answer.get("aphid_doubling_d"):
        lines += page.heading("What the aphid does meanwhile, if nothing stops it")
        rows = [("doubles every", page.between(answer["aphid_doubling_d"], "days"))]
        if answer.get("doublings_until_next_brood"):
            rows.append(
                ("doublings until the next brood", page.between(answer["doublings_until_next_brood"]))
            )
        if answer.get("times_until_next_brood"):
            rows.append(("times as many by then", page.between(answer["times_until_next_brood"])))
        lines += page.columns(rows)
    lines += [""]
    lines += page.bullets(answer.get("cautions", ()))
    lines += ["  Intervals hold nine cases in ten."]
    if sources:
        lines += page.fact_lines(answer.get("facts", ()))
    lines += ["", *page.evidence_line(answer.get("evidence_weakest"))]
    if not sources:
        lines += page.fact_count(answer.get("facts", ()))
    return "\n".join(lines)
